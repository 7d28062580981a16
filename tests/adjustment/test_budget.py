"""What the doubt of a finding is made of: the parts add up to it, and each is what its source alone would bring."""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.adjustment import Adjustment, DoubtSource, Linear, adjust, budget
from steelyard.dayfile import parse_day
from tests.simulated.scenarios import simulate

KINDS = ["slope", "elsewhere", "equalised", "ground", "heights", "both_ways_hitched", "draining", "one_set", "stand"]


def loads(adjustment: Adjustment) -> Linear:
    """All loads of all states."""
    return Linear(adjustment.loads.values, adjustment.loads.jacobian)


@pytest.mark.parametrize("kind", KINDS)
def test_the_parts_add_up(kind: str) -> None:
    solved = adjust(parse_day(simulate(kind, 1).text, "day.toml"))
    estimates = solved.propagation.of(loads(solved))
    parts = budget(solved, estimates)
    assert sum(parts.values()) == pytest.approx(estimates.u**2, rel=1e-6, abs=1e-12)
    assert all(part.min() > -1e-9 for part in parts.values())


def test_each_source_is_found_where_it_is() -> None:
    felt = {
        "slope": DoubtSource.SLOPE_LONG,
        "elsewhere": DoubtSource.GRAVITY,
        "equalised": DoubtSource.FRICTION,
        "heights": DoubtSource.PAD_HEIGHT,
        "draining": DoubtSource.STATED,
    }
    for kind, source in felt.items():
        solved = adjust(parse_day(simulate(kind, 1).text, "day.toml"))
        parts = budget(solved, solved.propagation.of(loads(solved)))
        assert parts[source].max() > 0.0, kind
    level = adjust(parse_day(simulate("solo", 1).text, "day.toml"))
    parts = budget(level, level.propagation.of(loads(level)))
    for source in (
        DoubtSource.SLOPE_LONG,
        DoubtSource.SLOPE_LAT,
        DoubtSource.HEIGHT,
        DoubtSource.GRAVITY,
        DoubtSource.SINK,
        DoubtSource.FRICTION,
    ):
        assert parts[source].max() < 1e-7, source


def test_a_slope_brings_weight_times_height_over_wheelbase() -> None:
    """One draft, everything else exact: what the slope's and the height's own doubt do is plain leverage."""
    text = (
        'format = 1\n[site]\nunevenness = "0 mm"\nslope_long = "1 deg +/- 0.2 deg"\n'
        '[instruments.deck]\nkind = "platform"\ncapacity = 99999\ndivision = 0.01\nspan_uncertainty = "0 %"\n'
        'repeatability = "0 lb"\n[instruments.rear]\nkind = "platform"\ncapacity = 99999\ndivision = 0.01\n'
        'span_uncertainty = "0 %"\nrepeatability = "0 lb"\n'
        '[vehicles.tow]\nrole = "towing"\ncg_height = "30 in +/- 3 in"\n'
        '[[vehicles.tow.axles]]\nx = 0\ntrack = 70\n[[vehicles.tow.axles]]\nx = "176 in +/- 0 in"\ntrack = 70\n'
        '[states.solo]\nvehicles = ["tow"]\n'
        '[[drafts]]\nstate = "solo"\nreadings = { "tow/1" = ["deck", 4600], "tow/2" = ["rear", 3600] }\n'
    )
    solved = adjust(parse_day(text, "day.toml"))
    axle = np.zeros((1, len(solved.loads.values)))
    axle[0, :2] = 1.0
    parts = budget(solved, solved.estimate(axle))
    pound, steep = 0.45359237, math.radians(1.0)
    assert math.sqrt(parts[DoubtSource.SLOPE_LONG][0]) / pound == pytest.approx(
        8200 * 30 / 176 * math.radians(0.2) / math.cos(steep) ** 2, rel=1e-3
    )
    assert math.sqrt(parts[DoubtSource.HEIGHT][0]) / pound == pytest.approx(8200 * 3 / 176 * math.tan(steep), rel=1e-3)
