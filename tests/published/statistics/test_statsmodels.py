"""Weighted and generalised least squares with known variances, against statsmodels.

Source: statsmodels 0.14 or later (BSD): WLS and GLS with ``cov_type="fixed scale"``, and ridge-like priors as extra
rows.
Tolerance: 1e-9 relative.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np
import pytest

from steelyard.adjustment import Blocks
from tests.published.least_squares import fit


@cache
def library() -> Any:
    """Its linear models, loaded when a test asks: it is heavy, and every worker imports this file.

    It carries no types, and to infer them from its source takes the type checker seconds.
    """
    from statsmodels.regression import linear_model

    return linear_model


RNG = np.random.default_rng(42)
DESIGN = np.column_stack([np.ones(12), RNG.normal(size=(12, 3))])
SEEN = RNG.normal(3000.0, 40.0, 12)
VARIANCES = RNG.uniform(1.0, 30.0, 12)


def blocks() -> tuple[Blocks, np.ndarray]:
    """Covariances of three placements of five, four and three readings, and the same in one matrix."""
    whole = np.zeros((12, 12))
    rows = [np.array([0, 3, 5, 8, 11]), np.array([1, 2, 9, 10]), np.array([4, 6, 7])]
    fixed: list[np.ndarray] = []
    for members in rows:
        root = RNG.normal(size=(len(members), len(members)))
        fixed.append(root @ root.T + np.eye(len(members)))
        whole[np.ix_(members, members)] = fixed[-1]
    return Blocks(rows, fixed, []), whole


def test_weighted() -> None:
    found = fit(DESIGN, SEEN, variances=VARIANCES)
    expected = library().WLS(SEEN, DESIGN, weights=1.0 / VARIANCES).fit(cov_type="fixed scale")
    assert found.estimates == pytest.approx(expected.params, rel=1e-9)
    assert found.factors == pytest.approx(expected.bse, rel=1e-9)
    assert found.cofactor == pytest.approx(expected.cov_params(), rel=1e-9, abs=1e-12)
    assert found.chi2 == pytest.approx(float((expected.resid**2 / VARIANCES).sum()), rel=1e-9)


def test_correlated_blocks() -> None:
    """Readings of one placement are scattered through the file; the blocks find them."""
    made, whole = blocks()
    found = fit(DESIGN, SEEN, blocks=made)
    expected = library().GLS(SEEN, DESIGN, sigma=whole).fit(cov_type="fixed scale")
    assert found.estimates == pytest.approx(expected.params, rel=1e-9)
    assert found.cofactor == pytest.approx(expected.cov_params(), rel=1e-9, abs=1e-12)
    assert made.variances() == pytest.approx(np.diag(whole), rel=1e-12)
    assert made.inverse_diagonal() == pytest.approx(np.diag(np.linalg.inv(whole)), rel=1e-9)
    assert made.weigh(DESIGN) == pytest.approx(np.linalg.solve(whole, DESIGN), rel=1e-9, abs=1e-12)


def test_priors_are_readings_of_the_unknowns() -> None:
    prior_u = np.array([np.nan, 0.5, np.nan, 2.0])
    found = fit(DESIGN, SEEN, variances=VARIANCES, prior_u=prior_u)
    rows = np.vstack([DESIGN, np.eye(4)[[1, 3]]])
    weights = 1.0 / np.concatenate([VARIANCES, prior_u[[1, 3]] ** 2])
    expected = library().WLS(np.append(SEEN, [0.0, 0.0]), rows, weights=weights).fit(cov_type="fixed scale")
    assert found.estimates == pytest.approx(expected.params, rel=1e-8)
    assert found.factors == pytest.approx(expected.bse, rel=1e-9)


def test_variance_factor_from_residuals() -> None:
    """With the factor estimated, the usual standard errors."""
    found = fit(DESIGN, SEEN, variances=VARIANCES)
    expected = library().WLS(SEEN, DESIGN, weights=1.0 / VARIANCES).fit()
    assert found.sd == pytest.approx(expected.bse, rel=1e-9)
    assert found.sigma**2 == pytest.approx(expected.scale, rel=1e-9)
