"""A slope of a sweep as points, axes, a line and a band, before anything is drawn; every chart of it starts here."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.questions.sweep import ADDED, Learned, SweepAnswer
from steelyard.units import Dimension, format_number

Array = NDArray[np.float64]

_WIDE = 2.0
"""Half the width of the band of doubt, in standard uncertainties."""

_STEPS = (1.0, 2.0, 2.5, 5.0, 10.0)


@dataclass(frozen=True, slots=True)
class Axis:
    """One axis: its title, its first and last value, and the step of its grid, in the reader's unit."""

    title: str
    low: float
    high: float
    step: float

    def ticks(self) -> list[float]:
        """The values at which the grid has a line."""
        return [self.step * n for n in range(math.ceil(self.low / self.step), math.floor(self.high / self.step) + 1)]

    def figure(self, value: float) -> str:
        """A value of the grid in figures."""
        return format_number(value, 0 if self.step >= 1.0 else 2)

    def share(self, value: float) -> float:
        """Position of a value between the two ends, from 0 to 1."""
        return (value - self.low) / (self.high - self.low)


@dataclass(frozen=True)
class SweepPlot:
    """One determined slope in the reader's unit of mass.

    ``all that was added`` is counted from the lightest plateau; everything else is the load that the pads showed.

    Attributes
    ----------
    x, y, u_x, u_y: the plateaus and their standard uncertainties, shape (b,). counts: samples in each, shape (b,).
    slope, expected: what was learned and what statics expects, per unit; the latter None where it expects nothing.
    """

    across: Axis
    up: Axis
    x: Array
    y: Array
    u_x: Array
    u_y: Array
    counts: Array
    slope: float
    expected: float | None
    _u: float
    _offset: float
    _middle: tuple[float, float]

    def line(self, slope: float, x: float) -> float:
        """The height at ``x`` of a line of ``slope`` through the middle of the sweep."""
        return self._middle[1] + slope * (x - self._middle[0])

    def band(self, x: float) -> tuple[float, float]:
        """The lower and the upper edge of the band of doubt at ``x``."""
        half = _WIDE * math.hypot(self._offset, self._u * (x - self._middle[0]))
        middle = self.line(self.slope, x)
        return middle - half, middle + half


def sweep_plot(answer: SweepAnswer, item: Learned, *, ticks: int) -> SweepPlot | None:
    """The plot of one slope, with about ``ticks`` lines of the grid on each axis; None where it is not determined."""
    slope, sums = item.slope, item.sums
    if slope is None or sums is None or item.value is None or item.u is None:
        return None
    factor, unit = answer.day.units.factor(Dimension.MASS), answer.day.units.mass
    loads = [answer.sweep.at(one) / factor for one in sums]
    start_y, start_x = (_start(name, load) for name, load in zip((item.of, item.per), loads, strict=True))
    y, x = loads[0] - start_y, loads[1] - start_x
    u_y, u_x = (answer.sweep.u_at(one) / factor for one in sums)
    middle = slope.middle[0] / factor - start_x, slope.middle[1] / factor - start_y
    titles = [f"{answer.measures[name].label}, {unit}" for name in (item.per, item.of)]
    return SweepPlot(
        axis_of(titles[0], x, ticks),
        axis_of(titles[1], y, ticks),
        x,
        y,
        u_x,
        u_y,
        answer.sweep.doubt.points.counts,
        item.value,
        None if item.expected is None else item.expected.value,
        item.u,
        slope.u_intercept_at / factor,
        middle,
    )


def _start(name: str, loads: Array) -> float:
    """Zero of an axis: the lightest plateau where its title says that only the added load is shown."""
    return float(loads.min()) if name == ADDED else 0.0


def axis_of(title: str, values: Array, ticks: int) -> Axis:
    """An axis with room on both sides of ``values``, shape (n,), and about ``ticks`` lines of the grid."""
    low, high = float(values.min()), float(values.max())
    room = 0.06 * max(high - low, 1e-9)
    low, high = low - room, high + room
    rough = (high - low) / ticks * (1.0 - 1e-9)
    power = 10.0 ** math.floor(math.log10(rough))
    return Axis(title, low, high, next(power * factor for factor in _STEPS if power * factor >= rough))
