"""The search for drafts on the plain weighing problem: objects on one pan, several at a time, in few weighings.

Sources: Hotelling, Some improvements in weighing and other experimental techniques, Ann. Math. Stat. 15 (1944), and
Mood, On Hotelling's weighing problem, ibid. 17 (1946): the spring balance design of order n (n + 1 a multiple of 4) has
variance 4 n / (n + 1)^2 for every object, and none is better. Largest determinants of n x n matrices of zeros and ones
for n = 1 to 7: 1, 1, 2, 3, 5, 9, 32 (Hadamard's problem; Williamson, Amer. Math. Monthly 53 (1946)). Grade: derived for
n = 3 and 7, from memory for the determinants.
Tolerance: exact up to the weak prior that stands for knowing nothing, 1e-6.
"""

from __future__ import annotations

from itertools import combinations_with_replacement, product

import numpy as np
import pytest

from steelyard.planning import Criterion, PlanningProblem, Prices, SearchStatus, best_of_size, cheapest

LARGEST = {1: 1, 2: 1, 3: 2, 4: 3, 5: 5, 6: 9, 7: 32}


def weighing(n: int, limit: float = 1.0) -> PlanningProblem:
    """Every choice of objects is one weighing of unit variance; each object is wanted with variance ``limit``."""
    pans = np.array([pan for pan in product((0.0, 1.0), repeat=n) if any(pan)])
    return PlanningProblem(pans[:, None, :], 1e-7 * np.eye(n), np.eye(n), np.full(n, limit), Prices.alike(len(pans)))


@pytest.mark.parametrize("n", sorted(LARGEST))
def test_most_information(n: int) -> None:
    problem = weighing(n)
    design = problem.rows[list(best_of_size(problem, n, Criterion.DETERMINANT)), 0]
    assert abs(np.linalg.det(design)) == pytest.approx(LARGEST[n], rel=1e-9)


@pytest.mark.parametrize("n", [1, 2, 3, 4])
def test_least_variance_is_that_of_every_design_tried(n: int) -> None:
    problem = weighing(n)
    best = min(float(problem.variances(plan).sum()) for plan in combinations_with_replacement(range(problem.count), n))
    assert float(problem.variances(best_of_size(problem, n)).sum()) == pytest.approx(best, rel=1e-6)


@pytest.mark.parametrize("n", [3, 7])
def test_the_spring_balance_design_is_found_and_no_shorter_one_does(n: int) -> None:
    variance = 4.0 * n / (n + 1) ** 2
    found = cheapest(weighing(n, variance * (1 + 1e-6)))
    assert (found.status, found.cost, found.bound) == (SearchStatus.OPTIMAL, n, n)
    problem = weighing(n)
    assert problem.variances(found.plan) == pytest.approx(np.full(n, variance), rel=1e-5)
    assert problem.rows[list(found.plan), 0].sum(axis=1) == pytest.approx((n + 1) / 2)


@pytest.mark.parametrize("n", [2, 3, 4, 5, 6, 7])
def test_as_many_weighings_as_objects_are_needed_and_enough(n: int) -> None:
    found = cheapest(weighing(n, 1.0 + 1e-6))
    assert (found.status, found.cost) == (SearchStatus.OPTIMAL, n)


def test_one_by_one_is_worse() -> None:
    problem = weighing(7)
    singles = tuple(at for at in range(problem.count) if problem.rows[at, 0].sum() == 1.0)
    assert problem.variances(singles) == pytest.approx(1.0, rel=1e-5)
    assert problem.variances(best_of_size(problem, 7, starts=150)).max() < 0.5
