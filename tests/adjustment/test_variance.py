"""Variances learned from what readings leave over.

Source: balanced one-way analysis of variance, where restricted maximum likelihood has a closed form: within MSW,
between (MSB - MSW) / n (Searle, Casella and McCulloch, Variance Components, 1992; from memory). Tolerance: 1e-6 where
iterated to convergence.
"""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import Blocks
from steelyard.adjustment.solve import Array
from steelyard.adjustment.variance import learn
from tests.published.least_squares import fit

GROUPS, SIZE = 8, 5


def one_way(seed: int = 3) -> tuple[Blocks, Array, Array]:
    """Groups of readings that share an error each, a mean to be found; components: within, between."""
    rng = np.random.default_rng(seed)
    seen = 100.0 + np.repeat(rng.normal(0.0, 3.0, GROUPS), SIZE) + rng.normal(0.0, 2.0, GROUPS * SIZE)
    rows = [np.arange(SIZE) + SIZE * group for group in range(GROUPS)]
    parts = [[np.eye(SIZE)] * GROUPS, [np.ones((SIZE, SIZE))] * GROUPS]
    return Blocks(rows, [np.zeros((SIZE, SIZE))] * GROUPS, parts), np.ones((GROUPS * SIZE, 1)), seen


def root_of(cofactor: Array) -> Array:
    """``C = root root'``."""
    return np.asarray(np.linalg.cholesky(cofactor), dtype=np.float64)


def converged(prior_dof: list[float], steps: int = 400) -> tuple[Array, Array]:
    """Factors and their degrees of freedom after many steps."""
    start, design, seen = one_way()
    blocks, dof = start, np.array(prior_dof)
    factors = blocks.factors
    for _ in range(steps):
        found = fit(design, seen, blocks=blocks)
        factors, dof = learn(blocks, design, root_of(found.cofactor), found.residuals, np.array(prior_dof))
        blocks = start.scaled(factors)
    return factors, dof


def mean_squares() -> tuple[float, float]:
    """Within and between groups."""
    table = one_way()[2].reshape(GROUPS, SIZE)
    means = table.mean(axis=1)
    within = float(((table - means[:, None]) ** 2).sum()) / (GROUPS * (SIZE - 1))
    return within, SIZE * float(means.var(ddof=1))


def test_without_a_prior_they_are_those_of_the_analysis_of_variance() -> None:
    within, between = mean_squares()
    factors, _ = converged([1e-9, 1e-9])
    assert factors == pytest.approx([within, (between - within) / SIZE], rel=1e-6)


def test_degrees_of_freedom() -> None:
    """Within: groups times (size - 1), and a little that the means tell where the groups differ little; between: by
    Satterthwaite.
    """
    within, between = mean_squares()
    _, dof = converged([1e-9, 1e-9])
    factor = (between - within) / SIZE
    # REML information of a factor alone: f^2 tr(W Q W Q) = SIZE^2 f^2 (GROUPS - 1) / between^2 for the shared one
    assert dof[1] == pytest.approx((GROUPS - 1) * (SIZE * factor / between) ** 2, rel=1e-6)
    assert dof[0] == pytest.approx(GROUPS * (SIZE - 1) + (GROUPS - 1) * (within / between) ** 2, rel=1e-6)


def test_a_strong_prior_stands() -> None:
    factors, dof = converged([1e9, 1e9], steps=3)
    assert factors == pytest.approx([1.0, 1.0], abs=1e-6)
    assert (dof >= 1e9).all()


@pytest.mark.parametrize("prior", [4.0, 60.0])
def test_one_variance_counts_its_prior_as_degrees_of_freedom(prior: float) -> None:
    """Factor (nu + chi2) / (nu + n - p), degrees of freedom nu + n - p: the scaled inverse chi-square posterior."""
    rng = np.random.default_rng(5)
    design, seen = np.column_stack([np.ones(20), rng.normal(size=20)]), rng.normal(0.0, 4.0, 20)
    blocks = Blocks([np.array([row]) for row in range(20)], [np.zeros((1, 1))] * 20, [[np.array([[9.0]])] * 20])
    found = fit(design, seen, blocks=blocks)
    factors, dof = learn(blocks, design, root_of(found.cofactor), found.residuals, np.array([prior]))
    assert factors[0] == pytest.approx((prior + found.chi2) / (prior + 18.0), rel=1e-9)
    assert dof[0] == pytest.approx(prior + 18.0, rel=1e-9)
