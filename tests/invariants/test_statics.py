"""What statics owes to any rig: balance, reciprocity, and what levers alone decide.

Source: equilibrium of rigid bodies; Maxwell (1864) and Betti (1872) on reciprocity; Mueller-Breslau on influence lines.
Tolerance: 1e-7 of the largest load, a thousand times the rounding of operators whose condition is some 1e4.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.model import Sharing, Vehicle
from steelyard.statics import Change, Joint, mass_at
from tests.invariants.rigs import Made, changes, combinations, out_of_balance, vehicles

PROFILE = settings(max_examples=60, deadline=None, derandomize=True)
SPOT = st.tuples(st.floats(-1.0, 12.0), st.floats(-1.5, 1.5))


@PROFILE
@given(st.data())
def test_balance(data: st.DataObject) -> None:
    """Wheel and coupling loads hold up whatever is put on, in force, pitch and roll, vehicle by vehicle."""
    made = data.draw(combinations())
    change = data.draw(changes(made))
    left = out_of_balance(made, change, made.operator.solve(change))
    for name, forces in left.items():
        assert np.abs(forces).max() < 1e-6, name


@PROFILE
@given(made=combinations())
def test_support_influence_is_symmetric_and_never_negative(made: Made) -> None:
    """Lifting support a changes load b as lifting b changes a; lifting a support never unloads it."""
    by_height, _ = made.operator.support_influence()
    scale = np.abs(by_height).max()
    assert np.abs(by_height - by_height.T).max() < 1e-7 * max(scale, 1.0)
    assert np.linalg.eigvalsh((by_height + by_height.T) / 2).min() > -1e-7 * max(scale, 1.0)


@PROFILE
@given(made=combinations())
def test_uneven_supports_cannot_change_the_weight(made: Made) -> None:
    """A gross read in one draft is free of them: over all wheels and stands every column adds up to nothing."""
    by_height, couplings = made.operator.support_influence()
    stands = [place for place, joint in enumerate(made.joints) if joint.towing is None]
    total = by_height.sum(axis=0) + couplings[stands].sum(axis=0)
    assert np.abs(total).max() < 1e-7 * max(np.abs(by_height).max(), 1.0)


@PROFILE
@given(made=combinations())
def test_raising_all_supports_alike_changes_nothing(made: Made) -> None:
    """The common plane is of no account, unless a stand stays behind."""
    if any(joint.towing is None for joint in made.joints):
        return
    by_height, couplings = made.operator.support_influence()
    assert np.abs(by_height.sum(axis=1)).max() < 1e-7 * max(np.abs(by_height).max(), 1.0)
    assert np.abs(couplings.sum(axis=1)).max(initial=0.0) < 1e-7 * max(np.abs(by_height).max(), 1.0)


@PROFILE
@given(st.data())
def test_a_load_here_sinks_there_as_a_load_there_sinks_here(data: st.DataObject) -> None:
    """Maxwell, across couplings too."""
    made = data.draw(combinations())
    names = st.sampled_from(sorted(made.vehicles))
    (a, (ax, ay)), (b, (bx, by)) = data.draw(st.tuples(names, SPOT)), data.draw(st.tuples(names, SPOT))
    operator = made.operator
    there = operator.place_influence(a, x=ax, y=ay).motion[b] @ mass_at(1.0, x=bx, y=by)
    here = operator.place_influence(b, x=bx, y=by).motion[a] @ mass_at(1.0, x=ax, y=ay)
    size = abs(float(operator.place_influence(a, x=ax, y=ay).motion[a] @ mass_at(1.0, x=ax, y=ay)))
    assert there == pytest.approx(here, abs=1e-7 * max(size, 1e-9))


@PROFILE
@given(st.data())
def test_influence_lines_are_deflected_shapes(data: st.DataObject) -> None:
    """The load that a kilogram at a place puts on a wheel is how far that place rises when the wheel's support rises
    by one.
    """
    made = data.draw(combinations())
    on = data.draw(st.sampled_from(sorted(made.vehicles)))
    x, y = data.draw(SPOT)
    operator = made.operator
    felt = operator.place_influence(on, x=x, y=y)
    for name, vehicle in made.vehicles.items():
        wheel = data.draw(st.integers(0, 2 * len(vehicle.axles) - 1))
        raised = operator.solve(Change(supports={name: np.eye(2 * len(vehicle.axles))[wheel]}))
        rise = -float(raised.motion[on] @ mass_at(1.0, x=x, y=y))
        assert felt.wheels[name][wheel] == pytest.approx(rise, abs=1e-6)
    for joint in made.joints:
        lifted = operator.solve(Change(gaps={joint.trailer: 1.0}))
        rise = -float(lifted.motion[on] @ mass_at(1.0, x=x, y=y))
        assert felt.couplings[joint.trailer] == pytest.approx(rise, abs=1e-6)


@PROFILE
@given(st.data())
def test_loads_that_springs_do_not_make_are_balanced(data: st.DataObject) -> None:
    """Friction in a group, a load given back: whatever g is, the bodies feel nothing more than before."""
    made = data.draw(combinations())
    operator = made.operator
    wheels, couplings = operator.release()
    given_loads = np.random.default_rng(data.draw(st.integers(0, 99))).normal(0.0, 100.0, operator.wheel_count)
    felt, hung = wheels @ given_loads, couplings @ given_loads
    for name, (x, y) in made.places().items():
        loads = felt[operator.wheel_slice(name)]
        force, pitch, roll = loads.sum(), x @ loads, y @ loads
        for place, joint in enumerate(made.joints):
            if joint.trailer == name:
                force += hung[place]
            if joint.towing == name:
                force -= hung[place]
                pitch -= hung[place] * joint.x
        if not any(joint.bars for joint in made.joints):
            assert abs(pitch) < 1e-6
        if not any(joint.tie for joint in made.joints):
            assert abs(roll) < 1e-6
        assert abs(force) < 1e-6


RATES = st.lists(st.floats(0.2, 5.0), min_size=4, max_size=4)


@PROFILE
@given(st.data())
def test_what_levers_decide_does_not_depend_on_springs(data: st.DataObject) -> None:
    """Axle totals of a two-axle truck, axle and coupling of a one-axle or equalised trailer, whatever the rates."""
    truck = data.draw(vehicles("tow", axles=st.just(2)))
    one = data.draw(st.booleans())
    cart = data.draw(
        vehicles("cart", axles=st.just(1))
        if one
        else vehicles("cart", axles=st.integers(2, 4), sharing=Sharing.EQUALISED)
    )
    made = Made({"tow": truck, "cart": cart}, (Joint("cart", "tow", truck.axles[-1].x.value + 1.2),))
    change = data.draw(changes(made))
    change = Change(change.loads, change.couples)  # supports do act through springs
    before = made.operator.solve(change)
    for name in ("tow", "cart"):
        after = replace(made, factors={name: data.draw(RATES)}).operator.solve(change)
        assert after.couplings["cart"] == pytest.approx(before.couplings["cart"], abs=1e-6)
        for vehicle in ("tow", "cart"):
            pairs = after.wheels[vehicle].reshape(-1, 2).sum(axis=1)
            assert pairs == pytest.approx(before.wheels[vehicle].reshape(-1, 2).sum(axis=1), abs=1e-6)


@PROFILE
@given(cart=vehicles("cart", axles=st.just(2), sharing=Sharing.INDEPENDENT))
def test_what_springs_do_decide_does_depend_on_them(cart: Vehicle) -> None:
    """The check above can fail: an independent tandem's coupling load moves with its rates."""
    made = Made({"cart": cart}, (Joint("cart"),))
    change = Change(loads={"cart": mass_at(500.0, x=1.0, y=0.3)})
    before = made.operator.solve(change)
    after = replace(made, factors={"cart": [5.0, 0.2, 1.0, 1.0]}).operator.solve(change)
    assert abs(after.couplings["cart"] - before.couplings["cart"]) > 0.5


@PROFILE
@given(st.data())
def test_loads_superpose(data: st.DataObject) -> None:
    """The operator is linear: two changes together do what they do one by one."""
    made = data.draw(combinations())
    first, second = data.draw(changes(made)), data.draw(changes(made))
    operator = made.operator
    both = Change(
        {name: tuple(np.add(first.loads[name], second.loads[name])) for name in made.vehicles},
        {name: first.couples[name] + second.couples[name] for name in first.couples},
        {name: first.supports[name] + second.supports[name] for name in made.vehicles},
        {name: first.gaps[name] + second.gaps[name] for name in first.gaps},
    )
    a, b, c = operator.solve(first), operator.solve(second), operator.solve(both)
    for name in made.vehicles:
        assert c.wheels[name] == pytest.approx(a.wheels[name] + b.wheels[name], abs=1e-6)
    for name, load in c.couplings.items():
        assert load == pytest.approx(a.couplings[name] + b.couplings[name], abs=1e-6)
