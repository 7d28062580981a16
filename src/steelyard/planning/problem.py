"""A design problem without vehicles: observations on offer, what is wanted to be known, what a sequence of them costs.

Information is additive (Pukelsheim, Optimal Design of Experiments, 1993, chapters 1 and 3): the covariance of the
unknowns after a set of candidates is the inverse of the sum of what was known and what each tells. So the variance of
every wanted quantity is known before anything is observed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Plan = tuple[int, ...]
"""Numbers of candidates; as a set in ascending order, as a sequence in the order in which they are taken."""

SLACK = 1e-9
"""Relative error of a variance that is let pass."""


@dataclass(frozen=True)
class Prices:
    """What candidates cost in the order in which they are taken.

    Each step costs ``least`` or more, and what it costs beyond that obeys the triangle inequality, so that leaving a
    candidate out never makes a sequence dearer.

    Attributes
    ----------
    first: of each candidate where it is the first, shape (candidates,).
    step: of the second after the first, shape (candidates, candidates).
    kinds: the kind of each candidate, shape (candidates,). features: by kind, what is paid for once and again free.
    feature: a lower bound on the price of each feature, shape (features,).
    spared: what may be taken off the sum of features, since a day may begin with one of them.
    extra: a lower bound on what each feature adds to a sequence that has others already, shape (features,).
    leading: how many of the features come first as those that every kind has one or more of.
    round: what it costs at least to come through every set of leading features, by the bits of the set, shape
        (2 ** leading,); empty where that is not known.
    """

    first: Array
    step: Array
    least: float
    kinds: NDArray[np.int_]
    features: tuple[frozenset[int], ...]
    feature: Array
    spared: float = 0.0
    extra: Array = field(default_factory=lambda: np.zeros(0))
    leading: int = 0
    round: Array = field(default_factory=lambda: np.zeros(0))

    @classmethod
    def alike(cls, count: int) -> Prices:
        """Every one of ``count`` candidates costs 1, whatever came before."""
        kinds = np.arange(count)
        features = (frozenset[int](),) * count
        return cls(np.ones(count), np.ones((count, count)), 1.0, kinds, features, np.zeros(0))


@dataclass(frozen=True)
class Problem:
    """Which candidates, each any number of times, bring every wanted variance under its limit at the least cost?

    Attributes
    ----------
    rows: derivatives of each candidate's observations, of unit variance, padded with zero rows,
        shape (candidates, observations, unknowns).
    known: information that is there already, positive definite, shape (unknowns, unknowns).
    wanted: derivatives of the wanted quantities, shape (wanted, unknowns). limits: on their variances, shape (wanted,).
    accepts: a further test of a set that meets all limits; None: there is none.
    mirrors: permutations of the candidates that change nothing, each of shape (candidates,).
    """

    rows: Array
    known: Array
    wanted: Array
    limits: Array
    prices: Prices
    accepts: Callable[[Plan], bool] | None = None
    mirrors: Sequence[NDArray[np.int_]] = field(default_factory=tuple[NDArray[np.int_], ...])

    @property
    def count(self) -> int:
        """How many candidates there are."""
        return len(self.rows)

    @cached_property
    def told(self) -> Array:
        """What each candidate tells, shape (candidates, unknowns, unknowns)."""
        return np.swapaxes(self.rows, 1, 2) @ self.rows

    def information(self, plan: Sequence[int]) -> Array:
        """What is known after all of ``plan``, shape (unknowns, unknowns)."""
        if not len(plan):
            return self.known
        return self.known + self.told[list(plan)].sum(axis=0)

    def covariance(self, plan: Sequence[int]) -> Array:
        """Of the unknowns after all of ``plan``, shape (unknowns, unknowns)."""
        return np.asarray(np.linalg.inv(self.information(plan)), dtype=np.float64)

    def variances(self, plan: Sequence[int]) -> Array:
        """Of the wanted quantities after all of ``plan``, shape (wanted,)."""
        return ((self.wanted @ self.covariance(plan)) * self.wanted).sum(axis=1)

    def after_one_more(self, plan: Sequence[int]) -> tuple[Array, Array]:
        """Variances after all of ``plan``, shape (wanted,), and after each one more, shape (candidates, wanted)."""
        covariance = self.covariance(plan)
        reach = covariance @ self.wanted.T
        now = (self.wanted.T * reach).sum(axis=0)
        felt = self.rows @ reach
        width = self.rows.shape[1]
        inner = (self.rows @ covariance) @ np.swapaxes(self.rows, 1, 2) + np.eye(width)
        gain = (felt * np.linalg.solve(inner, felt)).sum(axis=1)
        return now, np.maximum(now - gain, 0.0)

    def meets(self, plan: Plan) -> bool:
        """Whether a set brings everything under its limit, and is accepted."""
        if not bool((self.variances(plan) <= self.limits * (1.0 + SLACK)).all()):
            return False
        return self.accepts is None or self.accepts(tuple(sorted(plan)))

    def canonical(self, plan: Plan) -> bool:
        """Whether no mirror image of an ascending set comes before it."""
        return all(tuple(sorted(mirror[list(plan)].tolist())) >= plan for mirror in self.mirrors)


EXACT = 9
"""The cheapest order of a set of up to so many candidates is found for certain; of a longer one a good order is."""


class Orders:
    """The cheapest order of every set that was asked for; all sets are ascending."""

    def __init__(self, prices: Prices) -> None:
        self._prices = prices
        self._ends: dict[Plan, dict[int, tuple[float, int]]] = {(): {}}

    def _by_end(self, plan: Plan) -> dict[int, tuple[float, int]]:
        """For each last candidate the least cost, and the candidate before it (-1: none)."""
        if plan not in self._ends:
            found: dict[int, tuple[float, int]] = {}
            for place, last in enumerate(plan):
                if last in found:
                    continue
                ends = self._by_end(plan[:place] + plan[place + 1 :])
                if not ends:
                    found[last] = (float(self._prices.first[last]), -1)
                    continue
                costs = {before: cost + float(self._prices.step[before, last]) for before, (cost, _) in ends.items()}
                before = min(costs, key=costs.__getitem__)
                found[last] = (costs[before], before)
            self._ends[plan] = found
        return self._ends[plan]

    def cost(self, plan: Plan) -> float:
        """The least cost of a set in any order; for a long one that of a good order."""
        if len(plan) > EXACT:
            return self._paid(self._near(plan))
        return min((cost for cost, _ in self._by_end(plan).values()), default=0.0)

    def least(self, plan: Plan) -> float:
        """What a set costs at least."""
        if len(plan) > EXACT:
            return self.cost(plan[:EXACT]) + self._prices.least * (len(plan) - EXACT)
        return self.cost(plan)

    def ordered(self, plan: Plan) -> Plan:
        """A cheapest order of a set; for a long one a good order."""
        if len(plan) > EXACT:
            return self._near(plan)
        order: list[int] = []
        rest = list(plan)
        last = -1
        while rest:
            ends = self._by_end(tuple(rest))
            last = last if order else min(ends, key=lambda one: (ends[one][0], one))
            order.append(last)
            rest.remove(last)
            last = ends[last][1]
        return tuple(reversed(order))

    def _near(self, plan: Plan) -> Plan:
        """From each beginning always to the nearest; the cheapest of these."""
        found: list[Plan] = []
        for first in dict.fromkeys(plan):
            rest, order = list(plan), [first]
            rest.remove(first)
            while rest:
                order.append(min(rest, key=lambda one: float(self._prices.step[order[-1], one])))
                rest.remove(order[-1])
            found.append(tuple(order))
        return min(found, key=self._paid)

    def _paid(self, order: Plan) -> float:
        steps = sum(float(self._prices.step[one, other]) for one, other in pairwise(order))
        return float(self._prices.first[order[0]]) + steps
