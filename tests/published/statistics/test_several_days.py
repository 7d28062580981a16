"""Several days solved together, and what of them can be told apart, against published examples and other libraries.

Sources: JCGM 100:2008, 5.2.2, example (ten resistors calibrated against one standard), and F.1.2.3 (a covariance by a
common standard); GTC 1.5 (Measurement Standards Laboratory of New Zealand, MIT), uncertain numbers with degrees of
freedom; ``scipy.stats.tukey_hsd`` and ``studentized_range``, Tukey's range in a balanced design. The figures
of JCGM 100 are written from memory. Tolerances: 1e-6 for what is reckoned, 2 % for a quantile of 20,000 or more draws.
"""

from __future__ import annotations

import math

import GTC
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats

from steelyard.adjustment import (
    Blocks,
    DayPart,
    JointAdjustment,
    Linear,
    Propagation,
    SharedFunction,
    SharedUnknowns,
    Stated,
    solve,
)
from steelyard.questions.compare.comparison import told_apart_factor

Array = NDArray[np.float64]


def day(readings: Array, u: Array, feels: Array, common: Stated, dof: float = math.inf) -> DayPart:
    """Loads read once each, with an error in common: a reading is a load and ``feels`` times that error."""
    count = len(readings)
    blocks = Blocks(
        [np.array([row]) for row in range(count)],
        [np.zeros((1, 1))] * count,
        [[np.array([[one**2]]) for one in u]],
    )
    design = np.column_stack([np.eye(count), feels])
    start = np.concatenate([np.zeros(count), [common.value]])
    white = blocks.whiten(np.column_stack([design, readings - design @ start]))
    priors = np.array([np.nan] * count + [common.u])
    solution = solve(white[:, :-1], white[:, -1], priors, np.zeros(count + 1))
    propagation = Propagation(solution, blocks, design, np.array([dof]))
    found = start + solution.step
    last = np.eye(count + 1)[-1]
    shared = SharedFunction(last, float(found[-1]), common, {"common": 1.0})
    return DayPart(propagation, Linear(found, np.eye(count + 1)), [shared])


def together(days: list[DayPart], common: Stated) -> JointAdjustment:
    unknowns = SharedUnknowns()
    unknowns.add("common", common)
    return JointAdjustment(days, unknowns)


def test_ten_resistors_and_one_standard() -> None:
    """JCGM 100, 5.2.2: ten of 1000 ohm, each against the same standard of 100 mohm, are known to 1 ohm in series."""
    standard = Stated(0.0, 0.1)
    resistors = [day(np.array([1000.0]), np.array([1e-4]), np.ones(1), standard) for _ in range(10)]
    joint = together(resistors, standard)
    value, u, _ = joint.of({(number, 0): 1.0 for number in range(10)})
    assert value == pytest.approx(10_000.0)
    assert u == pytest.approx(1.0, rel=1e-6)
    assert joint.of({(3, 0): 1.0, (7, 0): -1.0})[1] == pytest.approx(math.sqrt(2.0) * 1e-4, rel=1e-4)


