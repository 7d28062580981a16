"""What the readings tell only to a thousand tons is not determined, and leaves the rest alone."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment.solve import FAINT, solve
from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from tests.fuzz.writing import LENGTHS, MASSES

READINGS = {
    "laden": {"1L": 310, "1R": 280, "2L": 300, "2R": 290},
    "lighter": {"1L": 320, "1R": 320, "2L": 330, "2R": 310},
    "unread": {"1L": 300, "2L": 310, "2R": 290},
}
"""On the first two of four axles [kg]."""


def day_text(mass: str, length: str) -> str:
    """A trailer on four independent axles; a crate of unknown mass and place that has known masses on other states."""

    def kg(value: float) -> str:
        return f"{value / MASSES[mass]:.13f}"

    def m(value: float) -> str:
        return f"{value / LENGTHS[length]:.13f}"

    text = f'format = 1\nunits = {{ mass = "{mass}", length = "{length}" }}\n'
    for pad in ("p1", "p2", "p3", "p4"):
        text += f'[instruments.{pad}]\nkind = "pad"\ndivision = {kg(10)}\ncapacity = {kg(40000)}\nheight = {m(0.08)}\n'
    text += f'[vehicles.cart]\nrole = "trailer"\ncg_height = {m(1.0)}\n'
    for x in (6.4, 7.3, 8.2, 9.1):
        text += f"[[vehicles.cart.axles]]\nx = {m(x)}\ntrack = {m(1.5)}\nrating = {kg(2000)}\n"
        text += 'group = "rear"\nsharing = "independent"\n'
    text += f'[cargo.crate]\non = "cart"\ny = 0\n[cargo.box]\non = "cart"\nmass = {kg(80)}\ny = 0\n'
    text += '[states.unread]\nvehicles = ["cart"]\ncargo = ["crate"]\n'
    for state, known, cargo in (("laden", 133, '"crate", "box"'), ("lighter", 332, '"crate"')):
        text += f'[states.{state}]\nvehicles = ["cart"]\ncargo = [{cargo}]\n'
        text += f"change = {{ crate = {{ mass = {kg(known)} }} }}\n"
    for state, readings in READINGS.items():
        said = ", ".join(f'"cart/{wheel}" = ["p{n}", {kg(v)}]' for n, (wheel, v) in enumerate(readings.items(), 1))
        text += f'[[drafts]]\nstate = "{state}"\nunsupported = "ground"\nreadings = {{ {said} }}\n'
    return text


def test_a_mass_that_its_place_alone_hints_at_is_not_determined() -> None:
    """The crate's mass is felt only by its share of an unknown moment: it ran off to a hundred thousand tons, each unit
    of the file to others, and took the loads of the wheels with it.
    """
    found = []
    for mass, length in (("kg", "m"), ("kg", "mm"), ("lb", "in"), ("lb", "ft")):
        findings = weigh(parse_day(day_text(mass, length), "cart.toml")).findings
        found.append({one.id: one.value for one in findings if one.determined and one.value is not None})
    plain = found[0]
    assert len(plain) > 50
    assert max(abs(value) for value in plain.values()) < 1000.0
    for other in found[1:]:
        assert other == pytest.approx(plain, rel=1e-6, abs=1e-6)


WHEELS, PADS = ("1L", "1R", "2L", "2R"), ("p1", "p2", "p3", "p4")
HITCHED = """format = 1
units = {{ mass = "{mass}", length = "{length}" }}
{pads}[vehicles.tow]
role = "towing"
axles = [{{ x = 0, track = "1.64 m +/- 1 cm" }}, {{ x = "2.41 m", track = "1.64 m", roll_rate = "6700 kg*m/rad" }}]
couplings = {{ hook = {{ type = "ball", x = "3.22 m" }} }}
[vehicles.cart]
role = "trailer"
axles = [{{ x = "2.96 m", track = "1.37 m", rating = "2480 kg", dual = true }}]
[cargo.crate]
on = "tow"
y = 0
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "cart"]
couple = [{{ towing = "tow", trailer = "cart", at = "hook" }}]
cargo = ["crate"]
[[drafts]]
state = "solo"
readings = {{ {solo} }}
[[drafts]]
state = "hitched"
readings = {{ {hitched} }}
"""


def test_what_two_unknown_masses_do_together_is_not_determined() -> None:
    """Crate and coupling both press on the towing vehicle, and only how much of them each wheel bears tells them apart:
    the trailer came out as thousands of tons, give or take millions, and other ones in other units.
    """
    loads = {"solo": (170, 450, 940, 1230), "hitched": (430, 710, 1140, 1440)}
    found = []
    pads = "".join(f'[instruments.{pad}]\nkind = "pad"\ndivision = "10 lb"\ncapacity = "9 t"\n' for pad in PADS)
    said = {
        state: ", ".join(
            f'"tow/{wheel}" = ["{pad}", "{load} lb"]' for wheel, pad, load in zip(WHEELS, PADS, some, strict=True)
        )
        for state, some in loads.items()
    }
    for mass, length in (("kg", "mm"), ("lb", "in")):
        day = parse_day(HITCHED.format(mass=mass, length=length, pads=pads, **said), "day.toml")
        found.append({one.id: one.value for one in weigh(day).findings if one.determined})
    assert len(found[0]) > 30
    assert max(abs(value or 0.0) for value in found[0].values()) < 1e4
    assert found[1] == pytest.approx(found[0], rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("rests", [1e-3, 1e-5, 1e-7])
def test_how_little_two_columns_may_differ(rests: float) -> None:
    """Readings that move by a fiftieth of their doubt with either unknown, and hardly by their difference."""
    design = 0.02 * np.array([[1.0, 1.0], [1.0, 1.0 + rests], [1.0, 1.0 - rests]])
    solved = solve(design, np.ones(3), np.full(2, np.nan), np.zeros(2), tolerance=1e-12, faint=FAINT)
    assert solved.rank == (2 if 0.02 * rests > FAINT else 1)
    assert solved.determined(np.array([[1.0, 0.0], [1.0, 1.0]])).tolist() == [solved.rank == 2, True]


@pytest.mark.parametrize("spread", [1e-3, 1e3, 1e5])
def test_how_little_a_column_may_say(spread: float) -> None:
    """Two sums of two unknowns, the second felt by ``1 / spread`` of its size."""
    design = np.array([[1.0, 0.0], [1.0, 1.0 / spread], [0.0, 1.0 / spread]])
    nan = np.full(2, np.nan)
    near = solve(design, np.array([1.0, 2.0, 1.0]), nan, np.zeros(2), faint=FAINT)
    assert near.rank == 2
    assert near.step == pytest.approx([1.0, spread], rel=1e-9)
    faint = solve(design * [1.0, 1e-7 * spread], np.array([1.0, 2.0, 1.0]), nan, np.zeros(2), faint=FAINT)
    assert faint.rank == 1
    assert faint.determined(np.eye(2)).tolist() == [True, False]
    assert faint.step[1] == 0.0
