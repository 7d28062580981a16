"""The load behind a pickup's rear axle that makes both axles equal.

Source: a problem in the manner of Meriam and Kraige, Engineering Mechanics: Statics (attribution from memory). Grade:
seen. Tolerance: half a unit of the last digit.
"""

from __future__ import annotations

import pytest

from steelyard.statics import Change, Combination, mass_at
from tests.published.rigs import body, vehicle

TRUCK, FRONT_TO_MASS, MASS_TO_REAR, BEHIND_REAR = 3020.0, 45.0, 67.0, 20.0  # lb, in


def test_load_that_makes_both_axles_equal() -> None:
    wheelbase = FRONT_TO_MASS + MASS_TO_REAR
    truck = Combination({"truck": body(vehicle("truck", [0.0, wheelbase], tracks=66.0, ride=[300.0, 500.0]))}, [])
    empty = truck.solve(Change(loads={"truck": mass_at(TRUCK, x=FRONT_TO_MASS, y=0.0)})).wheels["truck"]
    pound = truck.place_influence("truck", x=wheelbase + BEHIND_REAR, y=0.0).wheels["truck"]
    assert pound[0] < 0.0
    assert pound[2] + pound[3] > 1.0
    load = float((empty[:2].sum() - empty[2:].sum()) / (pound[2:].sum() - pound[:2].sum()))
    assert load == pytest.approx(437.105, abs=5e-4)
    full = empty + load * pound
    assert [full[:2].sum(), full[2:].sum()] == pytest.approx([1728.553, 1728.553], abs=5e-4)
