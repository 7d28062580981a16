"""Half-widths of 95 % intervals after a set of drafts, from what each tells alone.

Everything that they are made of adds up over drafts that are placed anew: information, what each variance component
brings to it, and what will be learned of the components' factors. So they are those of the adjustment of all drafts
together, at factors of one (``adjustment``: propagate and variance).
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steelyard.adjustment import Knowledge, student_quantile
from steelyard.planning.problem import Array

UNTOLD = 1.0e4
"""Standard uncertainty [kg, kg*m] that stands for not knowing a free unknown at all: far above any load's doubt, and
not so far that the arithmetic suffers."""

OPEN = 0.1
"""A quantity whose standard uncertainty is this share of what not knowing it would be, or more, is not determined."""


class Doubt:
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
        self.told = np.swapaxes(self.rows, 1, 2) @ self.rows
        self.open_limits = (OPEN * np.linalg.norm(self.wanted * free, axis=1)) ** 2
        self._components: dict[int, tuple[Array, Array, Array]] = {}

    def _component(self, at: int) -> tuple[Array, Array, Array]:
        """Of one set: each component's share of the information, what it tells of its factor, and the same at most."""
        if at not in self._components:
            rows = self._all[at]
            share = np.array([rows.T @ part @ rows for part in self._parts[at]])
            learned = np.array([rows.T @ (part @ part) @ rows for part in self._parts[at]])
            most = np.array([float((part * part).sum()) for part in self._parts[at]])
            self._components[at] = share, learned, most
        return self._components[at]

    def half_widths(self, plan: Sequence[int]) -> Array:
        """After all drafts of ``plan``, shape (quantities,); infinite where a quantity is not determined."""
        information = self.known + (self.told[list(plan)].sum(axis=0) if len(plan) else 0.0)
        covariance = np.asarray(np.linalg.inv(information), dtype=np.float64)
        reach = covariance @ self.wanted.T
        variance = np.maximum((self.wanted.T * reach).sum(axis=0), 1e-300)
        sets = [self._component(at) for at in (0, *(one + 1 for one in plan))]
        inverse = np.zeros(len(variance))
        for part, prior in enumerate(self._dof):
            share = np.sum([one[0][part] for one in sets], axis=0)
            learned = np.sum([one[1][part] for one in sets], axis=0)
            product = covariance @ share
            told = sum(float(one[2][part]) for one in sets) - 2.0 * float((covariance * learned).sum())
            dof = float(prior) + max(told + float((product * product.T).sum()), 0.0)
            brought = (reach * (share @ reach)).sum(axis=0)
            inverse += (brought / variance) ** 2 / dof
        degrees = np.where(inverse > 1e-9, 1.0 / np.maximum(inverse, 1e-9), np.inf)
        half = student_quantile(degrees) * np.sqrt(variance)
        return np.where((self.open_limits > 0.0) & (variance > self.open_limits), np.inf, half)
