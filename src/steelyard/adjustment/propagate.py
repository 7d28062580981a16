"""From unknowns to quantities: values, standard uncertainties, degrees of freedom and 95 % coverage intervals.

Sources: JCGM 100:2008, 5.2 (correlated inputs); Fieller, Some problems in interval estimation, J. R. Stat. Soc. B 16
(1954), for ratios. Degrees of freedom are those of ``student``.
"""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.alternatives import Alternatives
from steelyard.adjustment.solve import Array, Blocks, Solution
from steelyard.adjustment.student import effective_dof, excess_of, student_quantile
from steelyard.classes import dataclass

if TYPE_CHECKING:
    from collections.abc import Sequence

    from steelyard.adjustment.misfit.explanation import Explanation


@dataclass(frozen=True)
class Linear:
    """Some quantities and how they depend on the unknowns.

    Attributes
    ----------
    values: shape (n,). gradients: shape (n, unknowns).
    """

    values: Array
    gradients: Array


CANCELLED = 1e-12
"""A sum of derivatives under this share of its terms' size is nothing but rounding: the terms cancel."""


def combined(combination: Array, jacobian: Array) -> Array:
    """``combination @ jacobian`` with what cancels set to nothing, so that rounding is never taken for information.

    Parameters
    ----------
    combination: shape (n, outputs). jacobian: shape (outputs, unknowns).
    """
    product = combination @ jacobian
    product[np.abs(product) < CANCELLED * (np.abs(combination) @ np.abs(jacobian))] = 0.0
    return product


@dataclass(frozen=True)
class Estimates:
    """Quantities with their doubt; all of shape (n,). ``roots`` (n, m) gives covariances as ``roots roots'``.

    ``prior_u`` is the part of ``u`` that spans, tape and stiffness bring, which no repeated draft takes away.
    """

    values: Array
    u: Array
    prior_u: Array
    dof: Array
    determined: NDArray[np.bool_]
    roots: Array

    @property
    def half_widths(self) -> Array:
        """Half-widths of the 95 % coverage intervals, shape (n,)."""
        return student_quantile(self.dof) * self.u


