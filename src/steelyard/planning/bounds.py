"""Lower bounds on what a plan must cost, each with a proof.

For any direction ``x`` the inequality of Cauchy and Schwarz gives ``g' M^-1 g >= (g' x)^2 / x' M x``. So a set of
candidates that brings the variance of ``g`` under ``v`` satisfies ``sum of x' M_c x >= (g' x)^2 / v - x' M_0 x``: one
linear inequality a direction, a cut. Equality holds at ``x = M^-1 g``, so cuts taken there close in on the truth
(Kelley, The cutting-plane method for solving convex programs, J. SIAM 8 (1960)).
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass
from steelyard.planning.clock import Clock, endless
from steelyard.planning.problem import Array, PlanningProblem
from steelyard.solver import Rows, linear_programme, whole_programme

ROUNDS = 80
TIGHT = 1.002
"""Cuts are added until no variance of the relaxed plan exceeds its limit by more than this factor."""

MANY = 24.0
"""No kind is taken more often than this in the integer programme; a plan that does costs the least step as often."""

_ROUNDING = 1e-7


@dataclass(frozen=True)
class Cuts:
    """Inequalities that every sufficient set satisfies: the sum of ``gains`` of its candidates is 1 or more.

    Attributes
    ----------
    gains: shape (cuts, candidates).
    """

    gains: Array

    def more(self, reached: Array) -> int:
        """How many candidates are missing at least, where those taken have come to ``reached``, shape (cuts,)."""
        if not len(self.gains):
            return 0
        best = self.gains.max(axis=1)
        lacking = (1.0 - reached) > _ROUNDING
        if bool((lacking & (best <= 0.0)).any()):
            return 10**6
        need = np.where(lacking, (1.0 - reached) / np.where(best > 0.0, best, 1.0), 0.0)
        return ceil(float(need.max()) - _ROUNDING)

    def more_each(self, reached: Array) -> Array:
        """The same for one more of each candidate, shape (candidates,)."""
        if not len(self.gains):
            return np.zeros(int(self.gains.shape[1]))
        best = np.maximum(self.gains.max(axis=1), 1e-300)
        need = ((1.0 - reached[:, None] - self.gains) / best[:, None]).max(axis=0)
        return np.maximum(np.ceil(need - _ROUNDING), 0.0)


def cut(problem: PlanningProblem, wish: int, direction: Array) -> Array | None:
    """The gains of one cut, shape (candidates,); None where it says nothing. ``direction`` has shape (unknowns,)."""
    wanted = float(problem.wanted[wish] @ direction) ** 2 / float(problem.limits[wish] * (1.0 + 1e-9))
    lacking = wanted - float(direction @ problem.known @ direction)
    if lacking <= 1e-12 * wanted:
        return None
    felt = problem.rows @ direction
    return np.asarray((felt * felt).sum(axis=1) / lacking, dtype=np.float64)


def least_number(problem: PlanningProblem, plan: Sequence[int]) -> int:
    """How many candidates more every sufficient set takes at least, by rank.

    The covariance of the wanted quantities, each over its limit, must come down to a trace of their number. A rank-one
    update leaves all but one of its eigenvalues standing (interlacing; Horn and Johnson, Matrix Analysis, 4.3), so
    those beyond the rank of what is added must have a small enough sum already.
    """
    scaled = problem.wanted / np.sqrt(problem.limits)[:, None]
    values = np.linalg.eigvalsh(scaled @ problem.covariance(plan) @ scaled.T)  # ascending
    standing = np.cumsum(values)
    rank = len(values) - int((standing <= len(values) * (1.0 + 1e-6)).sum())
    return ceil(rank / problem.rows.shape[1])


def root_cuts(problem: PlanningProblem, clock: Clock | None = None) -> Cuts:
    """Cuts from the relaxed problem, in which a candidate may be taken any part of a time.

    The problem is relaxed as a whole and once more within each group of features that come first in ``prices``; where a
    round ends, the cuts are combined by their prices into one that alone proves the bound of the relaxed problem.

    Raises
    ------
    OutOfTime: the time of ``clock`` is over.
    """
    clock = endless() if clock is None else clock
    rows: list[Array] = []
    combined: list[Array] = []
    for allowed in _parts(problem):
        weights = np.zeros(problem.count)
        last: Array | None = None
        for _ in range(ROUNDS):
            clock.check()
            fresh = _violated(problem, weights)
            rows += fresh
            solved = _relaxed(np.array(rows)[:, allowed], clock) if fresh else None
            if solved is None:
                break
            weights[allowed], duals = solved
            total = float(duals.sum())
            last = duals @ np.array(rows) / total if total > 0.0 else None
        if last is not None:
            combined.append(last)
        if len(rows) > MOST_ROWS:
            break
    kept = _needed(np.array(rows)) if rows else np.zeros((0, problem.count))
    return Cuts(np.concatenate([kept, *(row[None] for row in combined)]))


def _parts(problem: PlanningProblem) -> list[NDArray[np.int_]]:
    """All candidates, then those of each few of the leading features (where a rig may be weighed)."""
    prices = problem.prices
    whole = [np.arange(problem.count)]
    leading = range(min(prices.leading, 5))
    for mask in range(1, 2 ** len(leading)):
        allowed = {feature for feature in leading if mask >> feature & 1}
        kinds = [not (of & set(range(prices.leading))) - allowed for of in prices.features]
        chosen = np.flatnonzero(np.array(kinds, dtype=bool)[prices.kinds])
        if 0 < len(chosen) < problem.count:
            whole.append(chosen)
    return whole


MOST_CUTS = 120

MOST_ROWS = 600
"""Once there are more cuts than this, no further group of features is relaxed alone."""


def _needed(rows: Array) -> Array:
    """The cuts that ask for most, without those that another implies."""
    order = np.argsort(rows.max(axis=1))[:MOST_CUTS]
    return rows[np.sort(order)]


def _violated(problem: PlanningProblem, weights: Array, tight: float = TIGHT) -> list[Array]:
    """A cut for every wish that the relaxed plan, weights of shape (candidates,), does not meet."""
    information = problem.weighted(weights)
    directions = np.linalg.solve(information, problem.wanted.T).T
    variances = (directions * problem.wanted).sum(axis=1)
    rows: list[Array] = []
    for wish in np.flatnonzero(variances > tight * problem.limits):
        row = cut(problem, int(wish), directions[wish])
        if row is not None:
            rows.append(row)
    return rows


def _relaxed(gains: Array, clock: Clock) -> tuple[Array, Array] | None:
    """The fewest candidates, in parts, that satisfy the cuts, and the price of each cut; None where none do."""
    seconds = max(min(clock.left, 1e6), 0.01)
    found = linear_programme(np.ones(int(gains.shape[1])), -gains, -np.ones(len(gains)), seconds=seconds)
    clock.check()
    if found.status != 0:
        return None
    return np.asarray(found.x, dtype=np.float64), -np.asarray(found.ineqlin.marginals, dtype=np.float64)


MOST_FEATURES = 12


class Reach:
    """Missing information, and its least cost, for each set of features that longer sets may use.

    Within a set of features the best candidate gains so much of each cut, which gives a number of steps; features that
    are not there yet are paid for. The least over all sets of features is a bound.
    """

    def __init__(self, problem: PlanningProblem, cuts: Cuts) -> None:
        prices = self._prices = problem.prices
        self._count = min(len(prices.extra), MOST_FEATURES)
        self._least, self._spared = prices.least, prices.spared
        kept = range(self._count)
        bits = [sum(1 << feature for feature in kept if feature in of) for of in prices.features]
        self._bits = np.array(bits, dtype=int)[prices.kinds] if bits else np.zeros(problem.count, dtype=int)
        size = 1 << self._count
        self._gains = np.zeros((size, len(cuts.gains)))
        np.maximum.at(self._gains, self._bits, cuts.gains.T)
        self._price = np.zeros(size)
        masks = np.arange(size)
        for feature in kept:
            bit = 1 << feature
            with_it = masks[(masks & bit) > 0]
            self._gains[with_it] = np.maximum(self._gains[with_it], self._gains[with_it ^ bit])
            self._price[with_it] += prices.extra[feature]
        self._masks = masks
        self._whole = self._at_least(masks)
        self._above: dict[int, NDArray[np.int_]] = {}

    def _at_least(self, masks: NDArray[np.int_]) -> Array:
        """Least cost beyond the steps where each set of features is used, from nothing, shape (sets,)."""
        prices = self._prices
        if not len(prices.round) or prices.leading > self._count:
            return np.zeros(len(masks))
        found = prices.round[masks & ((1 << prices.leading) - 1)]
        for feature in range(prices.leading, self._count):
            found = found + np.where(masks >> feature & 1, prices.feature[feature], 0.0)
        return found

    def cost(self, plan: Sequence[int], spent: float, reached: Array, fewest: int) -> float:
        """The least cost of every longer set, where ``plan`` costs ``spent`` and its cuts have come to ``reached``.

        ``reached`` has shape (cuts,). ``fewest`` more candidates are needed in any case. What is paid once is counted
        in two ways, and the better holds: on top of ``plan``, feature by feature, and for all features from nothing.
        """
        mask = int(np.bitwise_or.reduce(self._bits[list(plan)])) if len(plan) else 0
        if mask not in self._above:
            self._above[mask] = np.flatnonzero((self._masks & mask) == mask)
        above = self._above[mask]
        lacking = 1.0 - reached
        open_ = np.flatnonzero(lacking > _ROUNDING)
        need = np.full(len(above), float(fewest))
        if len(open_):
            gains = self._gains[np.ix_(above, open_)]
            steps = lacking[open_] / np.maximum(gains, 1e-300)
            need = np.maximum(need, np.ceil(steps.max(axis=1) - _ROUNDING))
        spared = 0.0 if len(plan) else self._spared
        paid = np.maximum(self._price[above] - self._price[mask] - spared, 0.0)
        whole = self._whole[above] + self._least * len(plan)
        return float((np.maximum(spent + paid, whole) + self._least * need).min())


NODES = 2000
"""An integer programme is given up after so many branches; what it has proved by then holds."""

PROGRAMMES = 20
"""Integer programmes are solved one after the other at most so many times."""


def whole_bound(problem: PlanningProblem, cuts: Cuts, clock: Clock | None = None) -> tuple[float, Cuts]:
    """A lower bound on the cost from integer programmes over kinds of candidates, and the cuts with those it added.

    Kinds gain as the best of their candidates does; what a step costs beyond the least is counted once for each
    feature that is used. Where the answer of a programme, spread over the candidates of its kinds, does not meet all
    limits, cuts are added there and it is solved again.

    Raises
    ------
    OutOfTime: the time of ``clock`` is over.
    """
    clock = endless() if clock is None else clock
    prices = problem.prices
    if not len(cuts.gains) or not prices.features:
        return 0.0, cuts
    rows = list(cuts.gains)
    members = [np.flatnonzero(prices.kinds == kind) for kind in range(len(prices.features))]
    best = 0.0
    for _ in range(PROGRAMMES):
        clock.check()
        solved = _whole(problem, np.array([[row[own].max() for own in members] for row in rows]), clock)
        if solved is None:
            break
        bound, counts = solved
        best = max(best, min(bound - prices.spared, (MANY + 1.0) * prices.least))
        weights = np.zeros(problem.count)
        for own, times in zip(members, counts, strict=True):
            weights[own] = times / len(own)
        fresh = _violated(problem, weights, 1.0 + 1e-6)
        if not fresh:
            break
        rows += fresh
    return best, Cuts(np.array(rows))


def _whole(problem: PlanningProblem, gains: Array, clock: Clock) -> tuple[float, Array] | None:
    """The bound of one integer programme and how often it takes each kind, shape (kinds,); ``gains``: (cuts, kinds)."""
    from scipy.sparse import csr_array

    prices = problem.prices
    count, features = int(gains.shape[1]), len(prices.feature)
    held = [(kind, feature) for kind, of in enumerate(prices.features) for feature in of]
    linked = np.zeros((len(held), count + features))
    for row, (kind, feature) in enumerate(held):
        linked[row, kind], linked[row, count + feature] = 1.0, -MANY
    wide = np.column_stack([np.minimum(gains, 1.0), np.zeros((len(gains), features))])
    constraints: list[Rows] = [(csr_array(wide), np.full(len(wide), 1.0 - _ROUNDING), np.inf)]
    if held:
        constraints.append((csr_array(linked), -np.inf, 0.0))
    found = whole_programme(
        np.concatenate([np.full(count, prices.least), prices.feature]),
        whole=np.ones(count + features, dtype=np.int_),
        low=np.zeros(count + features),
        high=np.concatenate([np.full(count, MANY), np.ones(features)]),
        constraints=constraints,
        seconds=max(min(clock.left, 1e6), 0.01),
        nodes=NODES,
    )
    clock.check()
    bound = getattr(found, "mip_dual_bound", None)
    if bound is None or not np.isfinite(bound) or found.x is None:
        return None
    return float(bound) - 1e-6, np.round(np.asarray(found.x, dtype=np.float64)[:count])
