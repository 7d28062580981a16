"""The entries of a catalogue under every explanation of a day's contradictions, all in a few arrays."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Alternatives, fieller_ends, student_quantile
from steelyard.conformity import conformance_probabilities
from steelyard.findings.assembly import Assembly
from steelyard.findings.ratios import KNOWN_PLACE, NOTHING, Ratios
from steelyard.findings.result import Answer

Array = NDArray[np.float64]


class Competing:
    """All entries under each explanation; see ``Ratios`` for the same under one covariance.

    Attributes
    ----------
    values: shape (explanations, n). known: whether each is determined, and no share of next to nothing, of that shape.
    """

    def __init__(self, assembly: Assembly, plain: Ratios, alternatives: Alternatives) -> None:
        self._assembly, self._plain, self._alternatives = assembly, plain, alternatives
        over = assembly.over
        self._tops = plain.tops.values + alternatives.shifts @ plain.tops.gradients.T
        self._bottoms = plain.bottoms.values + alternatives.shifts @ plain.bottoms.gradients.T
        self._top_extra = plain.tops.gradients @ alternatives.extras
        self._bottom_extra = plain.bottoms.gradients @ alternatives.extras
        bottom = np.where(np.abs(self._bottoms) > NOTHING, self._bottoms, 1.0)
        ratio = self._tops[:, over] / bottom
        self.values = self._tops.copy()
        self.values[:, over] = ratio
        self._bottom_variances = alternatives.variances(plain.bottom_roots, self._bottom_extra)
        self._doubt(bottom, ratio)
        size = np.where(assembly.either, np.abs(self._bottoms), self._bottoms)
        enough = (size > 0.0) & (size >= KNOWN_PLACE * np.sqrt(self._bottom_variances))
        self.known = np.tile(assembly.told & plain.estimates.determined, (len(self.values), 1))
        self.known[:, over] &= enough

    def _doubt(self, bottom: Array, ratio: Array) -> None:
        """Variances and quantiles: of sums under the roots that all explanations share, of ratios under their own."""
        plain, alternatives, over = self._plain, self._alternatives, self._assembly.over
        variance = alternatives.variances(plain.top_roots, self._top_extra)
        self._top_variances = variance[:, over]
        dof = alternatives.dof_of(plain.top_roots, self._top_extra, variance)
        by, back = 1.0 / bottom[:, :, None], (ratio / bottom)[:, :, None]
        roots = by * plain.top_roots[over] - back * plain.bottom_roots
        extra = by * self._top_extra[:, over] - back * self._bottom_extra
        variance[:, over] = alternatives.variances(roots, extra)
        dof[:, over] = alternatives.dof_of(roots, extra, variance[:, over])
        self._quantiles = student_quantile(dof)
        self._half = self._quantiles * np.sqrt(variance) + plain.noise

    def spans(self) -> tuple[Array, Array]:
        """Values and half-widths of the 95 % intervals, ratios to first order, both of shape (explanations, n)."""
        return self.values, self._half

    @cached_property
    def _bounds(self) -> tuple[Array, Array]:
        """Lower and upper ends of the 95 % intervals, shape (explanations, n); NaN where a ratio's is unbounded."""
        low, high = self.values - self._half, self.values + self._half
        over, plain = self._assembly.over, self._plain
        covariance = self._alternatives.products(
            plain.top_roots[over], self._top_extra[:, over], plain.bottom_roots, self._bottom_extra
        )
        low[:, over], high[:, over] = fieller_ends(
            self._tops[:, over],
            self._bottoms,
            (self._top_variances, self._bottom_variances),
            covariance=covariance,
            quantile=self._quantiles[:, over],
        )
        return low, high

    def answers(self, words: Sequence[str], chosen: NDArray[np.bool_]) -> dict[int, list[Answer]]:
        """The answers of entries under the explanations ``chosen`` for each, shape (explanations, n), by their index.

        ``words`` say what each explanation leaves out.
        """
        low, high = self._bounds
        told = self.known & ~np.isnan(low)
        places, rows = np.nonzero(chosen.T)
        values, lows, highs = (part[rows, places].tolist() for part in (self.values, low, high))
        made = [
            Answer(words[row], *ends) if known else Answer(words[row], None, None, None)
            for row, known, *ends in zip(rows.tolist(), told[rows, places].tolist(), values, lows, highs, strict=True)
        ]
        moved, starts = np.unique(places, return_index=True)
        ends = [*starts.tolist(), len(made)][1:]  # of no entry there is neither a start nor an end
        return {place: made[start:end] for place, start, end in zip(moved.tolist(), starts.tolist(), ends, strict=True)}

    def met(self, places: Sequence[int], limits: Array, greatest: NDArray[np.bool_]) -> Array:
        """Probabilities that entries keep to limits, those of ratios as ``Ratios.beyond`` has them.

        Parameters
        ----------
        places: of the entries. limits, greatest: and whether each is a greatest one, shape (limits,).

        Returns
        -------
        Shape (explanations, limits); NaN where the entry is not determined.
        """
        rows = self._assembly.row_over[places]
        roots, _ = self._plain.beyond(places, limits)
        extra, slacks = self._top_extra[:, places], self._tops[:, places] - limits
        ratio = np.flatnonzero(rows >= 0)
        rows, times = rows[ratio], limits[ratio]
        extra[:, ratio] -= times[:, None] * self._bottom_extra[:, rows]
        slacks[:, ratio] = self._tops[:, places][:, ratio] - times * self._bottoms[:, rows]
        variances = self._alternatives.variances(roots, extra)
        dofs = self._alternatives.dof_of(roots, extra, variances)
        met = conformance_probabilities(slacks, np.sqrt(variances), dofs, greatest)
        return np.where(self.known[:, places], met, np.nan)
