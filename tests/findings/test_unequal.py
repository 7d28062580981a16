"""A side that shares its load and does not: said even where nothing contradicts it. Common practice, no source."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh

DAY = """format = 1
units = { mass = "lb", length = "in" }
[vehicles.cart]
role = "trailer"
axles = [
  { x = 150, track = 68, group = "rear", sharing = "SHARING" },
  { x = 186, track = 68, group = "rear", sharing = "SHARING" },
]
[states.alone]
vehicles = ["cart"]
[[drafts]]
state = "alone"
readings = { "cart/1L" = ["p1", FIRST], "cart/1R" = ["p2", 1480], "cart/2L" = ["p3", 1500], "cart/2R" = ["p4", 1520] }
""" + "".join(
    f'[instruments.p{number}]\nkind = "pad"\ncapacity = "20000 lb"\ndivision = "20 lb"\n' for number in range(1, 5)
)


def said(first: int, sharing: str = "equalised") -> list[str]:
    text = DAY.replace("FIRST", str(first)).replace("SHARING", sharing)
    if sharing != "equalised":
        text = text.replace('group = "rear", ', "")
    return [one for one in weigh(parse_day(text, "day.toml")).cautions if "equalised side" in one]


@pytest.mark.parametrize("first", [3000, 740])
def test_a_wheel_of_twice_the_other_is_said(first: int) -> None:
    cautions = said(first)
    assert len(cautions) == 1
    assert cautions[0].startswith("draft 1: ")
    assert "cart/1L" in cautions[0]
    assert "cart/2L" in cautions[0]


@pytest.mark.parametrize("first", [1500, 1300, 2980])
def test_less_than_twice_is_not(first: int) -> None:
    assert said(first) == []


def test_axles_that_share_nothing_may_differ() -> None:
    assert said(3000, "independent") == []
