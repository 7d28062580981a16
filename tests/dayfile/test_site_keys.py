"""The keys of ground, raise and rate: read into the model in SI, and written back without loss."""

from __future__ import annotations

import math

import pytest

from steelyard.dayfile import parse_day, read_draft, write_day, write_draft
from steelyard.model import Raise, drift_hours, support_lines
from steelyard.units import Quantity

DAY = """
format = 1
[site]
slope_long = "1.2 deg +/- 0.2 deg"
pad_sink = "0.3 in +/- 0.15 in"
[instruments.p1]
kind = "pad"
capacity = "20000 lb"
division = "20 lb"
[instruments.p2]
kind = "pad"
capacity = "20000 lb"
division = "20 lb"
[vehicles.tow]
role = "towing"
[[vehicles.tow.axles]]
x = "0 in"
track = "68 in"
loaded_radius = "15.5 in +/- 0.1 in"
[[vehicles.tow.axles]]
x = "176 in"
track = "74 in"
[vehicles.cart]
role = "trailer"
coupling_height = "18 in"
[[vehicles.cart.axles]]
x = "150 in"
track = "70 in"
group = "rear"
sharing = "equalised"
[[vehicles.cart.axles]]
x = "184 in"
track = "70 in"
group = "rear"
sharing = "equalised"
[cargo.fuel]
on = "tow"
volume = "30 gal"
density = "7.1 lb/gal"
x = "140 in"
y = "-18 in"
rate = "-0.8 gal/h +/- 0.4 gal/h"
[cargo.ice]
on = "tow"
mass = "100 lb"
x = "100 in"
y = "0 in"
rate = "-3 lb/h"
[states.solo]
vehicles = ["tow"]
cargo = ["fuel"]
[states.later]
vehicles = ["tow"]
cargo = ["fuel", "ice"]
change.fuel.x = "150 in"
[states.filled]
vehicles = ["tow"]
cargo = ["fuel"]
change.fuel.level = "50 %"
[states.parked]
vehicles = ["cart"]
[[drafts]]
state = "solo"
at = 2026-05-14T08:00:00Z
readings = { "tow/1L" = ["p1", 2960], "tow/1R" = ["p2", 2980] }
[[drafts]]
state = "later"
at = 2026-05-14T10:30:00Z
heading = "reversed"
readings = { "tow/1L" = ["p1", 2960], "tow/1R" = ["p2", 2980] }
[[drafts]]
state = "filled"
at = 2026-05-14T11:00:00Z
suspension = "blocked"
raised = { "tow/2" = "20 in +/- 0.5 in" }
readings = { "tow/1L" = ["p1", 3000], "tow/1R" = ["p2", 3020] }
[[drafts]]
state = "filled"
at = 2026-05-14T13:00:00Z
readings = { "tow/1L" = ["p1", 2960], "tow/1R" = ["p2", 2980] }
[[drafts]]
state = "parked"
raised = { "cart/1+cart/2" = "8 in", "cart/coupling" = "2 in" }
readings = { "cart/coupling" = ["p1", 400] }
"""


def test_what_is_read() -> None:
    day = parse_day(DAY, "day.toml")
    assert [draft.reversed for draft in day.drafts] == [False, True, False, False, False]
    assert day.drafts[2].raised == (Raise("tow", 2, Quantity(20 * 0.0254, 0.5 * 0.0254)),)
    assert day.drafts[2].blocked
    assert [item.place for item in day.drafts[4].raised] == ["cart/1", "cart/2", "cart/coupling"]
    assert day.vehicles["cart"].coupling_height == Quantity(18 * 0.0254)
    assert day.vehicles["tow"].axles[0].loaded_radius == Quantity(15.5 * 0.0254, 0.1 * 0.0254)
    rate = day.cargo["fuel"].volume_rate
    assert rate is not None
    assert rate.value == pytest.approx(-0.8 * 231 * 0.0254**3 / 3600)
    melting = day.cargo["ice"].rate
    assert melting is not None
    assert (melting.value, melting.u) == (pytest.approx(-3 * 0.45359237 / 3600), None)
    assert math.degrees(day.site.slope_long.value if day.site.slope_long else 0.0) == pytest.approx(1.2)


def test_it_is_written_back_without_loss() -> None:
    day = parse_day(DAY, "day.toml")
    assert parse_day(write_day(day), "again.toml") == day


def test_a_draft_comes_in_by_itself() -> None:
    day = parse_day(DAY, "day.toml")
    block = write_draft(day, day.drafts[2])
    assert 'raised = { "tow/2" = "20 in +/- 0.5 in" }' in block
    draft = read_draft(
        day,
        {
            "state": "filled",
            "at": "2026-05-14T14:00:00Z",
            "raised": {"tow/1": "10 in"},
            "readings": {"tow/2L": ["p1", 2000], "tow/2R": ["p2", 2000]},
        },
    )
    assert draft.raised == (Raise("tow", 1, Quantity(10 * 0.0254)),)


def test_hours_run_from_the_first_draft_of_an_amount() -> None:
    """To move a tank does not fill it; another level is another amount, with a clock of its own."""
    day = parse_day(DAY, "day.toml")
    assert drift_hours(day.cargo, day.states, day.drafts) == {(2, "fuel"): 2.5, (4, "fuel"): 2.0}


def test_raised_readings_do_not_count_as_loads() -> None:
    day = parse_day(DAY, "day.toml")
    assert [len(day.counted(draft)) for draft in day.drafts] == [2, 2, 0, 2, 0]
    assert [len(day.readings_of(draft)) for draft in day.drafts] == [2, 2, 2, 2, 1]
    assert "parked" not in day.measured_states()


def test_what_vehicles_stand_on() -> None:
    day = parse_day(DAY, "day.toml")
    assert support_lines(day.vehicles["tow"]) == ((1,), (2,))
    assert support_lines(day.vehicles["cart"]) == ((None,), (1, 2))
