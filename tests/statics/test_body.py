"""One vehicle on its springs: the maps ``B`` and ``S``, written out for small rigs, and their tangents."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.model import Axle, Role, Sharing, Vehicle
from steelyard.statics import BodyLayout, Springs, ride_rate, roll_rate, springs_of
from steelyard.statics.defaults import ASSUMED_RATE, RATED_DEFLECTION, RIDE_RATE, ROLL_SHARE, STATED_RATE
from steelyard.units import Quantity
from tests.invariants.rigs import vehicles
from tests.published.rigs import body, vehicle


def test_travel_of_the_wheels() -> None:
    """Rows (1, x, y), front to rear, left before right, left positive."""
    made = body(vehicle("tow", [0.0, 4.0], tracks=[1.8, 2.0]))
    expected = [[1, 0, 0.9], [1, 0, -0.9], [1, 4, 1.0], [1, 4, -1.0]]
    assert made.travel == pytest.approx(np.array(expected))


def test_springs_and_an_anti_roll_bar() -> None:
    """Ride on the diagonal; a bar takes r / t^2 (left minus right) from one end and gives it to the other."""
    made = body(vehicle("tow", [0.0], tracks=2.0, ride=1000.0, roll=800.0))
    assert made.stiffness == pytest.approx(np.array([[1200.0, -200.0], [-200.0, 1200.0]]))


def test_roll_stiffness_of_an_axle() -> None:
    """Springs give k t^2 / 2 and the bar r."""
    made = body(vehicle("tow", [0.0], tracks=2.0, ride=1000.0, roll=800.0))
    assert made.ground_stiffness[2, 2] == pytest.approx(1000.0 * 2.0**2 / 2 + 800.0)
    assert made.ground_stiffness[0, 0] == pytest.approx(2000.0)


def test_an_equalised_side_feels_its_mean_travel_and_shares_alike() -> None:
    made = body(vehicle("cart", [4.0, 5.0], trailer=True, tracks=2.0, ride=[1000.0, 3000.0], equalised=True))
    loads = made.stiffness @ np.array([0.02, 0.0, 0.0, 0.0])
    assert loads == pytest.approx([20.0, 0.0, 20.0, 0.0])  # 4000 kg/m on a mean of 0.01 m, half each
    assert made.stiffness @ np.array([0.01, 0.0, -0.01, 0.0]) == pytest.approx(np.zeros(4), abs=1e-9)


def test_groups() -> None:
    """Neighbours of one name share; an independent axle of the same name, or one apart, does not."""

    def axle(x: float, group: str | None, sharing: Sharing) -> Axle:
        return Axle(Quantity(x), Quantity(2.0), group=group, sharing=sharing)

    equal, single = Sharing.EQUALISED, Sharing.INDEPENDENT
    cases = [
        ([("a", equal), ("a", equal), ("a", equal)], ((0, 1, 2),)),
        ([("a", equal), ("a", equal), (None, single)], ((0, 1), (2,))),
        ([("a", equal), ("a", equal), ("b", equal), ("b", equal)], ((0, 1), (2, 3))),
        ([("a", single), ("a", single)], ((0,), (1,))),
    ]
    for axles, groups in cases:
        made = Vehicle("cart", Role.TRAILER, tuple(axle(4.0 + n, *told) for n, told in enumerate(axles)))
        assert BodyLayout(made).groups == groups


@settings(max_examples=40, deadline=None, derandomize=True)
@given(made=st.one_of(vehicles("tow"), vehicles("cart")), seed=st.integers(0, 99))
def test_tangents(made: Vehicle, seed: int) -> None:
    """Derivatives of B and S by place, track and logarithms of rates, against central differences."""
    layout, springs = BodyLayout(made), springs_of(made)
    count = layout.axles
    rng = np.random.default_rng(seed)
    parts = [springs.x, springs.track * rng.uniform(0.9, 1.1, count), springs.ride, springs.roll]

    def at(parameter: int, step: float) -> tuple[np.ndarray, np.ndarray]:
        moved = [part.copy() for part in parts]
        kind, axle = divmod(parameter, count)
        moved[kind][axle] = moved[kind][axle] * np.exp(step) if kind > 1 else moved[kind][axle] + step
        built = layout.build(Springs(*moved))
        return built.travel, built.stiffness

    built = layout.build(Springs(*parts))
    for parameter in range(4 * count):
        (ahead, stiff_ahead), (behind, stiff_behind) = at(parameter, 1e-4), at(parameter, -1e-4)
        assert built.d_travel[parameter] == pytest.approx((ahead - behind) / 2e-4, abs=1e-7)
        numeric = (stiff_ahead - stiff_behind) / 2e-4
        assert np.abs(built.d_stiffness[parameter] - numeric).max() < 1e-6 * np.abs(built.stiffness).max()


def test_a_lifted_wheel_lets_its_bar_go() -> None:
    """One end in the air: the bar carries what the free spring gives; the reference load finds the other end."""
    made = body(vehicle("tow", [0.0, 4.0], tracks=2.0, ride=1000.0, roll=[800.0, 0.0])).lifted([1])
    bar = 800.0 / 2.0**2
    assert made.stiffness[0, 0] == pytest.approx(1000.0 + bar * 1000.0 / (bar + 1000.0))
    assert made.stiffness[1] == pytest.approx(np.zeros(4))
    assert made.stiffness[2, 2] == pytest.approx(1000.0)
    assert made.kept is not None
    # Of the lifted wheel's reference load 200 / 1200 hung on the bar and so on the other end.
    assert made.kept @ np.array([300.0, 300.0, 300.0, 300.0]) == pytest.approx([350.0, 0.0, 300.0, 300.0])
    plain = body(vehicle("tow", [0.0]))
    assert plain.lifted([]) is plain


def test_rates_stated_and_assumed() -> None:
    """Stated rates are good to 10 % unless they say; those from a rating, and round figures, to 50 %."""
    bare = Axle(Quantity(0.0), Quantity(2.0))
    assert (ride_rate(bare).value, ride_rate(bare).relative_u) == (RIDE_RATE, ASSUMED_RATE)
    assert roll_rate(bare).value == pytest.approx(ROLL_SHARE * RIDE_RATE * 2.0**2 / 2)
    rated = Axle(Quantity(0.0), Quantity(2.0), rating=1800.0)
    assert ride_rate(rated).value == pytest.approx(900.0 / RATED_DEFLECTION)
    stated = Axle(Quantity(0.0), Quantity(2.0), rating=1800.0, ride_rate=Quantity(8000.0))
    assert (ride_rate(stated).value, ride_rate(stated).relative_u) == (8000.0, STATED_RATE)
    assert (roll_rate(stated).value, roll_rate(stated).relative_u) == (0.0, 0.0)
    doubtful = Axle(Quantity(0.0), Quantity(2.0), ride_rate=Quantity(8000.0, 400.0), roll_rate=Quantity(500.0, 100.0))
    assert ride_rate(doubtful).relative_u == pytest.approx(0.05)
    assert (roll_rate(doubtful).value, roll_rate(doubtful).relative_u) == (500.0, pytest.approx(0.2))
