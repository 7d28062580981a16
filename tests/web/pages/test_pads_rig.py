"""The rig on the screen offers every coupling point that the interface lists, with words for what stands there."""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.model import CouplingType
from steelyard.web.pages.shell.rig import draw_rig, rig_key
from steelyard.web.station.places import places_of
from tests.web.conftest import EXAMPLE

DAY = """
format = 1
[instruments.bed]
kind = "platform"
capacity = "3000 lb"
division = "5 lb"
[vehicles.tow]
role = "towing"
name = "Farm truck"
axles = [{{ x = 0, track = 68 }}, {{ x = 176, track = 74 }}]
couplings.hook = {{ type = "{kind}", x = 170, rating = {{ vertical = "2500 lb" }} }}
[vehicles.stock]
role = "trailer"
name = "Stock trailer"
axles = [{{ x = 200, track = 80 }}]
[states.parked]
vehicles = ["stock"]
[states.hitched]
vehicles = ["tow", "stock"]
couple = {{ towing = "tow", at = "hook", trailer = "stock" }}
"""


@pytest.mark.parametrize("kind", list(CouplingType))
@pytest.mark.parametrize("state", ["parked", "hitched"])
def test_the_screen_and_the_interface_offer_the_same_coupling_points(kind: CouplingType, state: str) -> None:
    day = parse_day(DAY.format(kind=kind), "day")
    shown = {item.place for item in draw_rig(day, day.states[state]).stations}
    assert shown == {item.place for item in places_of(day)[state] if item.kind in ("wheel", "coupling")}


def test_an_axle_that_is_up_has_no_place_for_a_pad() -> None:
    text = DAY.format(kind="ball").replace(
        "[{ x = 200, track = 80 }]", "[{ x = 200, track = 80 }, { x = 240, track = 80 }]"
    )
    down, up = parse_day(text, "day"), parse_day(text + 'lifted = ["stock/2"]\n', "day")
    state = up.states["hitched"]
    shown = {item.place for item in draw_rig(up, state).stations}
    assert shown == {item.place for item in places_of(up)["hitched"] if item.kind in ("wheel", "coupling")}
    assert {item.place for item in draw_rig(down, down.states["hitched"]).stations} - shown == {"stock/2L", "stock/2R"}
    assert rig_key(state) != rig_key(down.states["hitched"])


@pytest.mark.parametrize(
    ("kind", "name", "spoken"),
    [
        ("fifth_wheel", "under pin", "Platform in the bed of Farm truck, under the pin of Stock trailer"),
        ("gooseneck", "under ball", "Platform in the bed of Farm truck, under the ball of Stock trailer"),
        ("ball", "under coupler", "Platform on the hitch of Farm truck, under the coupler of Stock trailer"),
        ("pintle", "under eye", "Platform on the hitch of Farm truck, under the eye of Stock trailer"),
    ],
)
def test_it_says_what_stands_where(kind: str, name: str, spoken: str) -> None:
    day = parse_day(DAY.format(kind=kind), "day")
    (found,) = [item for item in draw_rig(day, day.states["hitched"]).stations if item.aboard]
    assert (found.place, found.name, found.spoken) == ("stock/coupling", name, spoken)
    assert found.rating == pytest.approx(2500 * 0.45359237)


def test_with_bars_tensioned_the_coupling_is_made_and_nothing_stands_under_it() -> None:
    day = parse_day(EXAMPLE.read_text(encoding="utf-8"), "day")
    hitched, levelled = day.states["hitched"], day.states["levelled"]
    assert rig_key(hitched) != rig_key(levelled)
    assert [item.place for item in draw_rig(day, hitched).stations if item.aboard] == ["oven/coupling"]
    assert [item.place for item in draw_rig(day, levelled).stations if item.aboard] == []
    listed = places_of(day)["levelled"]
    assert [item for item in listed if item.kind == "coupling"] == []
