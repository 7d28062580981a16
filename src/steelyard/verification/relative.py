"""Instruments held against one another: by one load walked round, or one vehicle with the instruments permuted.

Nobody knows the loads, so only the differences between spans are determined; what all spans have in common is not.
Source: least squares with the loads as further unknowns; rounding as uniform (EURAMET cg-18 v4.0, 7.1.1, from memory).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from steelyard.adjustment import student_quantile
from steelyard.distributions import functions
from steelyard.model import Instrument, PermutedTest, RoundTest
from steelyard.verification.line import NORMAL, Array, Estimate

SHARED_BELOW = 0.3
"""Repeats that scatter less than this share of a division share one rounding error, as in the adjustment."""

_ITERATIONS = 6


@dataclass(frozen=True, slots=True)
class Comparison:
    """Result of the comparison: the span of each instrument [1], None where nothing ties it to the others.

    ``anchored``: spans are absolute, for the span of one of them was known; else they are against the set's mean.
    ``spread``: how much more than rounding and scatter the readings depart from one another, as a factor of them.
    """

    spans: Mapping[str, Estimate | None]
    anchored: bool
    spread: float


@dataclass(frozen=True, slots=True)
class _Mean:
    """The mean reading of one load [kg] on one instrument, with its variance [kg2]."""

    load: int
    instrument: str
    value: float
    variance: float


def compare(
    tests: Sequence[RoundTest | PermutedTest],
    instruments: Mapping[str, Instrument],
    scatters: Mapping[str, float],
    known: Mapping[str, Estimate],
) -> Comparison:
    """Spans by comparison.

    Parameters
    ----------
    tests: with loads of unknown mass. instruments: by name.
    scatters: of one reading of each instrument [kg]. known: spans that known loads gave [1].
    """
    means = list(_means(tests, instruments, scatters))
    names = list(dict.fromkeys(item.instrument for item in means))
    anchors = {name: known[name] for name in names if name in known}
    system = _RelativeSystem(means, names, instruments, anchors)
    return system.solve()


def _means(
    tests: Sequence[RoundTest | PermutedTest], instruments: Mapping[str, Instrument], scatters: Mapping[str, float]
) -> Iterator[_Mean]:
    loads: dict[tuple[int, str], int] = {}
    for number, test in enumerate(tests):
        for place, name, values in _readings(test):
            load = loads.setdefault((number, place), len(loads))
            division, scatter = instruments[name].division, scatters[name]
            count = len(values)
            rounding = division**2 / 12.0 / (count if scatter >= SHARED_BELOW * division else 1)
            yield _Mean(load, name, float(np.mean(values)), rounding + scatter**2 / count)


def _readings(test: RoundTest | PermutedTest) -> Iterator[tuple[str, str, tuple[float, ...]]]:
    """Place, instrument and readings [kg]."""
    if isinstance(test, RoundTest):
        yield from (("", name, values) for name, values in test.readings.items())
        return
    for draft in test.drafts:
        yield from ((place, name, (value,)) for place, (name, value) in draft.items())


class _RelativeSystem:
    """Unknowns in this order: the spans, the zeros, the loads (as shares of their first guess)."""

    def __init__(
        self,
        means: list[_Mean],
        names: list[str],
        instruments: Mapping[str, Instrument],
        anchors: Mapping[str, Estimate],
    ) -> None:
        self.means, self.names, self.anchors = means, names, anchors
        self.zero_u = [instruments[name].division / math.sqrt(12.0) for name in names]
        self.shown = np.array([item.value for item in means])
        self.u = np.sqrt([item.variance for item in means])
        self.place = np.array([names.index(item.instrument) for item in means])
        self.load = np.array([item.load for item in means])
        self.count = len(names)
        self.loads = np.array([self.shown[self.load == k].mean() for k in range(self.load.max() + 1)])

    def _design(self, spans: Array, loads: Array) -> Array:
        rows = np.arange(len(self.shown))
        design = np.zeros((len(rows), 2 * self.count + len(loads)))
        design[rows, self.place] = loads[self.load]
        design[rows, self.count + self.place] = 1.0
        design[rows, 2 * self.count + self.load] = 1.0 + spans[self.place]
        return design

    def _misfit(self, spans: Array, zeros: Array, loads: Array) -> Array:
        """Readings less what these unknowns would show [kg], shape (n,)."""
        return self.shown - (1.0 + spans[self.place]) * loads[self.load] - zeros[self.place]

    def _priors(self) -> tuple[Array, Array, Array]:
        """Pseudo-observations: design, value and standard uncertainty, shapes (p, unknowns), (p,), (p,)."""
        width = 2 * self.count + len(self.loads)
        zeros = np.zeros((self.count, width))
        zeros[np.arange(self.count), self.count + np.arange(self.count)] = 1.0
        if self.anchors:
            held = np.zeros((len(self.anchors), width))
            held[np.arange(len(self.anchors)), [self.names.index(name) for name in self.anchors]] = 1.0
            values = [item.value for item in self.anchors.values()]
            us = [max(item.u, 1e-9) for item in self.anchors.values()]
        else:
            held = np.zeros((1, width))
            held[0, : self.count] = 1.0 / self.count
            values, us = [0.0], [1e-9]
        return np.vstack([zeros, held]), np.array([*np.zeros(self.count), *values]), np.array([*self.zero_u, *us])

    def solve(self) -> Comparison:
        spans: Array = np.zeros(self.count)
        zeros: Array = np.zeros(self.count)
        loads: Array = self.loads.copy()
        extra, wanted, extra_u = self._priors()
        scale = np.ones(2 * self.count + len(loads))
        scale[: self.count] = 1.0 / max(float(np.abs(self.loads).max()), 1e-300)
        design = self._design(spans, loads)
        for _ in range(_ITERATIONS):
            design = self._design(spans, loads)
            misfit = self._misfit(spans, zeros, loads)
            state: Array = np.concatenate([spans, zeros, loads])
            whole: Array = np.vstack([design / self.u[:, None], extra / extra_u[:, None]]) * scale
            right: Array = np.concatenate([misfit / self.u, (wanted - extra @ state) / extra_u])
            step: Array = scale * np.linalg.lstsq(whole, right, rcond=1e-12)[0]
            spans, zeros, loads = np.split(state + step, [self.count, 2 * self.count])
        misfit = self._misfit(spans, zeros, loads)
        left = [misfit / self.u, (wanted - extra @ np.concatenate([spans, zeros, loads])) / extra_u]
        whole = np.vstack([design / self.u[:, None], extra / extra_u[:, None]]) * scale
        return self._compared(spans, whole, scale, np.concatenate(left))

    def _compared(self, spans: Array, whole: Array, scale: Array, left: Array) -> Comparison:
        """Spans with their intervals; ``left`` are the residuals over their standard uncertainty, shape (n,)."""
        _, values, rows = np.linalg.svd(whole, full_matrices=True)
        kept = np.zeros(len(rows), dtype=bool)
        kept[: len(values)] = values > 1e-9 * values[0]
        root = rows[kept].T / values[kept[: len(values)]]
        free = rows[~kept]
        spread, quantile = _spread(float(left @ left), len(whole) - int(kept.sum()))
        found: dict[str, Estimate | None] = {}
        for k, name in enumerate(self.names):
            u = float(np.linalg.norm(root[k]) * scale[k]) * spread
            tied = not len(free) or float(np.abs(free[:, k]).max()) < 1e-6
            half = quantile * u
            value = float(spans[k])
            found[name] = Estimate(value, u, value - half, value + half) if tied else None
        return Comparison(found, bool(self.anchors), spread)


def _spread(chi2: float, redundancy: int) -> tuple[float, float]:
    """How much to widen uncertainties, and the quantile for 95 %.

    Where the residuals are no larger than rounding and scatter explain (at 95 %), those stand; else the residuals
    themselves say how large the departures are.
    """
    if redundancy <= 0 or chi2 <= float(functions().chdtri(redundancy, 0.05)):
        return 1.0, NORMAL
    return math.sqrt(chi2 / redundancy), float(student_quantile(np.array([float(redundancy)]))[0])
