"""Friction of equalised groups: how much each side carries, and the covariance that its friction brings."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from steelyard.adjustment.assumed import laden
from steelyard.adjustment.readings.influence import GroupSide
from steelyard.adjustment.readings.observed import Observed
from steelyard.adjustment.solve import Array, Indices, Solution
from steelyard.adjustment.system.increments import StanceLoads
from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.rig import Rig
from steelyard.classes import dataclass
from steelyard.model import Vehicle

MOST_LIKELY = 10.0
"""No side of a group carries more than so many times what is likely, for its friction's sake: far from the solution, or
where readings contradict one another, the loads at hand may be anything."""


@dataclass(frozen=True)
class _Placed:
    """One side in one placement. ``starts``: by reading of the placement, where the vehicle's wheel loads stand among
    the outputs in the stance that the reading saw.
    """

    block: int
    side: GroupSide
    starts: tuple[tuple[int, int], ...]


class Sides:
    """The sides of every placement of the days of one shape.

    Parameters
    ----------
    rows: for each placement the indices of its readings. sides: for each, those whose friction its readings feel.
    width: the most readings in a placement.
    """

    def __init__(
        self,
        items: Sequence[Observed],
        rows: Sequence[Sequence[int]],
        sides: Sequence[Sequence[GroupSide]],
        rig: Rig,
        layout: Layout,
        *,
        width: int,
    ) -> None:
        self._placed: list[_Placed] = []
        for block, members in enumerate(rows):
            for side in sides[block]:
                seen = [(row, layout.wheels_out[items[row].stance]) for row in members]
                starts = tuple((row, wheels[side.vehicle].start) for row, wheels in seen if side.vehicle in wheels)
                self._placed.append(_Placed(block, side, starts))
        blocks = np.array([one.block for one in self._placed], dtype=int)
        self._first = np.flatnonzero(np.diff(blocks, prepend=-1))
        self.blocks = blocks[self._first]
        self._covariance = np.zeros((len(self._placed), width, width))
        for at, one in enumerate(self._placed):
            size = len(rows[one.block])
            self._covariance[at, :size, :size] = one.side.covariance
        self._wheels = list(dict.fromkeys((one.side.vehicle, one.side.wheels) for one in self._placed))
        number = {wheels: at for at, wheels in enumerate(self._wheels)}
        self._number = np.array([number[one.side.vehicle, one.side.wheels] for one in self._placed], dtype=int)
        lone = [item.lone_wheel for item in items]
        read = {(wheel.vehicle, wheel.id) for item in items for wheel in item.reading.place.wheels}
        self._of_wheels = [
            _OfWheels(rig.day.vehicles[vehicle], wheels, items, lone, read) for vehicle, wheels in self._wheels
        ]
        moving = any(len({start for _, start in one.starts}) > 1 for one in self._placed)
        self._fixed = None if moving else self._outputs(np.arange(len(items)))

    def of(self, values: Array, position: Indices) -> SideLoads:
        """The sides of one day: what its readings show [kg], in the order of the file, and the rank of each."""
        outputs = self._outputs(position) if self._fixed is None else self._fixed
        likely = np.array([one.likely(values) for one in self._of_wheels])
        read = np.array([one.read for one in self._of_wheels])
        return SideLoads(*outputs, likely[self._number], read[self._number], self._covariance, self._first)

    def _outputs(self, position: Indices) -> tuple[Indices, Indices, Indices, Indices]:
        """Where the wheel loads of each side stand, one after the other, and where each begins; then those of both
        sides of its group. Drafts of one placement in several stances: that of the reading of the highest rank counts.
        """
        own: list[int] = []
        both: list[int] = []
        starts: list[tuple[int, int]] = []
        for one in self._placed:
            starts.append((len(own), len(both)))
            start = min((position[row], start) for row, start in one.starts)[1]
            own += [start + wheel for wheel in one.side.wheels]
            both += [start + 2 * (wheel // 2) + end for wheel in one.side.wheels for end in (0, 1)]
        first = np.array(starts, dtype=int).reshape(-1, 2)
        return np.array(own, dtype=int), first[:, 0], np.array(both, dtype=int), first[:, 1]


class _OfWheels:
    """The likely load on one side: readings of single wheels tell, or round figures."""

    def __init__(
        self,
        vehicle: Vehicle,
        side: tuple[int, ...],
        items: Sequence[Observed],
        lone: Sequence[tuple[str, str] | None],
        read: set[tuple[str, str]],
    ) -> None:
        wheels = [(vehicle.id, vehicle.wheels[wheel]) for wheel in side]
        self._count = len(side)
        self._rows = [row for row in range(len(items)) if lone[row] in wheels]
        self._round = sum(laden(vehicle.axles[wheel // 2]) / 2.0 for wheel in side)
        self.read = any(wheel in read for wheel in wheels)

    def likely(self, values: Array) -> float:
        """The load to assume on the side [kg] where readings show ``values`` [kg]."""
        told = [float(values[row]) for row in self._rows]
        if told and max(told) > 0.0:
            return self._count * sum(told) / len(told)
        return self._round


@dataclass(frozen=True)
class SideLoads:
    """The sides of one day, ``sides`` of them in all; each placement's stand together.

    Attributes
    ----------
    out, first: where the wheel loads of each side stand among the outputs, one side after the other, and where each
    begins. both, both_first: those of both sides of its group, of which this one carries half where only their sum is
    known. likely: the sum to go by [kg] where the readings do not determine it, shape (sides,). read: whether any
    reading of the day has any of these wheels. covariance: for each square kilogram, shape (sides, width, width).
    blocks_first: where the sides of each placement begin.
    """

    out: Indices
    first: Indices
    both: Indices
    both_first: Indices
    likely: Array
    read: Array
    covariance: Array
    blocks_first: Indices

    def grown(self, loads: StanceLoads, solution: Solution | None) -> Array:
        """Covariance that friction brings to the readings of each placement that feels any, (blocks, width, width)."""
        if not len(self.first):
            return self.covariance
        pieces = (self._loads(loads, solution) ** 2)[:, None, None] * self.covariance
        return np.asarray(np.add.reduceat(pieces, self.blocks_first, axis=0))

    def _loads(self, loads: StanceLoads, solution: Solution | None) -> Array:
        """The sum of each side's wheel loads [kg], never more than ``MOST_LIKELY`` times what is likely.

        Where the readings do not tell it, what the solution says of it is arbitrary.
        """
        told = np.add.reduceat(loads.values[self.out], self.first)
        if solution is not None and solution.null.shape[1]:
            own = np.add.reduceat(loads.jacobian[self.out], self.first, axis=0)
            both = np.add.reduceat(loads.jacobian[self.both], self.both_first, axis=0)
            half = np.add.reduceat(loads.values[self.both], self.both_first) / 2.0
            together = np.where(solution.determined(both), half, self.likely)
            told = np.where(solution.determined(own), told, together)
        told = np.minimum(np.maximum(told, 0.0), MOST_LIKELY * self.likely)
        return np.where(self.read, told, self.likely)
