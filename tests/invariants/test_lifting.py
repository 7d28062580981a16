"""A wheel can only push: what lifts, what then carries, and what tips over.

Checked against every way of lifting, tried one by one: loads on the ground are never negative, gaps in the air are
never negative, and there is only one such way (a stable rig on elastic springs has one state of rest; Signorini's
problem is a convex one). Tolerance: 1e-6 kg.
"""

from __future__ import annotations

from itertools import combinations as choose

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from steelyard.model import Sharing
from steelyard.statics import Array, Change, Combination, Joint, Lift, Response, TipsOverError, mass_at
from tests.invariants.rigs import Made, combinations, out_of_balance, vehicles
from tests.published.rigs import body, vehicle

Case = tuple[Made, Change, dict[str, Array], dict[str, float]]

PROFILE = settings(max_examples=80, deadline=None, derandomize=True)


@st.composite
def overloaded(draw: st.DrawFn) -> Case:
    """A rig with reference loads, and a heavy load far out on one of its vehicles."""
    made = draw(combinations(ties=False, bars=False))
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    reference = {name: rng.uniform(200, 900, 2 * len(vehicle.axles)) for name, vehicle in made.vehicles.items()}
    stands = {joint.trailer: float(rng.uniform(50, 400)) for joint in made.joints if joint.towing is None}
    on = draw(st.sampled_from(sorted(made.vehicles)))
    x, y = draw(st.floats(-2.0, 14.0)), draw(st.floats(-2.0, 2.0))
    mass = draw(st.floats(200.0, 4000.0))
    return made, Change(loads={on: mass_at(mass, x=x, y=y)}), reference, stands


def change_of(found: Response, reference: dict[str, Array], stands: dict[str, float]) -> Response:
    """Loads less what they were before."""
    wheels = {name: found.wheels[name] - reference[name] for name in reference}
    couplings = {name: load - stands.get(name, 0.0) for name, load in found.couplings.items()}
    return Response(
        wheels, couplings | {name: -load for name, load in stands.items() if name not in couplings}, found.motion
    )


def settled(case: Case) -> tuple[Response, Lift] | None:
    made, change, reference, stands = case
    try:
        return made.operator.settle(change, reference, stands)
    except TipsOverError:
        return None


@PROFILE
@given(overloaded())
def test_nothing_pulls_and_everything_is_in_balance(case: Case) -> None:
    made, change, reference, stands = case
    found = settled(case)
    if found is None:
        return
    loads, lift = found
    for name, wheels in loads.wheels.items():
        # only changes are shared in an equalised group: the side as a whole pushes, and lifts as a whole
        sides = made.bodies[name].layout.equalised_sides()
        single = sorted(set(range(len(wheels))) - {wheel for side in sides for wheel in side})
        assert min(wheels[single], default=0.0) >= -1e-6
        assert min((wheels[list(side)].sum() for side in sides), default=0.0) >= -1e-6
        assert wheels[sorted(lift.wheels.get(name, ()))] == pytest.approx(0.0, abs=1e-9)
    assert all(loads.couplings[name] >= -1e-6 for name in stands if name in loads.couplings)
    assert set(stands) - set(loads.couplings) == set(lift.stands)
    for forces in out_of_balance(made, change, change_of(loads, reference, stands)).values():
        assert np.abs(forces).max() < 1e-6


@PROFILE
@given(overloaded())
def test_a_side_of_an_equalised_group_lifts_whole(case: Case) -> None:
    made, _, _, _ = case
    found = settled(case)
    if found is None:
        return
    for name, standing in made.bodies.items():
        off = found[1].wheels.get(name, frozenset())
        for side in standing.layout.equalised_sides():
            assert len(off & set(side)) in (0, len(side))


def ways_to_rest(
    made: Made, change: Change, reference: Array, stand: float
) -> list[tuple[frozenset[int], bool, Array]]:
    """Every set of lifted wheels (and the stand) of a trailer on its stand that leaves loads and gaps non-negative."""
    cart = made.bodies["cart"]
    travel, stiffness, count = cart.travel, cart.stiffness, cart.layout.wheels
    load = np.array(change.loads["cart"], dtype=float)
    found: list[tuple[frozenset[int], bool, Array]] = []
    for size in range(count):
        for off in choose(range(count), size):
            for aloft in (False, True):
                state = _rest(travel, stiffness, load, reference, stand, list(off), aloft=aloft)
                if state is not None:
                    found.append((frozenset(off), aloft, state))
    return found


