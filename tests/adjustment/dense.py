"""One linearised weigh day written out in full: dense covariances, plain formulas, nothing saved."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import adjust
from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.observation import Covariance, Observations
from steelyard.adjustment.solve import Array, Blocks, Solution, solve
from steelyard.model import WeighDay


def whole(blocks: Blocks) -> Array:
    """The covariance of all readings in one matrix: weighing is multiplying by its inverse."""
    return np.asarray(np.linalg.inv(blocks.weigh(np.eye(blocks.count))), dtype=float)


@dataclass(frozen=True)
class Linearised:
    """A day's equations at its solution.

    ``design`` by all unknowns; ``misfit`` readings minus predictions with known unknowns at their priors and free ones
    where they are; ``priors`` NaN where free.
    """

    adjustment: Adjustment
    observations: Observations
    covariance: Covariance
    design: Array
    misfit: Array
    priors: Array

    @property
    def free(self) -> NDArray[np.bool_]:
        """Which unknowns have no prior."""
        return np.isnan(self.priors)

    def solution(self) -> Solution:
        """By the product."""
        white = self.covariance.blocks.whiten(np.column_stack([self.design, self.misfit]))
        return solve(white[:, :-1], white[:, -1], self.priors, np.zeros(len(self.priors)))

    def residuals(self) -> Residuals:
        """By the product."""
        found = self.solution()
        return Residuals(self.covariance.blocks, self.design, self.misfit - self.design @ found.step, found)

    def full_covariance(self) -> Array:
        """Of the readings, everything uncertain about the rig and the instruments included."""
        known = self.design[:, ~self.free]
        return whole(self.covariance.blocks) + known @ np.diag(self.priors[~self.free] ** 2) @ known.T

    def projector(self) -> Array:
        """W = P Qv P = P - P F (F' P F)^- F' P with P the inverse of the full covariance; (readings, readings)."""
        weight = np.linalg.inv(self.full_covariance())
        columns = self.design[:, self.free]
        size = np.sqrt((columns**2).sum(axis=0))
        columns = columns[:, size > 0] / size[size > 0]
        basis, singular, _ = np.linalg.svd(columns, full_matrices=False)
        basis = basis[:, singular > 1e-7 * singular[0]]
        return weight - weight @ basis @ np.linalg.solve(basis.T @ weight @ basis, basis.T @ weight)


def linearised(day: WeighDay) -> Linearised:
    """The equations of a day at its own solution, misfits at the priors."""
    found = adjust(day)
    observations, unknowns = found.observations, found.unknowns
    loads = observations.increments.solve(unknowns, found.lifts)
    shown, design = observations.predict(loads, unknowns)
    priors, starts = found.rig.unknowns.priors(), found.rig.unknowns.starts()
    known = ~np.isnan(priors)
    misfit = observations.values - shown - design[:, known] @ (starts - unknowns)[known]
    return Linearised(found, observations, observations.covariance(loads), design, misfit, priors)
