"""A car's wheel forces from its mass centre.

Source: NCERT, Physics XI, chapter on systems of particles, exercise on the level-ground force at each front and back
wheel. Grade: seen. Tolerance: a thousandth of a newton; the printed results are exact.
"""

from __future__ import annotations

import pytest

from steelyard.statics import Change, Combination, mass_at
from tests.published.rigs import body, vehicle

G = 9.8


def test_wheel_forces() -> None:
    car = Combination({"car": body(vehicle("car", [0.0, 1.8], tracks=1.5, ride=[6000.0, 4000.0]))}, [])
    found = car.solve(Change(loads={"car": mass_at(1800.0, x=1.05, y=0.0)}))
    assert G * found.wheels["car"] == pytest.approx([3675.0, 3675.0, 5145.0, 5145.0], abs=1e-3)
