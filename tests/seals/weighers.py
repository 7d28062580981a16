"""Weighers with keys in a folder of their own, and contents to seal that need no weighing."""

from __future__ import annotations

from pathlib import Path

from steelyard.seals.keys import PassPhrase
from steelyard.seals.ring import KeyRing, Weigher
from steelyard.seals.sealing import DayToSeal

NOON = 1_796_040_000  # 2026-11-30, 12:00 UTC
HOUR = 3600


def content(title: str = "Quay", gross: float = 1234.5) -> DayToSeal:
    """A day to seal, of one figure."""
    finding = {"id": "gross(van)@empty", "basis": "measured", "value": gross, "u": 2.5, "contested": False}
    findings = {
        "file": "",
        "units": {"mass": "kg", "length": "mm"},
        "findings": [finding],
        "verdicts": [],
        "consistency": {"p": None},
    }
    return DayToSeal(findings, b"format = 1\n", bytes(32), title, "2026-11-30", (), None)


def weigher(folder: Path, name: str = "marta", pass_phrase: bytes | None = None, *, made: bool = True) -> Weigher:
    """A weigher in a folder of keys, who has a key since noon."""
    one = KeyRing(folder).any_weigher(name, PassPhrase(pass_phrase))
    if made:
        one.make(NOON)
    return one
