"""Bundled days sealed with a key that everybody knows, so that a sealed ticket is the same in every test."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.report.print.sealed import SealToPrint, seal_to_print
from steelyard.report.print.ticket import ticket_pdf
from steelyard.seals.sealing import DayToSeal, Seal, content_of_file, sealed

EXAMPLES = Path(__file__).parents[3] / "examples"
KEY = Ed25519PrivateKey.from_private_bytes(
    bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
)
"""The first private key of RFC 8032, 7.1."""

PUBLIC = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
SEALED_AT = 1_796_040_000  # 2026-11-30 12:00:00 UTC


def seal_of(content: DayToSeal, *, number: int = 17) -> Seal:
    """The seal of a day with that key; ``number`` among the weigher's seals."""
    previous = None if number == 1 else bytes(range(32))
    return sealed(content, public=PUBLIC, sign=KEY.sign, number=number, previous=previous, sealed_at=SEALED_AT)


@lru_cache(maxsize=4)
def weighed(name: str) -> tuple[bytes, Findings]:
    """An example: the bytes of its file, and its findings."""
    data = (EXAMPLES / f"{name}.toml").read_bytes()
    return data, weigh(parse_day(data, name))


def to_print(data: bytes, findings: Findings, *, number: int = 17, name: str = "a.toml") -> SealToPrint:
    """A day with its seal, ready for the ticket."""
    content = content_of_file(findings, data)
    return seal_to_print(seal_of(content, number=number), content, name)


@lru_cache(maxsize=4)
def sealed_ticket(name: str, paper: str) -> bytes:
    """The sealed ticket of an example without the pictures of its other states."""
    data, findings = weighed(name)
    return ticket_pdf(findings, paper=paper, pictures=False, seal=to_print(data, findings, name=f"{name}.toml"))
