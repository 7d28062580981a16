"""What is told of many days holds, whether the errors of the days have nothing in common or are one and the same."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import binom, norm

from steelyard.batch.population import FEWEST, SHARES, population_of

_TURNS, _TRUE = 200, 1.0
_FEWEST_HITS = int(binom.ppf(1e-4, _TURNS, 0.95))
"""Fewer hits than these show that intervals of 95 % hold too rarely."""


@pytest.mark.parametrize("shared", [0.0, 0.5, 1.0])
@pytest.mark.parametrize("doubt", [0.1, 1.5])
def test_intervals_hold_the_mean_the_spread_and_the_distribution(shared: float, doubt: float) -> None:
    chance = np.random.default_rng(20260501)
    quantiles = norm.ppf(SHARES) * _TRUE
    hits = np.zeros((_TURNS, 2 + len(SHARES)), dtype=bool)
    for turn in range(_TURNS):
        true = chance.normal(scale=_TRUE, size=60)
        common, own = chance.normal(), chance.normal(size=60)
        values = true + doubt * (np.sqrt(shared) * common + np.sqrt(1.0 - shared) * own)
        found = population_of(values, np.full(60, doubt))
        told = [found.mean, found.spread, *found.curve]
        truth = [0.0, _TRUE, *quantiles]
        hits[turn] = [one is None or one.low <= true_one <= one.high for one, true_one in zip(told, truth, strict=True)]
    assert hits.sum(axis=0).min() >= _FEWEST_HITS


def test_doubt_is_taken_off_the_spread() -> None:
    """Worked out by hand: values of variance 10 with doubts of variance 6 leave a spread of 2."""
    values = np.repeat([-1.0, 1.0], 200)
    values *= np.sqrt(10.0 / np.var(values, ddof=1))
    found = population_of(values, np.full(400, np.sqrt(6.0)))
    assert found.spread is not None
    assert found.spread.value == pytest.approx(2.0)
    half = found.at(0.95)
    assert half is not None
    assert half.value == pytest.approx(values.max() * np.sqrt(0.4))


def test_errors_that_all_days_share_do_not_average_out() -> None:
    found = population_of(np.tile([9.0, 11.0], 50_000), np.full(100_000, 0.5))
    assert found.mean is not None
    assert found.mean.high - found.mean.value == pytest.approx(1.96 * 0.5, rel=1e-3)


def test_of_few_values_only_the_extremes_are_told() -> None:
    found = population_of(np.arange(FEWEST - 1.0), np.ones(FEWEST - 1))
    assert (found.count, found.least, found.most) == (FEWEST - 1, 0.0, FEWEST - 2.0)
    assert (found.mean, found.spread, found.curve, found.at(0.5)) == (None, None, (), None)


def test_limits_of_a_quantile_are_those_of_order_statistics() -> None:
    """The 40th and the 61st of 100 are the limits of the median (binomial tables)."""
    middle = population_of(np.arange(1.0, 101.0), np.zeros(100)).at(0.5)
    assert middle is not None
    assert (middle.low, middle.value, middle.high) == pytest.approx((40.0, 50.5, 61.0))
    assert population_of(np.arange(1.0, 101.0), np.zeros(100)).at(0.025) is None


def test_equal_values_have_no_spread() -> None:
    found = population_of(np.full(30, 7.0), np.zeros(30))
    assert found.spread is not None
    assert (found.spread.value, found.spread.low, found.spread.high) == (0.0, 0.0, 0.0)


@pytest.mark.parametrize(("values", "doubts"), [([], []), ([1.0], [1.0, 2.0]), ([np.nan], [1.0]), ([1.0], [np.inf])])
def test_what_is_no_population_is_refused(values: list[float], doubts: list[float]) -> None:
    with pytest.raises(ValueError, match="all finite"):
        population_of(np.array(values), np.array(doubts))
