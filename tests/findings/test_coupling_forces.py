"""Forces of couplings asked in other ways: a what-if, searches, and the page that predicts."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Weighed, solve
from steelyard.loading import Scenario
from steelyard.model import Cargo
from steelyard.questions.influence import influence
from steelyard.questions.limits import predict_many
from steelyard.units import Quantity

RIG = """
format = 1
units = { mass = "kg", length = "m" }
rules = { apply = ["un-r55"] }
PADS
[vehicles.car]
role = "towing"
axles = [{ x = 0, track = 1.6 }, { x = 2.9, track = 1.6 }]
[vehicles.car.couplings.ball]
type = "KIND"
x = 3.9
marked = { d = "D" }
[vehicles.cart]
role = "trailer"
marked = { d = "30 kN" }
axles = [{ x = 4.2, track = 1.8 }]
[cargo.bale]
on = "VEHICLE"
mass = "300 kg +/- 0 kg"
x = "2.5 m +/- 0 m"
y = "0 m +/- 0 m"
[states.hitched]
vehicles = ["car", "cart"]
couple = { towing = "car", at = "ball", trailer = "cart" }
[states.laden]
vehicles = ["car", "cart"]
couple = { towing = "car", at = "ball", trailer = "cart" }
cargo = ["bale"]
[states.parked]
vehicles = ["cart"]
[[drafts]]
state = "hitched"
readings = { "car/1L" = ["p1", 520], "car/1R" = ["p2", 510], "car/2L" = ["p3", 610], "car/2R" = ["p4", 600] }
[[drafts]]
state = "hitched"
readings = { "cart/1L" = ["p1", 950], "cart/1R" = ["p2", 940] }
[[drafts]]
state = "parked"
readings = { "cart/coupling" = ["p1", 100] }
""".replace(
    "PADS",
    "\n".join(f'[instruments.p{number}]\nkind = "pad"\ncapacity = "5 t"\ndivision = "5 kg"' for number in range(1, 5)),
)


def weighed(kind: str = "ball", d: str = "11 kN", vehicle: str = "cart") -> Weighed:
    text = RIG.replace("KIND", kind).replace('"D"', f'"{d}"').replace("VEHICLE", vehicle)
    return solve(parse_day(text, "day.toml"))


@pytest.mark.parametrize("kind", ["ball", "fifth_wheel"])
@pytest.mark.parametrize("vehicle", ["car", "cart"])
def test_a_what_if_and_the_state_written_by_hand_have_one_force(kind: str, vehicle: str) -> None:
    day = weighed(kind, vehicle=vehicle)
    written, asked = day.findings(), day.ask(Scenario("hitched", put_on=("bale",)))
    one, other = written.get("laden/coupling/d"), asked.get("what_if/coupling/d")
    assert one is not None
    assert other is not None
    assert (one.value, one.u) == pytest.approx((other.value, other.u), rel=1e-9)
    told = {item.id.partition("/")[2]: item.probability for item in asked.verdicts}
    for item in written.verdicts:
        state, _, name = item.id.partition("/")
        if state == "laden" and "d-today" in name:
            assert told[name] == pytest.approx(item.probability, abs=1e-9)


@pytest.mark.parametrize("kind", ["ball", "fifth_wheel"])
@pytest.mark.parametrize("vehicle", ["car", "cart"])
def test_a_search_never_promises_more_room_than_the_verdict_gives(kind: str, vehicle: str) -> None:
    """The force curves downward in the masses, so that a search, which goes straight on, sees too large a one.

    Its room is a mass on the wheels where a mass counts most. A kilogram put on takes about as much, and more over the
    coupling, where it counts on both sides.
    """
    day = weighed(kind, vehicle=vehicle)
    name = "hitched/coupling/d:un.r55.d-today.towing"
    masses = np.array([0.0, 1.0, 100.0, 400.0, 1500.0])
    found = predict_many(day, "hitched", vehicle, np.stack([masses, 2.5 * masses, 0.0 * masses], axis=1))
    room = found.room[:, found.ids.index(name)]
    assert 0.3 < room[0] - room[1] < 2.0
    per_mass = _margin(day, vehicle, 0.0) / room[0]
    for mass, left in zip(masses.tolist(), room.tolist(), strict=True):
        assert left * per_mass <= _margin(day, vehicle, mass) + 1e-6


def _margin(day: Weighed, vehicle: str, mass: float) -> float:
    item = Cargo("more", vehicle, mass=Quantity(mass), x=Quantity(2.5, 0.0), y=Quantity(0.0, 0.0))
    asked = day.ask(Scenario("hitched", add=(item,))).verdicts
    margin = next(one.margin for one in asked if one.id == "what_if/coupling/d:un.r55.d-today.towing")
    assert margin is not None
    return margin


def test_the_page_is_told_the_limit_in_kilonewtons_and_the_room_as_a_mass() -> None:
    day = weighed(d="10 kN")
    made = influence(day, "hitched")
    limits = {item.id: (item, row) for item, row in made.limits}
    item, row = limits["hitched/coupling/d:un.r55.d-today.towing"]
    assert day.adjustment.rig.day.units.show(item.limit, item.dimension) == 10.0
    assert row is not None
    names = {name for name, _, _ in made.quantities}
    assert "hitched/coupling/d" not in names, "a force is no load that the page adds up"
