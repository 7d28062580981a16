"""The weigh days that are measured: the bundled one, one of twelve wheels, and many that differ in their readings."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from pathlib import Path

from benchmarks.measure import ROOT
from tests.simulated.scenarios import KINDS, simulate

BUNDLED = ROOT / "examples" / "quay-bakery.toml"
TWELVE = Path(__file__).with_name("twelve-wheels.toml")
"""Twelve wheels, six drafts of six readings, thirty unknowns."""

_READING = re.compile(r'(= \["\w+", )(\d+)\]')
_DIVISION = 20


def bundled(count: int) -> Iterator[str]:
    """The bundled day so many times, its readings each a division up, down, or as they are: no two are alike."""
    text = BUNDLED.read_text(encoding="utf-8")
    for number in range(count):
        chance = random.Random(number)
        yield _READING.sub(lambda match, by=chance: f"{match[1]}{int(match[2]) + _DIVISION * by.randint(-1, 1)}]", text)


def of_all_kinds(count: int) -> Iterator[str]:
    """Simulated days of every kind in turn: one vehicle or three, pads or a truck scale, with slips and without."""
    kinds = list(KINDS)
    for number in range(count):
        yield simulate(kinds[number % len(kinds)], seed=number).text


def written(texts: Iterator[str], folder: Path) -> list[Path]:
    """The days as files in a new folder."""
    folder.mkdir()
    files: list[Path] = []
    for number, text in enumerate(texts):
        path = folder / f"{number:04}.toml"
        path.write_text(text, encoding="utf-8")
        files.append(path)
    return files
