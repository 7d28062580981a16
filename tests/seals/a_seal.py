"""Sealed days for the tests of the check: a small day, two invented weighers, and everything that goes with a seal."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from steelyard.seals.authenticate.answer import SealsShape
    from steelyard.seals.authenticate.pieces import Piece
    from steelyard.seals.known import KeyStanding
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


@cache
def content(text: str) -> DayToSeal:
    """What is sealed of a day file."""
    from steelyard.dayfile import parse_day
    from steelyard.findings import weigh
    from steelyard.seals.sealing import content_of_file

    return content_of_file(weigh(parse_day(text, "day.toml")), text.encode())


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
    from steelyard.seals.known import KeyStanding

    good, bad = {Weigher(seed).public for seed in seeds}, {Weigher(seed).public for seed in revoked}

    def standing(public: bytes, when: int) -> KeyStanding:
        del when
        if public in bad:
            return KeyStanding("revoked", good=False, why="This key is revoked.")
        if public in good:
            return KeyStanding("known", good=True, why="This key is in use.", name="Olive Quill")
        return KeyStanding("unknown", good=False, why="Nobody told the program this key.")

    return standing


def judged(*pieces: Piece, weigh: bool = False, standing: Any = None, now: int = NOW) -> SealsShape:
    """The judgement on pieces, by somebody who knows Olive's key."""
    from steelyard.seals.authenticate.judge import SealJudge, judge

    return judge(pieces, SealJudge(standing or knows(OLIVE), now=now, weigh=weigh))
