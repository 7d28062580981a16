"""Block by block or all at once: estimates, covariances and Baarda's statistics are the same.

The product whitens placement by placement, carries priors as rows and never forms a covariance of all readings. Here it
is formed, priors moved into it, and the textbook formulas are applied. Source: Baarda (1968); JCGM 100, annex H.3.
Tolerance: 1e-6, relative to the largest of a kind; dense inverses of such covariances lose some 1e-9.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from steelyard.dayfile import parse_day, read_day
from tests.adjustment.dense import Linearised, linearised, whole
from tests.invariants.rich_days import RICH

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "quay-bakery.toml"
NAMES = ("example", *RICH)


@pytest.fixture(scope="module", params=NAMES)
def day(request: pytest.FixtureRequest) -> Linearised:
    name = request.param
    return linearised(read_day(EXAMPLE) if name == "example" else parse_day(RICH[name], f"{name}.toml"))


def close(found: np.ndarray, expected: np.ndarray, tolerance: float = 1e-6) -> bool:
    size = max(float(np.abs(expected).max(initial=0.0)), 1e-12)
    return bool(np.abs(found - expected).max(initial=0.0) <= tolerance * size)


def test_weighed_residuals_and_weights(day: Linearised) -> None:
    projector, residuals = day.projector(), day.residuals()
    assert close(residuals.weighed, projector @ day.misfit)
    assert close(residuals.weight, np.diag(projector))
    columns = np.column_stack([residuals.column(row) for row in range(len(day.misfit))])
    assert close(columns, projector)


def test_chi_square(day: Linearised) -> None:
    expected = float(day.misfit @ day.projector() @ day.misfit)
    assert day.solution().chi2 == pytest.approx(expected, rel=1e-6, abs=1e-9)


def test_the_square_of_w_is_what_leaving_out_saves(day: Linearised) -> None:
    """For every checked reading: chi-square without it, formed anew without its row and column."""
    residuals = day.residuals()
    normalised = residuals.normalised()
    chi2 = day.solution().chi2
    covariance, columns = day.full_covariance(), day.design[:, day.free]
    for row in np.flatnonzero(residuals.redundancy > 1e-3):
        rest = np.arange(len(day.misfit)) != row
        root = np.linalg.cholesky(covariance[np.ix_(rest, rest)])
        white = np.linalg.solve(root, np.column_stack([columns[rest], day.misfit[rest]]))
        scale = np.maximum(np.linalg.norm(white[:, :-1], axis=0), 1e-12)
        fitted = np.linalg.lstsq(white[:, :-1] / scale, white[:, -1], rcond=1e-7)[0]
        left = white[:, -1] - white[:, :-1] / scale @ fitted
        assert normalised[row] ** 2 == pytest.approx(chi2 - left @ left, rel=1e-4, abs=1e-7)


def test_freeing_one_reading_after_another(day: Linearised) -> None:
    """Freed readings may take any value: the rest is as if a column of its own had been added for each."""
    residuals, projector = day.residuals(), day.projector()
    rows = [int(row) for row in np.argsort(-residuals.redundancy)[:2] if residuals.redundancy[row] > 0.05]
    for row in rows:
        if residuals.weight[row] * residuals._blocks.variances()[row] < 0.05:
            continue
        residuals.free(row)
        unit = projector[:, row]
        projector = projector - np.outer(unit, unit) / unit[row]
        assert close(residuals.weighed, projector @ day.misfit, 1e-5)
        assert close(residuals.weight, np.maximum(np.diag(projector), 0.0), 1e-5)
        assert residuals.normalised()[row] == 0.0


def test_estimates_and_covariance_of_determined_loads(day: Linearised) -> None:
    """Normal equations in full: every load that the readings determine, and its covariance with every other."""
    found = day.solution()
    gradients = day.adjustment.loads.jacobian
    gradients = gradients[found.determined(gradients)]
    assert len(gradients) > 3
    precision = np.linalg.inv(whole(day.covariance.blocks))
    normal = day.design.T @ precision @ day.design
    normal[np.diag_indices(len(normal))] += np.where(day.free, 0.0, 1.0 / np.where(day.free, 1.0, day.priors) ** 2)
    scale = 1.0 / np.sqrt(np.maximum(np.diag(normal), 1e-30))
    values, vectors = np.linalg.eigh(normal * np.outer(scale, scale))
    kept = values > 1e-11 * values[-1]
    inverse = (vectors[:, kept] / values[kept]) @ vectors[:, kept].T * np.outer(scale, scale)
    expected = gradients @ inverse @ gradients.T
    roots = gradients @ found.root
    assert close(roots @ roots.T, expected, 1e-5)
    step = inverse @ day.design.T @ precision @ day.misfit
    u = np.sqrt(np.diag(expected))
    assert np.abs(gradients @ (found.step - step)).max() < 1e-4 * max(u.max(), 1.0)


def test_redundancy_numbers_add_up(day: Linearised) -> None:
    """Trace of W Q for the full covariance: readings less rank."""
    found = day.solution()
    total = float(np.trace(day.projector() @ day.full_covariance()))
    assert total == pytest.approx(len(day.misfit) - found.rank, abs=1e-6)


def test_the_day_itself_stands_at_this_solution(day: Linearised) -> None:
    """What the adjustment reports is where the linear system leads, before variances are learned."""
    found = day.solution()
    known = np.where(day.free, 0.0, day.adjustment.rig.unknowns.starts() - day.adjustment.unknowns)
    gradients = day.adjustment.loads.jacobian
    determined = found.determined(gradients)
    moved = gradients[determined] @ (known + found.step)
    u = np.sqrt(((gradients[determined] @ found.root) ** 2).sum(axis=1))
    assert np.abs(moved).max() < 0.35 * u.max()
    assert day.adjustment.consistency.chi2 == pytest.approx(found.chi2, rel=0.02, abs=0.02)
