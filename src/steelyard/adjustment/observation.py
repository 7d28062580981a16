"""A reading as an equation: ``indication = (1 + span) load + zero``, and what its doubt is made of."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.assumed import laden, repeatability, span_u, unevenness
from steelyard.adjustment.gravity import gravity_factor
from steelyard.adjustment.propagate import combined
from steelyard.adjustment.solve import Blocks, Solution
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import stances_of
from steelyard.adjustment.system.unknowns import Array
from steelyard.model import CountedReading, Draft, Instrument, Vehicle
from steelyard.statics import FRICTION

SHARED_BELOW = 0.3
"""Repeats whose normal scatter is under this share of a division share one rounding error. The correlation of the
rounding errors of two readings with scatter ``s`` falls as ``exp(-(2 pi s / d)^2)``: 3 % at 0.3 d (Widrow and Kollar,
Quantization Noise, 2008; from memory)."""

MOST_LIKELY = 10.0
"""No side of a group carries more than so many times what is likely, for its friction's sake: far from the solution, or
where readings contradict one another, the loads at hand may be anything."""


@dataclass(frozen=True, slots=True)
class Observed:
    """One reading in the system: where it came from, and the index of its stance."""

    draft: Draft
    reading: CountedReading
    instrument: Instrument
    stance: int
    placement: str


class Observations:
    """All readings that count, the largest first: where two explain a misfit equally well, no order of the file
    chooses.
    """

    def __init__(self, rig: Rig) -> None:
        day = rig.day
        stances = stances_of(day)
        self.rig = rig
        self.increments = Increments(rig, list(stances.values()))
        self.items: list[Observed] = []
        for draft in day.drafts:
            if draft.raised:
                continue
            placement = f"named {draft.placement}" if draft.placement is not None else f"draft {draft.number}"
            number = self.increments.layout.number[stances[draft.number]]
            for reading in day.counted(draft):
                self.items.append(Observed(draft, reading, day.instruments[reading.instrument], number, placement))
        self.items.sort(key=_by_content)
        self.values = np.array([item.reading.value for item in self.items])
        self._register()
        self.selection = self._select()
        self._placements: _Placements | None = None

    def _register(self) -> None:
        """Span, set and zero of each instrument in use, as unknowns with a prior."""
        unknowns, site = self.rig.unknowns, self.rig.day.site
        self._factor = np.ones(len(self.items))
        own: list[int | None] = []
        shared: list[tuple[int, int]] = []
        zero: list[int | None] = []
        for row, item in enumerate(self.items):
            instrument = item.instrument
            gravity = gravity_factor(site, instrument)
            known = (1.0 + instrument.span) * (1.0 if gravity is None else gravity[0])
            self._factor[row] = self.rig.level_factor() * known
            u = math.hypot(span_u(instrument, self.rig.day.date), 0.0 if gravity is None else gravity[1])
            own.append(unknowns.known(("span", instrument.id), 0.0, u))
            for kind, name, of_all in instrument.shared:
                at = unknowns.known((kind, name), 0.0, of_all)
                shared += [] if at is None else [(row, at)]
            zero.append(unknowns.known(("zero", instrument.id), 0.0, instrument.zero_uncertainty))
        self._own, self._zero = _rows(own), _rows(zero)
        self._shared = np.array([row for row, _ in shared], dtype=int), np.array([at for _, at in shared], dtype=int)

    def _select(self) -> Array:
        selection = np.zeros((len(self.items), self.increments.layout.outputs))
        for row, item in enumerate(self.items):
            wheels, couplings = (
                self.increments.layout.wheels_out[item.stance],
                self.increments.layout.coupling_out[item.stance],
            )
            for wheel in item.reading.place.wheels:
                selection[row, wheels[wheel.vehicle].start + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
            for trailer in item.reading.place.couplings:
                selection[row, couplings[trailer]] = 1.0
        return selection

    def predict(self, loads: StanceLoads, unknowns: Array) -> tuple[Array, Array]:
        """Expected indications, shape (readings,), and their derivative, shape (readings, unknowns)."""
        span = np.zeros(len(self.items))
        for rows, at in (self._own, self._shared):
            np.add.at(span, rows, unknowns[at])
        gain = self._factor * (1.0 + span)
        load = self.selection @ loads.values
        design = gain[:, None] * combined(self.selection, loads.jacobian)
        for rows, at in (self._own, self._shared):
            design[rows, at] += self._factor[rows] * load[rows]
        shown = gain * load
        rows, at = self._zero
        shown[rows] += unknowns[at]
        design[rows, at] += 1.0
        return shown, design

    def shown(self, loads: Array, unknowns: Array) -> Array:
        """Expected indications [kg] at loads of shape (n, readings) and unknowns of shape (n, unknowns)."""
        span = np.zeros(loads.shape)
        for rows, at in (self._own, self._shared):
            for row, place in zip(rows.tolist(), at.tolist(), strict=True):
                span[:, row] += unknowns[:, place]
        shown = self._factor * (1.0 + span) * loads
        rows, at = self._zero
        shown[:, rows] += unknowns[:, at]
        return shown

    def first_guess(self) -> Array:
        """Starting values, shape (unknowns,): priors, and for each wheel the first reading taken of it alone."""
        guess = self.rig.unknowns.starts()
        seen: set[int] = set()
        for item in self.items:
            if len(item.reading.place.wheels) == 1 and not item.reading.place.couplings:
                wheel = item.reading.place.wheels[0]
                at = self.rig.unknowns.index["wheel", wheel.vehicle, wheel.id]
                if at not in seen:
                    seen.add(at)
                    guess[at] = item.reading.value
        return guess

    def covariance(self, loads: StanceLoads | None, solution: Solution | None = None) -> Covariance:
        """The readings' covariance, placement by placement; without ``loads`` what grows with load is left out.

        ``solution`` tells which of the loads the readings determine; without it all of them count.
        """
        if self._placements is None:
            self._placements = _Placements(self)
        return self._placements.covariance(loads, solution)


def _by_content(item: Observed) -> tuple[float, list[float], int, list[tuple[int, str]]]:
    """Sort key of the readings: their values and those beside them; where all of that is alike, draft and
    axle.
    """
    beside = sorted(reading.value for reading in item.draft.readings)
    wheels = [(wheel.axle, wheel.side) for wheel in item.reading.place.wheels]
    return -item.reading.value, beside, item.draft.number, wheels


def _rows(indices: list[int | None]) -> tuple[NDArray[np.int_], NDArray[np.int_]]:
    pairs = [(row, at) for row, at in enumerate(indices) if at is not None]
    return np.array([row for row, _ in pairs], dtype=int), np.array([at for _, at in pairs], dtype=int)


@dataclass(frozen=True)
class Covariance:
    """Blocks of the readings' covariance; ``dof`` holds the prior degrees of freedom of each component's factor."""

    blocks: Blocks
    dof: Array
    names: tuple[str, ...]


class _Placements:
    """The parts of the covariance that hold whatever the loads are, made once; friction is added at the loads' size."""

    def __init__(self, observations: Observations) -> None:
        self._items = observations.items
        members: dict[str, list[int]] = {}
        for row, item in enumerate(self._items):
            members.setdefault(item.placement, []).append(row)
        influence = _Influence(observations)
        self._responses = [influence.of(rows) for rows in members.values()]
        self._rows = [np.array(rows) for rows in members.values()]
        u_support, support_dof = unevenness(observations.rig.day.site)
        kinds = [repeatability(item.instrument) for item in self._items]
        groups = list(dict.fromkeys(dof for _, dof in kinds))
        rounding = [_rounding(self._items, rows, kinds) for rows in members.values()]
        parts: list[list[Array]] = [[u_support**2 * part.heights @ part.heights.T for part in self._responses]]
        for dof in groups:
            squares = np.array([u**2 if of == dof else 0.0 for u, of in kinds])
            parts.append([np.diag(squares[rows]) for rows in self._rows])
        self._eccentricity = [_eccentricity([self._items[row] for row in rows]) for rows in self._rows]
        self._dof = np.array([support_dof, *groups])
        self._names = ("placement", *(f"repeatability ({dof:g} degrees of freedom)" for dof in groups))
        self._blocks = Blocks(self._rows, rounding, parts)

    def covariance(self, loads: StanceLoads | None, solution: Solution | None) -> Covariance:
        if loads is None:
            return Covariance(self._blocks, self._dof, self._names)
        grown = [
            response.friction(loads, solution) + on_plate
            for response, on_plate in zip(self._responses, self._eccentricity, strict=True)
        ]
        return Covariance(self._blocks.plus(grown), self._dof, self._names)