@pytest.mark.parametrize("rows", [{(0, 0): 1.0}, {(1, 1): 1.0, (0, 0): -1.0}, {(0, 1): 0.5, (0, 0): 1.0, (1, 0): -2.0}])
def test_a_common_error_as_gtc_carries_it(rows: dict[tuple[int, int], float]) -> None:
    """Values, doubts and degrees of freedom of sums over two days, whose loads feel one error each in its measure."""
    common = Stated(0.3, 0.8)
    readings, feels = np.array([[600.0, 610.0], [520.0, 480.0]]), np.array([[0.6, 0.61], [0.52, 0.48]])
    u, dof = np.array([[1.5, 2.0], [0.7, 1.1]]), (5.0, 12.0)
    days = [day(readings[at], u[at], feels[at], common, dof[at]) for at in range(2)]
    value, found, freedom = together(days, common).of(rows)
    error = GTC.ureal(common.value, common.u)
    expected = GTC.constant(0.0)
    for at in range(2):  # the readings of a day have one estimated variance in common, and so one term of a sum
        weights = [rows.get((at, row), 0.0) for row in range(2)]
        spread = math.hypot(*(weight * one for weight, one in zip(weights, u[at], strict=True)))
        if spread > 0.0:
            expected += GTC.ureal(float(np.dot(weights, readings[at])), spread, dof[at])
            expected -= float(np.dot(weights, feels[at])) * error
    assert value == pytest.approx(GTC.value(expected), rel=1e-9)
    assert found == pytest.approx(GTC.uncertainty(expected), rel=1e-6)
    normal = stats.norm.ppf(0.975) ** 2
    square = normal
    for at in range(2):
        spread = math.hypot(*(rows.get((at, row), 0.0) * one for row, one in enumerate(u[at])))
        square += (spread / found) ** 2 * (stats.t.ppf(0.975, dof[at]) ** 2 - normal)
    assert stats.t.ppf(0.975, freedom) ** 2 == pytest.approx(square, rel=1e-5)
    assert freedom < GTC.dof(expected)  # Welch and Satterthwaite, whose interval is too narrow where parts differ


def test_the_difference_of_two_means_is_free_of_what_both_have_in_common() -> None:
    """Means of 4 and 9 readings of a known scatter: u^2 = s^2/4 + s^2/9 whatever the common error, which each has."""
    for size in (0.0001, 1.0, 50.0):
        common = Stated(0.0, size)
        days = [
            day(np.full(count, load), np.full(count, 3.0), np.ones(count), common)
            for count, load in ((4, 100.0), (9, 90.0))
        ]
        joint = together(days, common)
        means = [{(at, row): 1.0 / count for row in range(count)} for at, count in ((0, 4), (1, 9))]
        value, u, _ = joint.of(means[0] | {key: -factor for key, factor in means[1].items()})
        assert (value, u) == (pytest.approx(10.0), pytest.approx(3.0 * math.sqrt(1 / 4 + 1 / 9), rel=1e-6))
        for mean, count in zip(means, (4, 9), strict=True):
            assert joint.of(mean)[1] == pytest.approx(math.hypot(3.0 / math.sqrt(count), size), rel=1e-6)


@pytest.mark.parametrize(("groups", "size"), [(2, 6), (3, 5), (5, 4), (6, 11)])
def test_the_factor_of_all_pairs_is_tukeys(groups: int, size: int) -> None:
    """Balanced and independent: the half-width of ``tukey_hsd`` is that many standard uncertainties of a difference."""
    dice = np.random.default_rng(groups)
    samples = [dice.normal(10.0 * group, 2.0, size) for group in range(groups)]
    interval = stats.tukey_hsd(*samples).confidence_interval(0.95)
    low, high = (np.asarray(end)[0, 1] for end in (interval.low, interval.high))
    pooled = math.sqrt(float(np.mean([sample.var(ddof=1) for sample in samples])))
    expected = float(high - low) / 2.0 / (pooled * math.sqrt(2.0 / size))
    dof = groups * (size - 1)
    assert expected == pytest.approx(float(stats.studentized_range.ppf(0.95, groups, dof)) / math.sqrt(2.0), rel=1e-4)
    pairs = [(b, a) for a in range(groups) for b in range(a + 1, groups)]
    draws = np.random.default_rng(1).standard_normal((100_000, groups))
    assert told_apart_factor(draws, pairs, dof=float(dof)) == pytest.approx(expected, rel=0.02)


def test_two_differences_that_are_one_count_once() -> None:
    """Two of three rigs that are the same to the last kilogram make one comparison of three."""
    two = np.random.default_rng(2).standard_normal((100_000, 2))
    factor = told_apart_factor(two[:, [0, 1, 1]], [(1, 0), (2, 0), (2, 1)], dof=math.inf)
    assert factor == pytest.approx(1.96, rel=0.01)
