"""A straight line through errors that are known only to lie in intervals, as every rounded indication does.

An indication says that what the instrument felt lay within half a division of it; a change point says the same of a
much narrower interval. Both are one likelihood. Source: maximum likelihood with interval-censored normal errors
(Tobin, Econometrica 26 (1958); Amemiya, Advanced Econometrics, 1985, chapter 10; from memory); the integrals over zero,
span and scatter are done on a grid, so that the intervals hold where the division is coarser than the scatter, too.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.distributions import functions

Array = NDArray[np.float64]

DECLARED_DOF = 20.0
"""Degrees of freedom of a scatter that the file declares."""

EXPECTED_DOF = 0.5
"""Degrees of freedom of a scatter that is merely expected: so few that the readings soon outweigh it."""

STILL = 0.01
"""The least share of the expected scatter that is looked at: below it an instrument counts as perfectly still."""

NORMAL = 1.959964
"""Quantile of the normal distribution for a 95 % interval."""

_FINE, _COARSE, _SCATTERS, _FINE_SCATTERS = 41, 21, 21, 31
_PASSES = 5
_REACH = 8.0
_PLAUSIBLE = 0.05
"""No scatter at all is allowed for where it explains the readings at least so well as the best scatter does."""
_TAIL = 1e-5


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value with its standard uncertainty and the ends of its 95 % interval, all in one unit."""

    value: float
    u: float
    low: float
    high: float

    def scaled(self, factor: float) -> Estimate:
        """The same times a positive factor."""
        return Estimate(self.value * factor, self.u * factor, self.low * factor, self.high * factor)

    def widened(self, u: float) -> Estimate:
        """With a further normal doubt of standard uncertainty ``u``, independent of the first.

        Half-widths add as the root of their squares: exact where either doubt is nothing, and where both are normal.
        """
        low, high = (math.hypot(end - self.value, NORMAL * u) for end in (self.low, self.high))
        return Estimate(self.value, math.hypot(self.u, u), self.value - low, self.value + high)


@dataclass(frozen=True, slots=True)
class ExpectedScatter:
    """The scatter of one reading that is expected [kg], and how well that is known, in degrees of freedom.

    ``may_be_still``: whether the instrument may scatter much less, down to ``STILL`` of it.
    """

    scatter: float
    dof: float = EXPECTED_DOF
    may_be_still: bool = True


@dataclass(frozen=True, slots=True)
class CalibrationLine:
    """Fit of a line's readings: ``zero`` [kg], ``slope`` [1 where loads are in kg] and the ``scatter`` [kg]."""

    zero: Estimate
    slope: Estimate
    scatter: Estimate


def _log_within(half: Array, away: Array, spread: Array | float) -> Array:
    """Logarithm of the probability that a normal deviate lies in an interval.

    ``half`` is half its width and ``away`` the distance of its middle from zero, each array of one shape [kg]. Both
    ends are looked at on the side below zero, where the probability of a tail keeps its digits.
    """
    ndtr = functions().ndtr
    middle, reach = away / spread, half / spread
    found: Array = ndtr(reach - middle)
    found -= ndtr(-reach - middle)
    return np.log(np.maximum(found, 1e-290, out=found), out=found)


def scatter_likelihood(groups: Sequence[Array], division: float) -> Callable[[Array], Array]:
    """The log likelihood of scatters [kg], shape (s,), by groups of repeats of one unknown load each.

    Parameters
    ----------
    groups: indications [kg] of one load each, shape (n,). division: of the instrument [kg].
    """

    def of(scatters: Array) -> Array:
        total = np.zeros(len(scatters))
        for shown in groups:
            reach = 5.0 * scatters[:, None] + division
            at = np.linspace(-1.0, 1.0, 201) * (reach + np.ptp(shown)) + shown.mean()
            different, counts = np.unique(shown, return_counts=True)
            away = np.abs(different[None, None, :] - at[:, :, None])
            inside = _log_within(np.array(division / 2.0), away, scatters[:, None, None]) @ counts.astype(np.float64)
            top = inside.max(axis=1)
            step = at[:, 1] - at[:, 0]
            total += top + np.log(np.exp(inside - top[:, None]).sum(axis=1) * step)
        return total

    return of


def _prior(scatters: Array, expected: ExpectedScatter) -> Array:
    """Log density per logarithm of scatter, shape (s,): scaled inverse chi-square."""
    ratio = expected.scatter / scatters
    return expected.dof * np.log(ratio) - 0.5 * expected.dof * ratio**2


def _stiller(scatters: Array, expected: ExpectedScatter) -> Array:
    """Addition to the prior below the expected scatter, shape (s,), that makes it flat there."""
    peak = -0.5 * expected.dof
    return np.where(scatters < expected.scatter, peak - _prior(scatters, expected), 0.0)


