"""Weigh days with a state in which something leaves the ground: what carries then, and what is said."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import adjust
from steelyard.dayfile import parse_day
from tests.published.days import HEAD, HITCHED, Pounds, coupling, draft, pad, platform, trailer, truck

WHEELS = ("1L", "1R", "2L", "2R")
PADS = "".join(pad(f"p{n}") for n in range(1, 5))
TRUCK_STATES = '[states.solo]\nvehicles = ["tow"]\n[states.loaded]\nvehicles = ["tow"]\ncargo = ["box"]\n'
CART_STATES = '[states.parked]\nvehicles = ["cart"]\n[states.loaded]\nvehicles = ["cart"]\ncargo = ["box"]\n'
SPRINGS = 'ride_rate = "700 lb/in"\nroll_rate = "150000 lb*in/rad"\n'
UNCHECKED = "Nothing checks these readings: every one of them is needed. Repeat a draft to find slips."


def box(on: str, *, mass: float, x: float, y: float) -> str:
    return f'[cargo.box]\non = "{on}"\nmass = "{mass} lb"\nx = "{x} in"\ny = "{y} in"\n'


def on_pads(vehicle: str, value: float) -> dict[str, tuple[str, float]]:
    return {f"{vehicle}/{wheel}": (f"p{n}", value) for n, wheel in enumerate(WHEELS, 1)}


def loaded_truck(*, mass: float, x: float, y: float) -> Pounds:
    """700 lb on every wheel, wheelbase 140 in, track 70 in, and a box that nobody weighed."""
    cargo = box("tow", mass=mass, x=x, y=y)
    return Pounds(HEAD, PADS, truck(0, 140), cargo, TRUCK_STATES, draft("solo", on_pads("tow", 700)))


def test_a_corner_lifts_and_levers_decide_the_rest() -> None:
    """4000 lb near the left rear: moments about both axes with one wheel in the air, by hand."""
    day = loaded_truck(mass=4000, x=150, y=40)
    loads = [day.value(f"loaded/tow/wheel/{wheel}") for wheel in WHEELS]
    rear = (4 * 700 * 70 + 4000 * 150) / 140
    front = 4 * 700 + 4000 - rear
    left_less_right = 4000 * 40 / 35
    assert loads[1] == 0.0
    assert loads[0] == pytest.approx(front, abs=1e-6)
    assert loads[2] + loads[3] == pytest.approx(rear, abs=1e-6)
    assert loads[0] + loads[2] - loads[3] == pytest.approx(left_less_right, abs=1e-6)
    assert day.findings.cautions == ("loaded: tow lifts off at 1R: these wheels carry nothing.", UNCHECKED)
    assert day.u("loaded/tow/wheel/1R") == 0.0
    assert day.value("loaded/tow/cg_x") == pytest.approx((4 * 700 * 70 + 4000 * 150) / 6800, abs=1e-6)
    assert day.value("loaded/tow/cg_y") == pytest.approx(4000 * 40 / 6800, abs=1e-6)


@pytest.mark.parametrize(("x", "y"), [(200.0, 0.0), (150.0, 80.0)], ids=["backwards", "sideways"])
def test_tipping_over_is_said_and_no_numbers_are_given(x: float, y: float) -> None:
    day = loaded_truck(mass=6000, x=x, y=y)
    said = (
        "loaded: the supports left do not hold the rig up: it tips over, or a reading is wrong. There are no numbers "
        "for this state."
    )
    assert day.findings.cautions == (said, UNCHECKED)
    assert [name for name in day.known() if name.startswith("loaded/")] == []
    assert day.value("solo/tow/gross") == pytest.approx(2800.0)


def parked(mass: float, *, equalised: bool = False, y: float = 0.0) -> Pounds:
    """A tandem trailer, 1500 lb on every wheel, 300 lb on its stand, and a box behind its axles."""
    rig = trailer(160, 200, equalised=equalised)
    first = {**on_pads("cart", 1500), "cart/coupling": ("s9", 300)}
    stand = platform("s9", division=1)
    cargo = box("cart", mass=mass, x=240, y=y)
    return Pounds(HEAD, PADS, stand, rig, cargo, CART_STATES, draft("parked", first))


def test_a_stand_lifts() -> None:
    """With the stand in the air the axles carry all: by hand, about the first axle."""
    day = parked(3000)
    rear = (3000 * 40 + 3000 * 80 - 300 * 160) / 40
    assert day.value("loaded/cart/axle/2") == pytest.approx(rear, abs=1e-6)
    assert day.value("loaded/cart/axle/1") == pytest.approx(6300 + 3000 - rear, abs=1e-6)
    assert day.value("loaded/coupling/load") == 0.0
    assert day.findings.cautions[0] == (
        "loaded: cart lifts off its stand: its coupling end rises unless it is held down."
    )
    light = parked(500)
    assert 0.0 < light.value("loaded/coupling/load") < 300.0
    assert light.findings.cautions == (UNCHECKED,)


def test_an_equalised_tandem_without_its_stand_tips() -> None:
    """Two axles on one equaliser hold a trailer up no better than one axle does."""
    day = parked(3000, equalised=True)
    assert "it tips over" in day.findings.cautions[0]
    assert not [name for name in day.known() if name.startswith("loaded/")]


def test_a_coupling_can_pull_and_that_is_said() -> None:
    """On a truck the same trailer is held down by its ball: a negative coupling load, named as a danger."""
    rig = truck(0, 140, more=coupling(190)) + trailer(160)
    states = "[states.on]\n" + HITCHED + "[states.loaded]\n" + HITCHED + 'cargo = ["box"]\n'
    drafts = draft("on", on_pads("tow", 1500)) + draft("on", {"cart/1L": ("p1", 1000), "cart/1R": ("p2", 1000)})
    drafts += draft("alone", on_pads("tow", 1480))
    alone = '[states.alone]\nvehicles = ["tow"]\n'
    day = Pounds(HEAD, PADS, rig, box("cart", mass=800, x=240, y=0), alone, states, drafts)
    before = day.value("on/coupling/load")
    assert day.value("loaded/coupling/load") == pytest.approx(before - 800 * 80 / 160, abs=1e-3)
    assert before > 0.0
    said = (
        f"loaded: cart coupling load: negative coupling load (\N{MINUS SIGN}{400 - before:.0f} lb): the trailer "
        "pulls up on the towing vehicle. It sways easily and unloads the rear axle; do not tow it so."
    )
    assert said in day.findings.cautions


@pytest.mark.parametrize("y", np.linspace(-60.0, 60.0, 7))
def test_no_load_is_ever_negative_and_the_weight_is_kept(y: float) -> None:
    """A box moved across a trailer with bars: whatever lifts, the rest carries it all."""
    axles = "".join(f'[[vehicles.cart.axles]]\nx = "{x} in"\ntrack = "80 in"\n{SPRINGS}' for x in (160, 200))
    rig = f'[vehicles.cart]\nrole = "trailer"\n{axles}'
    first = {**on_pads("cart", 800), "cart/coupling": ("s9", 900)}
    cargo = box("cart", mass=3000, x=150, y=float(y))
    day = Pounds(HEAD, PADS, platform("s9", division=1), rig, cargo, CART_STATES, draft("parked", first))
    if "it tips over" in day.findings.cautions[0]:
        assert abs(y) > 45
        return
    loads = [day.value(f"loaded/cart/wheel/{wheel}") for wheel in WHEELS]
    assert min(loads) >= -1e-6
    assert sum(loads) + day.value("loaded/coupling/load") == pytest.approx(4 * 800 + 900 + 3000, abs=1e-4)
    lifted = adjust(parse_day(day.text, "day.toml")).lifts.get("loaded")
    off = set() if lifted is None else {WHEELS[wheel] for wheel in lifted.wheels.get("cart", ())}
    assert {wheel for wheel, load in zip(WHEELS, loads, strict=True) if load < 1e-6} == off


def test_a_trailer_that_only_the_one_behind_it_would_hold_up() -> None:
    """Its stand would lift, and nothing tells how high the trailer behind it holds it: left out in words, no crash."""
    rig = trailer(160, 200, equalised=True) + '[vehicles.cart.couplings.rear]\ntype = "ball"\nx = "320 in"\n'
    rig += '[vehicles.boat]\nrole = "trailer"\n' + "".join(
        f'[[vehicles.boat.axles]]\nx = "{x} in"\ntrack = "80 in"\n' for x in (150, 230)
    )
    states = '[states.parked]\nvehicles = ["cart"]\n[states.both]\nvehicles = ["cart", "boat"]\n'
    states += 'couple = { towing = "cart", at = "rear", trailer = "boat" }\n'
    drafts = draft("parked", {**on_pads("cart", 1000), "cart/coupling": ("s9", 600)})
    drafts += draft("both", on_pads("cart", 1900)) + draft("both", on_pads("boat", 700))
    day = Pounds(HEAD, PADS, platform("s9", division=1), rig, states, drafts)
    assert day.findings.cautions[0].startswith("both: the supports left do not hold the rig up")
    assert not [name for name in day.known() if name.startswith("both/")]
    assert day.value("parked/cart/gross") == pytest.approx(4600.0, abs=1e-6)


HEIGHTS = {"p1": 19.8, "p2": 81.6, "p3": 24.6, "p4": 63.0}
UNITS = 'format = 1\nunits = { mass = "lb", length = "in" }\n'
TILTED = "".join(pad(name, division=10, more=f'height = "{height} mm"') for name, height in HEIGHTS.items())
GOOSENECK = """[vehicles.tow]
role = "towing"
axles = [
  { x = 0, track = "1543 mm", ride_rate = "23.84 kg/mm" },
  { x = "5487 mm", track = "1543 mm", ride_rate = "27.76 kg/mm" },
]
couplings = { hook = { type = "gooseneck", x = "5444.5 mm" } }
[vehicles.cart]
role = "trailer"
axles = [
  { x = "2025 mm", track = "1543 mm", rating = "3830 kg", ride_rate = "18.38 kg/mm" },
  { x = "2075 mm", track = "1543 mm +/- 10 mm", rating = "522.5 kg", ride_rate = "21.32 kg/mm" },
]
[states.hitched]
vehicles = ["tow", "cart"]
couple = [{ towing = "tow", trailer = "cart", at = "hook", weight_distribution = true }]
"""
TWINS = ('[states.morning]\nvehicles = ["tow"]\n', '[states.evening]\nvehicles = ["tow"]\n')


def read(state: str, places: str, *values: float) -> str:
    """A draft with one pad after the other at these places [lb]."""
    return draft(state, dict(zip(places.split(), zip(HEIGHTS, values, strict=True), strict=True)))


def test_of_two_states_alike_neither_lifts_alone() -> None:
    """One of them is the reference, in which a vehicle stays down; which, the last digits or the file decided."""
    places = "tow/2L tow/2R cart/1L cart/1R"
    drafts = [read("hitched", places, 420, 470, 340, 340), read("hitched", places, 410, 460, 340, 340)]
    drafts.append(read("evening", "tow/1L tow/1R tow/2L tow/2R", 400, 450, 320, 370))
    found = []
    for states in (TWINS, TWINS[::-1]):
        solved = adjust(parse_day("".join([UNITS, TILTED, GOOSENECK, *states, *drafts]), "day.toml"))
        found.append((solved.lifts, round(solved.consistency.chi2, 6)))
    assert found[0] == found[1]
