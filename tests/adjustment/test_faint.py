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
