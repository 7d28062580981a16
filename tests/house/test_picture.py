"""What CONTRIBUTING draws of the house is the layer contract, and the files that it names are there."""

from __future__ import annotations

import re

import pytest

from tests.house.layers import FACES, GROUND, KEEPING, RECKONING, Storeys
from tests.house.source import ROOT, SOURCE

TEXT = (ROOT / "CONTRIBUTING.md").read_text(encoding="utf-8")
CONTRACT = {"faces": FACES, "reckoning": RECKONING, "keeping": KEEPING, "ground": GROUND}

_STOREY = re.compile(r" {6}(\w+(?:, \w+)*)(?: {2,}.*)?")
_PATH = re.compile(r"`([\w/]+\.py)`")


def drawn(text: str) -> dict[str, Storeys]:
    """The picture under "The house": for each heading its storeys, top first, each with its rooms.

    What stands to the right of two spaces says what the rooms are for.
    """
    found: dict[str, Storeys] = {}
    part = ""
    for line in text.partition("\n## The house\n")[2].partition("\n## ")[0].splitlines():
        storey = _STOREY.fullmatch(line)
        if storey:
            found[part] = (*found[part], tuple(storey[1].split(", ")))
        elif re.fullmatch(r" {4}\w+", line):
            part = line.strip()
            found[part] = ()
    return found


def test_the_picture_of_the_rooms_is_the_layer_contract() -> None:
    assert drawn(TEXT) == CONTRACT


@pytest.mark.parametrize(
    ("there", "instead"),
    [
        ("      rules  ", "      laws  "),
        ("      statics, solver  ", "      statics  "),
        ("    keeping\n", ""),
        ("      web  ", "      report  "),
    ],
)
def test_another_picture_is_seen(there: str, instead: str) -> None:
    assert there in TEXT
    assert drawn(TEXT.replace(there, instead, 1)) != CONTRACT


def test_every_file_that_is_named_is_there() -> None:
    named = [name for name in _PATH.findall(TEXT) if "/" in name]
    assert len(named) > 5
    assert [name for name in named if not any((root / name).is_file() for root in (ROOT, SOURCE))] == []
