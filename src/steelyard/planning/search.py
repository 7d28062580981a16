"""The cheapest sufficient set: a good one quickly, then the proof, or how far from it.

A set is built up greedily and improved by exchange (Fedorov, Theory of Optimal Experiments, 1972); then sets are
searched best first, in ascending order so that each comes once, under lower bounds on what every longer one costs. What
the search has not reached when the time is over still has a bound: the least of what is open.

How long each part of the search goes on is counted in steps, never in seconds. So whatever is proved is the same on any
processor; the clock can only end the whole, and then nothing more is proved.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator, Sequence
from dataclasses import field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass
from steelyard.planning.bounds import Cuts, Reach, least_number, root_cuts, whole_bound
from steelyard.planning.clock import Clock, OutOfTime, endless
from steelyard.planning.orders import Orders
from steelyard.planning.problem import SLACK, Array, Plan, PlanningProblem

LONGEST = 24
"""No plan of more candidates is sought."""

CENT = 1e-9

OPEN_MOST = 400_000
"""Open sets kept at most; where there are more the search stops with the bound that it has."""

SHARPEN = 60
"""Sets of the same cost that are looked at for one that narrows more."""

STARTS = 30
"""Beginnings of an exchange for a smaller set."""


class SearchStatus(StrEnum):
    """How an answer stands."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    IMPOSSIBLE = "impossible"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Progress:
    """Progress of a search: the cost of the best plan so far, the proved bound, how many sets were looked at."""

    cost: float | None
    bound: float
    looked_at: int


@dataclass(frozen=True, slots=True)
class FoundPlan:
    """The best plan found, in the order in which it is taken; no plan costs less than ``bound``.

    ``interrupted``: somebody ended the search before its time. ``out_of_time``: its time was over before the proof.
    """

    status: SearchStatus
    plan: Plan
    cost: float
    bound: float
    looked_at: int = 0
    interrupted: bool = False
    out_of_time: bool = False

    @property
    def found(self) -> bool:
        """Whether there is a plan, be it one of no drafts."""
        return self.status in (SearchStatus.OPTIMAL, SearchStatus.FEASIBLE)


@dataclass()
class _Best:
    plan: Plan | None = None
    cost: float = float("inf")


@dataclass()
class _Search:
    """One run of it."""

    problem: PlanningProblem
    clock: Clock
    told: Callable[[Progress], None] | None
    orders: Orders
    best: _Best = field(default_factory=_Best)
    bound: float = 0.0
    looked_at: int = 0
    said: float = 0.0

    @property
    def proved(self) -> bool:
        """Whether no plan costs less than the best."""
        return self.bound >= self.best.cost - 1e-6

    def offer(self, plan: Plan) -> bool:
        """Take a sufficient set as the best so far where it is cheaper."""
        order, plan = plan, tuple(sorted(plan))
        try:
            cost = self.orders.cost(plan)
        except OutOfTime:  # a first plan is not given up for want of a better order
            cost = self.orders.after(order)[0]
        if cost < self.best.cost - CENT and self.problem.meets(plan):
            self.best.plan, self.best.cost = plan, cost
            self.say(now=True)
            return True
        return False

    def say(self, *, now: bool = False) -> None:
        """Report progress, not too often."""
        clock = self.clock.now()
        if self.told is not None and (now or clock - self.said > 0.5):
            self.said = clock
            cost = None if self.best.plan is None else self.best.cost
            self.told(Progress(cost, min(self.bound, self.best.cost), self.looked_at))


def cheapest(
    problem: PlanningProblem, clock: Clock | None = None, told: Callable[[Progress], None] | None = None
) -> FoundPlan:
    """The cheapest set of candidates that brings every wanted variance under its limit.

    ``told`` hears of progress. An interruption (``KeyboardInterrupt``) ends the search with the best so far.

    Raises
    ------
    KeyboardInterrupt: interrupted before there was any plan.
    """
    clock = endless() if clock is None else clock
    if problem.meets(()):
        return FoundPlan(SearchStatus.OPTIMAL, (), 0.0, 0.0)
    run = _Search(problem, clock, told, Orders(problem.prices.course, problem.prices.least, clock))
    run.bound = problem.prices.least  # one candidate is needed in any case
    interrupted = over = False
    status = SearchStatus.FEASIBLE
    try:
        status = _run(run)
    except OutOfTime:
        over = True
    except KeyboardInterrupt:
        if run.best.plan is None:
            raise
        interrupted = True
    if run.best.plan is None:
        status = status if status is SearchStatus.IMPOSSIBLE else SearchStatus.UNKNOWN
        return FoundPlan(status, (), float("inf"), run.bound, run.looked_at, interrupted, over)
    orders = Orders(problem.prices.course, problem.prices.least)
    chosen = run.best.plan
    if status is SearchStatus.OPTIMAL:
        run.orders = orders
        chosen = _sharpened(run, chosen)
    plan, cost = orders.ordered(chosen), orders.cost(chosen)
    bound = cost if status is SearchStatus.OPTIMAL else min(run.bound, cost)
    return FoundPlan(status, plan, cost, bound, run.looked_at, interrupted, over)


