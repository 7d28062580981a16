"""First-order propagation with correlated inputs, against the uncertainties library.

Source: uncertainties 3.2 (BSD), ``correlated_values``: derivatives by automatic differentiation. Tolerance: 1e-9
relative; both are the law of propagation of JCGM 100, 5.2.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from uncertainties import correlated_values, covariance_matrix

from steelyard.adjustment import Linear, Propagation
from tests.published.least_squares import fit

WHEELS = np.array([1150.0, 1100.0, 980.0, 1010.0])
PLACES = np.array([0.0, 0.0, 4.3, 4.3])


def adjusted() -> tuple[Propagation, np.ndarray]:
    """Four wheels read twice, all by pads of one span: a design with a prior, as a weigh day has it."""
    rows = np.hstack([np.tile(np.eye(4), (2, 1)), np.tile(WHEELS, 2)[:, None]])
    variances = np.tile([9.0, 16.0, 25.0, 9.0], 2)
    prior = np.array([np.nan] * 4 + [0.002])
    solved = fit(rows, np.tile(WHEELS, 2), variances=variances, prior_u=prior)
    return Propagation(solved.solution, solved.blocks, rows, np.array([])), solved.cofactor[:4, :4]


def test_sums_differences_shares_and_centre_of_gravity() -> None:
    propagation, covariance = adjusted()
    assert np.abs(covariance - np.diag(np.diag(covariance))).max() > 1.0
    wheels: Any = correlated_values(WHEELS, covariance)
    gross = sum(wheels)
    expected: list[Any] = [
        gross,
        wheels[2] + wheels[3] - wheels[0] - wheels[1],
        (wheels[0] + wheels[1]) / gross,
        sum(x * wheel for x, wheel in zip(PLACES, wheels, strict=True)) / gross,
    ]
    total = WHEELS.sum()
    front, moment = WHEELS[:2].sum(), PLACES @ WHEELS
    gradients = np.array(
        [
            np.ones(4),
            [-1, -1, 1, 1],
            np.array([1, 1, 0, 0]) / total - front / total**2,
            PLACES / total - moment / total**2,
        ]
    )
    found = propagation.of(
        Linear(np.array([float(item.nominal_value) for item in expected]), np.hstack([gradients, np.zeros((4, 1))]))
    )
    assert found.u == pytest.approx([item.std_dev for item in expected], rel=1e-9)
    assert found.roots @ found.roots.T == pytest.approx(np.array(covariance_matrix(expected)), rel=1e-9, abs=1e-12)
