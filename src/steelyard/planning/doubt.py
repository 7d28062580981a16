"""Half-widths of 95 % intervals after a set of drafts, from what each tells alone.

Everything that they are made of adds up over drafts that are placed anew: information, what each variance component
brings to it, and what will be learned of the components' factors. So they are those of the adjustment of all drafts
together, at factors of one (``adjustment``: propagate and variance).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from steelyard.adjustment import Knowledge, effective_dof, excess_of, student_quantile
from steelyard.planning.problem import Array

UNTOLD = 1.0e4
"""Standard uncertainty [kg, kg*m] that stands for not knowing a free unknown at all: far above any load's doubt, and
not so far that the arithmetic suffers."""

OPEN = 0.1
"""A quantity whose standard uncertainty is this share of what not knowing it would be, or more, is not determined."""


class PlannedDoubt:
    """The half-widths of some quantities after any set of drafts on offer.

    Parameters
    ----------
    knowledge: what the day tells so far and what each draft on offer would.
    gradients: derivatives of the quantities by the unknowns of ``knowledge``, shape (quantities, unknowns).
    """

    def __init__(self, knowledge: Knowledge, gradients: Array) -> None:
        free = np.isnan(knowledge.priors)
        scale = np.where(free, UNTOLD, knowledge.priors)
        self.wanted = gradients * scale
        rows = [own * scale for own in knowledge.rows]
        self.known = np.eye(len(scale)) + rows[0].T @ rows[0]
        width = max((len(own) for own in rows[1:]), default=1)
        self.rows = np.zeros((len(rows) - 1, width, len(scale)))
        for at, own in enumerate(rows[1:]):
            self.rows[at, : len(own)] = own
        self._all = rows
        self._parts = knowledge.parts
        self._dof = knowledge.dof
        self.open_limits = (OPEN * np.linalg.norm(self.wanted * free, axis=1)) ** 2

    @cached_property
    def _given(self) -> list[tuple[Array, Array, float]]:
        """Of what the day tells so far, component by component."""
        return [self._of(0, part) for part in range(len(self._dof))]

    def _component(self, at: int, part: int) -> tuple[Array, Array, float]:
        return self._of(at, part) if at else self._given[part]

    def _of(self, at: int, part: int) -> tuple[Array, Array, float]:
        """Of one set: a component's share of the information, what it tells of its factor, and the same at most."""
        rows, own = self._all[at], self._parts[at][part]
        return rows.T @ own @ rows, rows.T @ (own @ own) @ rows, float((own * own).sum())

    def information(self, plan: Sequence[int]) -> Array:
        """Information after all drafts of ``plan``, shape (unknowns, unknowns)."""
        rows = self.rows[list(plan)].reshape(-1, self.rows.shape[2]) if len(plan) else self.rows[:0, 0]
        return self.known + rows.T @ rows

    def half_widths(self, plan: Sequence[int]) -> Array:
        """After all drafts of ``plan``, shape (quantities,); infinite where a quantity is not determined."""
        covariance = np.asarray(np.linalg.inv(self.information(plan)), dtype=np.float64)
        reach = covariance @ self.wanted.T
        variance = np.maximum((self.wanted.T * reach).sum(axis=0), 1e-300)
        times = Counter((0, *(one + 1 for one in plan)))
        excess = np.zeros(len(variance))
        for part, prior in enumerate(self._dof):
            sets = [(count, *self._component(at, part)) for at, count in times.items()]
            share = np.sum([count * one for count, one, _, _ in sets], axis=0)
            learned = np.sum([count * one for count, _, one, _ in sets], axis=0)
            product = covariance @ share
            told = sum(count * most for count, _, _, most in sets) - 2.0 * float((covariance * learned).sum())
            dof = float(prior) + max(told + float((product * product.T).sum()), 0.0)
            brought = (reach * (share @ reach)).sum(axis=0)
            excess += brought / variance * excess_of(np.array([dof]))
        half = student_quantile(effective_dof(excess)) * np.sqrt(variance)
        return np.where((self.open_limits > 0.0) & (variance > self.open_limits), np.inf, half)
