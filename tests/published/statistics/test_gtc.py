"""Degrees of freedom, differences and ratios, against a national laboratory's uncertain-number library.

Source: GTC 1.5 (Measurement Standards Laboratory of New Zealand, MIT): real uncertain numbers with degrees of freedom,
Welch-Satterthwaite as in JCGM 100, G.4, which is ours where one variance brings all of the doubt; where several do, our
intervals are held against the distribution of their sum (JCGM 101:2008, 6.4.9). Tolerance of doubts: 1e-9 relative,
both compute the same formula; of degrees of freedom 1e-5, ours come from a table.
"""

from __future__ import annotations

import GTC
import numpy as np
import pytest
from scipy import stats

from steelyard.adjustment import Blocks, Linear, Propagation, effective_dof, excess_of, student_quantile
from tests.published.least_squares import fit

DOF = np.array([4.0, 60.0])
U = np.array([[3.0, 0.0], [0.0, 5.0], [2.0, 0.0], [0.0, 1.5]])
"""Four readings, each scattering by one of two variances that are known to 4 and to 60 degrees of freedom."""


def propagation() -> Propagation:
    """Four unknowns, each read once."""
    blocks = Blocks(
        [np.array([row]) for row in range(4)],
        [np.zeros((1, 1))] * 4,
        [[np.array([[U[row, part] ** 2]]) for row in range(4)] for part in range(2)],
    )
    solved = fit(np.eye(4), np.zeros(4), blocks=blocks)
    return Propagation(solved.solution, blocks, np.eye(4), DOF)


@pytest.mark.parametrize(
    "row",
    [[1, 0, 0, 0], [0, 1, 0, 0], [1, 1, 0, 0], [1, -1, 0, 0], [2, 0.5, 0, 0], [0, 3, 1, 0], [1, 0, 0, -4]],
    ids=str,
)
def test_effective_degrees_of_freedom(row: list[float]) -> None:
    """One reading of each variance at most: independent components, as Welch and Satterthwaite take them.

    Of two of them we have fewer degrees of freedom than by their formula.
    """
    gradients = np.array([row], dtype=float)
    found = propagation().of(Linear(np.zeros(1), gradients))
    inputs = [GTC.ureal(0.0, float(U[k].max()), float(DOF[0] if U[k, 0] else DOF[1])) for k in range(4)]
    sum_of = sum((factor * number for factor, number in zip(row, inputs, strict=True)), GTC.constant(0.0))
    assert found.u[0] == pytest.approx(GTC.uncertainty(sum_of), rel=1e-9)
    if sum(factor != 0.0 for factor in row) == 1:
        assert found.dof[0] == pytest.approx(GTC.dof(sum_of), rel=1e-5)
    else:
        assert DOF.min() < found.dof[0] < GTC.dof(sum_of)


@pytest.mark.parametrize("dof", [4.0, 7.0, 20.0, 60.0])
@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.5, 0.8, 1.0])
def test_the_interval_of_a_doubt_part_of_which_was_learned_holds_95_per_cent(dof: float, share: float) -> None:
    """The sum of a t and of a normal variable is normal for each value of the variance of the t; 2,000 values of it."""
    factors = dof / stats.chi2.ppf((np.arange(2000) + 0.5) / 2000, dof)
    u = np.sqrt(1.0 - share + share * factors)
    k = float(student_quantile(effective_dof(share * excess_of(np.array([dof]))))[0])
    held = 1.0 - 2.0 * float(stats.norm.sf(k / u).mean())
    assert 0.9497 < held < 0.9527
    by_formula = 1.0 - 2.0 * float(stats.norm.sf(stats.t.ppf(0.975, dof / share**2) / u).mean())
    assert held >= by_formula - 1e-4


def test_readings_that_share_a_variance_do_not_gain_degrees_of_freedom() -> None:
    """A sum of two readings whose variance is one and the same factor has that factor's 4, not 4 each."""
    found = propagation().of(Linear(np.zeros(1), np.array([[1.0, 0.0, 1.0, 0.0]])))
    assert found.dof[0] == pytest.approx(4.0, rel=1e-5)
    apart = GTC.ureal(0.0, 3.0, 4.0) + GTC.ureal(0.0, 2.0, 4.0)
    assert GTC.dof(apart) == pytest.approx(13.0**2 / (81 / 4 + 16 / 4), rel=1e-9)
    assert GTC.dof(apart) > found.dof[0]


def test_quantities_without_learned_variance_have_no_limit() -> None:
    solved = fit(np.eye(2), np.zeros(2), variances=[1.0, 4.0])
    estimate = Propagation(solved.solution, solved.blocks, np.eye(2), np.array([])).of(Linear(np.zeros(2), np.eye(2)))
    assert np.isinf(estimate.dof).all()
    assert np.isinf(GTC.dof(GTC.ureal(0.0, 1.0)))


@pytest.mark.parametrize("r", [-0.8, 0.0, 0.5, 0.95])
def test_difference_and_ratio_of_correlated_loads(r: float) -> None:
    """A transfer and a share: 2980 and 3140 with u 12 and 15, correlated through one pad's span."""
    values, u = np.array([2980.0, 3140.0]), np.array([12.0, 15.0])
    covariance = np.array([[u[0] ** 2, r * u[0] * u[1]], [r * u[0] * u[1], u[1] ** 2]])
    blocks = Blocks([np.arange(2)], [covariance], [])
    solved = fit(np.eye(2), values, blocks=blocks)
    gradients = np.array([[-1.0, 1.0], [1 / values[1], -values[0] / values[1] ** 2]])
    found = Propagation(solved.solution, blocks, np.eye(2), np.array([])).of(Linear(np.zeros(2), gradients))
    before = GTC.ureal(2980.0, 12.0, independent=False)
    after = GTC.ureal(3140.0, 15.0, independent=False)
    GTC.set_correlation(r, before, after)
    assert found.u[0] == pytest.approx(GTC.uncertainty(after - before), rel=1e-9)
    assert found.u[1] == pytest.approx(GTC.uncertainty(before / after), rel=1e-9)
    shared = GTC.get_covariance(after - before, before / after)
    assert float(found.roots[0] @ found.roots[1]) == pytest.approx(shared, rel=1e-9)
