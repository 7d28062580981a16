"""A pickup and a trailer on a ball, with and without weight-distributing bars.

Source: Beer and Johnston, Vector Mechanics: Statics, problems 6.95 and 6.96 of older editions. Grade: weights and
problem seen; distances, chain arm and answers from memory, consistent when recomputed.
Tolerance: half a unit of the last digit: 0.5 lb as printed, 5e-4 lb as recomputed.
"""

from __future__ import annotations

import pytest

from steelyard.statics import Change, Combination, Joint, Response, mass_at
from tests.published.rigs import body, vehicle

# In pounds and feet: load and lever arm carry any consistent units through statics.
TRUCK, TRAILER = 2900.0, 2400.0
WHEELBASE, BALL, TO_TRAILER_AXLE = 9.0, 12.0, 11.0
COUPLE, CHAIN_TO_BALL = 1945.946, 1.7


def hitched(couple: float = 0.0, *, trailer: bool = True) -> Response:
    """The rig on level ground; the truck's mass centre 5 ft ahead of its rear axle, the trailer's 2 ft ahead of its
    axle.
    """
    bodies = {"truck": body(vehicle("truck", [0.0, WHEELBASE], ride=[500.0, 900.0]))}
    loads = {"truck": mass_at(TRUCK, x=4.0, y=0.0)}
    if trailer:
        bodies["trailer"] = body(vehicle("trailer", [TO_TRAILER_AXLE], trailer=True))
        loads["trailer"] = mass_at(TRAILER, x=9.0, y=0.0)
    joints = [Joint("trailer", "truck", BALL)] if trailer else []
    return Combination(bodies, joints).solve(Change(loads=loads, couples={"trailer": couple}))


def per_wheel(found: Response) -> list[float]:
    """One wheel of the trailer, of the truck's rear axle, of its front axle [lb]."""
    truck, trailer = found.wheels["truck"], found.wheels["trailer"]
    return [float(trailer[0]), float(truck[2]), float(truck[0])]


def test_hitched() -> None:
    found = hitched()
    assert per_wheel(found) == pytest.approx([982.0, 935.0, 733.0], abs=0.5)
    assert per_wheel(found) == pytest.approx([981.818, 935.354, 732.828], abs=5.1e-4)
    assert found.couplings["trailer"] == pytest.approx(436.3636, abs=5e-5)


def test_change_by_the_trailer() -> None:
    change = hitched().wheels["truck"] - hitched(trailer=False).wheels["truck"]
    assert change == pytest.approx([-72.7, -72.7, 291.0, 291.0], abs=0.1)
    assert change == pytest.approx([-72.727, -72.727, 290.909, 290.909], abs=5.1e-4)


def test_weight_distributing_bars() -> None:
    """The couple that shares the added load evenly over the truck's four wheels."""
    found = hitched(COUPLE)
    assert per_wheel(found) == pytest.approx([1070.0, 709.0, 870.0], abs=0.5)
    assert per_wheel(found) == pytest.approx([1070.270, 709.309, 870.420], abs=5.5e-4)
    added = found.wheels["truck"] - hitched(trailer=False).wheels["truck"]
    assert added == pytest.approx([64.865] * 4, abs=5.5e-4)
    assert sum(wheels.sum() for wheels in found.wheels.values()) == pytest.approx(TRUCK + TRAILER)


def test_the_couple_and_the_chains_that_make_it() -> None:
    """Found from influences alone: the couple that brings all four truck wheels the same, and its chains' tension."""
    plain, bars = hitched(), hitched(1.0)
    alone = hitched(trailer=False)
    gain = plain.wheels["truck"] - alone.wheels["truck"]
    slope = bars.wheels["truck"] - plain.wheels["truck"]
    couple = float((gain[2] - gain[0]) / (slope[0] - slope[2]))
    assert couple == pytest.approx(COUPLE, abs=5e-4)
    assert couple / CHAIN_TO_BALL / 2 == pytest.approx(572.0, abs=0.5)
    assert couple / CHAIN_TO_BALL / 2 == pytest.approx(572.337, abs=5e-4)
    assert hitched(couple).couplings["trailer"] == pytest.approx(plain.couplings["trailer"] - couple / TO_TRAILER_AXLE)
