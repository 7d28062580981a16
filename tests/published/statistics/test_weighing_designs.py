"""Weighing designs: solutions and uncertainty factors of the handbook's comparisons of mass standards.

Source: NIST/SEMATECH e-Handbook of Statistical Methods, sections 2.3.4.1.1 (1,1,1), 2.3.4.1.2 (1,1,1,1), 2.3.4.1.3
(1,1,1,1,1) and 2.3.4.1.15 (5,5,3,2,1,1,1). Grade: seen, recomputed; of the 1,1,1,1 solution only a part was seen.
Tolerance: factors half a unit of the fourth decimal, as printed (0.7071 doubled is printed 1.4141: one unit there); the
solutions are whole numbers over a divisor and hold to 1e-7, which the restraint's stand-in of variance 1e-14 leaves.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import combinations

import numpy as np
import pytest

from tests.published.least_squares import Array, Fit, fit

RESTRAINT_VARIANCE = 1e-14
"""The restraint is exact. As a reading it gets this variance against one for a difference."""


@dataclass(frozen=True)
class Design:
    """A design as printed: differences, restraint, solution (rows Y(1).., then R*), divisor and factors."""

    name: str
    x: list[list[int]]
    restraint: list[int]
    dof: int
    divisor: int
    solution: list[list[int]]
    solution_r: list[int]
    factors: list[float]
    days: list[float] = field(default_factory=list)
    combinations: list[tuple[list[int], float]] = field(default_factory=list)


def pairs(count: int) -> list[list[int]]:
    """Every item against every later one."""
    return [[int(k == a) - int(k == b) for k in range(count)] for a, b in combinations(range(count), 2)]


THREE = Design(
    name="1,1,1",
    x=pairs(3),
    restraint=[1, 0, 0],
    dof=1,
    divisor=3,
    solution=[[0, -2, -1], [0, -1, -2], [0, 1, -1]],
    solution_r=[3, 3, 3],
    factors=[0.0, 0.8165, 0.8165],
    days=[0.0, 1.4142, 1.4142],
    combinations=[([0, 1, 1], 1.4142)],
)
FOUR = Design(
    name="1,1,1,1",
    x=pairs(4),
    restraint=[1, 1, 0, 0],
    dof=3,
    divisor=8,
    solution=[[2, -2, 0, 0], [1, -1, -3, -1], [1, -1, -1, -3], [-1, 1, -3, -1], [-1, 1, -1, -3], [0, 0, 2, -2]],
    solution_r=[4, 4, 4, 4],
    factors=[0.3536, 0.3536, 0.6124, 0.6124],
    days=[0.7071, 0.7071, 1.2247, 1.2247],
    combinations=[([1, -1, 0, 0], 0.7071)],
)
FIVE = Design(
    name="1,1,1,1,1",
    x=pairs(5),
    restraint=[1, 1, 0, 0, 0],
    dof=6,
    divisor=10,
    solution=[
        [2, -2, 0, 0, 0],
        [1, -1, -3, -1, -1],
        [1, -1, -1, -3, -1],
        [1, -1, -1, -1, -3],
        [-1, 1, -3, -1, -1],
        [-1, 1, -1, -3, -1],
        [-1, 1, -1, -1, -3],
        [0, 0, 2, -2, 0],
        [0, 0, 2, 0, -2],
        [0, 0, 0, 2, -2],
    ],
    solution_r=[5, 5, 5, 5, 5],
    factors=[0.3162, 0.3162, 0.5477, 0.5477, 0.5477],
    combinations=[([0, 0, 1, 1, 0], 0.8944), ([0, 0, 1, 1, 1], 1.2247), ([1, -1, 0, 0, 0], 0.6325)],
)
SEVEN = Design(
    name="5,5,3,2,1,1,1",
    x=[
        [1, 0, -1, -1, 0, 0, 0],
        [0, 1, -1, -1, 0, 0, 0],
        [1, 0, 0, -1, -1, -1, -1],
        [0, 1, 0, -1, -1, -1, -1],
        [1, 0, -1, 0, -1, -1, 0],
        [1, 0, -1, 0, -1, 0, -1],
        [1, 0, -1, 0, 0, -1, -1],
        [0, 1, -1, 0, -1, -1, 0],
        [0, 1, -1, 0, -1, 0, -1],
        [0, 1, -1, 0, 0, -1, -1],
    ],
    restraint=[1, 1, 0, 0, 0, 0, 0],
    dof=4,
    divisor=10,
    solution=[
        [1, -1, -2, -3, 1, 1, 1],
        [-1, 1, -2, -3, 1, 1, 1],
        [1, -1, 2, -2, -1, -1, -1],
        [-1, 1, 2, -2, -1, -1, -1],
        [1, -1, -1, 1, -2, -2, 3],
        [1, -1, -1, 1, -2, 3, -2],
        [1, -1, -1, 1, 3, -2, -2],
        [-1, 1, -1, 1, -2, -2, 3],
        [-1, 1, -1, 1, -2, 3, -2],
        [-1, 1, -1, 1, 3, -2, -2],
    ],
    solution_r=[5, 5, 3, 2, 1, 1, 1],
    factors=[0.3162, 0.3162, 0.4690, 0.5657, 0.6164, 0.6164, 0.6164],
    combinations=[([0, 0, 0, 1, 1, 0, 0], 0.7874), ([0, 0, 1, 1, 1, 0, 0], 0.8246)],
)
DESIGNS = pytest.mark.parametrize("design", [THREE, FOUR, FIVE, SEVEN], ids=lambda design: design.name)


def restrained(design: Design, readings: Array, value: float) -> Fit:
    """The design with its restraint as one more reading of nearly no variance."""
    rows = np.array([*design.x, design.restraint], dtype=float)
    variances = np.append(np.ones(len(design.x)), RESTRAINT_VARIANCE)
    return fit(rows, np.append(readings, value), variances=variances)


def eliminated(design: Design, readings: Array, value: float) -> tuple[Array, Array, int]:
    """The same by elimination: estimates, cofactors, degrees of freedom; only free directions are solved for."""
    row = np.array([design.restraint], dtype=float)
    start = row[0] * value / float(row[0] @ row[0])
    free = np.linalg.svd(row)[2][1:].T
    x = np.array(design.x, dtype=float)
    found = fit(x @ free, readings - x @ start)
    return start + free @ found.estimates, free @ found.cofactor @ free.T, found.dof


@DESIGNS
def test_factors(design: Design) -> None:
    found = restrained(design, np.zeros(len(design.x)), 0.0)
    assert found.factors == pytest.approx(design.factors, abs=5e-5)
    assert found.dof == design.dof
    for combination, factor in design.combinations:
        assert found.of(*combination)[1] == pytest.approx(factor, abs=5e-5)


@DESIGNS
def test_factors_by_elimination(design: Design) -> None:
    _, cofactor, dof = eliminated(design, np.zeros(len(design.x)), 0.0)
    assert np.sqrt(np.maximum(np.diag(cofactor), 0.0)) == pytest.approx(design.factors, abs=5e-5)
    assert dof == design.dof


@DESIGNS
def test_solution(design: Design) -> None:
    """What each single reading does to each item, one by one, and what the restraint does."""
    count = len(design.x)
    for row, expected in enumerate(design.solution):
        found = restrained(design, np.eye(count)[row], 0.0).estimates
        assert design.divisor * found == pytest.approx(expected, abs=1e-7)
    found = restrained(design, np.zeros(count), 1.0).estimates
    assert design.divisor * found == pytest.approx(design.solution_r, abs=1e-7)


@DESIGNS
def test_both_ways_agree_on_readings_with_scatter(design: Design) -> None:
    readings = np.random.default_rng(len(design.x)).normal(0.0, 1.0, len(design.x))
    by_row = restrained(design, readings, 10.0)
    by_elimination, _, _ = eliminated(design, readings, 10.0)
    expected = (readings @ np.array(design.solution) + 10.0 * np.array(design.solution_r)) / design.divisor
    assert by_row.estimates == pytest.approx(expected, abs=1e-7)
    assert by_elimination == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("design", [THREE, FOUR], ids=lambda design: design.name)
def test_factors_between_days(design: Design) -> None:
    """Each item's own shift of the day, as a pseudo-observation shared by its readings, adds the printed factor."""
    x = np.array(design.x, dtype=float)
    row = np.array([design.restraint], dtype=float)
    count = x.shape[1]
    rows = np.block([[x, x], [row, np.zeros((1, count))]])
    variances = np.append(np.ones(len(x)), RESTRAINT_VARIANCE)
    priors = np.concatenate([np.full(count, np.nan), np.ones(count)])
    found = fit(rows, np.zeros(len(rows)), variances=variances, prior_u=priors)
    expected = np.hypot(design.factors, design.days)
    assert found.factors[:count] == pytest.approx(expected, abs=1.5e-4)


def test_without_its_restraint_a_design_tells_differences_only() -> None:
    found = fit(FOUR.x, np.zeros(6))
    assert found.solution.rank == 3
    assert not found.solution.determined(np.eye(4)).any()
    assert found.solution.determined(np.array(FOUR.x, dtype=float)).all()
