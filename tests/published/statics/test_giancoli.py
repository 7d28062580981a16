"""What a trailer puts on its hitch.

Source: Giancoli, Physics: Principles with Applications, 7th edition, chapter 9, problem 21. Grade: seen.
Tolerance: half a newton, as printed.
"""

from __future__ import annotations

import pytest

from steelyard.statics import Change, Combination, Joint, mass_at
from tests.published.rigs import body, vehicle

MASS, HITCH_TO_MASS, MASS_TO_AXLE, G = 2500.0, 5.5, 2.5, 9.8  # kg, m, m/s2


@pytest.mark.parametrize("hitched", [False, True], ids=["on a stand", "on a truck"])
def test_hitch_and_axle(hitched: bool) -> None:
    """A stand at the coupling point and a truck feel the same load: levers decide it."""
    bodies = {"trailer": body(vehicle("trailer", [HITCH_TO_MASS + MASS_TO_AXLE], trailer=True))}
    if hitched:
        bodies["truck"] = body(vehicle("truck", [0.0, 4.0], ride=5000.0))
    joint = Joint("trailer", "truck", 5.2) if hitched else Joint("trailer")
    found = Combination(bodies, [joint]).solve(Change(loads={"trailer": mass_at(MASS, x=HITCH_TO_MASS, y=0.0)}))
    assert G * found.couplings["trailer"] == pytest.approx(7656.0, abs=0.5)
    assert G * found.wheels["trailer"].sum() == pytest.approx(16844.0, abs=0.5)