def scatter_of(groups: Sequence[Array], division: float, expected: ExpectedScatter) -> Estimate:
    """The scatter of one reading [kg] from repeats alone; groups as indications [kg], shape (n,) each."""
    wide = max([expected.scatter, *(float(shown.std()) for shown in groups)])
    scatters = np.geomspace(0.1 * expected.scatter, 40.0 * wide, 161)
    weights = _normal(_prior(scatters, expected) + scatter_likelihood(groups, division)(scatters))
    return _scatter_summary(scatters, weights)


def straight_line(
    loads: Array,
    low: Array,
    high: Array,
    *,
    expected: ExpectedScatter,
    own_u: float = 0.0,
    repeats: Callable[[Array], Array] | None = None,
) -> CalibrationLine:
    """Zero, span and scatter of an instrument from errors that lie in intervals.

    Parameters
    ----------
    loads [kg]: shape (n,). low, high [kg]: ends of the interval that holds each error, shape (n,).
    expected: what is expected of the scatter. own_u: standard uncertainty of each load by itself [kg].
    repeats: what repeats say of the scatter besides.
    """
    size = max(float(np.abs(loads).max()), 1e-300)
    grid = _Grid(loads / size, low, high, expected, own_u, repeats)
    zero, slope, scatter = grid.solve()
    return CalibrationLine(zero, slope.scaled(1.0 / size), scatter)


class _Grid:
    """The joint posterior of zero, slope and scatter on a grid that closes in on it. Slopes are per largest load.

    Where the instrument may be still, there are three: with the scatter that is expected, with any smaller one, and
    with none, where the readings allow that. Where two roundings repeat, the second says no more than the first, and a
    scatter taken for granted would make readings that never tip a sign of where within the division they lie. An
    interval is the hull of all.
    """

    def __init__(
        self,
        at: Array,
        low: Array,
        high: Array,
        expected: ExpectedScatter,
        own_u: float,
        repeats: Callable[[Array], Array] | None,
    ) -> None:
        self.expected, self.own_u, self.repeats = expected, own_u, repeats
        self.design = self._design(at)
        middle = (low + high) / 2.0
        variance = (high - low) ** 2 / 12.0 + expected.scatter**2 + own_u**2
        # by orthogonal columns: loads that hardly differ must not break the arithmetic, only leave the slope open
        columns, triangle = np.linalg.qr(self.design / np.sqrt(variance)[:, None])
        self.root = np.linalg.inv(triangle)
        self.start = self.root @ (columns.T @ (middle / np.sqrt(variance)))
        left = middle - self.design @ self.start
        self.widest = max(expected.scatter, float(np.sqrt((left**2).sum() / max(len(at) - 2, 1))))
        # rounded indications repeat, and readings that say the same have one likelihood: it is worked out once
        different, counts = np.unique(np.column_stack([at, low, high]), axis=0, return_counts=True)
        self.different = self._design(different[:, 0])
        self.middle, self.half = different[:, 1:].mean(axis=1), (different[:, 2] - different[:, 1]) / 2.0
        self.counts = counts.astype(np.float64)

    @staticmethod
    def _design(at: Array) -> Array:
        return np.column_stack([np.ones(len(at)), at])

    def solve(self) -> tuple[Estimate, Estimate, Estimate]:
        """Zero, slope and scatter [kg]."""
        box = [(-_REACH * self.widest / self.expected.scatter, _REACH * self.widest / self.expected.scatter)] * 2
        least = math.log((STILL if self.expected.may_be_still else 0.1) * self.expected.scatter)
        logs = (least, math.log(40.0 * self.widest))
        for _ in range(_PASSES - 1):
            axes = [np.linspace(*side, _COARSE) for side in box]
            scatters = np.exp(np.linspace(*logs, _SCATTERS))
            weights = _normal(self._log_posterior(axes, scatters))
            box = [_closer(axes[k], weights.sum(axis=(1 - k, 2))) for k in (0, 1)]
            logs = _closer(np.log(scatters), weights.sum(axis=(0, 1)))
            logs = (max(logs[0], least), logs[1]) if self.expected.may_be_still else logs
        axes = [np.linspace(*side, _FINE) for side in box]
        scatters = np.exp(np.linspace(*logs, _FINE_SCATTERS))
        weights = _normal(self._log_posterior(axes, scatters))
        places = self._places(axes)
        cells = np.array([axis[1] - axis[0] for axis in axes])
        widths = [float(np.linalg.norm(self.root[k] * cells)) for k in (0, 1)]
        as_expected, kinds = weights, [weights]
        if self.expected.may_be_still:
            as_expected = weights * np.exp(-_stiller(scatters, self.expected))
            kinds = [as_expected, weights]
            each = weights.sum(axis=(0, 1))
            if logs[0] == least and each[0] >= _PLAUSIBLE * each.max():
                kinds.append(weights[..., :1])
        planes = [part.sum(axis=2).ravel() for part in kinds]
        zero, slope = (_hull(_summary(places[..., k].ravel(), plane, widths[k]) for plane in planes) for k in (0, 1))
        return zero, slope, _scatter_summary(scatters, as_expected.sum(axis=(0, 1)))

    def _places(self, axes: list[Array]) -> Array:
        """Zeros and slopes of the grid, shape (zeros, slopes, 2)."""
        return np.stack(np.meshgrid(axes[0], axes[1], indexing="ij"), axis=-1) @ self.root.T + self.start

    def _log_posterior(self, axes: list[Array], scatters: Array) -> Array:
        """Shape (zeros, slopes, scatters), up to a constant."""
        away = np.abs(self.middle - self._places(axes) @ self.different.T)
        total = np.zeros((*away.shape[:2], len(scatters)))
        for k, scatter in enumerate(scatters):
            total[..., k] = _log_within(self.half, away, math.hypot(scatter, self.own_u)) @ self.counts
        total += _prior(scatters, self.expected)
        if self.expected.may_be_still:
            total += _stiller(scatters, self.expected)
        return total if self.repeats is None else total + self.repeats(scatters)


