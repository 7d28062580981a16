"""The cheapest sufficient set: a good one quickly, then the proof, or how far from it.

A set is built up greedily and improved by exchange (Fedorov, Theory of Optimal Experiments, 1972); then sets are
searched best first, in ascending order so that each comes once, under lower bounds on what every longer one costs. What
the search has not reached when the time is over still has a bound: the least of what is open.
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from steelyard.planning.bounds import Cuts, Reach, least_number, root_cuts, whole_bound
from steelyard.planning.problem import SLACK, Array, Orders, Plan, Problem

LONGEST = 24
"""No plan of more candidates is sought."""

CENT = 1e-9

OPEN_MOST = 400_000
"""Open sets kept at most; where there are more the search stops with the bound that it has."""


class Status(StrEnum):
    """How an answer stands."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True, slots=True)
class Progress:
    """Where a search stands: the cost of the best plan so far, the proved bound, how many sets were looked at."""

    cost: float | None
    bound: float
    looked_at: int


@dataclass(frozen=True, slots=True)
class Outcome:
    """The best plan found, in the order in which it is taken; no plan costs less than ``bound``.

    ``interrupted``: somebody ended the search before its time.
    """

    status: Status
    plan: Plan
    cost: float
    bound: float
    looked_at: int = 0
    interrupted: bool = False


@dataclass
class _Best:
    plan: Plan | None = None
    cost: float = float("inf")


@dataclass
class _Search:
    """One run of it."""

    problem: Problem
    until: float
    told: Callable[[Progress], None] | None
    orders: Orders
    best: _Best = field(default_factory=_Best)
    bound: float = 0.0
    looked_at: int = 0
    said: float = 0.0

    @property
    def over(self) -> bool:
        """Whether the time is up."""
        return time.perf_counter() > self.until

    def offer(self, plan: Plan) -> bool:
        """Take a sufficient set as the best so far where it is cheaper."""
        plan = tuple(sorted(plan))
        cost = self.orders.cost(plan)
        if cost < self.best.cost - CENT and self.problem.meets(plan):
            self.best.plan, self.best.cost = plan, cost
            self.say(now=True)
            return True
        return False

    def say(self, *, now: bool = False) -> None:
        """Report progress, not too often."""
        clock = time.perf_counter()
        if self.told is not None and (now or clock - self.said > 0.5):
            self.said = clock
            cost = None if self.best.plan is None else self.best.cost
            self.told(Progress(cost, min(self.bound, self.best.cost), self.looked_at))


def cheapest(problem: Problem, *, seconds: float = 20.0, told: Callable[[Progress], None] | None = None) -> Outcome:
    """The cheapest set of candidates that brings every wanted variance under its limit.

    ``told`` hears of progress. An interruption (``KeyboardInterrupt``) ends the search with the best so far.

    Raises
    ------
    KeyboardInterrupt: interrupted before there was any plan.
    """
    start = time.perf_counter()
    run = _Search(problem, start + seconds, told, Orders(problem.prices))
    if problem.meets(()):
        return Outcome(Status.OPTIMAL, (), 0.0, 0.0)
    interrupted = done = False
    try:
        done = _run(run, start, seconds)
    except KeyboardInterrupt:
        if run.best.plan is None:
            raise
        interrupted = True
    if run.best.plan is None:
        return Outcome(Status.IMPOSSIBLE, (), float("inf"), run.bound, run.looked_at)
    cost = run.best.cost
    chosen = run.best.plan if interrupted else _sharpened(run, run.best.plan)
    plan = run.orders.ordered(chosen)
    if done or run.bound >= cost - 1e-6:
        return Outcome(Status.OPTIMAL, plan, cost, cost, run.looked_at)
    return Outcome(Status.FEASIBLE, plan, cost, run.bound, run.looked_at, interrupted)


def _run(run: _Search, start: float, seconds: float) -> bool:
    """Whether the best plan is proved to be the best."""
    cuts = root_cuts(run.problem, start + 0.2 * seconds)
    fewest = max(cuts.more(np.zeros(len(cuts.gains))), least_number(run.problem, ()))
    _build(run, fewest, start + 0.3 * seconds)
    if run.best.plan is None:
        return False
    run.bound = max(run.bound, run.problem.prices.least * fewest)
    run.say(now=True)
    if run.bound >= run.best.cost - 1e-6:
        return True
    if len(run.problem.prices.feature):
        bound, cuts = whole_bound(run.problem, cuts, 0.5 * (run.until - time.perf_counter()))
        run.bound = max(run.bound, bound)
        run.say(now=True)
        if run.bound >= run.best.cost - 1e-6:
            return True
    return _best_first(run, cuts)


# -- a good plan -----------------------------------------------------------------------------------------------------


