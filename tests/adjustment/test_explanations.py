"""Explanations are low-rank updates of the solved day: held against the same system solved again in full."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import adjust
from steelyard.adjustment.misfit.agreement import Fit
from steelyard.adjustment.misfit.explanation import Base, Hypothesis
from steelyard.adjustment.solve import Array, Blocks, solve
from steelyard.dayfile import parse_day
from tests.intervals.contested import slipped


def system(seed: int) -> tuple[Fit, Array, Array]:
    """Nine correlated readings, three free unknowns and one with a prior, solved; design and prior deviations too."""
    rng = np.random.default_rng(seed)
    design = rng.normal(size=(9, 4))
    parts = [np.eye(3) + 0.3 * np.ones((3, 3)) for _ in range(3)]
    rows = [np.arange(3 * at, 3 * at + 3) for at in range(3)]
    blocks = Blocks(rows, [0.5 * part for part in parts], [[0.2 * np.eye(3)] * 3])
    priors = np.array([np.nan, np.nan, np.nan, 0.7])
    values = rng.normal(size=9) + 3.0
    fit = again(blocks, design, values, priors)
    return fit, priors, values


def again(blocks: Blocks, design: Array, values: Array, priors: Array) -> Fit:
    """Least squares by the solver; what is left over in the fit."""
    white = blocks.whiten(np.column_stack([design, values]))
    solution = solve(white[:, :-1], white[:, -1], priors, np.zeros(len(priors)))
    return Fit(blocks, np.array([60.0]), design, values - design @ solution.step, solution)


@pytest.mark.parametrize("seed", range(4))
def test_readings_let_go_and_a_known_change(seed: int) -> None:
    fit, priors, values = system(seed)
    base = Base(fit.residuals(), fit.design, fit.solution)
    free, put = np.eye(9)[:, [2, 7]], np.zeros(9)
    put[4], put[5] = 1.5, -1.5
    found = base.under([Hypothesis("a", (), 0.0, free=free, u=(np.inf, 0.4)), Hypothesis("b", (), 0.0, put=put)])
    assert found is not None
    wide = np.column_stack([fit.design, free])
    full = again(fit.blocks, wide, values + put, np.concatenate([priors, [np.nan, 0.4]]))
    step = fit.solution.step + found.shift
    assert step == pytest.approx(full.solution.step[:4], abs=1e-9)
    root = np.column_stack([fit.solution.root, found.extra])
    assert root @ root.T == pytest.approx((full.solution.root @ full.solution.root.T)[:4, :4], abs=1e-9)
    assert found.chi2 == pytest.approx(full.solution.chi2, abs=1e-9)
    assert found.weighed == pytest.approx(fit.blocks.weigh(found.felt), abs=1e-9)


def test_what_nothing_checks_explains_nothing() -> None:
    fit, _, _ = system(0)
    base = Base(fit.residuals(), fit.design, fit.solution)
    only = Hypothesis("a", (), 0.0, free=fit.design[:, [0]])
    assert base.under([only]) is None


def test_an_adjustment_under_an_explanation_has_the_degrees_of_freedom_of_the_wider_system() -> None:
    """Every share of variance, by component, of the loads: as with one unknown more for the reading let go."""
    solved = adjust(parse_day(slipped("equalised", 0, "reading").text, "day.toml"))
    one = solved.explanations[0]
    under = solved.under(one)
    combination = np.eye(len(solved.loads.values))
    plain, other = solved.estimate(combination), under.estimate(combination)
    assert other.values == pytest.approx(plain.values + solved.loads.jacobian @ one.shift)
    added = ((solved.loads.jacobian @ one.extra) ** 2).sum(axis=1)
    assert other.u**2 == pytest.approx(plain.u**2 + added)
    finite = np.isfinite(other.dof)
    assert (other.dof[finite] > 1.0).all()
    assert under.explanations == ()