def _hull(estimates: Iterable[Estimate]) -> Estimate:
    """The first value, with the largest doubt and an interval that holds all intervals."""
    first, *others = estimates
    every = [first, *others]
    low, high = min(one.low for one in every), max(one.high for one in every)
    return Estimate(first.value, max(one.u for one in every), low, high)


def _normal(logs: Array) -> Array:
    weights = np.exp(logs - logs.max())
    return weights / weights.sum()


def _closer(axis: Array, weights: Array) -> tuple[float, float]:
    """The part of an axis that holds all but a trace of the weight, a cell wider; moved on where it meets an end."""
    held = np.flatnonzero(weights > _TAIL * weights.max())
    step = float(axis[1] - axis[0])
    first, last = int(held[0]), int(held[-1])
    wide = (axis[-1] - axis[0]) / 2.0
    low = axis[first] - (wide if first == 0 and weights[0] > 0.01 * weights.max() else step)
    high = axis[last] + (wide if last == len(axis) - 1 and weights[-1] > 0.01 * weights.max() else step)
    return float(low), float(high)


def _summary(values: Array, weights: Array, width: float) -> Estimate:
    """Mean, standard deviation and the ends of the 95 % interval of weighted values, each array of shape (n,).

    ``width`` is that of the cell that each value stands for: quantiles of a grid need it, or they come out too near.
    """
    mean, u = _moments(values, weights)
    low, high = _ends(values, weights, width)
    return Estimate(mean, u, low, high)


def _scatter_summary(scatters: Array, weights: Array) -> Estimate:
    """The same for scatters on a geometric grid, shape (n,)."""
    logs = np.log(scatters)
    mean, u = _moments(scatters, weights)
    low, high = _ends(logs, weights, float(logs[1] - logs[0]))
    return Estimate(mean, u, math.exp(low), math.exp(high))


def _moments(values: Array, weights: Array) -> tuple[float, float]:
    mean = float((values * weights).sum() / weights.sum())
    return mean, math.sqrt(max(float(((values - mean) ** 2 * weights).sum() / weights.sum()), 0.0))


def _ends(values: Array, weights: Array, width: float) -> tuple[float, float]:
    """The 2.5 % and 97.5 % quantiles, each value spread evenly over its cell."""
    kept = weights > 1e-9 * weights.max()
    order = np.argsort(values[kept], kind="stable")
    held, share = values[kept][order], weights[kept][order] / weights[kept].sum()
    at: Array = np.linspace(float(held[0]) - width, float(held[-1]) + width, 501)
    # of each cell what lies below a place: all, nothing, or so much as the place is inside
    middle = float(held[len(held) // 2])
    sums = np.concatenate([[0.0], np.cumsum(share)])
    moments = np.concatenate([[0.0], np.cumsum(share * (held - middle))])
    whole, begun = (np.searchsorted(held, at + side, side="right") for side in (-width / 2.0, width / 2.0))
    inside = (at - middle + width / 2.0) * (sums[begun] - sums[whole]) - (moments[begun] - moments[whole])
    reached: Array = sums[whole] + inside / width
    low, high = (float(np.interp(part, reached, at)) for part in (0.025, 0.975))
    return low, high
