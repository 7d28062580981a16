"""Many sums of few outputs each: a matrix of which almost every entry is nothing, kept as the entries that are not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.propagate import CANCELLED
from steelyard.adjustment.solve import Array

_AT_ONCE = 10_000
"""Sums whose derivatives are made at once, so that memory stays bounded on a day of many states."""

_WHOLE = 1 << 17
"""Up to so many entries, with those that are nothing, the matrix is written out: one product is then the quickest."""

_ROUNDED = 1e-13
"""A derivative by one unknown under this share of the largest one, of any load, is nothing but rounding."""


class SparseSums:
    """Sums of outputs, each with its factors.

    Parameters
    ----------
    terms: of each sum, the factor of each output by the output's index; an empty one is a sum of nothing.

    Attributes
    ----------
    factors: of all terms, one sum after the other, shape (terms,).
    """

    def __init__(self, terms: Sequence[Mapping[int, float]]) -> None:
        lengths = np.array([len(each) for each in terms], dtype=int)
        self._rows = np.repeat(np.arange(len(terms)), lengths)
        self._columns = np.array([at for each in terms for at in each], dtype=int)
        self.factors = np.array([factor for each in terms for factor in each.values()], dtype=float)
        self._count = len(terms)
        self._starts = np.flatnonzero(np.diff(self._rows, prepend=-1))

    def terms_of(self, sums: Sequence[int]) -> NDArray[np.int_]:
        """The places of the terms of some sums among all terms, one sum after the other, shape (terms,)."""
        return np.concatenate([np.flatnonzero(self._rows == each) for each in sums]) if sums else np.zeros(0, dtype=int)

    def replaced(self, terms: NDArray[np.int_], factors: Array) -> SparseSums:
        """The same sums of the same outputs, with other factors, shape (terms,), at some terms (see ``terms_of``)."""
        other = object.__new__(SparseSums)
        other.__dict__.update(self.__dict__)
        other.factors = self.factors.copy()
        other.factors[terms] = factors
        return other

    def of(self, values: Array) -> Array:
        """Each sum; ``values`` are of the outputs, shape (outputs,); shape (n,)."""
        return self._added(self.factors * values[self._columns])

    def sizes(self, values: Array) -> Array:
        """Each sum with every term taken as positive, shape (n,)."""
        return self._added(np.abs(self.factors * values[self._columns]))

    def _added(self, terms: Array) -> Array:
        return np.bincount(self._rows, terms, self._count).astype(np.float64, copy=False)

    def derivatives(self, jacobian: Array) -> Array:
        """Derivatives of the sums, what cancels set to nothing, so that rounding is never taken for information.

        Parameters
        ----------
        jacobian: of the outputs, shape (outputs, unknowns).

        Returns
        -------
        Shape (n, unknowns).
        """
        small = self._count * len(jacobian) <= _WHOLE
        product = self._at_once(jacobian) if small else self._in_parts(jacobian)
        largest = np.abs(jacobian).max(axis=0, initial=0.0)
        sizes = np.abs(product)
        product[sizes < _ROUNDED * largest] = 0.0
        # no sum is larger, term by term, than its factors times the largest derivatives: most need no closer look
        most = CANCELLED * self._added(np.abs(self.factors))
        unsure = (sizes < most[:, None] * largest) & (product != 0.0)
        for row in np.flatnonzero(unsure.any(axis=1)).tolist():
            own = self._rows == row
            size = np.abs(self.factors[own, None] * jacobian[self._columns[own]]).sum(axis=0)
            product[row, sizes[row] < CANCELLED * size] = 0.0
        return product

    def _at_once(self, jacobian: Array) -> Array:
        matrix = np.zeros((self._count, len(jacobian)))
        matrix[self._rows, self._columns] = self.factors
        return matrix @ jacobian

    def _in_parts(self, jacobian: Array) -> Array:
        product = np.zeros((self._count, jacobian.shape[1]))
        starts = self._starts
        for first in range(0, len(starts), _AT_ONCE):
            part = starts[first : first + _AT_ONCE]
            end = starts[first + _AT_ONCE] if first + _AT_ONCE < len(starts) else len(self._rows)
            own = slice(part[0], end)
            terms = self.factors[own, None] * jacobian[self._columns[own]]
            product[self._rows[part]] = np.add.reduceat(terms, part - part[0], axis=0)
        return product
