"""One least-squares problem through the product's solver, with what published examples print of it."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Blocks, Solution, solve
from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.solve import RANK_TOLERANCE

Array = NDArray[np.float64]

DATA = Path(__file__).parent / "data"


@dataclass(frozen=True)
class Fit:
    """A solved problem. ``cofactor`` is the covariance of the estimates where a reading of weight one has variance
    one.
    """

    estimates: Array
    cofactor: Array
    residuals: Array  # observed minus adjusted
    chi2: float
    dof: int
    solution: Solution
    blocks: Blocks
    design: Array

    @property
    def sigma(self) -> float:
        """Standard deviation of a reading of weight one, from the residuals."""
        return math.sqrt(self.chi2 / self.dof)

    @property
    def sd(self) -> Array:
        """Standard deviations of the estimates, from the residuals."""
        return self.sigma * np.sqrt(np.diag(self.cofactor))

    @property
    def factors(self) -> Array:
        """Square roots of the cofactors."""
        return np.sqrt(np.diag(self.cofactor))

    def of(self, *combination: float) -> tuple[float, float]:
        """A linear combination of the estimates and the square root of its cofactor."""
        row = np.array(combination)
        return float(row @ self.estimates), math.sqrt(float(row @ self.cofactor @ row))

    def checked(self) -> Residuals:
        """The product's residual statistics, for variances as given."""
        return Residuals(self.blocks, self.design, self.residuals, self.solution)


def fit(
    design: Any,
    values: Any,
    *,
    variances: Any = None,
    blocks: Blocks | None = None,
    prior_u: Any = None,
    tolerance: float = RANK_TOLERANCE,
) -> Fit:
    """Solve; ``prior_u`` gives pseudo-observations of zero (NaN: free); ``blocks`` wins over ``variances``."""
    matrix, seen = np.array(design, dtype=float), np.array(values, dtype=float)
    if blocks is None:
        blocks = Blocks.independent(np.ones(len(seen)) if variances is None else np.array(variances, dtype=float))
    count = matrix.shape[1]
    priors = np.full(count, np.nan) if prior_u is None else np.array(prior_u, dtype=float)
    white = blocks.whiten(np.column_stack([matrix, seen]))
    found = solve(white[:, :-1], white[:, -1], priors, np.zeros(count), tolerance=tolerance)
    residuals = seen - matrix @ found.step
    dof = len(seen) - found.rank
    return Fit(found.step, found.root @ found.root.T, residuals, found.chi2, dof, found, blocks, matrix)


def table(name: str) -> list[list[str]]:
    """The rows of a data file, without its notes and its head."""
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return [row for row in csv.reader(file) if row and not row[0].startswith("#")][1:]
