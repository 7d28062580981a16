"""A reading as an equation: ``indication = (1 + span) load + zero``, and what its doubt is made of."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.propagate import combined
from steelyard.adjustment.readings.frame import ShapeFrame
from steelyard.adjustment.readings.observed import by_content
from steelyard.adjustment.readings.placements import Covariance, DayPlacements
from steelyard.adjustment.solve import Solution
from steelyard.adjustment.system.increments import StanceLoads
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.unknowns import Array


class Observations:
    """All readings that count, the largest first (see ``by_content``).

    ``frame`` is what they have in common with those of other days of the same shape; ``rig`` then comes from it.
    ``effects`` are those of masses on the readings as ``misfit.trials`` made them, which several searches ask for.
    """

    def __init__(self, rig: Rig, frame: ShapeFrame | None = None) -> None:
        self._frame = ShapeFrame(rig) if frame is None else frame
        self.rig = rig
        self.increments = self._frame.increments.of(rig)
        filed = self._frame.items(rig.day)
        self._filed = np.array([item.reading.value for item in filed])
        order = by_content(filed)
        self._order = np.array(order, dtype=int)
        self.items = [filed[at] for at in order]
        self.values = self._filed[self._order]
        self._factor = self._frame.factor[self._order]
        self._spans, self._zeros = self._frame.spans[self._order], self._frame.zeros[self._order]
        self.selection = self._frame.selection[self._order]
        alone = len(filed) > 0 and bool((self.selection.sum(axis=1) == 1.0).all())
        self._alone = self.selection.argmax(axis=1) if alone else None
        self._placed: DayPlacements | None = None
        self.effects: dict[tuple[str, float], Array] = {}

    def predict(self, loads: StanceLoads, unknowns: Array) -> tuple[Array, Array]:
        """Expected indications, shape (readings,), and their derivative, shape (readings, unknowns)."""
        gain = self._factor * (1.0 + self._spans @ unknowns)
        if self._alone is None:
            load, felt = self.selection @ loads.values, combined(self.selection, loads.jacobian)
        else:
            load, felt = loads.values[self._alone], loads.jacobian[self._alone]
        design = gain[:, None] * felt
        design += (self._factor * load)[:, None] * self._spans
        design += self._zeros
        return gain * load + self._zeros @ unknowns, design

    def shown(self, loads: Array, unknowns: Array) -> Array:
        """Expected indications [kg] at loads of shape (n, readings) and unknowns of shape (n, unknowns)."""
        return self._factor * (1.0 + unknowns @ self._spans.T) * loads + unknowns @ self._zeros.T

    def first_guess(self) -> Array:
        """Starting values, shape (unknowns,): priors, and for each wheel the largest reading taken of it alone."""
        guess = self.rig.unknowns.starts()
        lone = self._frame.lone[self._order][::-1]
        told = lone >= 0
        guess[lone[told]] = self.values[::-1][told]
        return guess

    def covariance(self, loads: StanceLoads | None, solution: Solution | None = None) -> Covariance:
        """The readings' covariance, placement by placement; without ``loads`` what grows with load is left out.

        ``solution`` tells which of the loads the readings determine; without it all of them count.
        """
        if self._placed is None:
            position = np.empty(len(self.items), dtype=int)
            position[self._order] = np.arange(len(self.items))
            self._placed = DayPlacements(self._frame.placements(), self._filed, position)
        return self._placed.covariance(loads, solution)