def _excess(problem: Problem, variances: Array) -> Array:
    """How far variances, shape (..., wanted), are from their limits: nothing once all are met, shape (...)."""
    return np.log(np.maximum(variances / problem.limits, 1.0)).sum(axis=-1)


def _build(run: _Search, fewest: int, until: float) -> None:
    """Greedily from nothing, with a weight on cheapness that varies; each result is thinned and exchanged.

    Then smaller sets are sought by exchange, of no fewer than ``fewest``.
    """
    for weight in (1.0, 0.5, 0.0):
        plan = _greedy(run, weight)
        if plan is not None:
            _improve(run, tuple(sorted(plan)))
        if time.perf_counter() > until:
            return
    while run.best.plan is not None and len(run.best.plan) > max(fewest, 1) and time.perf_counter() < until:
        size = len(run.best.plan) - 1
        for criterion in (Criterion.VARIANCE, Criterion.EXCESS):
            plan = best_of_size(run.problem, size, criterion, starts=30, until=until, enough=run.problem.meets)
            if run.problem.meets(plan):
                break
        else:
            return
        run.offer(plan)
        _improve(run, plan)
        if len(run.best.plan) > size:  # fewer, and yet no cheaper
            return


def _greedy(run: _Search, weight: float) -> Plan | None:
    problem = run.problem
    plan: list[int] = []
    for _ in range(LONGEST):
        now, after = problem.after_one_more(plan)
        step = problem.prices.first if not plan else problem.prices.step[plan[-1]]
        gained = _excess(problem, now) - _excess(problem, after)
        if float(gained.max()) <= 1e-12:
            # all limits are met and yet it is not accepted: anything that narrows is a gain
            gained = (np.log(np.maximum(now, 1e-300)) - np.log(np.maximum(after, 1e-300))).sum(axis=1)
        plan.append(int(np.argmax(gained / np.maximum(step, 1e-12) ** weight)))
        if problem.meets(tuple(sorted(plan))):
            run.offer(tuple(plan))
            return tuple(plan)
    return None


def _improve(run: _Search, plan: Plan) -> None:
    """Leave out what is needless, then exchange one for another, until nothing makes it cheaper."""
    problem, cost = run.problem, run.orders.cost(plan)
    better = True
    while better:
        better = False
        for place in range(len(plan)):
            if run.over:
                break
            rest = plan[:place] + plan[place + 1 :]
            if problem.meets(rest):
                plan, cost, better = rest, run.orders.cost(rest), True
                break
            _, after = problem.after_one_more(rest)
            fits = np.flatnonzero((after <= problem.limits * (1.0 + 1e-6)).all(axis=1))
            for other in _cheap_first(run, rest, fits, cost):
                made = tuple(sorted((*rest, other)))
                if problem.meets(made):
                    plan, cost, better = made, run.orders.cost(made), True
                    break
            if better:
                break
    run.offer(plan)


def _cheap_first(run: _Search, rest: Plan, others: NDArray[np.int_], below: float) -> list[int]:
    """Those of ``others`` that make a set cheaper than ``below`` together with ``rest``, the cheapest first."""
    costs = [(run.orders.cost(tuple(sorted((*rest, int(other))))), int(other)) for other in others]
    return [other for cost, other in sorted(costs) if cost < below - CENT]


def _sharpened(run: _Search, plan: Plan) -> Plan:
    """Of sets that cost the same, one that narrows what is wanted more: each candidate is exchanged once."""
    problem = run.problem
    for place in range(len(plan)):
        rest = plan[:place] + plan[place + 1 :]
        _, after = problem.after_one_more(rest)
        worth = np.log(np.maximum(after, 1e-300)).sum(axis=1)
        here = worth[plan[place]] - 1e-6
        for other in np.argsort(worth)[: int((worth < here).sum())].tolist():
            made = tuple(sorted((*rest, other)))
            if run.orders.cost(made) <= run.best.cost + CENT and problem.meets(made):
                return _sharpened(run, made)
    return plan


# -- the proof -------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, order=True)
class _Open:
    """A set whose longer ones are still to be looked at, and what any of them costs at least.

    ``fewest`` more candidates are needed by rank; ``tight`` says that the bound has been tightened.
    """

    bound: float
    shortness: int
    plan: Plan
    fewest: int
    tight: bool = False


