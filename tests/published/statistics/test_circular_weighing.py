"""Circular weighing: four masses read in turn, three times round, while the balance drifts.

Source: Sutton and Clarkson, A general approach to comparisons in the presence of drift (Metrologia; authors and journal
from memory); readings and results as carried in the tests of a national laboratory's open repository. Grade: seen,
recomputed. Also the one-kilogram transfer of a 1999 laboratory report in the same repository (seen).
Tolerance: half a unit of the last digit shown, one unit where the last digit of a small residual was rounded twice.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.published.least_squares import Fit, fit

ROUNDS = [[22.1, 743.7, 3080.4, 4003.4], [18.3, 739.2, 3075.5, 3998.2], [14.2, 734.7, 3071.6, 3994.8]]
RESIDUALS = [
    -0.46263441, 0.17204301, 0.2733871, 0.34139785, 0.14623656, 0.04623656,
    -0.28709677, -0.55376344, 0.31639785, -0.21827957, 0.01370968, 0.21236559,
]  # fmt: skip


def drifting(degree: int) -> Fit:
    """Masses a to d, and drift as a polynomial of the place in the sequence (0 to 11) without constant."""
    time = np.arange(12.0)
    items = np.tile(np.eye(4), (3, 1))
    powers = time[:, None] ** np.arange(1, degree + 1)
    return fit(np.hstack([items, powers]), np.ravel(ROUNDS))


@pytest.mark.parametrize(
    ("degree", "sigma"), [(0, 4.30300283), (1, 0.39013124), (2, 0.41644618), (3, 0.290016)], ids=str
)
def test_residual_deviation(degree: int, sigma: float) -> None:
    found = drifting(degree)
    assert found.dof == 12 - 4 - degree
    assert found.sigma == pytest.approx(sigma, abs=5e-7 if degree == 3 else 5e-9)


def test_masses_and_drift() -> None:
    found = drifting(2)
    expected = [22.5626344, 744.643179, 3082.34839, 4006.37826, -1.11955645, 0.00433467742]
    assert found.estimates == pytest.approx(expected, rel=5e-9)
    assert found.sd[4] == pytest.approx(0.131, abs=5e-4)
    assert found.sd[5] == pytest.approx(0.0115, abs=5e-5)


def test_residuals() -> None:
    assert drifting(2).residuals == pytest.approx(RESIDUALS, abs=1e-8)


@pytest.mark.parametrize(
    ("row", "value", "u"),
    [
        ([1, -1, 0, 0], -722.08054435, 0.34277932),
        ([0, 1, -1, 0], -2337.70520833, 0.34201342),
        ([0, 0, 1, -1], -924.02987231, 0.34277932),
        ([-1, 0, 0, 1], 3983.815625, 0.35750859),
    ],
    ids=["a-b", "b-c", "c-d", "d-a"],
)
def test_differences(row: list[int], value: float, u: float) -> None:
    found = drifting(2)
    difference, factor = found.of(*row, 0, 0)
    assert difference == pytest.approx(value, abs=5e-8)
    assert factor * found.sigma == pytest.approx(u, abs=5e-9)


def test_one_kilogram_transfer() -> None:
    """Two comparisons (u 1 microgram) against a reference (u 10 microgram): what the reference lacks, both carry."""
    found = fit([[1, -1], [1, -1]], [0.0, 0.0], prior_u=[np.nan, 10.0])
    assert found.cofactor == pytest.approx(np.array([[100.5, 100.0], [100.0, 100.0]]), rel=1e-12)
    assert found.factors[0] == pytest.approx(10.025, abs=5e-4)
