"""Two pads exchanged in a draft are found as what they are, and not as slips of the wheels at the other end."""

from __future__ import annotations

import pytest

from steelyard.adjustment import Consistency
from steelyard.dayfile import parse_day
from steelyard.findings import weigh

WHEELS = ("1L", "1R", "2L", "2R")
RIGHT = ((3000, 2400, 2500, 2300), (2980, 2400, 2500, 2320))

HEAD = """format = 1
units = { mass = "lb", length = "in" }
[site]
surface = "concrete"
[vehicles.tow]
role = "towing"
axles = [{ x = "0 in", track = "68 in", rating = "6000 lb" }, { x = "170 in", track = "74 in", rating = "9900 lb" }]
[states.solo]
vehicles = ["tow"]
""" + "".join(
    f"""[instruments.p{number}]
kind = "pad"
capacity = "20000 lb"
division = "20 lb"
span_uncertainty = "0.1 %"
repeatability = "6 lb"
"""
    for number in range(1, 5)
)


def consistency(*drafts: tuple[int, ...]) -> Consistency:
    """What the program says of some drafts of the truck alone, readings in the order of the wheels."""
    text = HEAD
    for draft in drafts:
        readings = ", ".join(
            f'"tow/{wheel}" = ["p{number}", {value}]'
            for number, (wheel, value) in enumerate(zip(WHEELS, draft, strict=True), start=1)
        )
        text += f'[[drafts]]\nstate = "solo"\nreadings = {{ {readings} }}\n'
    return weigh(parse_day(text, "exchange.toml")).consistency


@pytest.mark.parametrize("pair", [(0, 1), (0, 2), (1, 2), (2, 3)])
def test_the_exchanged_pair_is_named_first(pair: tuple[int, int]) -> None:
    third = list(RIGHT[1])
    first, second = pair
    third[first], third[second] = third[second], third[first]
    found = consistency(*RIGHT, tuple(third))
    assert not found.consistent
    named = {(suspect.draft, suspect.place) for suspect in found.suspects[:2]}
    assert named == {(3, f"tow/{WHEELS[first]}"), (3, f"tow/{WHEELS[second]}")}
    words = f"p{first + 1} and p{second + 1} exchanged (tow/{WHEELS[first]} and tow/{WHEELS[second]})?"
    assert any(words in suspect.explanations for suspect in found.suspects[:2])


def test_one_reading_off_is_still_one_reading() -> None:
    found = consistency(*RIGHT, (3280, 2400, 2500, 2320))
    assert (found.suspects[0].draft, found.suspects[0].place) == (3, "tow/1L")
    assert not any("exchanged" in words for words in found.suspects[0].explanations)


def test_clean_repeats_accuse_nobody() -> None:
    found = consistency(*RIGHT, (3000, 2380, 2520, 2300))
    assert found.consistent
    assert found.suspects == ()