def _run(run: _Search) -> SearchStatus:
    """Whether the best plan is proved to be the best; impossible where it is proved that there is none."""
    problem = run.problem
    weights = [1.0, 0.5, 0.0]
    while weights and run.best.plan is None:  # a first plan before anything is proved
        _built_up(run, weights.pop(0))
    cuts = root_cuts(problem, run.clock)
    fewest = max(cuts.more(np.zeros(len(cuts.gains))), least_number(problem, ()))
    if fewest > LONGEST:
        return SearchStatus.IMPOSSIBLE
    run.bound = max(run.bound, problem.prices.least * fewest)
    run.say(now=True)
    if run.proved:
        return SearchStatus.OPTIMAL
    _build(run, fewest, weights)
    if run.proved:
        return SearchStatus.OPTIMAL
    if len(problem.prices.feature):
        bound, cuts = whole_bound(problem, cuts, run.clock)
        run.bound = max(run.bound, bound)
        run.say(now=True)
        if run.proved:
            return SearchStatus.OPTIMAL
    return _best_first(run, cuts)


# -- a good plan -----------------------------------------------------------------------------------------------------


def _excess(problem: PlanningProblem, variances: Array) -> Array:
    """How far variances, shape (..., wanted), are from their limits: nothing once all are met, shape (...)."""
    return np.log(np.maximum(variances / problem.limits, 1.0)).sum(axis=-1)


def _built_up(run: _Search, weight: float) -> None:
    """A greedy set, thinned and exchanged."""
    plan = _greedy(run, weight)
    if plan is not None:
        _improve(run, tuple(sorted(plan)))


def _build(run: _Search, fewest: int, weights: Sequence[float]) -> None:
    """Further sets are built up, with other ``weights``; then smaller ones are sought, of ``fewest`` or more."""
    for weight in weights:
        _built_up(run, weight)
    if run.best.plan is None:
        plan = _exchanged_to_meet(run, LONGEST)
        if plan is not None:
            run.offer(plan)
            _improve(run, plan)
    while run.best.plan is not None and len(run.best.plan) > max(fewest, 1):
        size = len(run.best.plan) - 1
        plan = _exchanged_to_meet(run, size)
        if plan is None:
            return
        run.offer(plan)
        _improve(run, plan)
        if len(run.best.plan) > size:  # fewer, and yet no cheaper
            return


def _exchanged_to_meet(run: _Search, size: int) -> Plan | None:
    """A sufficient set of that size, found by exchange; None where none was found."""
    for criterion in (Criterion.VARIANCE, Criterion.EXCESS):
        plan = best_of_size(run.problem, size, criterion, starts=STARTS, clock=run.clock, enough=run.problem.meets)
        if run.problem.meets(plan):
            return plan
    return None


def _greedy(run: _Search, weight: float) -> Plan | None:
    problem = run.problem
    plan: list[int] = []
    course = problem.prices.course
    stands = course.start
    for _ in range(LONGEST):
        run.clock.check()
        now, after = problem.after_one_more(plan)
        ways = [course.go(stands, one)[0] for one in range(problem.count)]
        step = np.array([cost for cost, _ in ways])
        gained = _excess(problem, now) - _excess(problem, after)
        if float(gained.max()) <= 1e-12:
            # all limits are met and yet it is not accepted: anything that narrows is a gain
            gained = (np.log(np.maximum(now, 1e-300)) - np.log(np.maximum(after, 1e-300))).sum(axis=1)
        worth = gained / np.maximum(step, 1e-12) ** weight
        plan.append(int(np.argmax(np.round(worth / max(float(worth.max()), 1e-300), 9))))
        stands = ways[plan[-1]][1]
        if problem.meets(tuple(sorted(plan))):
            run.offer(tuple(plan))
            return tuple(plan)
    return None


def _improve(run: _Search, plan: Plan) -> None:
    """Leave out what is needless, then exchange one for another, until nothing makes it cheaper."""
    cost = run.orders.cost(plan)
    better = True
    while better:
        better = False
        for place in range(len(plan)):
            made = _bettered(run, plan, place, cost)
            if made is not None:
                plan, cost, better = made, run.orders.cost(made), True
                run.offer(plan)
                break


def _bettered(run: _Search, plan: Plan, place: int, cost: float) -> Plan | None:
    """A cheaper sufficient set without the candidate at ``place``, or with another in its place."""
    run.clock.check()
    problem = run.problem
    rest = plan[:place] + plan[place + 1 :]
    if problem.meets(rest):
        return rest
    _, after = problem.after_one_more(rest)
    fits = np.flatnonzero((after <= problem.limits * (1.0 + 1e-6)).all(axis=1))
    for other in _cheap_first(run, rest, fits, cost):
        run.clock.check()
        made = tuple(sorted((*rest, other)))
        if problem.meets(made):
            return made
    return None


