"""A quantity over many days: its middle, its spread and its distribution, each with its doubt.

A value that was weighed is the true one and an error, so values alone spread wider than what they tell of. How the
errors of several days hang together is not known: the same pads may stand behind all of them. Both ends are worked out,
errors of days that have nothing in common, which widen the spread and average out, and errors that are one and the
same, which do neither but move everything; what is told holds at both ends and between.

Errors that have nothing in common are taken off by drawing each value towards the mean until the spread is that of the
true ones. Sources: T. A. Louis, Estimating a population of parameter values using Bayes and empirical Bayes methods,
JASA 79 (1984) 393, from memory; the variance of a variance: A. M. Mood, F. A. Graybill, D. C. Boes, Introduction to
the Theory of Statistics, 3rd edition, VI.2.3, from memory. Limits of quantiles by order statistics: ISO 16269-6, from
memory. Of a strongly one-sided population the interval of the spread holds more rarely, 80 to 90 % of the time.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

FEWEST = 20
"""Of fewer values no spread and no distribution is told."""

_WIDE = 1.959963984540054
"""Quantile of the standard normal distribution at 97.5 %."""

_NORMAL = 3.0
"""The fourth moment of a normal distribution over its squared variance; that of a small sample comes out too small."""

SHARES = np.array([0.025, *(0.05 * n for n in range(1, 20)), 0.975]).round(3)
"""The shares of the days at which the distribution is told, shape (21,)."""


@dataclass(frozen=True, slots=True)
class PopulationFigure:
    """A figure of a population with its 95 % interval, in the unit of the values."""

    value: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Population:
    """The values of one quantity over many days, all in one unit.

    Attributes
    ----------
    count: how many values. doubt: root mean square of their standard uncertainties.
    least, most: the extreme values, as they were weighed.
    mean, spread: of the true values; the spread is a standard deviation. None where there are too few.
    curve: for each of ``SHARES`` the value below which that share of the days lies, None where there are too few values
    beyond it; empty where there are too few of all.
    """

    count: int
    doubt: float
    least: float
    most: float
    mean: PopulationFigure | None
    spread: PopulationFigure | None
    curve: tuple[PopulationFigure | None, ...]

    def at(self, share: float) -> PopulationFigure | None:
        """The value below which a share of the days lies, one of ``SHARES``; None where it is not told."""
        if not self.curve:
            return None
        return self.curve[int(np.argmin(np.abs(SHARES - share)))]


def population_of(values: Array, doubts: Array) -> Population:
    """The population behind values that were weighed.

    Parameters
    ----------
    values, doubts: one a case, with its standard uncertainty, in one unit, shape (n,).

    Raises
    ------
    ValueError: there is no value, the two differ in length, or one is not finite.
    """
    if values.size == 0 or values.shape != doubts.shape or not np.isfinite(values + doubts).all():
        raise ValueError("a population needs values and as many doubts, all finite")
    count, doubt = values.size, float(np.sqrt(np.mean(doubts**2)))
    ordered = np.sort(values)
    least, most = float(ordered[0]), float(ordered[-1])
    if count < FEWEST:
        return Population(count, doubt, least, most, None, None, ())
    mean = float(ordered.mean())
    seen, fewest, most_seen = _variance(ordered - mean)
    true = max(seen - doubt**2, 0.0)
    half = float(np.hypot(_student(count) * np.sqrt(seen / count), _WIDE * doubt))
    spread = PopulationFigure(*(float(np.sqrt(one)) for one in (true, max(fewest - doubt**2, 0.0), most_seen)))
    drawn = mean + np.sqrt(true / seen if seen > 0.0 else 0.0) * (ordered - mean)
    told = PopulationFigure(mean, mean - half, mean + half)
    return Population(count, doubt, least, most, told, spread, _curve(ordered, drawn, doubt))


def _student(count: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(count - 1, 0.975))


def _variance(residuals: Array) -> tuple[float, float, float]:
    """The variance of a sample whose mean is taken off, and its 95 % limits, symmetric in logarithms."""
    n = residuals.size
    variance = float(residuals @ residuals) / (n - 1)
    if variance <= 0.0:
        return 0.0, 0.0, 0.0
    fourth = max(float(np.mean(residuals**4)) / variance**2, _NORMAL)
    reach = float(np.exp(_student(n) * np.sqrt((fourth - (n - 3) / (n - 1)) / n)))
    return variance, variance / reach, variance * reach


def _curve(weighed: Array, drawn: Array, doubt: float) -> tuple[PopulationFigure | None, ...]:
    """Quantiles with limits that hold whether the errors of the days are one and the same, or have nothing in common.

    Parameters
    ----------
    weighed: the values, ascending, shape (n,). drawn: the same drawn towards their mean. doubt: of one value.
    """
    from scipy.stats import binom

    n = weighed.size
    below = np.asarray(binom.ppf(0.025, n, SHARES), dtype=np.int64) - 1
    above = np.asarray(binom.ppf(0.975, n, SHARES), dtype=np.int64)
    middle = np.quantile(drawn, SHARES, method="median_unbiased")
    return tuple(
        PopulationFigure(
            float(middle[at]),
            float(min(weighed[low] - _WIDE * doubt, drawn[low])),
            float(max(weighed[high] + _WIDE * doubt, drawn[high])),
        )
        if low >= 0 and high < n
        else None
        for at, (low, high) in enumerate(zip(below, above, strict=True))
    )
