"""Weighed residuals of a solved day, and what letting a reading or a change of readings go would do to them.

Source: Baarda, A testing procedure for use in geodetic networks (1968): the normalised residual
``w = e' P r / sqrt(e' P Qv P e)`` with the full covariance of the readings; ``w^2`` is the fall of chi-square when that
one reading is left out.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.solve import Array, Blocks, Solution

UNCHECKED = 1e-6
"""A reading whose redundancy is under this is checked by nothing."""

STEP = 1e-4
"""Of the root of chi-square: falls of it that differ by less are alike. The search for the solution stops within a
millionth of an uncertainty, which moves the fall of a reading that is off by w of them by a millionth of 2 w."""


class Residuals:
    """Weighed residuals ``P r`` and the matrix ``W = P Qv P``, never formed whole.

    Parameters
    ----------
    misfit: readings minus predictions, shape (readings,). design: derivatives, shape (readings, unknowns).

    Attributes
    ----------
    step: falls of chi-square that differ by less are alike.
    """

    def __init__(self, blocks: Blocks, design: Array, misfit: Array, solution: Solution) -> None:
        self._blocks = blocks
        self.fitted = blocks.weigh(design @ solution.root)
        self.weighed = blocks.weigh(misfit[:, None])[:, 0]
        self._inverse = blocks.inverse_diagonal()
        self.weight = self._inverse - (self.fitted**2).sum(axis=1)
        self._variances = blocks.variances()
        self.step = max(STEP * float(np.sqrt(max(misfit @ self.weighed, 0.0))), 1e-6)
        self._freed: list[Array] = []

    @property
    def redundancy(self) -> Array:
        """How far each reading is checked by the others, 0 to about 1, shape (readings,)."""
        return self.weight * self._variances

    def copy(self) -> Residuals:
        """The same residuals, to be changed apart from these."""
        other = object.__new__(Residuals)
        other.__dict__.update(self.__dict__)
        other._freed = list(self._freed)
        return other

    def told(self, falls: Array) -> Array:
        """Falls of chi-square in steps, in which neither the last digits nor the units of the file are seen; any shape.

        What is chosen by them is the same on every processor, and for a file in other units.
        """
        return np.round(falls / self.step) * self.step

    def answers(self, columns: Array) -> Array:
        """``W`` times changes of the readings, as it stands after what has been freed; both (readings, n)."""
        found = self._blocks.weigh(columns) - self.fitted @ (self.fitted.T @ columns)
        for freed in self._freed:
            found = found - freed[:, None] * (freed @ columns)
        return found

    def column(self, row: int) -> Array:
        """One column of ``W`` as it stands after what has been freed, shape (readings,)."""
        return self.answers(self.unit(row)[:, None])[:, 0]

    def unit(self, row: int) -> Array:
        """One reading more by one, shape (readings,)."""
        unit = np.zeros(len(self.weighed))
        unit[row] = 1.0
        return unit

    def between(self, first: NDArray[np.int_], second: NDArray[np.int_]) -> Array:
        """Elements of ``W`` for pairs of readings, shape (pairs,)."""
        found = self._blocks.inverse_at(first, second) - (self.fitted[first] * self.fitted[second]).sum(axis=1)
        for freed in self._freed:
            found = found - freed[first] * freed[second]
        return found

    def weights_of(self, columns: Array) -> Array:
        """``c' W c`` for changes ``c`` of the readings, shape (readings, n), as it stands; shape (n,)."""
        found = self.wholes(columns) - ((self.fitted.T @ columns) ** 2).sum(axis=0)
        for freed in self._freed:
            found = found - (freed @ columns) ** 2
        return found

    def rooted(self) -> Array:
        """``F`` with ``W = P - F F'``, as it stands, shape (readings, n)."""
        return np.column_stack([self.fitted, *self._freed])

    def inverse_blocks(self) -> tuple[NDArray[np.int_], Array]:
        """The blocks of ``P``: which readings are in each, shape (blocks, width), and their elements."""
        return self._blocks.inverse_blocks()

    def wholes(self, columns: Array) -> Array:
        """``c' P c`` for changes ``c`` of the readings, shape (readings, n); shape (n,)."""
        return (columns * self._blocks.weigh(columns)).sum(axis=0)

    def let(self, column: Array) -> bool:
        """Let a change of the readings, shape (readings,), take any size; False where nothing checks it."""
        answer = self.answers(column[:, None])[:, 0]
        weight = float(column @ answer)
        if not weight > UNCHECKED * float(self.wholes(column[:, None])[0]):
            return False
        self.weighed = self.weighed - answer * (float(column @ self.weighed) / weight)
        self.weight = self.weight - answer**2 / weight
        self._freed.append(answer / np.sqrt(weight))
        return True

    def free(self, row: int) -> None:
        """Let one reading go: it takes any value from here on."""
        if self.let(self.unit(row)):
            self.weight[row] = 0.0

    def put(self, change: Array) -> None:
        """Take the readings as other by ``change`` [kg], shape (readings,)."""
        self.weighed = self.weighed + self.answers(change[:, None])[:, 0]

    def off(self, rows: NDArray[np.int_]) -> Array:
        """By how much some readings are off by themselves [kg], shape (rows,); infinite where nothing checks them."""
        checked = self.redundancy[rows] > UNCHECKED
        return np.where(checked, self.weighed[rows] / np.where(checked, self.weight[rows], 1.0), np.inf)

    def normalised(self) -> Array:
        """Normalised residuals, shape (readings,); zero for readings that nothing checks."""
        checked = self.redundancy > UNCHECKED
        return np.where(checked, self.weighed / np.sqrt(np.where(checked, self.weight, 1.0)), 0.0)