def _best_first(run: _Search, cuts: Cuts) -> bool:
    """Open sets by the least that any longer one costs; True where none is left that could be cheaper.

    The bound of a set is tightened when its turn comes, which may put it back.
    """
    reach = Reach(run.problem, cuts)
    heap = [_Open(run.bound, 0, (), 1)]
    while heap:
        first = heapq.heappop(heap)
        run.bound = max(run.bound, min(first.bound, run.best.cost))
        if run.bound >= run.best.cost - 1e-6:
            return True
        if run.over or len(heap) > OPEN_MOST:
            return False
        run.looked_at += 1
        if run.looked_at % 64 == 0:
            run.say()
        if not first.tight:
            reached = cuts.gains[:, list(first.plan)].sum(axis=1)
            better = reach.cost(first.plan, run.orders.least(first.plan), reached, first.fewest)
            if better > first.bound + CENT:
                if better < run.best.cost - 1e-6:
                    heapq.heappush(heap, _Open(better, first.shortness, first.plan, first.fewest, tight=True))
                continue
        for entry in _branches(run, cuts, first):
            heapq.heappush(heap, entry)
    return True


def _branches(run: _Search, cuts: Cuts, open_: _Open) -> list[_Open]:
    """The longer sets of an open one that may still be cheaper than the best; those that suffice are offered."""
    problem, least, plan = run.problem, run.problem.prices.least, open_.plan
    first = plan[-1] if plan else 0
    _, after = problem.after_one_more(plan)
    suffices = [bool(one) for one in np.all(after <= problem.limits * (1.0 + 1e-6), axis=1)]
    reached = cuts.gains[:, list(plan)].sum(axis=1)
    fewest = max((least_number(problem, plan) if open_.fewest > 1 or not plan else 1) - 1, 0)
    more = np.maximum(cuts.more_each(reached)[first:], fewest)
    entries: list[_Open] = []
    for other, need, enough in zip(range(first, problem.count), more.tolist(), suffices[first:], strict=True):
        made = (*plan, other)
        if not problem.canonical(made):
            continue
        cost = run.orders.least(made)
        if cost + least * need >= run.best.cost - 1e-6:
            continue
        if enough and run.offer(made):
            continue
        bound = max(open_.bound, cost + least * max(need, 1.0))
        if len(made) < LONGEST and bound < run.best.cost - 1e-6:
            entries.append(_Open(bound, -len(made), made, max(fewest, 1)))
    return entries


# -- a given number --------------------------------------------------------------------------------------------------


class Criterion(StrEnum):
    """What a set of a given size is good at."""

    VARIANCE = "variance"  # the least sum of variances over their limits
    EXCESS = "excess"  # the least that variances are over their limits
    DETERMINANT = "determinant"  # the most information in all (D-optimality)


def best_of_size(
    problem: Problem,
    size: int,
    criterion: Criterion = Criterion.VARIANCE,
    *,
    starts: int = 60,
    seed: int = 1,
    until: float = float("inf"),
    enough: Callable[[Plan], bool] | None = None,
) -> Plan:
    """A set of ``size`` candidates, by exchange from many starts: good, and no proof that none is better.

    It ends after ``starts``, at ``until`` on the clock of ``time.perf_counter``, or with the first set that is
    ``enough``.
    """
    rng = np.random.default_rng(seed)
    best: list[int] = []
    least = float("inf")
    for start in range(starts):
        plan = [int(at) for at in rng.integers(0, problem.count, size)]
        if best and start % 3:  # two in three begin at the best so far, less what a kick exchanges
            keep = rng.random(size) > min(0.5, 2.5 / size)
            plan = [old if kept else new for old, new, kept in zip(best, plan, keep, strict=True)]
        plan, value = _exchanged(problem, plan, criterion)
        if value < least - 1e-12:
            best, least = plan, value
            if enough is not None and enough(tuple(sorted(plan))):
                break
        if time.perf_counter() > until:
            break
    return tuple(sorted(best))


def _exchanged(problem: Problem, plan: list[int], criterion: Criterion) -> tuple[list[int], float]:
    value = float("inf")
    moved = True
    while moved:
        moved = False
        for place in range(len(plan)):
            rest = plan[:place] + plan[place + 1 :]
            values = _criterion(problem, rest, criterion)
            other = int(np.argmin(values))
            if values[other] < value - SLACK * (1.0 + abs(value) if np.isfinite(value) else 1.0):
                plan, value, moved = [*rest[:place], other, *rest[place:]], float(values[other]), True
    return plan, value


def _criterion(problem: Problem, rest: Sequence[int], criterion: Criterion) -> Array:
    """What is to be small after ``rest`` and each candidate, shape (candidates,)."""
    if criterion is Criterion.DETERMINANT:
        return -np.linalg.slogdet(problem.information(rest) + problem.told)[1]
    after = problem.after_one_more(rest)[1]
    if criterion is Criterion.VARIANCE:
        return (after / problem.limits).sum(axis=1)
    return _excess(problem, after) + 1e-3 * np.log(after / problem.limits + 1e-6).sum(axis=1)
