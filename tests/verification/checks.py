"""Verification files as text, put together piece by piece, and what comes of them."""

from __future__ import annotations

from steelyard.dayfile import parse_verification
from steelyard.verification import Judgement, VerificationResult, verify

HEAD = """format = 1
kind = "verification"
units = { mass = "lb", length = "in" }
[record]
date = 2026-02-20
[tolerances]
table = "handbook44"
phase = "maintenance"
"""


def pad(name: str, more: str = "") -> str:
    """A pad of class IIII, 20,000 lb by 20 lb."""
    plate = 'class = "IIII"\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\n'
    return f"[instruments.{name}]\n{plate}{more}\n"


def a_test(kind: str, **keys: object) -> str:
    """A test; texts are given as they stand in the file."""
    lines = "".join(f"{key.rstrip('_')} = {value}\n" for key, value in keys.items())
    return f'[[tests]]\nkind = "{kind}"\n{lines}'


def masses(readings: str, *, instrument: str = "p1", u: str = "0 %", **keys: object) -> str:
    """Known masses."""
    return a_test("masses", instrument=f'"{instrument}"', readings=readings, mass_uncertainty=f'"{u}"', **keys)


def verified(*parts: str, head: str = HEAD) -> VerificationResult:
    """What the tests of a verification show."""
    return verify(parse_verification("".join([head, *parts]), "check.toml"))


def judged(*parts: str, head: str = HEAD) -> tuple[Judgement, ...]:
    """The judgements of a verification of one pad, ``p1``."""
    return verified(pad("p1"), *parts, head=head).judgements
