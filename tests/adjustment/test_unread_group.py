"""A trailer that nobody weighed still shifts load between its axles by friction, and the coupling feels it."""

from __future__ import annotations

import math

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh

DAY = """\
format = 1
title = "Reed barge landing"
units = {{ mass = "lb", length = "in" }}
[instruments]
p1 = {{ kind = "pad", capacity = 20000, division = 20 }}
p2 = {{ kind = "pad", capacity = 20000, division = 20 }}
p3 = {{ kind = "pad", capacity = 20000, division = 20 }}
p4 = {{ kind = "pad", capacity = 20000, division = 20 }}
[vehicles.tow]
role = "towing"
axles = [{{ x = 0, track = 68 }}, {{ x = 176, track = 70 }}]
couplings.ball = {{ type = "ball", x = 224 }}
[vehicles.reeds]
role = "trailer"
[[vehicles.reeds.axles]]
x = "200 in +/- 0 in"
track = 80
group = "rear"
sharing = "equalised"
friction = "{friction}"
{rating}
[[vehicles.reeds.axles]]
x = "236 in +/- 0 in"
track = 80
group = "rear"
sharing = "equalised"
friction = "{friction}"
{rating}
[states.solo]
vehicles = ["tow"]
[states.hitched]
vehicles = ["tow", "reeds"]
couple = {{ towing = "tow", at = "ball", trailer = "reeds" }}
[[drafts]]
state = "solo"
readings = {{ "tow/1L" = ["p1", 2960], "tow/1R" = ["p2", 2980], "tow/2L" = ["p3", 2140], "tow/2R" = ["p4", 2120] }}
[[drafts]]
state = "hitched"
readings = {{ "tow/1L" = ["p1", 2780], "tow/1R" = ["p2", 2800], "tow/2L" = ["p3", 2940], "tow/2R" = ["p4", 2940] }}
"""


def doubt(friction: str, rating: str = "rating = 7000") -> float:
    """Standard uncertainty of the coupling load [lb]."""
    finding = weigh(parse_day(DAY.format(friction=friction, rating=rating), "day.toml")).get("hitched/coupling/load")
    assert finding is not None
    assert finding.u is not None
    return finding.u / 0.45359237


@pytest.mark.parametrize(("rating", "axle"), [("rating = 7000", 0.65 * 7000), ("", 1500 / 0.45359237)])
def test_its_friction_counts_at_the_load_that_its_axles_may_well_have(rating: str, axle: float) -> None:
    # Each side holds half of both axles' loads; what friction takes from one wheel, the other has; free body of the
    # trailer about the group's middle: the coupling gets that amount times the axles' spacing over their distance.
    side = 2 * axle / 2
    expected = math.sqrt(2) * 0.01 * side * (236 - 200) / ((200 + 236) / 2)
    assert math.sqrt(doubt("1 %", rating) ** 2 - doubt("0 %", rating) ** 2) == pytest.approx(expected, rel=0.01)
