"""Limits as functions of a length: the curve equals the rule worked out at the length itself."""

from __future__ import annotations

import math

import pytest

from steelyard.model import axle_spread
from steelyard.requirements.road.weights.bands import limits
from steelyard.requirements.road.weights.by_length import by_length

FINDING = axle_spread("lorry", 1, 2).at("laden")


def kilograms(millimetres: int, rate: int, most: int) -> int:
    """The rule in whole numbers: kilograms a metre times millimetres, rounded up to 10 kg. Source: SI 1998/3111."""
    return min(10 * -(-millimetres * rate // 10_000), most)


@pytest.mark.parametrize(("rate", "most"), [(6000, 18000), (5500, 25000), (5000, 30000), (5500, 17995)])
def test_a_limit_by_length_is_rounded_up_to_ten_kilograms_wherever_it_is_asked(rate: int, most: int) -> None:
    wrong = []
    for millimetres in range(1000, 7000, 7):
        length = millimetres / 1000.0
        curve = by_length(FINDING, length, rate=float(rate), step=10.0, most=float(most))
        if not math.isclose(curve.limit(length), kilograms(millimetres, rate, most), rel_tol=1e-12):
            wrong.append(length)
        assert list(curve.breaks) == sorted(set(curve.breaks))
        assert len(curve.pieces) == len(curve.breaks) + 1 == len(curve.upper) + 1
    assert wrong == []


def test_a_limit_by_length_is_exact_within_five_centimetres_and_a_step_below_beyond() -> None:
    curve = by_length(FINDING, 2.5, rate=6000.0, step=10.0, most=18000.0)
    for millimetres in range(2000, 3500):
        short = kilograms(millimetres, 6000, 18000) - curve.limit(millimetres / 1000.0)
        near = 2452 <= millimetres <= 2548
        assert -1e-6 < short < (1e-6 if near else 10.0), millimetres


def test_without_a_step_a_limit_by_length_is_a_straight_line_up_to_the_fixed_figure() -> None:
    curve = by_length(FINDING, 2.5, rate=6000.0, step=None, most=18000.0)
    assert [curve.limit(length) for length in (1.0, 2.5, 3.0, 4.0)] == [6000.0, 15000.0, 18000.0, 18000.0]


ROWS = (
    {"limit": 9000.0, "under": 1.0},
    {"limit": 16500.0, "from": 1.0, "upto": 2.0},
    {"limit": 20000.0, "over": 2.0, "upto": 3.2},
)


def test_bands_of_a_spread_join_at_their_bounds_as_the_rule_says() -> None:
    """Two axles less than 1 m apart, 1 to 2 m, over 2 m to 3.2 m: the groups of the Australian rule."""
    curve = limits("laden/lorry/spread/1-3", ROWS, math.inf)
    found = [curve.limit(spread) for spread in (0.5, 0.9999, 1.0, 1.5, 2.0, 2.0001, 3.2, 3.5)]
    assert found == [9000.0, 9000.0, 16500.0, 16500.0, 16500.0, 20000.0, 20000.0, 20000.0]
    capped = limits("laden/lorry/spread/1-3", ROWS, 17000.0)
    assert [capped.limit(spread) for spread in (0.5, 1.5, 3.0)] == [9000.0, 16500.0, 17000.0]


def test_between_bands_with_a_gap_the_nearer_one_holds_on() -> None:
    rows = ({"limit": 18000.0, "from": 1.2, "under": 1.8}, {"limit": 24000.0, "from": 3.0, "under": 3.6})
    curve = limits("laden/lorry/spread/1-3", rows, math.inf)
    assert [curve.limit(spread) for spread in (1.0, 1.5, 2.0, 3.0, 4.0)] == [18000.0] * 3 + [24000.0] * 2
