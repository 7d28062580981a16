"""The search core on problems small enough to try everything."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement, pairwise, permutations

import numpy as np
import pytest
from numpy.typing import NDArray

from steelyard.planning import Clock, PlanningProblem, Prices, Progress, SearchStatus, cheapest
from steelyard.planning.bounds import Reach, cut, least_number, root_cuts, whole_bound
from steelyard.planning.orders import Orders
from steelyard.planning.problem import Plan

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CourseTable:
    """A course in which only the candidate before counts.

    Attributes
    ----------
    first: the cost of each candidate where it is the first, shape (candidates,).
    step: the cost of the second after the first, shape (candidates, candidates).
    """

    first: Array
    step: Array
    start: int = -1

    def go(self, stands: Hashable, candidate: int) -> Sequence[tuple[float, Hashable]]:
        """The one way that there is."""
        costs = self.first if stands == self.start else self.step[int(str(stands))]
        return ((float(costs[candidate]), candidate),)

    def regret(self, one: Hashable, other: Hashable) -> float:
        """Without a bound, unless they are the same."""
        return 0.0 if one == other else float("inf")


def drawn(seed: int, count: int = 7, unknowns: int = 4) -> PlanningProblem:
    """A problem with two places to work in, some of whose candidates are alike in kind."""
    rng = np.random.default_rng(seed)
    rows = rng.normal(size=(count, 2, unknowns)) * rng.uniform(0.3, 2.0, size=(count, 1, 1))
    where = rng.integers(0, 2, count)
    marks = rng.integers(0, 2, (count, 3)).astype(float)
    step = 2.0 + 3.0 * (where[:, None] != where[None, :]) + (1.0 - marks) @ marks.T
    first = 2.0 + marks.sum(axis=1)
    kinds = list(dict.fromkeys((int(w), tuple(m)) for w, m in zip(where, marks, strict=True)))
    number = np.array([kinds.index((int(w), tuple(m))) for w, m in zip(where, marks, strict=True)])
    features = tuple(frozenset([w, *(2 + at for at, mark in enumerate(m) if mark)]) for w, m in kinds)
    both = len(set(where.tolist())) > 1
    price = np.array([3.0 * both, 3.0 * both, 1.0, 1.0, 1.0])
    prices = Prices(CourseTable(first, step), 2.0, number, features, price, 3.0 * both, price, 2)
    wanted = np.eye(unknowns)[:3]
    limits = rng.uniform(0.1, 0.4, 3)
    return PlanningProblem(rows, 1e-4 * np.eye(unknowns), wanted, limits, prices)


def by_exhaustion(problem: PlanningProblem, longest: int) -> float:
    """The least cost of any sufficient set of up to ``longest`` candidates in any order."""
    best = float("inf")
    for size in range(1, longest + 1):
        for plan in combinations_with_replacement(range(problem.count), size):
            if (problem.variances(plan) <= problem.limits).all():
                best = min(best, in_any_order(problem.prices, plan))
    return best


def in_any_order(prices: Prices, plan: Plan) -> float:
    course = prices.course
    assert isinstance(course, CourseTable)
    return min(
        float(course.first[order[0]]) + sum(float(course.step[one, two]) for one, two in pairwise(order))
        for order in set(permutations(plan))
    )


@pytest.mark.parametrize("seed", range(8))
def test_the_optimum_is_that_of_exhaustion(seed: int) -> None:
    problem = drawn(seed)
    found = cheapest(problem)
    assert found.status is SearchStatus.OPTIMAL
    assert found.cost == pytest.approx(found.bound)
    assert (problem.variances(found.plan) <= problem.limits * (1 + 1e-6)).all()
    course = problem.prices.course
    assert isinstance(course, CourseTable)
    paid = course.first[found.plan[0]] + sum(course.step[one, two] for one, two in pairwise(found.plan))
    assert found.cost == pytest.approx(paid)
    longest = min(len(found.plan) + 1, 5)
    assert found.cost == pytest.approx(min(by_exhaustion(problem, longest), found.cost))
    assert found.cost <= by_exhaustion(problem, longest) + 1e-9


def test_a_further_test_of_a_set_is_heeded() -> None:
    problem = drawn(3)
    plain = cheapest(problem)
    forbidden = tuple(sorted(plain.plan))
    stricter = PlanningProblem(
        problem.rows, problem.known, problem.wanted, problem.limits, problem.prices, lambda plan: plan != forbidden
    )
    found = cheapest(stricter)
    assert found.status is SearchStatus.OPTIMAL
    assert tuple(sorted(found.plan)) != forbidden
    assert found.cost >= plain.cost


@pytest.mark.parametrize("seed", range(4))
def test_every_bound_holds_for_every_sufficient_set(seed: int) -> None:
    problem = drawn(seed, count=5)
    cuts = root_cuts(problem)
    orders = Orders(problem.prices.course, problem.prices.least)
    whole, cuts = whole_bound(problem, cuts)
    reach = Reach(problem, cuts)
    sufficient = [
        plan
        for size in range(1, 6)
        for plan in combinations_with_replacement(range(problem.count), size)
        if (problem.variances(plan) <= problem.limits).all()
    ]
    assert sufficient
    for plan in sufficient:
        cost = orders.cost(plan)
        assert (cuts.gains[:, list(plan)].sum(axis=1) >= 1.0 - 1e-6).all()
        assert whole <= cost + 1e-6
        for taken in range(len(plan)):
            part = plan[:taken]
            reached = cuts.gains[:, list(part)].sum(axis=1)
            fewest = least_number(problem, part)
            assert fewest <= len(plan) - taken
            assert reach.cost(part, orders.cost(part), reached, fewest) <= cost + 1e-6


def test_a_cut_holds_in_any_direction() -> None:
    problem = drawn(1)
    rng = np.random.default_rng(5)
    found = cheapest(problem)
    rows = [cut(problem, wish, rng.normal(size=4)) for wish in range(3) for _ in range(50)]
    gains = [row for row in rows if row is not None]
    assert len(gains) > 20
    assert all(row[list(found.plan)].sum() >= 1.0 - 1e-6 for row in gains)


def test_mirror_images_change_nothing_but_the_work() -> None:
    rng = np.random.default_rng(2)
    half = rng.normal(size=(3, 1, 3))
    rows = np.concatenate([half, half])
    problem = PlanningProblem(rows, 1e-4 * np.eye(3), np.eye(3), np.full(3, 0.9), Prices.alike(6))
    swap = np.array([3, 4, 5, 0, 1, 2])
    mirrored = PlanningProblem(rows, problem.known, problem.wanted, problem.limits, problem.prices, mirrors=(swap,))
    assert cheapest(mirrored).cost == cheapest(problem).cost
    assert mirrored.canonical((0, 4))
    assert not mirrored.canonical((1, 3))


def test_out_of_time_there_is_a_plan_and_a_bound() -> None:
    problem = drawn(4, count=14, unknowns=8)
    told: list[Progress] = []
    found = cheapest(problem, Clock(0.05), told.append)
    assert found.status in (SearchStatus.FEASIBLE, SearchStatus.OPTIMAL)
    assert 0.0 <= found.bound <= found.cost
    assert told
    assert told[-1].cost is not None
    assert (problem.variances(found.plan) <= problem.limits * (1 + 1e-6)).all()


def test_interrupted_it_gives_the_best_so_far() -> None:
    problem = drawn(4, count=14, unknowns=8)

    def stop(progress: Progress) -> None:
        if progress.cost is not None:
            raise KeyboardInterrupt

    found = cheapest(problem, told=stop)
    assert found.interrupted
    assert found.status is SearchStatus.FEASIBLE
    assert (problem.variances(found.plan) <= problem.limits * (1 + 1e-6)).all()


def test_nothing_to_do_and_nothing_that_helps() -> None:
    problem = drawn(0)
    easy = PlanningProblem(problem.rows, np.eye(4) * 1e3, problem.wanted, problem.limits, problem.prices)
    assert cheapest(easy).plan == ()
    blind = PlanningProblem(np.zeros_like(problem.rows), problem.known, problem.wanted, problem.limits, problem.prices)
    assert cheapest(blind).status is SearchStatus.IMPOSSIBLE


def test_a_long_sequence_is_ordered_well() -> None:
    prices = drawn(6, count=8).prices
    orders = Orders(prices.course, prices.least)
    plan = tuple(sorted([0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2]))
    order = orders.ordered(plan)
    assert tuple(sorted(order)) == plan
    assert orders.least(plan) <= orders.cost(plan) + 1e-9
    short = (0, 2, 3, 5)
    assert orders.cost(short) == pytest.approx(in_any_order(prices, short))
