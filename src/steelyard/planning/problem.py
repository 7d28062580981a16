"""A design problem without vehicles: observations on offer, what is wanted to be known, what a sequence of them costs.

Information is additive (Pukelsheim, Optimal Design of Experiments, 1993, chapters 1 and 3): the covariance of the
unknowns after a set of candidates is the inverse of the sum of what was known and what each tells. So the variance of
every wanted quantity is known before anything is observed.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass
from steelyard.planning.course import Alike, Array, Course

Plan = tuple[int, ...]
"""Numbers of candidates; as a set in ascending order, as a sequence in the order in which they are taken."""

SLACK = 1e-9
"""Relative error of a variance that is let pass."""


@dataclass(frozen=True)
class Prices:
    """Cost of candidates in the order in which they are taken, and lower bounds on it.

    Attributes
    ----------
    course: what one more candidate costs after others.
    least: what each candidate costs at least, wherever it comes.
    kinds: the kind of each candidate, shape (candidates,). features: by kind, what is paid for once and again free.
    feature: a lower bound on the price of each feature, shape (features,).
    spared: what may be taken off the sum of features, since a day may begin with one of them.
    extra: a lower bound on what each feature adds to a sequence that has others already, shape (features,).
    leading: how many of the features come first as those that every kind has one or more of.
    round: what it costs at least to come through every set of leading features, by the bits of the set, shape
        (2 ** leading,); empty where that is not known.
    """

    course: Course
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
        return cls(Alike(), 1.0, kinds, features, np.zeros(0))


@dataclass(frozen=True)
class PlanningProblem:
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

    def told(self, candidate: int) -> Array:
        """Information of one candidate, shape (unknowns, unknowns)."""
        return self.rows[candidate].T @ self.rows[candidate]

    def information(self, plan: Sequence[int]) -> Array:
        """Information after all of ``plan``, shape (unknowns, unknowns)."""
        if not len(plan):
            return self.known
        rows = self.rows[list(plan)].reshape(-1, self.rows.shape[2])
        return self.known + rows.T @ rows

    def weighted(self, weights: Array) -> Array:
        """Information after each candidate so many times, or parts of one; ``weights`` has shape (candidates,)."""
        some = np.flatnonzero(weights > 0.0)
        rows = (self.rows[some] * np.sqrt(weights[some])[:, None, None]).reshape(-1, self.rows.shape[2])
        return self.known + rows.T @ rows

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

    def growth(self, plan: Sequence[int]) -> Array:
        """By how much the logarithm of the determinant of the information grows with one more, shape (candidates,)."""
        inner = (self.rows @ self.covariance(plan)) @ np.swapaxes(self.rows, 1, 2) + np.eye(self.rows.shape[1])
        return np.asarray(np.linalg.slogdet(inner)[1], dtype=np.float64)

    def meets(self, plan: Plan) -> bool:
        """Whether a set brings everything under its limit, and is accepted."""
        if not bool((self.variances(plan) <= self.limits * (1.0 + SLACK)).all()):
            return False
        return self.accepts is None or self.accepts(tuple(sorted(plan)))

    def canonical(self, plan: Plan) -> bool:
        """Whether no mirror image of an ascending set comes before it."""
        return all(tuple(sorted(mirror[list(plan)].tolist())) >= plan for mirror in self.mirrors)