def _rest(
    travel: Array, stiffness: Array, load: Array, reference: Array, stand: float, off: list[int], *, aloft: bool
) -> Array | None:
    """Wheel loads with these off the ground, by unknown motion, stand load and wheel drop; None: impossible.

    Unknowns: heave, pitch, roll, stand load, drop of each lifted wheel end below its place on the ground's plane.
    """
    count, loose = len(reference), len(off)
    drop = np.zeros((count, loose))
    drop[off, range(loose)] = 1.0
    size = 4 + loose
    matrix, right = np.zeros((size, size)), np.zeros(size)
    matrix[:3, :3], matrix[:3, 4:] = travel.T @ stiffness @ travel, travel.T @ stiffness @ drop
    matrix[0, 3] = 1.0
    right[:3] = load + np.array([stand, 0.0, 0.0])
    matrix[3, 3 if aloft else 0] = 1.0  # no load on the stand, or no motion at it
    matrix[4:, :3], matrix[4:, 4:] = (stiffness @ travel)[off], (stiffness @ drop)[off]
    right[4:] = -reference[off]
    if np.linalg.cond(matrix / np.maximum(np.abs(matrix).max(axis=1, keepdims=True), 1e-12)) > 1e10:
        return None
    x = np.linalg.solve(matrix, right)
    wheels = reference + stiffness @ (travel @ x[:3] + drop @ x[4:])
    holds = (wheels > -1e-7).all() and (x[4:] > -1e-10).all() and x[3] > -1e-7 and (not aloft or x[0] < 1e-10)
    return wheels if holds else None


@PROFILE
@given(st.data())
def test_against_every_way_of_lifting(data: st.DataObject) -> None:
    """A parked trailer of one to three independent axles, with anti-roll bars: the same wheels lift, the same loads
    stay.
    """
    axles = st.integers(1, 3)
    made = Made({"cart": data.draw(vehicles("cart", axles=axles, sharing=Sharing.INDEPENDENT))}, (Joint("cart"),))
    rng = np.random.default_rng(data.draw(st.integers(0, 2**32 - 1)))
    reference = rng.uniform(30, 400, 2 * len(made.vehicles["cart"].axles))
    stand = float(rng.uniform(20, 400))
    x, y = data.draw(st.floats(-1.0, 12.0)), data.draw(st.floats(-2.0, 2.0))
    change = Change(loads={"cart": mass_at(data.draw(st.floats(200.0, 4000.0)), x=x, y=y)})
    ways = ways_to_rest(made, change, reference, stand)
    found = settled((made, change, {"cart": reference}, {"cart": stand}))
    if found is None:
        assert ways == []
        return
    loads, lift = found
    assume(min(abs(w) for w in (*loads.wheels["cart"], 1.0)) > 1e-5 or lift.any)
    assert ways, "the product found a state of rest where there is none"
    for _, aloft, wheels in ways:
        assert loads.wheels["cart"] == pytest.approx(wheels, abs=1e-5)
        assert aloft == bool(lift.stands)


def parked(load_at: float, mass: float, *, side: float = 0.0) -> tuple[Response, Lift]:
    """A one-axle trailer, 400 kg on each wheel and 100 kg on its stand."""
    operator = Combination({"cart": body(vehicle("cart", [4.0], trailer=True))}, [Joint("cart")])
    change = Change(loads={"cart": mass_at(mass, x=load_at, y=side)})
    return operator.settle(change, {"cart": np.array([400.0, 400.0])}, {"cart": 100.0})


def test_a_stand_lifts_and_the_trailer_tips_over() -> None:
    """A load behind the axle takes the stand's load off; one axle alone does not hold a trailer up."""
    loads, lift = parked(5.0, 350.0)
    assert not lift.any
    assert loads.couplings["cart"] == pytest.approx(100.0 - 350.0 / 4)
    with pytest.raises(TipsOverError, match="does not hold the combination up"):
        parked(5.0, 450.0)
    with pytest.raises(TipsOverError):
        parked(4.0, 700.0, side=2.0)


def test_a_stand_lifts_under_a_tandem() -> None:
    """A tandem stands by itself: the stand lifts and the axles carry all."""
    operator = Combination({"cart": body(vehicle("cart", [4.0, 5.0], trailer=True))}, [Joint("cart")])
    change = Change(loads={"cart": mass_at(800.0, x=6.0, y=0.0)})
    loads, lift = operator.settle(change, {"cart": np.full(4, 300.0)}, {"cart": 50.0})
    assert lift.stands == {"cart"}
    assert "cart" not in loads.couplings
    assert loads.wheels["cart"].sum() == pytest.approx(4 * 300 + 50 + 800)


def test_a_lifted_corner_gives_its_load_to_the_others() -> None:
    """Levers: 300 kg on a corner of a truck tilt it about a diagonal until a wheel lifts; three wheels then decide
    all.
    """
    operator = Combination({"tow": body(vehicle("tow", [0.0, 4.0], tracks=2.0, ride=8000.0))}, [])
    change = Change(loads={"tow": mass_at(2000.0, x=4.5, y=1.2)})
    loads, lift = operator.settle(change, {"tow": np.array([300.0, 300.0, 300.0, 300.0])}, {})
    assert lift.wheels == {"tow": frozenset({1})}
    left, right, rear_left, rear_right = loads.wheels["tow"]
    assert right == 0.0
    total, moment, roll = 1200 + 2000, 2 * 300 * 4.0 + 2000 * 4.5, 2000 * 1.2
    assert left + rear_left + rear_right == pytest.approx(total)
    assert 4.0 * (rear_left + rear_right) == pytest.approx(moment)
    assert left + rear_left - rear_right == pytest.approx(roll)
