"""Drafts with one end raised: the true height of the centre of gravity, and what pads under the vehicle then carry.

Loads follow from the height through the same moments as in a real day (``adjustment/cg_height.py``), from the true
loads, lengths, spans and slope of the day, exactly. What the file states of a raise, a wheel's radius and a spring with
its uncertainty differs by just that.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, CentreHeight, Lacking, RaisedFit, raised_fits
from steelyard.model import CountedReading, Draft, Instrument
from steelyard.simulation.fault import SimulationError

Array = NDArray[np.float64]

ROUND = 0.3
"""Height of a centre of gravity above the higher support [m] where the day tells one that hardly can be."""


@dataclass(frozen=True)
class RaisedReading:
    """One reading of a raised draft."""

    draft: Draft
    reading: CountedReading
    instrument: Instrument


@dataclass(frozen=True)
class RaisedLoads:
    """True heights [m], shape (n, vehicles), and what pads without scatter would show [kg], shape (n, readings)."""

    heights: Array
    shown: Array
    sound: NDArray[np.bool_]


class RaisedDrafts:
    """The raised drafts of a day that others are to be like.

    Attributes
    ----------
    readings: of the support lines that were read as a whole. expected: of each vehicle in each state that was raised,
    the height about which true ones are drawn [m], with the rest of what the day says of it.

    Raises
    ------
    SimulationError: one of them tells no height.
    """

    def __init__(self, base: Adjustment) -> None:
        self._fits: list[RaisedFit] = []
        for one in raised_fits(base):
            if isinstance(one, CentreHeight):
                raise SimulationError(_refusal(one))
            self._fits.append(one)
        self.told = tuple(fit.solve() for fit in self._fits)
        self.expected = np.array([_plausible(one) for one in self.told])
        instruments = base.rig.day.instruments
        self.readings = tuple(
            RaisedReading(line.draft, reading, instruments[reading.instrument])
            for fit in self._fits
            for line in fit.seen
            for reading in line.readings
        )
        self.stated = sum(len(fit.given) for fit in self._fits)

    def of(self, unknowns: Array, loads: Array, heights: Array, own: Array) -> RaisedLoads:
        """The indications of raised drafts on true days, and which of these days can be, for no end floats in them.

        Parameters
        ----------
        unknowns, loads: true values, shapes (n, unknowns) and (n, outputs). heights: true ones [m], shape
        (n, vehicles). own: standard normal numbers for what is stated, shape (n, ``stated``).
        """
        shown, sound, at = list[Array](), np.ones(len(unknowns), dtype=bool), 0
        for column, fit in enumerate(self._fits):
            given = fit.given.true(unknowns, loads, own[:, at : at + len(fit.given)])
            at += len(fit.given)
            carried = np.array([fit.line_loads(*row) for row in zip(given, heights[:, column].tolist(), strict=True)])
            carried = carried.reshape(len(unknowns), len(fit.seen))
            masses = np.array([fit.mass(row) for row in given])[:, None]
            sound &= ((carried > 0.0) & (carried < masses)).all(axis=1)
            for line, load in zip(fit.seen, carried.T, strict=True):
                level = [loads[:, fit.outputs_of(reading)].sum(axis=1) for reading in line.readings]
                for reading, part in zip(line.readings, _shares(level, load), strict=True):
                    pairs = zip(given, part.tolist(), strict=True)
                    shown.append(np.array([fit.shown(row, reading, one) for row, one in pairs]))
        return RaisedLoads(heights, np.reshape(shown, (len(self.readings), len(unknowns))).T, sound)


def _shares(level: list[Array], load: Array) -> list[Array]:
    """A load divided as its ends carry on level ground."""
    whole = np.sum(level, axis=0)
    alike = np.full(len(load), 1.0 / len(level))
    return [np.divide(part, whole, out=alike.copy(), where=whole > 0.0) * load for part in level]


def _plausible(told: CentreHeight) -> float:
    """The height that a day tells, a round figure where it is below the wheels or far above them."""
    if told.value is None or told.supports is None:
        raise ValueError("the height is not determined")
    floor = max(told.supports.front_z, told.supports.rear_z)
    return told.value if floor < told.value < floor + told.supports.base else floor + ROUND


def _refusal(told: CentreHeight) -> str:
    what = {
        Lacking.RADIUS: "the loaded_radius of its axles is not stated",
        Lacking.COUPLING_HEIGHT: "its coupling_height is not stated",
        Lacking.LEVEL: f"its loads on level ground in {told.state} are not determined",
    }.get(told.lacking, "no axle or group was read as a whole in it")
    number = told.drafts[0]
    return f"draft {number} has something raised and tells no height, since {what}; mend that, or take the draft out"
