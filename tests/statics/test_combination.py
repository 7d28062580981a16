"""The operator on rigs small enough to reckon by hand."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.statics import Change, Combination, Joint, TipsOverError, mass_at
from tests.published.rigs import body, vehicle

TRUCK = vehicle("tow", [0.0, 4.0], ride=[7000.0, 9000.0])


def hitched(*, tie: float = 0.0, bars: float = 0.0) -> Combination:
    """A truck with its ball at 5.2 m and a one-axle trailer, axle 4 m behind the ball."""
    cart = vehicle("cart", [4.0], trailer=True)
    return Combination({"tow": body(TRUCK), "cart": body(cart)}, [Joint("cart", "tow", 5.2, tie, bars)])


def test_a_load_over_the_trailers_axle_stays_there() -> None:
    found = hitched().place_influence("cart", x=4.0, y=0.0)
    assert found.wheels["cart"] == pytest.approx([0.5, 0.5])
    assert found.couplings["cart"] == pytest.approx(0.0, abs=1e-12)
    assert found.wheels["tow"] == pytest.approx(np.zeros(4), abs=1e-12)


def test_a_load_on_the_ball_is_the_trucks() -> None:
    found = hitched().place_influence("cart", x=0.0, y=0.0)
    assert found.couplings["cart"] == pytest.approx(1.0)
    assert found.wheels["tow"] == pytest.approx(np.array([-0.15, -0.15, 0.65, 0.65]))


def test_a_couple_loads_the_front_axle_and_the_trailers_axle() -> None:
    """M / L off and on the truck's axles by levers, and M / a onto the trailer's axle and off the ball."""
    found = hitched().solve(Change(couples={"cart": 100.0}))
    ball = -100.0 / 4.0
    assert found.couplings["cart"] == pytest.approx(ball)
    assert found.wheels["cart"].sum() == pytest.approx(25.0)
    front = 100.0 / 4.0 - ball * 1.2 / 4.0
    assert found.wheels["tow"][:2].sum() == pytest.approx(front)
    assert found.wheels["tow"][2:].sum() == pytest.approx(ball - front)


def test_a_ball_does_not_tie_roll_and_a_fifth_wheel_does() -> None:
    """A load beside the trailer's middle: the truck feels it through a tie only."""
    free = hitched().place_influence("cart", x=4.0, y=0.5)
    tied = hitched(tie=20_000.0).place_influence("cart", x=4.0, y=0.5)
    assert free.wheels["tow"] == pytest.approx(np.zeros(4), abs=1e-12)
    assert tied.wheels["tow"][0] > 0.01
    assert tied.wheels["tow"].sum() == pytest.approx(0.0, abs=1e-9)


def test_a_rise_of_the_coupling_point_matters_where_axles_do_not_share() -> None:
    """Up at the ball takes load off an independent tandem's front axle; a one-axle trailer does not care."""
    assert hitched().solve(Change(gaps={"cart": 0.05})).couplings["cart"] == pytest.approx(0.0, abs=1e-9)
    tandem = vehicle("cart", [4.0, 5.0], trailer=True)
    rig = Combination({"tow": body(TRUCK), "cart": body(tandem)}, [Joint("cart", "tow", 5.2)])
    raised = rig.solve(Change(gaps={"cart": 0.05}))
    assert raised.wheels["cart"][0] < 0.0 < raised.wheels["cart"][2]
    assert raised.couplings["cart"] > 0.0


def test_tightening_bars_share_a_load_as_it_comes() -> None:
    """Bars of some stiffness give back part of what a load on the ball would do to the front axle."""
    loose, tight = hitched(), hitched(bars=30_000.0)
    change = Change(loads={"cart": mass_at(200.0, x=0.0, y=0.0)})
    assert loose.solve(change).wheels["tow"][0] < tight.solve(change).wheels["tow"][0] < 0.0


@pytest.mark.parametrize(
    ("vehicles", "joints"),
    [
        ({"tow": vehicle("tow", [0.0])}, []),
        ({"cart": vehicle("cart", [4.0], trailer=True)}, []),
        ({"cart": vehicle("cart", [4.0, 5.0], trailer=True, equalised=True)}, []),
        ({"cart": vehicle("cart", [0.0], trailer=True)}, [Joint("cart")]),
    ],
    ids=["one axle", "no stand", "one equaliser", "stand over the axle"],
)
def test_what_does_not_stand(vehicles: dict, joints: list[Joint]) -> None:
    with pytest.raises(TipsOverError, match="what is on the ground does not hold the combination up"):
        Combination({name: body(made) for name, made in vehicles.items()}, joints)


def test_rates_of_any_size_stand() -> None:
    """What is a mechanism does not depend on units or on how stiff springs are."""
    for factor in (1e-6, 1.0, 1e6):
        made = vehicle("tow", [0.0, 4.0], ride=[7000.0 * factor, 9000.0 * factor])
        found = Combination({"tow": body(made)}, []).place_influence("tow", x=1.0, y=0.0)
        assert found.wheels["tow"] == pytest.approx([0.375, 0.375, 0.125, 0.125])