class Propagation:
    """Carries the covariance of one solved day to any quantity.

    Parameters
    ----------
    design: derivatives of the readings, shape (readings, unknowns).
    dof: degrees of freedom of each variance component's factor, shape (components,).
    """

    def __init__(self, solution: Solution, blocks: Blocks, design: Array, dof: Array) -> None:
        self.solution = solution
        self._dof, self._blocks = dof, blocks
        felt = design @ solution.root
        weighed = blocks.weigh(felt) if len(design) else felt
        self._weighed = weighed
        self._readings = felt.T @ weighed
        self._parts = [
            blocks.factors[part] * (weighed.T @ blocks.spread(part, weighed)) for part in range(blocks.components)
        ]

    @cached_property
    def _excess(self) -> Array:
        return excess_of(self._dof)

    def extended(self, solution: Solution) -> Propagation:
        """The same covariance for a solution with more unknowns, none of which any reading feels."""
        other = object.__new__(Propagation)
        other.solution, other._dof, other._blocks = solution, self._dof, self._blocks
        other._parts, other._readings, other._weighed = self._parts, self._readings, self._weighed
        return other

    def under(self, solution: Solution, explanation: Explanation) -> Propagation:
        """The covariance where some of what the readings say is left out, or doubted more.

        Parameters
        ----------
        solution: its root has the columns ``extra`` of the explanation after those of the readings (see ``inserted``).
        """
        felt, weighed, more = explanation.felt, explanation.weighed, explanation.parts
        other = object.__new__(Propagation)
        other.solution, other._dof, other._blocks = solution, self._dof, self._blocks
        other._weighed = np.column_stack([self._weighed, weighed])
        other._readings = _bordered(self._readings, self._weighed.T @ felt, felt.T @ weighed)
        parts: list[Array] = []
        for at, part in enumerate(self._parts):
            spread = self._blocks.factors[at] * self._blocks.spread(at, weighed)
            parts.append(_bordered(part, self._weighed.T @ spread, weighed.T @ spread))
        if more is not None:  # doubt that leaves the weights of the readings as they are: all of it is theirs
            none = np.zeros((len(other._readings), more.shape[-1]))
            other._weighed = np.column_stack([other._weighed, np.zeros((len(weighed), more.shape[-1]))])
            other._readings = _bordered(other._readings, none, np.eye(more.shape[-1]))
            parts = [_bordered(part, none, corner) for part, corner in zip(parts, more, strict=True)]
        other._parts = parts
        return other

    def under_all(self, explanations: Sequence[Explanation]) -> Alternatives:
        """The covariance under each of some explanations, at least one, all at once."""
        return Alternatives(explanations, self._blocks, self._dof, self._weighed, self._parts)

    def inserted(self, root: Array, extra: Array) -> Array:
        """A root, shape (unknowns, n), with ``extra`` columns that readings feel put before those that none does."""
        width = len(self._readings)
        return np.column_stack([root[:, :width], extra, root[:, width:]])

    def gain(self, roots: Array) -> Array:
        """By how much each reading moves some quantities, shape (n, readings); ``roots`` are theirs, shape (n, m)."""
        return roots[:, : self._weighed.shape[1]] @ self._weighed.T

    def parts(self, roots: Array) -> Array:
        """Variance that each component of the readings brings to some quantities, shape (components, n)."""
        felt = roots[:, : len(self._readings)]
        found = np.zeros((len(self._parts), len(roots)))
        for row, part in enumerate(self._parts):
            found[row] = ((felt @ part) * felt).sum(axis=1)
        return found

    @property
    def learned_dof(self) -> tuple[float, ...]:
        """Degrees of freedom of each component of the readings."""
        return tuple(float(dof) for dof in self._dof)

    def learned(self, roots: Array) -> Array:
        """Covariances that each component of the readings brings to some quantities each of which has several terms.

        Parameters
        ----------
        roots: of the terms of each quantity, shape (n, terms, m).

        Returns
        -------
        shape (n, components, terms, terms): of the terms among themselves, a matrix for each component.
        """
        felt = roots[:, :, : len(self._readings)]
        if not self._parts:
            return np.zeros((len(roots), 0, roots.shape[1], roots.shape[1]))
        return np.stack([felt @ part @ felt.transpose(0, 2, 1) for part in self._parts], axis=1)

    def of_readings(self, roots: Array) -> Array:
        """Variance that the readings as a whole bring to some quantities, shape (n,)."""
        felt = roots[:, : len(self._readings)]
        return ((felt @ self._readings) * felt).sum(axis=1)

    def of(self, quantities: Linear, *, with_dof: bool = True) -> Estimates:
        """Values, uncertainties and degrees of freedom of some quantities; the last left infinite where not wanted."""
        roots = quantities.gradients @ self.solution.root
        variance = (roots**2).sum(axis=1)
        felt = roots[:, : len(self._readings)]  # what an extension adds, no reading feels
        by_readings = ((felt @ self._readings) * felt).sum(axis=1)
        return Estimates(
            quantities.values,
            np.sqrt(variance),
            np.sqrt(np.maximum(variance - by_readings, 0.0)),
            self.dof_of(roots, variance) if with_dof else np.full(len(roots), np.inf),
            self.solution.determined(quantities.gradients),
            roots,
        )

    def dof_of(self, roots: Array, variance: Array) -> Array:
        """Effective degrees of freedom (see ``student``), shape (n,); infinite where no learned variance enters."""
        excess = np.zeros(len(roots))
        whole = np.maximum(variance, 1e-140)
        for one, part in zip(self._excess, self._parts, strict=True):
            felt = roots[:, : len(part)]  # what comes after is of unknowns that no reading feels
            excess += ((felt @ part) * felt).sum(axis=1) / whole * one
        return effective_dof(excess)


def _bordered(square: Array, side: Array, corner: Array) -> Array:
    """A symmetric matrix with more rows and columns."""
    return np.block([[square, side], [side.T, corner]])


def fieller(
    numerator: float, denominator: float, *, variances: Sequence[float], covariance: float, quantile: float
) -> tuple[float, float] | None:
    """The interval of a ratio of two correlated normal estimates; None where it is unbounded.

    ``variances`` are those of numerator and denominator, in this order.
    """
    each = [np.array([one]) for one in (numerator, denominator, *variances, covariance, quantile)]
    low, high = fieller_ends(each[0], each[1], (each[2], each[3]), covariance=each[4], quantile=each[5])
    return None if math.isnan(low[0]) else (float(low[0]), float(high[0]))


def fieller_ends(
    numerator: Array, denominator: Array, variances: tuple[Array, Array], *, covariance: Array, quantile: Array
) -> tuple[Array, Array]:
    """The intervals of many such ratios, lower ends and upper ends, NaN where unbounded; all of one shape."""
    square = quantile**2
    leading = denominator**2 - square * variances[1]
    middle = numerator * denominator - square * covariance
    last = numerator**2 - square * variances[0]
    root = np.sqrt(np.maximum(middle**2 - leading * last, 0.0))
    leading = np.where(leading > 0.0, leading, np.nan)
    return (middle - root) / leading, (middle + root) / leading
