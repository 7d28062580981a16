"""Influences of loads and of support settlement, against a general structural library's space frame.

Source: PyNiteFEA (MIT), linear analysis of the frames in ``frame.py``: bodies as stiff beams with overhangs, springs,
live axles, rocking beams, a ball as a hinge, a fifth wheel as a hinge with a twisting arm, moved supports.
Tolerance: 0.05 lb in 1000 lb, and 0.05 lb/in in some 400 lb/in. The frame bends a little and the product's bodies do
not: the differences are up to 0.012, and a stiffness ten times lower made them ten times larger.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from steelyard.statics import Body, Change, Combination, Joint, mass_at
from tests.published.frame import Frame, Hung, LiveAxle, Rigid, Rocker
from tests.published.rigs import body, vehicle

TOW = Rigid([LiveAxle(0, 68, 380, 90), LiveAxle(170, 66, 520, 66)])
CART = [LiveAxle(180, 80, 700, 80), LiveAxle(216, 78, 760, 90)]
BALL = Hung("tow", 222.0)

Rig = Mapping[str, Rigid]
RIGS: dict[str, Rig] = {
    "truck": {"tow": TOW},
    "equalised": {"tow": TOW, "cart": Rigid([Rocker((180, 216), 80, 700)], BALL)},
    "independent": {"tow": TOW, "cart": Rigid(CART, BALL)},
    "fifth wheel": {"tow": TOW, "cart": Rigid(CART, Hung("tow", 160.0, 600_000.0))},
    "two trailers": {
        "tow": TOW,
        "cart": Rigid(CART, BALL),
        "boat": Rigid([LiveAxle(150, 70, 600, 74)], Hung("cart", 300)),
    },
}
NAMES = pytest.mark.parametrize("name", RIGS)
SPOTS = [(60.0, 15.0), (250.0, -30.0), (-40.0, 0.0)]


def product_body(name: str, rigid: Rigid) -> Body:
    """The same vehicle as the product knows it: axles, rates, and bars in place of springs that stand wider apart."""
    xs: list[float] = []
    tracks: list[float] = []
    rides: list[float] = []
    bars: list[float] = []
    for gear in rigid.gear:
        places = [gear.x] if isinstance(gear, LiveAxle) else list(gear.xs)
        xs += places
        tracks += [gear.track] * len(places)
        rides += [gear.rate] * len(places)
        bars += [gear.roll_rate if isinstance(gear, LiveAxle) else 0.0] * len(places)
    equalised = any(isinstance(gear, Rocker) for gear in rigid.gear)
    made = vehicle(name, xs, trailer=rigid.hung is not None, tracks=tracks, ride=rides, roll=bars, equalised=equalised)
    return body(made)


def product(rig: Rig) -> Combination:
    """The rig as the product knows it."""
    hung = {name: rigid.hung for name, rigid in rig.items()}
    joints = [Joint(name, of.towing, of.x, of.tie) for name, of in hung.items() if of is not None]
    return Combination({name: product_body(name, rigid) for name, rigid in rig.items()}, joints)


def coupling_loads(rig: Rig, wheels: Mapping[str, list[float]], loads: Mapping[str, float]) -> dict[str, float]:
    """What each trailer does not carry itself hangs on its coupling (rear to front)."""
    found: dict[str, float] = {}
    for name, rigid in reversed(list(rig.items())):
        if rigid.hung is not None:
            behind = sum(load for other, load in found.items() if (rig[other].hung or BALL).towing == name)
            found[name] = loads.get(name, 0.0) + behind - sum(wheels[name])
    return found


@NAMES
@pytest.mark.parametrize(("x", "y"), SPOTS, ids=str)
def test_influence_of_a_load(name: str, x: float, y: float) -> None:
    """1000 lb on each vehicle in turn: ahead of its first axle, over its axles, beside its spine."""
    rig = RIGS[name]
    operator = product(rig)
    for on in rig:
        if on != "tow" and x < 0:
            continue  # nothing of a trailer lies ahead of its coupling point here
        frame = Frame(rig, on, x=x, y=y)
        frame.load(1000.0)
        expected = frame.solve()
        found = operator.solve(Change(loads={on: mass_at(1000.0, x=x, y=y)}))
        for vehicle_name, wheels in expected.items():
            assert found.wheels[vehicle_name] == pytest.approx(wheels, abs=0.05)
        assert found.couplings == pytest.approx(coupling_loads(rig, expected, {on: 1000.0}), abs=0.1)


@pytest.mark.parametrize("name", ["equalised", "independent"])
def test_influence_of_a_couple(name: str) -> None:
    """Weight-distributing bars of 20,000 lb*in: two opposite moments on the bodies of the frame, and no force."""
    rig = RIGS[name]
    frame = Frame(rig, "tow", x=60.0, y=0.0)
    frame.couple("cart", 20_000.0)
    expected = frame.solve()
    found = product(rig).solve(Change(couples={"cart": 20_000.0}))
    for vehicle_name, wheels in expected.items():
        assert found.wheels[vehicle_name] == pytest.approx(wheels, abs=0.05)
    assert found.couplings == pytest.approx(coupling_loads(rig, expected, {}), abs=0.1)
    assert sum(expected["tow"][:2]) > 100.0
    assert sum(expected["cart"]) > 50.0
    assert sum(expected["tow"]) + sum(expected["cart"]) == pytest.approx(0.0, abs=0.01)


@NAMES
def test_influence_of_a_settlement(name: str) -> None:
    """One inch under each support in turn."""
    rig = RIGS[name]
    by_height, coupling_by_height = product(rig).support_influence()
    column = 0
    for vehicle_name, rigid in rig.items():
        axles = sum(1 if isinstance(gear, LiveAxle) else 2 for gear in rigid.gear)
        for wheel in [f"{axle}{side}" for axle in range(1, axles + 1) for side in "LR"]:
            frame = Frame(rig, "tow", x=60.0, y=0.0)
            frame.raise_support(vehicle_name, wheel, 1.0)
            expected = frame.solve()
            assert by_height[:, column] == pytest.approx(np.concatenate(list(expected.values())), abs=0.05)
            couplings = list(reversed(coupling_loads(rig, expected, {}).values()))
            assert coupling_by_height[:, column] == pytest.approx(couplings, abs=0.1)
            column += 1
    assert np.abs(by_height).max() > 50.0


def test_the_stiff_rigs_differ_where_they_should() -> None:
    """The checks above can tell one rig from another: an equaliser, a roll tie and a bar each change what is felt."""
    felt = {}
    for name in ("equalised", "independent", "fifth wheel"):
        frame = Frame(RIGS[name], "cart", x=250.0, y=-30.0)
        frame.load(1000.0)
        felt[name] = np.concatenate(list(frame.solve().values()))
    assert np.abs(felt["equalised"] - felt["independent"]).max() > 20.0
    assert np.abs(felt["independent"] - felt["fifth wheel"]).max() > 20.0
