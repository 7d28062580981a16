"""A day as the model of its like: what is known of it beforehand, what is left free, and what disturbs its readings.

Everything the adjustment gives a standard uncertainty is drawn from just that: pseudo-observations (lengths, springs,
spans, zeros, cargo, slope, heights) about what the file states; variances of supports and of repeatability with the
degrees of freedom to which they are known; friction and places on the plate in proportion to the load. What the
adjustment leaves free (loads, couples, unknown cargo) is drawn about what the day itself says.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import cached_property
from typing import cast

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, ManyLoads, adjust, repeatability, unevenness
from steelyard.model import WeighDay
from steelyard.planning import expected_of
from steelyard.simulation.fault import SimulationError
from steelyard.simulation.raised import RaisedDrafts
from steelyard.statics import FRICTION

Array = NDArray[np.float64]
Places = NDArray[np.int_]

SPREAD = 0.05
"""Relative standard deviation by which the load of a whole vehicle, and again of each of its wheels, differs from that
of the day: enough that days differ, and few wheels lift. It bears on no interval, for loads are free."""


@dataclass(frozen=True)
class SharingSide:
    """One side of an equalised group in one placement.

    Attributes
    ----------
    wheels: its wheels among all wheels of all placements. out: the same among the loads of the placement's stance.
    share: standard uncertainty of the load of each wheel for friction, as a share of the side's load [1].
    """

    wheels: tuple[int, ...]
    out: tuple[int, ...]
    share: float


@dataclass(frozen=True)
class Placed:
    """One placement: the drafts taken without moving rig or pads, which share heights of supports and friction.

    Attributes
    ----------
    first: for each vehicle the first of its wheels among all wheels of all placements. stance: for each vehicle, the
    index of the stance that the loads of its sides come from.
    """

    first: dict[str, int] = field(default_factory=dict[str, int])
    stance: dict[str, int] = field(default_factory=dict[str, int])


@dataclass(frozen=True)
class Drafted:
    """One draft: its state, its placement, and its readings as rows of the observations, with what each adds up.

    ``wheels`` (readings, wheels of the state) and ``couplings`` (readings, joints) hold ones.
    """

    number: int
    state: str
    placement: str
    rows: Places
    wheels: Array
    couplings: Array


class Likeness:
    """A day that others are to be like.

    Raises
    ------
    SimulationError: it has no reading that counts, or a draft with something raised that tells no height.
    """

    def __init__(self, day: WeighDay) -> None:
        if not any(day.counted(draft) for draft in day.drafts):
            raise SimulationError("has no draft with a reading that counts; write down what the pads showed, or might")
        self.day = day
        self.base: Adjustment = adjust(day)
        self.rig = self.base.rig
        self.observations = self.base.observations
        self.items = self.observations.items
        if not self.items:
            raise SimulationError("what it stands on does not hold it up in any state with a reading")
        self.raised = RaisedDrafts(self.base)
        self.loads = ManyLoads(self.observations.increments)
        self.starts = self.rig.unknowns.starts()
        self.priors = self.rig.unknowns.priors()
        self.free = np.flatnonzero(np.isnan(self.priors))
        self.known = np.flatnonzero(~np.isnan(self.priors))
        self._number_wheels()
        instruments = [item.instrument for item in (*self.items, *self.raised.readings)]
        kinds = [repeatability(instrument) for instrument in instruments]
        self.repeat_u = np.array([u for u, _ in kinds])
        self.support_u, support_dof = unevenness(day.site)
        self.dof = np.array([support_dof, *dict.fromkeys(dof for _, dof in kinds)])
        self.component = np.array([1 + list(dict.fromkeys(dof for _, dof in kinds)).index(dof) for _, dof in kinds])
        self.eccentricity = np.array([instrument.eccentricity for instrument in instruments])
        self.division = np.array([instrument.division for instrument in instruments])
        self.capacity = np.array([instrument.capacity for instrument in instruments])

    # -- what is free -----------------------------------------------------------------------------------------------

    @cached_property
    def expected(self) -> Array:
        """Values of the free unknowns by the day [kg, kg*m], round figures where it says nothing; shape (free,)."""
        found = expected_of(self.base)
        keys = list(self.rig.unknowns.index)
        return np.array([found[keys[at]] for at in self.free.tolist()])

    @cached_property
    def varying(self) -> tuple[NDArray[np.int_], int]:
        """For each free unknown, shape (free,), the number of the thing that varies as a whole; how many there are."""
        keys = list(self.rig.unknowns.index)
        owners = [_owner(keys[at]) for at in self.free.tolist()]
        order = list(dict.fromkeys(owners))
        return np.array([order.index(owner) for owner in owners], dtype=int), len(order)

    # -- what disturbs the readings ---------------------------------------------------------------------------------

    def _number_wheels(self) -> None:
        """Every draft with its placement; wheels of all placements are counted through."""
        self.drafts: list[Drafted] = []
        self.placements: dict[str, Placed] = {}
        self.wheels = 0
        by_draft: dict[int, list[int]] = {}
        for row, item in enumerate(self.items):
            by_draft.setdefault(item.draft.number, []).append(row)
        for number in sorted(by_draft):
            rows = by_draft[number]
            item = self.items[rows[0]]
            placed = self.placements.setdefault(item.placement, Placed())
            for name in self.rig.operators[item.draft.state].bodies:
                if name not in placed.first:
                    placed.first[name], placed.stance[name] = self.wheels, item.stance
                    self.wheels += self.rig.layouts[name].wheels
            self.drafts.append(Drafted(number, item.draft.state, item.placement, np.array(rows), *self._sums(rows)))
        self.sides = [side for placed in self.placements.values() for side in self._sides(placed)]

    def _sums(self, rows: list[int]) -> tuple[Array, Array]:
        """Which loads of their state some readings add up, wheels and couplings."""
        operator = self.rig.operators[self.items[rows[0]].draft.state]
        wheels, couplings = np.zeros((len(rows), operator.wheel_count)), np.zeros((len(rows), len(operator.joints)))
        trailers = [joint.trailer for joint in operator.joints]
        for number, row in enumerate(rows):
            place = self.items[row].reading.place
            for wheel in place.wheels:
                at = operator.wheel_slice(wheel.vehicle).start + 2 * (wheel.axle - 1) + (wheel.side == "R")
                wheels[number, at] = 1.0
            for trailer in place.couplings:
                couplings[number, trailers.index(trailer)] = 1.0
        return wheels, couplings

    def _sides(self, placed: Placed) -> list[SharingSide]:
        found: list[SharingSide] = []
        for name, first in placed.first.items():
            layout = self.rig.layouts[name]
            out = self.loads.layout.wheels_out[placed.stance[name]][name].start
            for side in layout.equalised_sides():
                stated = [layout.vehicle.axles[wheel // 2].friction for wheel in side]
                share = next((friction for friction in stated if friction is not None), FRICTION)
                if share > 0.0:
                    at, outs = (tuple(start + wheel for wheel in side) for start in (first, out))
                    found.append(SharingSide(at, outs, share))
        return found


def _owner(key: Hashable) -> Hashable:
    """The thing whose load varies as a whole: a vehicle with its coupling load, a cargo with its moments, a couple."""
    kind, *names = cast(tuple[str, ...], key)
    return ("vehicle", names[0]) if kind in ("wheel", "coupling") else (kind, names[0])
