"""Coverage: shares with their intervals, what is said where intervals do not hold, and that they do hold.

The days of these tests are drawn by the program itself; those that a second statics draws are in ``tests/intervals``.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import binomtest

from steelyard.report.tables.simulation.coverage import coverage_text, kind_words
from steelyard.simulation.coverage.result import coverage_of, independent, wilson
from steelyard.simulation.coverage.tally import (
    Answered,
    KindTally,
    Measures,
    Tally,
    held_against,
    judged_against,
    kind_of,
)
from steelyard.simulation.folder import SimulatedSeries

SIMULATION = SimulatedSeries("0.0.0", 1, 100, 0.0, "day.toml", "", parquet=False)


@pytest.mark.parametrize(
    ("held", "count", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_of_a_share_is_the_published_one(held: int, count: int, low: float, high: float) -> None:
    """R. G. Newcombe, Two-sided confidence intervals for the single proportion, Statistics in Medicine 17 (1998) 857,
    table I, method 3; from memory, and held against scipy as a second method.
    """
    found = wilson(held / count, count)
    assert found == pytest.approx((low, high), abs=6e-5)
    second = binomtest(held, count).proportion_ci(method="wilson")
    assert found == pytest.approx((second.low, second.high), abs=1e-9)


def tally(held: list[list[bool]]) -> KindTally:
    """Counts of findings of one kind, held or not, day by day."""
    answers = np.array(held)
    value = np.where(answers, 0.0, 9.0)
    answered = Answered(value, np.ones_like(value), value - 2.0, value + 2.0, np.zeros(value.shape, dtype=bool))
    ids = tuple(f"solo/tow/wheel/{number}L" for number in range(1, value.shape[1] + 1))
    measures = Measures(ids, ("kg",) * len(ids), np.ones(len(ids)))
    slipped = np.zeros(len(value), dtype=bool)
    return held_against(np.zeros(value.shape), answered, measures, slipped).kinds["wheel"]


def test_findings_of_a_day_that_fail_together_count_as_one() -> None:
    together = tally([[day % 20 != 0] * 8 for day in range(400)])
    assert (together.findings, together.held) == (3200, 3040)
    assert independent(together) == pytest.approx(400)
    random = np.random.default_rng(2)
    apart = tally((random.random((2000, 8)) > 0.05).tolist())
    assert independent(apart) == pytest.approx(16000, rel=0.1)
    assert independent(tally([[True] * 8] * 30)) == 30


def coverage(share: float, days: int) -> str:
    """The text for wheels of which a share holds, a wheel a day."""
    made = Tally(kinds={"wheel": tally([[day >= round(days * (1.0 - share))] for day in range(days)])}, days=days)
    return " ".join(coverage_text(coverage_of(made, SIMULATION, folder="F", answers=None)).split())


def test_it_is_said_plainly_where_intervals_do_not_hold() -> None:
    assert "DOES NOT HOLD: intervals of wheel (90.0 %) hold the truth too seldom." in coverage(0.90, 1000)
    assert "DOES NOT HOLD: intervals of wheel (98.0 %) hold the truth more often than promised" in coverage(0.98, 1000)
    assert "Holds: the intervals of all 1 kinds" in coverage(0.95, 1000)
    assert "Too few days to tell any kind within 5 points. Take more." in coverage(0.95, 40)
    assert "DOES NOT HOLD" not in coverage(0.95, 40)


def test_error_scatter_and_width_are_those_of_the_answers() -> None:
    truth = np.array([[1.0, 2.0], [1.0, 2.0]])
    value = np.array([[1.3, np.nan], [0.9, 2.0]])
    u = np.array([[0.1, np.nan], [0.1, 0.0]])
    answered = Answered(value, u, value - 2 * u, value + 2 * u, np.array([[True, False], [False, False]]))
    measures = Measures(("solo/tow/axle/1", "solo/tow/axle/2"), ("t", "t"), np.array([1000.0, 1000.0]))
    found = held_against(truth, answered, measures, np.array([False, False])).kinds["axle"]
    assert (found.findings, found.held, found.undetermined, found.contested) == (2, 1, 1, 1)
    assert (found.error, found.squares) == pytest.approx((3.0 - 1.0, 9.0 + 1.0))
    assert found.width == pytest.approx(2 * 0.4 / 1000.0)


def test_days_with_a_slip_are_told_apart() -> None:
    truth, value = np.zeros((2, 1)), np.array([[5.0], [0.0]])
    answered = Answered(value, np.ones((2, 1)), value - 1, value + 1, np.zeros((2, 1), dtype=bool))
    measures = Measures(("solo/tow/gross",), ("kg",), np.ones(1))
    found = held_against(truth, answered, measures, np.array([True, False]))
    assert (found.days, found.slipped, found.slip_findings, found.slip_held) == (1, 1, 1, 0)
    assert (found.kinds["gross"].findings, found.kinds["gross"].held) == (1, 1)


def test_a_sure_verdict_is_wrong_where_the_truth_is_beyond_the_limit() -> None:
    assert judged_against([9.0, 11.0, 9.0, 11.0], [10.0] * 4, [True] * 4, [True, True, False, False]) == 2
    assert judged_against([9.0, 11.0], [10.0] * 2, [False] * 2, [True, True]) == 1


def test_counts_add_up_and_are_read_back() -> None:
    one = Tally(kinds={"wheel": tally([[True, False]] * 3)}, days=3, sure=4, wrong=1, slipped=2, slips_named=1)
    both = Tally.of(one.data())
    assert both == one
    both.add(one)
    assert (both.days, both.wrong, both.slips_named, both.kinds["wheel"].findings) == (6, 2, 2, 12)
    assert both.kinds["wheel"].unit == "kg"
    both.add(Tally(slips_named=None))
    assert both.slips_named is None


def test_kinds_have_names_that_people_read() -> None:
    names = ("solo/tow/wheel/1L", "solo>hitched/coupling/load", "hitched/coupling/2/share", "cargo/hay/x")
    kinds = [kind_of(name) for name in names]
    assert kinds == ["wheel", "change/coupling/load", "coupling/share", "cargo/x"]
    assert list(map(kind_words, kinds)) == ["wheel", "change of coupling load", "coupling share", "cargo x"]
    assert not math.isnan(coverage_of(Tally(), SIMULATION, folder="F", answers=None).days)
