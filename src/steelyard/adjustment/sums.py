"""Many sums of few outputs each: a matrix of which almost every entry is nothing, kept as the entries that are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from steelyard.adjustment.propagate import CANCELLED
from steelyard.adjustment.solve import Array

_AT_ONCE = 10_000
"""Sums whose derivatives are made at once, so that memory stays bounded on a day of many states."""

_ROUNDED = 1e-13
"""A derivative by one unknown under this share of the largest one, of any load, is nothing but rounding."""


class SparseSums:
    """Sums of outputs, each with its factors.

    Parameters
    ----------
    terms: of each sum, the factor of each output by the output's index; an empty one is a sum of nothing.
    """

    def __init__(self, terms: Sequence[Mapping[int, float]]) -> None:
        lengths = [len(each) for each in terms]
        self._rows = np.repeat(np.arange(len(terms)), lengths)
        self._columns = np.array([at for each in terms for at in each], dtype=int)
        self._factors = np.array([factor for each in terms for factor in each.values()])
        self._count = len(terms)

    def of(self, values: Array) -> Array:
        """Each sum; ``values`` are of the outputs, shape (outputs,); shape (n,)."""
        return self._added(self._factors * values[self._columns])

    def sizes(self, values: Array) -> Array:
        """Each sum with every term taken as positive, shape (n,)."""
        return self._added(np.abs(self._factors * values[self._columns]))

    def _added(self, terms: Array) -> Array:
        total = np.zeros(self._count)
        np.add.at(total, self._rows, terms)
        return total

    def derivatives(self, jacobian: Array) -> Array:
        """Derivatives of the sums, what cancels set to nothing, so that rounding is never taken for information.

        Parameters
        ----------
        jacobian: of the outputs, shape (outputs, unknowns).

        Returns
        -------
        Shape (n, unknowns).
        """
        product = np.zeros((self._count, jacobian.shape[1]))
        size = np.zeros_like(product)
        starts = np.flatnonzero(np.diff(self._rows, prepend=-1))
        for first in range(0, len(starts), _AT_ONCE):
            part = starts[first : first + _AT_ONCE]
            end = starts[first + _AT_ONCE] if first + _AT_ONCE < len(starts) else len(self._rows)
            own = slice(part[0], end)
            terms = self._factors[own, None] * jacobian[self._columns[own]]
            rows = self._rows[part]
            product[rows] = np.add.reduceat(terms, part - part[0], axis=0)
            size[rows] = np.add.reduceat(np.abs(terms), part - part[0], axis=0)
        largest = np.abs(jacobian).max(axis=0, initial=0.0)
        product[np.abs(product) < np.maximum(CANCELLED * size, _ROUNDED * largest)] = 0.0
        return product
