"""A platform on the towing vehicle under the coupling point of a hitched trailer, with pads under the wheels.

Sources: levers, by hand, for what no spring decides; for the rest PyNiteFEA (MIT), the frame of ``frame.py``. A
coupling point that is raised against the towing vehicle is the same as the trailer's supports lowered by as much, for
the trailer is rigid: that is what the frame is given, and the platform's weight as a load over the coupling. Tolerance:
0.1 lb in some 900 lb; the frame bends a little and the product's bodies do not.
"""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import prospect
from steelyard.dayfile import parse_day
from tests.published.days import HEAD, HITCHED, Pounds, coupling, draft, pad, platform, trailer, truck
from tests.published.frame import Frame, LiveAxle
from tests.published.statics.test_pads_under_some_wheels import CART, POUND, TOW, axles

WHEELS = ("1L", "1R", "2L", "2R")
PADS = "".join(pad(f"p{number}", division=1) for number in range(1, 5))
EXACT = 'span_uncertainty = "0 %"\nrepeatability = "0 lb"\n'


def bed(*, mass: str = "", height: str = "") -> str:
    """A platform of 1 lb divisions."""
    more = EXACT + (f'mass = "{mass}"\n' if mass else "") + (f'height = "{height}"\n' if height else "")
    return platform("bed", division=1, more=more)


def on(vehicle: str, values: tuple[float, ...]) -> dict[str, tuple[str, float]]:
    """Readings of wheels in order."""
    return {
        f"{vehicle}/{wheel}": (f"p{n}", value) for n, (wheel, value) in enumerate(zip(WHEELS, values, strict=False), 1)
    }


def weighed(*, mass: str, shown: tuple[float, ...], pin: float = 900.0) -> Pounds:
    """A one-axle trailer with 900 lb on a ball 40 in behind the rear axle of a truck of 140 in wheelbase.

    Alone the truck has 2,400 and 1,600 lb on its axles; ``shown`` are its wheels with the platform in the bed.
    """
    rig = truck(0, 140, more=coupling(180)) + trailer(160)
    states = f'[states.on]\n{HITCHED}[states.alone]\nvehicles = ["tow"]\n'
    drafts = draft("alone", on("tow", (1200, 1200, 800, 800)))
    drafts += draft("on", {**on("tow", shown), "cart/coupling": ("bed", pin)})
    drafts += draft("on", {"cart/1L": ("p1", 2000), "cart/1R": ("p2", 2000)})
    return Pounds(HEAD, PADS, bed(mass=mass), rig, states, drafts)


def with_platform(mass: float) -> tuple[float, ...]:
    """Wheels of that truck with 900 lb and ``mass`` [lb] over the ball: by moments about its front axle."""
    down = 900.0 + mass
    front, rear = 2400.0 - down * 40.0 / 140.0, 1600.0 + down * 180.0 / 140.0
    return front / 2.0, front / 2.0, rear / 2.0, rear / 2.0


def test_levers_with_a_platform_of_140_lb() -> None:
    """The platform weighs on the truck while it stands there, and not when it drives away."""
    day = weighed(mass="140 lb", shown=tuple(round(load) for load in with_platform(140.0)))
    assert day.findings.consistency.consistent
    assert day.findings.consistency.dof >= 1.0  # the coupling load is known from the truck's wheels as well
    assert day.value("on/coupling/load") == pytest.approx(900.0, abs=1.0)
    assert day.value("on/tow/axle/1") == pytest.approx(2.0 * with_platform(0.0)[0], abs=1.0)
    assert day.value("on/tow/axle/2") == pytest.approx(2.0 * with_platform(0.0)[2], abs=1.0)
    assert day.value("on/cart/gross") == pytest.approx(4900.0, abs=1.5)
    assert not [said for said in day.findings.cautions if "bed" in said]


def test_the_platform_alone_tells_the_coupling_load() -> None:
    """No truck alone, no lever: the reading is the coupling load, to its rounding."""
    rig = truck(0, 140, more=coupling(180)) + trailer(160)
    drafts = draft("on", {"cart/coupling": ("bed", 873.0)})
    day = Pounds(HEAD, PADS, bed(), rig, f"[states.on]\n{HITCHED}", drafts)
    assert day.value("on/coupling/load") == pytest.approx(873.0, abs=1e-6)
    assert day.u("on/coupling/load") == pytest.approx(1.0 / np.sqrt(12.0), rel=1e-3)


