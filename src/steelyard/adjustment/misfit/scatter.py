"""Readings that scatter more than their doubt allows, when no slip explains it: what they touch is widened.

Method: the covariance of the readings of each vehicle touched is taken as larger by the ratio of what is left of
chi-square to its degrees of freedom, as if every stated doubt were too small by the same factor.
Source: Birge, The calculation of errors by the method of least squares, Physical Review 40 (1932).
"""

from __future__ import annotations

import math

import numpy as np

from steelyard.adjustment.misfit.agreement import Fit
from steelyard.adjustment.misfit.consistency import SIGNIFICANCE, global_probability, reference_dof
from steelyard.adjustment.misfit.explanation import Explanation
from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.solve import Array
from steelyard.classes import dataclass

FAR = 2.0
"""A reading is touched by what no slip explains where its normalised residual is beyond this."""


@dataclass(frozen=True)
class Scatter:
    """More doubt of some readings: columns of the root, and what the readings bring to them.

    ``extra`` of shape (unknowns, n), ``parts`` of shape (components, n, n): of its variance, what each component of the
    readings brings. ``far`` are the readings that fit worst, the worst first.
    """

    extra: Array
    parts: Array
    far: tuple[int, ...]

    def over(self, explanation: Explanation) -> Explanation:
        """An explanation with this doubt besides."""
        return explanation.widened(self.extra, self.parts)


def scatter_of(observations: Observations, fit: Fit, left: Residuals, chi2: float, dof: int) -> Scatter | None:
    """The doubt that is missing where slips have been explained and the rest still disagrees; None where it does not.

    ``left`` are the residuals with the slips let go, ``chi2`` what is left with ``dof`` degrees of freedom.
    """
    if dof <= 0 or global_probability(chi2, dof, reference_dof(fit.blocks, fit.dof)) >= SIGNIFICANCE:
        return None
    size = np.abs(left.normalised())
    order = [int(row) for row in np.argsort(-left.told(size**2), kind="stable")]
    far = tuple(row for row in order if size[row] > FAR) or tuple(order[:1])
    touched = {name for row in far for name in vehicles_of(observations, row)}
    rows = np.array([bool(touched & vehicles_of(observations, row)) for row in range(len(observations.items))])
    seen = np.where(rows[:, None], left.fitted, 0.0)
    values, vectors = np.linalg.eigh(seen.T @ fit.blocks.cover(seen))
    kept = values > 1e-12 * max(float(values.max(initial=0.0)), 1e-300)
    root = vectors[:, kept] * np.sqrt(values[kept])
    moved = seen @ (vectors[:, kept] / np.sqrt(values[kept]))
    parts = [factor * (moved.T @ fit.blocks.spread(at, moved)) for at, factor in enumerate(fit.blocks.factors)]
    extra = fit.solution.root @ root * math.sqrt(max(chi2 / dof - 1.0, 0.0))
    return Scatter(extra, np.array(parts).reshape(-1, *[int(kept.sum())] * 2), far)


def vehicles_of(observations: Observations, row: int) -> set[str]:
    """The vehicles that a reading is of."""
    place = observations.items[row].reading.place
    return {wheel.vehicle for wheel in place.wheels} | set(place.couplings)