def _eccentricity(items: list[Observed]) -> Array:
    """Variance for where the wheel stands on the plate, shape (block, block)."""
    return np.diag([(item.instrument.eccentricity * item.reading.value) ** 2 for item in items])


def _rounding(items: list[Observed], members: list[int], kinds: list[tuple[float, float]]) -> Array:
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


@dataclass(frozen=True)
class _Side:
    """One side of an equalised group: where its wheel loads stand, and the covariance that friction brings to the
    readings for each square kilogram of their sum, shape (block, block).

    ``group``: where those of both sides stand; this one carries half where only their sum is known.

    ``likely``: the sum to go by [kg] where the readings do not determine it, for what the solution says is arbitrary
    then. ``read``: whether any reading of the day has any of these wheels.
    """

    out: NDArray[np.int_]
    group: NDArray[np.int_]
    covariance: Array
    likely: float
    read: bool

    def load(self, loads: StanceLoads, solution: Solution | None) -> float:
        """The sum of the side's wheel loads [kg]; never more than ``MOST_LIKELY`` times what is likely."""
        if not self.read:
            return self.likely
        told = float(loads.values[self.out].sum())
        if solution is not None:
            own, both = (loads.jacobian[at].sum(axis=0) for at in (self.out, self.group))
            known, known_together = solution.determined(np.array([own, both]))
            if not known:
                told = float(loads.values[self.group].sum()) / 2.0 if known_together else self.likely
        return min(max(told, 0.0), MOST_LIKELY * self.likely)


