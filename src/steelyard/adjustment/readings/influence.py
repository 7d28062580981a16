"""How support heights and friction of one placement reach its readings.

What heights do is in proportion to stiffness, and a rig whose springs are known to a factor twists against all of them
in series: its answers are taken at many likely sets of rates (see ``rates``), each with the same chance. Friction feels
only what one rate is of another, and is taken at the rates as stated or assumed.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import numpy as np

from steelyard.adjustment.readings.observed import Observed
from steelyard.adjustment.readings.rates import likely_rates
from steelyard.adjustment.system.increments import Increments
from steelyard.adjustment.system.many import ManyLoads
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass
from steelyard.statics import FRICTION


@dataclass(frozen=True)
class GroupSide:
    """One side of an equalised group, and the covariance that friction brings to the readings of a placement for each
    square kilogram of its load, shape (readings, readings).
    """

    vehicle: str
    wheels: tuple[int, ...]
    covariance: Array


@dataclass(frozen=True)
class PlacementResponse:
    """How one placement's readings answer to what is under its wheels.

    Attributes
    ----------
    heights: to unit heights at each set of rates [kg/m], shape (sets, readings, wheels).
    sides: each side of each equalised group whose friction these readings feel.
    """

    heights: Array
    sides: tuple[GroupSide, ...]


class Influence:
    """The answers of any readings of a rig in some states, the operator of each way of standing asked once.

    ``stiffest`` is the stiffest spring of any wheel in them [kg/m].
    """

    def __init__(self, increments: Increments, states: Collection[str]) -> None:
        self._rig = increments.rig
        self._loads = ManyLoads(increments)
        self._unknowns = likely_rates(self._rig, states)
        self.stiffest = max((float(self._rig.operators[state].stiffness.max()) for state in states), default=0.0)
        self._cache: dict[int, tuple[Array, Array, Array, Array]] = {}

    def _operator(self, state: str) -> tuple[Array, Array, Array, Array]:
        operator = self._rig.operators[state]
        if id(operator) not in self._cache:  # states that stand alike share their operator
            count = len(self._unknowns), operator.wheel_count, operator.wheel_count
            one = np.broadcast_to(np.eye(operator.wheel_count), count)
            by_height = self._loads.shifted(state, self._unknowns, one, np.zeros(count))
            self._cache[id(operator)] = *by_height, *operator.release()
        return self._cache[id(operator)]

    def of(self, items: Sequence[Observed]) -> PlacementResponse:
        """The response of the readings of one placement."""
        rig = self._rig
        start: dict[str, int] = {}
        count = 0
        for name in dict.fromkeys(name for item in items for name in rig.operators[item.draft.state].bodies):
            start[name] = count
            count += rig.layouts[name].wheels
        heights, release = np.zeros((len(self._unknowns), len(items), count)), np.zeros((len(items), count))
        for state in dict.fromkeys(item.draft.state for item in items):
            rows = [row for row, item in enumerate(items) if item.draft.state == state]
            columns = np.array(
                [
                    start[name] + wheel
                    for name in rig.operators[state].bodies
                    for wheel in range(rig.layouts[name].wheels)
                ]
            )
            by_height, by_release = self._answers(state, [items[row] for row in rows])
            heights[:, np.array(rows)[:, None], columns] = by_height
            release[np.array(rows)[:, None], columns] = by_release
        return PlacementResponse(heights, tuple(self._sides(start, release)))

    def _answers(self, state: str, items: Sequence[Observed]) -> tuple[Array, Array]:
        """Response of the readings of one state to heights, shape (sets, readings, wheels), and to friction, without
        the sets.
        """
        operator = self._rig.operators[state]
        trailers = {joint.trailer: place for place, joint in enumerate(operator.joints)}
        wheels, ends = np.zeros((len(items), operator.wheel_count)), np.zeros((len(items), len(trailers)))
        first = {name: operator.wheel_slice(name).start for name in operator.bodies}
        for row, item in enumerate(items):
            for wheel in item.reading.place.wheels:
                wheels[row, first[wheel.vehicle] + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
            for trailer in item.reading.place.couplings:
                ends[row, trailers[trailer]] = 1.0
        by_height, coupling_height, by_release, coupling_release = self._operator(state)
        if not ends.any():
            return wheels @ by_height, wheels @ by_release
        return wheels @ by_height + ends @ coupling_height, wheels @ by_release + ends @ coupling_release

    def _sides(self, start: dict[str, int], release: Array) -> Iterator[GroupSide]:
        """Sides of equalised groups that any of these readings feels; drafts of one placement share their friction.

        Each wheel of a side departs from its share by a standard uncertainty of ``friction`` times the side's load;
        the departures of a side add up to nothing.
        """
        for name, first in start.items():
            layout = self._rig.layouts[name]
            for side in layout.equalised_sides():
                stated = [layout.vehicle.axles[wheel // 2].friction for wheel in side]
                share = next((friction for friction in stated if friction is not None), FRICTION)
                answer = release[:, [first + wheel for wheel in side]]
                if share > 0.0 and np.abs(answer).max() > 1e-12:
                    centred = answer - answer.mean(axis=1, keepdims=True)
                    spread = share**2 * len(side) / (len(side) - 1)
                    yield GroupSide(name, side, spread * (centred @ centred.T))
