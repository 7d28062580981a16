"""The centre of gravity of a nosewheel aeroplane from three scale readings, through a whole weigh day.

Source: FAA-H-8083-1, Weight and Balance Handbook: CG = D - F L / W. Grade: figures from memory, arithmetic derived; the
method was seen. Tolerance: half a unit of the last digit of 114.780 in (printed 114.8).
"""

from __future__ import annotations

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.units import Dimension

NOSE, TOTAL, DATUM_TO_MAINS, NOSE_TO_MAINS = 340, 2006, 128.0, 78.0  # lb, in

DAY = f"""
format = 1
[instruments.nose]
kind = "platform"
capacity = "5000 lb"
division = "1 lb"
[instruments.mains]
kind = "platform"
capacity = "5000 lb"
division = "1 lb"
[vehicles.plane]
role = "towing"
[[vehicles.plane.axles]]
x = "0 in"
track = "6 in"
[[vehicles.plane.axles]]
x = "{NOSE_TO_MAINS} in"
track = "90 in"
[states.empty]
vehicles = ["plane"]
[[drafts]]
state = "empty"
readings = {{ "plane/1" = ["nose", {NOSE}], "plane/2" = ["mains", {TOTAL - NOSE}] }}
"""


def test_centre_of_gravity() -> None:
    findings = weigh(parse_day(DAY, "day.toml"))
    found = findings.by_id["empty/plane/cg_x"]
    assert found.value is not None
    inch = findings.day.units.factor(Dimension.LENGTH)
    behind_datum = found.value / inch + DATUM_TO_MAINS - NOSE_TO_MAINS
    assert behind_datum == pytest.approx(114.780, abs=5e-4)
    assert behind_datum == pytest.approx(DATUM_TO_MAINS - NOSE * NOSE_TO_MAINS / TOTAL, abs=1e-6)


def test_where_it_lies_across_is_not_made_up() -> None:
    """Two wheels on one platform: nothing tells left from right."""
    findings = weigh(parse_day(DAY, "day.toml"))
    assert not findings.by_id["empty/plane/cg_y"].determined
