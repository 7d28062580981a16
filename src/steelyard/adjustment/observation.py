"""A reading as an equation: ``indication = (1 + span) load + zero``, and what its doubt is made of."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.assumed import repeatability, span_u, unevenness
from steelyard.adjustment.gravity import gravity_factor
from steelyard.adjustment.increments import Increments, StanceLoads
from steelyard.adjustment.rig import Rig
from steelyard.adjustment.solve import Blocks
from steelyard.adjustment.stances import stance_of
from steelyard.adjustment.unknowns import Array
from steelyard.model import Draft, Instrument, Reading
from steelyard.statics import FRICTION

SHARED_BELOW = 0.3
"""Repeats whose normal scatter is under this share of a division share one rounding error. The correlation of the
rounding errors of two readings with scatter ``s`` falls as ``exp(-(2 pi s / d)^2)``: 3 % at 0.3 d (Widrow and Kollar,
Quantization Noise, 2008; from memory)."""


@dataclass(frozen=True, slots=True)
class Observed:
    """One reading in the system: where it came from, and the index of its stance."""

    draft: Draft
    reading: Reading
    instrument: Instrument
    stance: int
    placement: str


class Observations:
    """All readings that count, in file order."""

    def __init__(self, rig: Rig) -> None:
        day = rig.day
        stances = {draft.number: stance_of(day, draft) for draft in day.drafts}
        self.rig = rig
        self.increments = Increments(rig, list(stances.values()))
        self.items: list[Observed] = []
        for draft in day.drafts:
            placement = f"named {draft.placement}" if draft.placement is not None else f"draft {draft.number}"
            number = self.increments.number[stances[draft.number]]
            for reading in day.readings_of(draft):
                self.items.append(Observed(draft, reading, day.instruments[reading.instrument], number, placement))
        self.values = np.array([item.reading.value for item in self.items])
        self._register()
        self.selection = self._select()

    def _register(self) -> None:
        """Span, set and zero of each instrument in use, as unknowns with a prior."""
        unknowns, site = self.rig.unknowns, self.rig.day.site
        self._factor = np.ones(len(self.items))
        own: list[int | None] = []
        shared: list[int | None] = []
        zero: list[int | None] = []
        for row, item in enumerate(self.items):
            instrument = item.instrument
            gravity = gravity_factor(site, instrument)
            self._factor[row] = self.rig.level_factor() * (1.0 if gravity is None else gravity[0])
            u = math.hypot(span_u(instrument), 0.0 if gravity is None else gravity[1])
            own.append(unknowns.known(("span", instrument.id), 0.0, u))
            of_set = instrument.set_uncertainty if instrument.set is not None else 0.0
            shared.append(unknowns.known(("set", instrument.set), 0.0, of_set))
            zero.append(unknowns.known(("zero", instrument.id), 0.0, instrument.zero_uncertainty))
        self._own, self._shared, self._zero = _rows(own), _rows(shared), _rows(zero)

    def _select(self) -> Array:
        selection = np.zeros((len(self.items), self.increments.outputs))
        for row, item in enumerate(self.items):
            wheels, couplings = self.increments.wheels_out[item.stance], self.increments.coupling_out[item.stance]
            for wheel in item.reading.place.wheels:
                selection[row, wheels[wheel.vehicle].start + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
            for trailer in item.reading.place.couplings:
                selection[row, couplings[trailer]] = 1.0
        return selection

    def predict(self, loads: StanceLoads, unknowns: Array) -> tuple[Array, Array]:
        """What the instruments would show, shape (readings,), and its derivative, shape (readings, unknowns)."""
        span = np.zeros(len(self.items))
        for rows, at in (self._own, self._shared):
            span[rows] += unknowns[at]
        gain = self._factor * (1.0 + span)
        load = self.selection @ loads.values
        design = gain[:, None] * (self.selection @ loads.jacobian)
        for rows, at in (self._own, self._shared):
            design[rows, at] += self._factor[rows] * load[rows]
        shown = gain * load
        rows, at = self._zero
        shown[rows] += unknowns[at]
        design[rows, at] += 1.0
        return shown, design

    def covariance(self, loads: StanceLoads | None) -> Covariance:
        """The readings' covariance, placement by placement; without ``loads`` friction and eccentricity are left out."""
        return _covariance(self, loads)


