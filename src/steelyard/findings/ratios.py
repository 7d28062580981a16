"""Sums and ratios of loads with their doubt: values, intervals, and what the readings determine.

Sources: JCGM 100:2008, 5.1.2 (ratios to first order, for their standard uncertainty) and ``fieller`` for the interval
of a ratio.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Estimates, Linear, Propagation, fieller_ends, student_quantile
from steelyard.findings.assembly import Assembly

Array = NDArray[np.float64]

NOTHING = 1e-9
"""A mass below this [kg] counts as zero when shares of it are asked for: they are not determined."""

KNOWN_PLACE = 4.0
"""The place of a cargo is determined only where its mass is at least this many times its standard uncertainty."""


class Ratios:
    """All entries under one covariance.

    Attributes
    ----------
    tops, bottoms: numerators of all entries, and denominators of the ratios, a row each of ``Assembly.over``.
    noise: see ``Assembly.numerators``. top_roots, bottom_roots: their doubt, ``variance = root . root``.
    estimates: the entries as they are: sums as sums, ratios to first order.
    top_determined, bottom_determined: what the readings determine, shapes (n,) and (shares,).
    """

    def __init__(
        self, assembly: Assembly, tops: Linear, bottoms: Linear, noise: Array, propagation: Propagation
    ) -> None:
        self._assembly = assembly
        self.tops, self.bottoms, self.noise = tops, bottoms, noise
        over, solution = assembly.over, propagation.solution
        told = np.abs(bottoms.values) > NOTHING
        bottom = np.where(told, bottoms.values, 1.0)
        ratio = tops.values[over] / bottom
        self._ratio_gradients = tops.gradients[over] / bottom[:, None] - (ratio / bottom)[:, None] * bottoms.gradients
        values = tops.values.copy()
        values[over] = ratio
        count, shares = len(values), len(over)
        roots = np.concatenate([tops.gradients, bottoms.gradients, self._ratio_gradients]) @ solution.root
        self.top_roots, self.bottom_roots = roots[:count], roots[count : count + shares]
        self._bottom_variances = _dots(self.bottom_roots, self.bottom_roots)
        own = self.top_roots.copy()
        own[over] = roots[count + shares :]
        variance = _dots(own, own)
        unfelt = np.maximum(variance - propagation.of_readings(own), 0.0)
        self.top_determined = solution.determined(tops.gradients)
        self.bottom_determined = solution.determined(bottoms.gradients)
        determined = self.top_determined.copy()
        determined[over] &= self.bottom_determined
        dof = propagation.dof_of(own, variance)
        self.estimates = Estimates(values, np.sqrt(variance), np.sqrt(unfelt), dof, determined, own)

    @property
    def gradients(self) -> Array:
        """Derivatives of the entries by the unknowns, ratios to first order, shape (n, unknowns)."""
        found = self.tops.gradients.copy()
        found[self._assembly.over] = self._ratio_gradients
        return found

    @cached_property
    def quantiles(self) -> Array:
        """Of Student's t at the ends of the 95 % interval of each entry, shape (n,)."""
        return student_quantile(self.estimates.dof)

    @cached_property
    def half_widths(self) -> Array:
        """Half-widths of the 95 % intervals, ratios to first order, shape (n,)."""
        return self.quantiles * self.estimates.u

    @cached_property
    def known(self) -> NDArray[np.bool_]:
        """Whether each entry is made of anything, determined, and no share of next to nothing; shape (n,)."""
        size = self.bottoms.values
        size = np.where(self._assembly.either, np.abs(size), size)  # a cargo taken off may count as negative
        enough = (size > 0.0) & (size >= KNOWN_PLACE * np.sqrt(self._bottom_variances))
        found = self._assembly.told & self.estimates.determined  # not so a cargo that is in no state
        found[self._assembly.over] &= enough
        return found

    @cached_property
    def told(self) -> list[bool]:
        """``known`` as a list, which is asked one by one."""
        return self.known.tolist()

    def beyond(self, places: Sequence[int], limits: Array) -> tuple[Array, Array]:
        """Entries less their limits, those of ratios times the denominator: doubt (limits, q) and values (limits,)."""
        rows = self._assembly.row_over[places]
        roots, slacks = self.top_roots[places], self.tops.values[places] - limits
        ratio = np.flatnonzero(rows >= 0)
        rows, times = rows[ratio], limits[ratio]
        roots[ratio] -= times[:, None] * self.bottom_roots[rows]
        slacks[ratio] = self.tops.values[places][ratio] - times * self.bottoms.values[rows]
        return roots, slacks

    @cached_property
    def bounds(self) -> tuple[Array, Array]:
        """Lower and upper ends of the 95 % intervals, shape (n,) each; NaN where that of a ratio is unbounded."""
        value = self.estimates.values
        half = self.half_widths + self.noise
        low, high = value - half, value + half
        over = self._assembly.over
        tops = self.top_roots[over]
        variances = _dots(tops, tops), self._bottom_variances
        low[over], high[over] = fieller_ends(
            self.tops.values[over],
            self.bottoms.values,
            variances,
            covariance=_dots(tops, self.bottom_roots),
            quantile=self.quantiles[over],
        )
        return low, high


def _dots(one: Array, other: Array) -> Array:
    """The inner product of each row of one with that of the other, both of shape (n, m); shape (n,)."""
    return np.einsum("ij,ij->i", one, other)
