"""The doubt of a solved day under several explanations of its contradictions, all at once.

An explanation moves the unknowns and adds some columns to the root of their covariance, and leaves the rest of that
root as it is. So what the day has of a quantity's root is made once, and each explanation costs its own columns alone.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steelyard.adjustment.misfit.explanation import Explanation
from steelyard.adjustment.solve import Array, Blocks
from steelyard.adjustment.student import effective_dof, excess_of


class Alternatives:
    """Roots of covariances come in two: ``roots``, which explanations share or have of their own, shape (n, m) or
    (explanations, n, m); and ``extra``, what each explanation adds, shape (explanations, n, k).

    Parameters
    ----------
    weighed: columns of the day's root as weighed readings, shape (readings, w). parts: variance that each component of
    the readings brings to them, each of shape (w, w). dof: degrees of freedom of each, shape (components,).

    Attributes
    ----------
    shifts: of the unknowns, shape (explanations, unknowns). extras: columns that the root of their covariance gains,
    with columns of nothing where others gain more, shape (explanations, unknowns, k).
    """

    def __init__(
        self, explanations: Sequence[Explanation], blocks: Blocks, dof: Array, weighed: Array, parts: Sequence[Array]
    ) -> None:
        readings, unknowns = len(weighed), len(explanations[0].shift)
        first = max(one.weighed.shape[1] for one in explanations)  # after them, those of readings doubted more
        width = first + max(one.extra.shape[1] - one.weighed.shape[1] for one in explanations)
        count = len(explanations)
        self._dof, self._parts = dof, parts
        self.shifts = np.array([one.shift for one in explanations])
        self.extras = np.zeros((count, unknowns, width))
        own = np.zeros((count, readings, width))
        self._corners = np.zeros((len(parts), count, width, width))
        for at, one in enumerate(explanations):
            freed, end = one.weighed.shape[1], first + one.extra.shape[1] - one.weighed.shape[1]
            self.extras[at, :, :freed], self.extras[at, :, first:end] = one.extra[:, :freed], one.extra[:, freed:]
            own[at, :, :freed] = one.weighed
            if one.parts is not None:
                self._corners[:, at, first:end, first:end] = one.parts
        together = own.transpose(1, 0, 2).reshape(readings, count * width)
        self._sides: list[Array] = []
        for part in range(len(parts)):
            spread = (blocks.factors[part] * blocks.spread(part, together)).reshape(readings, count, width)
            spread = spread.transpose(1, 0, 2)
            self._sides.append(weighed.T @ spread)
            self._corners[part] += own.transpose(0, 2, 1) @ spread

    def products(self, roots: Array, extra: Array, other: Array, other_extra: Array) -> Array:
        """Covariances of quantities with others, one by one, shape (explanations, n)."""
        return np.asarray((roots * other).sum(axis=-1) + (extra * other_extra).sum(axis=-1), dtype=np.float64)

    def variances(self, roots: Array, extra: Array) -> Array:
        """Variances of some quantities, shape (explanations, n)."""
        return self.products(roots, extra, roots, extra)

    def dof_of(self, roots: Array, extra: Array, variances: Array) -> Array:
        """Effective degrees of freedom, as ``Propagation.dof_of`` has them, shape (explanations, n)."""
        excess = np.zeros(variances.shape)
        whole = np.maximum(variances, 1e-140)
        for one, part, side, corner in zip(excess_of(self._dof), self._parts, self._sides, self._corners, strict=True):
            felt = roots[..., : len(part)]  # what comes after is of unknowns that no reading feels
            share = ((felt @ part) * felt).sum(axis=-1)
            share = share + ((2.0 * (felt @ side) + extra @ corner) * extra).sum(axis=-1)
            excess += share / whole * one
        return effective_dof(excess)