def _rows(indices: list[int | None]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    pairs = [(row, at) for row, at in enumerate(indices) if at is not None]
    return np.array([row for row, _ in pairs], dtype=int), np.array([at for _, at in pairs], dtype=int)


@dataclass(frozen=True)
class Covariance:
    """Blocks of the readings' covariance; ``dof`` holds the prior degrees of freedom of each component's factor."""

    blocks: Blocks
    dof: Array
    names: tuple[str, ...]


def _covariance(observations: Observations, loads: StanceLoads | None) -> Covariance:
    items = observations.items
    blocks: dict[str, list[int]] = {}
    for row, item in enumerate(items):
        blocks.setdefault(item.placement, []).append(row)
    u_support, support_dof = unevenness(observations.rig.day.site)
    kinds = {row: repeatability(item.instrument) for row, item in enumerate(items)}
    groups = list(dict.fromkeys(dof for _, dof in kinds.values()))
    influence = _Influence(observations, loads)
    rows: list[NDArray[np.int_]] = []
    fixed: list[Array] = []
    parts: list[list[Array]] = [[] for _ in range(1 + len(groups))]
    for members in blocks.values():
        heights, friction = influence.of(members)
        rows.append(np.array(members))
        fixed.append(_rounding(items, members, kinds) + friction @ friction.T + influence.eccentricity(members))
        parts[0].append(u_support**2 * heights @ heights.T)
        for place, dof in enumerate(groups, start=1):
            parts[place].append(np.diag([kinds[row][0] ** 2 if kinds[row][1] == dof else 0.0 for row in members]))
    names = ("placement", *(f"repeatability ({dof:g} degrees of freedom)" for dof in groups))
    return Covariance(Blocks(rows, fixed, parts), np.array([support_dof, *groups]), names)


def _rounding(items: list[Observed], members: list[int], kinds: dict[int, tuple[float, float]]) -> Array:
    """Rounding: ``d^2 / 12`` each; repeats that did not move and scatter little share one rounding error."""
    variance = np.zeros((len(members), len(members)))
    for a, row in enumerate(members):
        item = items[row]
        variance[a, a] = item.instrument.division**2 / 12.0
        if kinds[row][0] >= SHARED_BELOW * item.instrument.division:
            continue
        for b, other_row in enumerate(members[:a]):
            other = items[other_row]
            same_place = other.reading.place.text == item.reading.place.text and other.stance == item.stance
            if same_place and other.instrument is item.instrument:
                variance[a, b] = variance[b, a] = variance[a, a]
    if len(members) > 1:  # a shared error alone is singular: keep a trace of each reading's own
        variance[np.diag_indices(len(members))] *= 1.0 + 1e-9
    return variance


class _Influence:
    """How support heights and friction of one placement reach its readings, through the operator at prior stiffness."""

    def __init__(self, observations: Observations, loads: StanceLoads | None) -> None:
        self.observations = observations
        self.loads = loads
        self._cache: dict[str, tuple[Array, Array, Array, Array]] = {}

    def _operator(self, state: str) -> tuple[Array, Array, Array, Array]:
        if state not in self._cache:
            operator = self.observations.rig.operators[state]
            self._cache[state] = (*operator.support_influence(), *operator.release())
        return self._cache[state]

    def of(self, members: list[int]) -> tuple[Array, Array]:
        """Readings' response to unit heights, shape (block, wheels), and to friction, shape (block, n), in kg."""
        observations = self.observations
        vehicles = dict.fromkeys(
            name for row in members for name in observations.rig.day.states[observations.items[row].draft.state].vehicles
        )
        start: dict[str, int] = {}
        count = 0
        for name in vehicles:
            start[name] = count
            count += observations.rig.layouts[name].wheels
        heights = np.zeros((len(members), count))
        friction = np.zeros((len(members), count))
        for a, row in enumerate(members):
            item = observations.items[row]
            by_height, by_release = self._response(item)
            operator = observations.rig.operators[item.draft.state]
            for name in operator.bodies:
                at = slice(start[name], start[name] + observations.rig.layouts[name].wheels)
                inside = operator.wheel_slice(name)
                heights[a, at] = by_height[inside]
                if self.loads is not None:
                    friction[a, at] = by_release[inside] @ self._friction(item, name)
        return heights, friction

    def _response(self, item: Observed) -> tuple[Array, Array]:
        operator = self.observations.rig.operators[item.draft.state]
        by_height, coupling_height, by_release, coupling_release = self._operator(item.draft.state)
        height = np.zeros(operator.wheel_count)
        release = np.zeros(operator.wheel_count)
        for wheel in item.reading.place.wheels:
            at = operator.wheel_slice(wheel.vehicle).start + 2 * (wheel.axle - 1) + (wheel.side == "R")
            height += by_height[at]
            release += by_release[at]
        for trailer in item.reading.place.couplings:
            at = next(place for place, joint in enumerate(operator.joints) if joint.trailer == trailer)
            height += coupling_height[at]
            release += coupling_release[at]
        return height, release

    def _friction(self, item: Observed, vehicle: str) -> Array:
        """Square root of the covariance of a vehicle's self-balanced friction loads, shape (wheels, wheels).

        Each wheel of a side of an equalised group departs from its share by a standard uncertainty of ``friction``
        times the side's load; the departures of a side add up to nothing.
        """
        layout = self.observations.rig.layouts[vehicle]
        root = np.zeros((layout.wheels, layout.wheels))
        if self.loads is None:
            return root
        out = self.observations.increments.wheels_out[item.stance][vehicle]
        wheel_loads = self.loads.values[out]
        for side in layout.equalised_sides():
            stated = layout.vehicle.axles[side[0] // 2].friction
            share = FRICTION if stated is None else stated
            count = len(side)
            load = abs(float(wheel_loads[list(side)].sum()))
            spread = share * load * math.sqrt(count / (count - 1))
            root[np.ix_(side, side)] = spread * (np.eye(count) - 1.0 / count)
        return root

    def eccentricity(self, members: list[int]) -> Array:
        """Variance for where the wheel stands on the plate, shape (block, block)."""
        variance = np.zeros((len(members), len(members)))
        if self.loads is None:
            return variance
        for a, row in enumerate(members):
            item = self.observations.items[row]
            variance[a, a] = (item.instrument.eccentricity * item.reading.value) ** 2
        return variance
