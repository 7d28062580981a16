"""The bundled day, solved once for all tests of this folder."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from steelyard.dayfile import read_day
from steelyard.findings import Weighed, solve

BAKERY = read_day(Path(__file__).resolve().parents[2] / "examples" / "quay-bakery.toml")


@cache
def weighed() -> Weighed:
    """The bundled day, solved."""
    return solve(BAKERY)