@dataclass(frozen=True)
class _Response:
    """How one placement's readings answer to what is under its wheels.

    Attributes
    ----------
    heights: to unit heights [kg/m], shape (block, wheels).
    sides: each side of each equalised group whose friction these readings feel.
    """

    heights: Array
    sides: tuple[_Side, ...]

    def friction(self, loads: StanceLoads, solution: Solution | None) -> Array:
        """Covariance that friction brings to the readings, shape (block, block)."""
        count = len(self.heights)
        covariance = np.zeros((count, count))
        for side in self.sides:
            covariance += side.load(loads, solution) ** 2 * side.covariance
        return covariance


class _Influence:
    """How support heights and friction of one placement reach its readings, through the operator at prior stiffness."""

    def __init__(self, observations: Observations) -> None:
        self.observations = observations
        self._read = {(wheel.vehicle, wheel.id) for item in observations.items for wheel in item.reading.place.wheels}
        self._single: dict[tuple[str, str], list[float]] = {}
        for item in observations.items:
            if len(item.reading.place.wheels) == 1 and not item.reading.place.couplings:
                wheel = item.reading.place.wheels[0]
                self._single.setdefault((wheel.vehicle, wheel.id), []).append(item.reading.value)
        self._cache: dict[int, tuple[Array, Array, Array, Array]] = {}

    def _operator(self, state: str) -> tuple[Array, Array, Array, Array]:
        operator = self.observations.rig.operators[state]
        if id(operator) not in self._cache:  # states that stand alike share their operator
            self._cache[id(operator)] = (*operator.support_influence(), *operator.release())
        return self._cache[id(operator)]

    def of(self, members: list[int]) -> _Response:
        """The response of the readings ``members`` of one placement."""
        observations = self.observations
        items = [observations.items[row] for row in members]
        start: dict[str, int] = {}
        count = 0
        for name in dict.fromkeys(
            name for item in items for name in observations.rig.operators[item.draft.state].bodies
        ):
            start[name] = count
            count += observations.rig.layouts[name].wheels
        heights, release = np.zeros((len(items), count)), np.zeros((len(items), count))
        for state in dict.fromkeys(item.draft.state for item in items):
            rows = [row for row, item in enumerate(items) if item.draft.state == state]
            operator = observations.rig.operators[state]
            columns = [
                start[name] + wheel for name, body in operator.bodies.items() for wheel in range(body.layout.wheels)
            ]
            by_height, by_release = self._answers(state, [items[row] for row in rows])
            heights[np.ix_(rows, columns)] = by_height
            release[np.ix_(rows, columns)] = by_release
        return _Response(heights, tuple(self._sides(items, start, release)))

    def _answers(self, state: str, items: list[Observed]) -> tuple[Array, Array]:
        """Response of the readings of one state to heights and to friction, both of shape (readings, wheels)."""
        operator = self.observations.rig.operators[state]
        trailers = {joint.trailer: place for place, joint in enumerate(operator.joints)}
        wheels, ends = np.zeros((len(items), operator.wheel_count)), np.zeros((len(items), len(trailers)))
        first = {name: operator.wheel_slice(name).start for name in operator.bodies}
        for row, item in enumerate(items):
            for wheel in item.reading.place.wheels:
                wheels[row, first[wheel.vehicle] + 2 * (wheel.axle - 1) + (wheel.side == "R")] = 1.0
            for trailer in item.reading.place.couplings:
                ends[row, trailers[trailer]] = 1.0
        by_height, coupling_height, by_release, coupling_release = self._operator(state)
        return wheels @ by_height + ends @ coupling_height, wheels @ by_release + ends @ coupling_release

    def _sides(self, items: list[Observed], start: dict[str, int], release: Array) -> Iterator[_Side]:
        """Sides of equalised groups that any of these readings feels; drafts of one placement share their friction.

        Each wheel of a side departs from its share by a standard uncertainty of ``friction`` times the side's load;
        the departures of a side add up to nothing.
        """
        stance = items[0].stance
        layout_of, rig = self.observations.increments.layout, self.observations.rig
        for name, first in start.items():
            layout = rig.layouts[name]
            holder = stance if name in layout_of.wheels_out[stance] else _stance_with(items, layout_of, name)
            for side in layout.equalised_sides():
                stated = [layout.vehicle.axles[wheel // 2].friction for wheel in side]
                share = next((friction for friction in stated if friction is not None), FRICTION)
                answer = release[:, [first + wheel for wheel in side]]
                if share > 0.0 and np.abs(answer).max() > 1e-12:
                    out = layout_of.wheels_out[holder][name].start
                    centred = answer - answer.mean(axis=1, keepdims=True)
                    spread = share**2 * len(side) / (len(side) - 1)
                    wheels = np.array([out + wheel for wheel in side])
                    likely, read = self._likely(name, layout.vehicle, side)
                    both = out + np.array([2 * (wheel // 2) + end for wheel in side for end in (0, 1)])
                    yield _Side(wheels, both, spread * (centred @ centred.T), likely, read)

    def _likely(self, name: str, vehicle: Vehicle, side: Sequence[int]) -> tuple[float, bool]:
        """The load to assume on a side [kg], and whether any reading has a wheel of it.

        Readings of single wheels tell, or round figures.
        """
        wheels = [(name, vehicle.wheels[wheel]) for wheel in side]
        told = [value for wheel in wheels for value in self._single.get(wheel, ())]
        if told and max(told) > 0.0:
            return len(side) * sum(told) / len(told), True
        read = any(wheel in self._read for wheel in wheels)
        return sum(laden(vehicle.axles[wheel // 2]) / 2.0 for wheel in side), read


def _stance_with(items: list[Observed], layout: Layout, vehicle: str) -> int:
    return next(item.stance for item in items if vehicle in layout.wheels_out[item.stance])
