"""Sealed days for the tests of the check: a small day, two invented weighers, and everything that goes with a seal."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from steelyard.model import WeighDay
    from steelyard.seals.authenticate.answer import SealsShape
    from steelyard.seals.authenticate.pieces import Piece
    from steelyard.seals.sealing import DayToSeal, Seal

SEALED_AT = 1_790_000_000  # 2026-09-21
NOW = SEALED_AT + 5 * 86_400
OLIVE, MORTEN = b"\x11" * 32, b"\x22" * 32
"""Seeds of the private keys of two weighers."""


@dataclass(frozen=True)
class Weigher:
    """A private key for tests."""

    seed: bytes

    @property
    def public(self) -> bytes:
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.seed).public_key().public_bytes_raw()

    def sign(self, message: bytes) -> bytes:
        from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

        return Ed25519PrivateKey.from_private_bytes(self.seed).sign(message)


@dataclass(frozen=True)
class ToldOfKey:
    """What is known of a key, said straight away."""

    state: str
    good: bool
    why: str
    name: str | None = None
    since: int | None = None
    until: int | None = None
    cautions: tuple[str, ...] = ()


@cache
def content(text: str) -> DayToSeal:
    """What is sealed of a day file."""
    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.model import digest_of, running_digests
    from steelyard.seals.record import HistoryHead
    from steelyard.seals.sealing import content_of

    day: WeighDay = parse_day(text, "day.toml")
    chain = running_digests(day)
    head = HistoryHead("file", len(chain) - 1, bytes.fromhex(chain[-1]))
    date = None if day.date is None else day.date.isoformat()
    return content_of(weigh(day), text.encode(), bytes.fromhex(digest_of(day)), date, head)


@cache
def sealed_day(
    text: str, seed: bytes = OLIVE, number: int = 1, previous: bytes | None = None, sealed_at: int = SEALED_AT
) -> Seal:
    """The seal of a day file by a weigher."""
    from steelyard.seals.sealing import sealed

    weigher = Weigher(seed)
    return sealed(
        content(text), public=weigher.public, sign=weigher.sign, number=number, previous=previous, sealed_at=sealed_at
    )


def knows(*seeds: bytes, revoked: tuple[bytes, ...] = ()) -> Any:
    """What somebody knows of keys who knows those of some weighers."""
    good, bad = {Weigher(seed).public for seed in seeds}, {Weigher(seed).public for seed in revoked}

    def standing(public: bytes, when: int) -> ToldOfKey:
        del when
        if public in bad:
            return ToldOfKey("revoked", good=False, why="This key is revoked.")
        if public in good:
            return ToldOfKey("known", good=True, why="This key is in use.", name="Olive Quill")
        return ToldOfKey("unknown", good=False, why="Nobody told the program this key.")

    return standing


def judged(*pieces: Piece, weigh: bool = False, standing: Any = None, now: int = NOW) -> SealsShape:
    """The judgement on pieces, by somebody who knows Olive's key."""
    from steelyard.seals.authenticate.judge import SealJudge, judge

    return judge(pieces, SealJudge(standing or knows(OLIVE), now=now, weigh=weigh))