def _cheap_first(run: _Search, rest: Plan, others: NDArray[np.int_], below: float) -> list[int]:
    """Those of ``others`` that make a set cheaper than ``below`` together with ``rest``, the cheapest first."""
    costs = [(run.orders.cost(tuple(sorted((*rest, int(other))))), int(other)) for other in others]
    return [other for cost, other in sorted(costs) if cost < below - CENT]


def _sharpened(run: _Search, plan: Plan) -> Plan:
    """Of sets that cost the same, one that narrows what is wanted more: each candidate is exchanged once.

    It looks at no more than ``SHARPEN`` sets, whatever the clock says, so that it always comes to the same.
    """
    looked_at, better = 0, True
    while better:
        better = False
        for made in _exchanges(run.problem, plan):
            looked_at += 1
            if looked_at > SHARPEN:
                return plan
            if run.orders.cost(made) <= run.best.cost + CENT and run.problem.meets(made):
                plan, better = made, True
                break
    return plan


def _exchanges(problem: PlanningProblem, plan: Plan) -> Iterator[Plan]:
    """Sets that narrow more, each with one candidate exchanged; the narrowest first for each place."""
    for place in range(len(plan)):
        rest = plan[:place] + plan[place + 1 :]
        _, after = problem.after_one_more(rest)
        worth = np.asarray(np.round(np.log(np.maximum(after, 1e-300)).sum(axis=1), 9), dtype=np.float64)
        here = worth[plan[place]] - 1e-6
        for other in np.argsort(worth, kind="stable")[: int((worth < here).sum())].tolist():
            yield tuple(sorted((*rest, other)))


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


def _best_first(run: _Search, cuts: Cuts) -> SearchStatus:
    """Open sets by the least that any longer one costs, until none is left that could be cheaper.

    The bound of a set is tightened when its turn comes, which may put it back.
    """
    reach = Reach(run.problem, cuts)
    heap = [_Open(run.bound, 0, (), 1)]
    while heap:
        first = heapq.heappop(heap)
        run.bound = max(run.bound, min(first.bound, run.best.cost))
        if run.proved:
            break
        run.clock.check()
        if len(heap) > OPEN_MOST:
            return SearchStatus.FEASIBLE
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
    return SearchStatus.IMPOSSIBLE if run.best.plan is None else SearchStatus.OPTIMAL


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
    spent = run.orders.least(plan) + least
    for other, need, enough in zip(range(first, problem.count), more.tolist(), suffices[first:], strict=True):
        made = (*plan, other)
        if spent + least * need >= run.best.cost - 1e-6 or not problem.canonical(made):
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
    """Merits of a set of a given size."""

    VARIANCE = "variance"  # the least sum of variances over their limits
    EXCESS = "excess"  # the least that variances are over their limits
    DETERMINANT = "determinant"  # the most information in all (D-optimality)


def best_of_size(
    problem: PlanningProblem,
    size: int,
    criterion: Criterion = Criterion.VARIANCE,
    *,
    starts: int = 60,
    seed: int = 1,
    clock: Clock | None = None,
    enough: Callable[[Plan], bool] | None = None,
) -> Plan:
    """A set of ``size`` candidates, by exchange from many starts: good, and no proof that none is better.

    It ends after ``starts``, or with the first set that is ``enough``.

    Raises
    ------
    OutOfTime: the time of ``clock`` is over.
    """
    clock = endless() if clock is None else clock
    rng = np.random.default_rng(seed)
    best: list[int] = []
    least = float("inf")
    for start in range(starts):
        plan = [int(at) for at in rng.integers(0, problem.count, size)]
        if best and start % 3:  # two in three begin at the best so far, less what a kick exchanges
            keep = rng.random(size) > min(0.5, 2.5 / size)
            plan = [old if kept else new for old, new, kept in zip(best, plan, keep, strict=True)]
        plan, value = _exchanged(problem, plan, criterion, clock)
        if value < least - 1e-12:
            best, least = plan, value
            if enough is not None and enough(tuple(sorted(plan))):
                break
    return tuple(sorted(best))


def _exchanged(
    problem: PlanningProblem, plan: list[int], criterion: Criterion, clock: Clock
) -> tuple[list[int], float]:
    value = float("inf")
    moved = True
    while moved:
        moved = False
        for place in range(len(plan)):
            clock.check()
            rest = plan[:place] + plan[place + 1 :]
            values = _criterion(problem, rest, criterion)
            other = int(np.argmin(values))
            if values[other] < value - SLACK * (1.0 + abs(value) if np.isfinite(value) else 1.0):
                plan, value, moved = [*rest[:place], other, *rest[place:]], float(values[other]), True
    return plan, value


def _criterion(problem: PlanningProblem, rest: Sequence[int], criterion: Criterion) -> Array:
    """Value to be minimised after ``rest`` and each candidate, shape (candidates,)."""
    if criterion is Criterion.DETERMINANT:
        return -(np.linalg.slogdet(problem.information(rest))[1] + problem.growth(rest))
    after = problem.after_one_more(rest)[1]
    if criterion is Criterion.VARIANCE:
        return (after / problem.limits).sum(axis=1)
    return _excess(problem, after) + 1e-3 * np.log(after / problem.limits + 1e-6).sum(axis=1)