def test_a_mass_that_is_not_given_is_said() -> None:
    day = weighed(mass="", shown=tuple(round(load) for load in with_platform(140.0)))
    said = (
        "bed: stood on tow under the coupling point of cart in draft 2, and its mass is not given: the wheels read in "
        "that draft are taken to carry nothing of it. Give the instrument its mass."
    )
    assert said in day.findings.cautions
    assert not day.findings.consistency.consistent


def hitched(kind: str = "ball", *, height: float = 3.0, mass: float = 150.0) -> str:
    """The frame's rig, hitched, drafted with the platform under its coupling."""
    told = f'kind = "platform"\ncapacity = 9000\ndivision = 1\nheight = {height}\nmass = {mass}'
    return (
        f'format = 1\n[instruments.bed]\n{told}\n[vehicles.tow]\nrole = "towing"\n{axles("tow", TOW)}\n'
        f'[vehicles.tow.couplings.hook]\ntype = "{kind}"\nx = "222 in +/- 0 in"\n'
        f'[vehicles.cart]\nrole = "trailer"\n{axles("cart", CART)}\n'
        f"[states.hitched]\n{HITCHED.replace('ball', 'hook')}"
        '[[drafts]]\nstate = "hitched"\nreadings = { "cart/coupling" = ["bed", 900] }\n'
    )


def effect(text: str) -> dict[str, list[float]]:
    """What the platform changes [lb] on every wheel and on the coupling in the draft with it."""
    found = prospect(parse_day(text, "day.toml"))
    values, layout = found.loads.values / POUND, found.layout
    told = {name: list(values[out] - values[layout.wheels_out[0][name]]) for name, out in layout.wheels_out[1].items()}
    told["coupling"] = [float(values[layout.coupling_out[1]["cart"]] - values[layout.coupling_out[0]["cart"]])]
    return told


def framed(*, height: float, mass: float) -> dict[str, list[float]]:
    made = Frame({"tow": TOW, "cart": CART}, "tow", x=222.0, y=0.0)
    for wheel in WHEELS:
        made.raise_support("cart", wheel, -height)
    made.load(mass)
    return made.solve()


@pytest.mark.parametrize(("height", "mass"), [(3.0, 0.0), (0.0, 150.0), (3.0, 150.0)])
def test_height_and_mass_against_a_frame(height: float, mass: float) -> None:
    told, frame = effect(hitched(height=height, mass=mass)), framed(height=height, mass=mass)
    for name in ("tow", "cart"):
        assert told[name] == pytest.approx(frame[name], abs=0.1)
    assert told["coupling"][0] == pytest.approx(-sum(frame["cart"]), abs=0.2)  # the trailer weighs what it weighed
    assert np.abs(frame["cart"]).max() > 5.0


def test_what_rests_on_a_plate_is_not_held_in_roll() -> None:
    """A fifth wheel lifted out of its jaws lets go of the 50 kg*m that were latched in: by moments about the middle."""
    found = prospect(parse_day(hitched("fifth_wheel", height=0.0, mass=0.0), "day.toml"))
    unknowns = found.rig.unknowns.starts()
    unknowns[found.rig.unknowns.index["latched", "tow", "hook", "cart"]] = 50.0
    values, layout = found.increments.solve(unknowns, {}).values, found.layout
    for name, rig, sign in (("tow", TOW, 1.0), ("cart", CART, -1.0)):
        change = values[layout.wheels_out[1][name]] - values[layout.wheels_out[0][name]]
        sides = [
            side * gear.track / 2.0 * 0.0254 for gear in rig.gear if isinstance(gear, LiveAxle) for side in (1, -1)
        ]
        assert abs(float(change @ sides)) == pytest.approx(50.0, rel=1e-6)
        assert np.sign(change @ sides) == -sign
        assert float(change.sum()) == pytest.approx(0.0, abs=1e-9)
