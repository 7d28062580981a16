"""Which drafts would tell what the readings so far cannot.

The reading of a place adds one row to the equations whatever it will show, so whether it would tell is known before it
is taken: a quantity is determined once its open part lies in the span of the new rows' open parts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment
from steelyard.model import InstrumentKind, State

Array = NDArray[np.float64]

EXHAUSTIVE = 4000
"""Up to this many sets of stations are tried one by one; above, the best is built up station by station."""

TELLS = 1e-6


@dataclass(frozen=True, slots=True)
class Need:
    """One draft to take: the state, and the places to be read in it at the same time."""

    state: str
    places: tuple[str, ...]


@dataclass(frozen=True)
class _Station:
    """Instruments put together under one axle or coupling in one state, and the open part of what they would read."""

    state: str
    places: tuple[str, ...]
    pads: int
    platforms: int
    rows: Array


class Needs:
    """Finds the smallest set of drafts for quantities that the readings of an adjusted day leave open."""

    def __init__(self, adjustment: Adjustment) -> None:
        self._adjustment = adjustment
        self._day = adjustment.rig.day
        kinds = [instrument.kind for instrument in self._day.instruments.values()]
        self._pads = kinds.count(InstrumentKind.PAD)
        self._platforms = kinds.count(InstrumentKind.PLATFORM)
        self._measured = self._day.measured_states()
        self._stations = list(self._all_stations())
        self._cache: dict[tuple[str, tuple[float, ...]], tuple[Need, ...]] = {}

    def _open(self, gradients: Array) -> Array:
        """The part of some derivatives that the readings leave open, shape (n, open directions)."""
        solution = self._adjustment.solution
        return (gradients[:, solution.free] / solution.scale) @ solution.null

    def _all_stations(self) -> Iterator[_Station]:
        for state in self._day.states.values():
            if state.id not in self._adjustment.tipped:
                yield from self._stations_in(state)

    def _stations_in(self, state: State) -> Iterator[_Station]:
        adjustment = self._adjustment
        index = adjustment.layout.level[state.id]
        jacobian = adjustment.loads.jacobian
        for name in state.vehicles:
            first = adjustment.layout.wheels_out[index][name].start
            for axle in range(len(self._day.vehicles[name].axles)):
                pair = jacobian[first + 2 * axle : first + 2 * axle + 2]
                place = f"{name}/{axle + 1}"
                if self._pads >= 2:
                    yield _Station(state.id, (f"{place}L", f"{place}R"), 2, 0, self._open(pair))
                elif self._platforms:
                    yield _Station(state.id, (place,), 0, 1, self._open(pair.sum(axis=0, keepdims=True)))
                elif self._pads:
                    for side, end in enumerate("LR"):
                        yield _Station(state.id, (f"{place}{end}",), 1, 0, self._open(pair[side : side + 1]))
            if state.link_of_trailer(name) is None and self._platforms:
                out = adjustment.layout.coupling_out[index].get(name)
                if out is not None:
                    rows = self._open(jacobian[out : out + 1])
                    yield _Station(state.id, (f"{name}/coupling",), 0, 1, rows)

    def of(self, gradient: Array, prefer: str) -> tuple[Need, ...]:
        """The smallest set of drafts that would determine a quantity.

        Parameters
        ----------
        gradient: its derivative by the unknowns, shape (unknowns,). prefer: the state to weigh in where it is a tie.

        Returns
        -------
        The drafts; empty where no draft in the day's states with the day's instruments would tell.
        """
        target = self._open(gradient[None, :])[0]
        size = float(np.linalg.norm(target))
        if size == 0.0 or not self._stations:
            return ()
        target = target / size
        key = (prefer, tuple(round(float(part), 6) for part in target))
        if key not in self._cache:
            self._cache[key] = self._search(target, prefer)
        return self._cache[key]

    def _search(self, target: Array, prefer: str) -> tuple[Need, ...]:
        useful = [station for station in self._stations if np.abs(station.rows).max(initial=0.0) > TELLS]
        useful.sort(key=lambda station: (station.state != prefer, station.state not in self._measured))
        for count in range(1, len(useful) + 1):
            if comb(len(useful), count) > EXHAUSTIVE:
                return self._drafts(_build_up(useful, target))
            telling = [chosen for chosen in combinations(useful, count) if _tells(chosen, target)]
            if telling:
                return self._drafts(min(telling, key=lambda chosen: self._effort(chosen, prefer)))
        return ()

    def _effort(self, chosen: Sequence[_Station], prefer: str) -> tuple[int, int, int, int]:
        """What a set of stations costs: drafts, readings, states not weighed so far, states not preferred."""
        states = {station.state for station in chosen}
        readings = sum(len(station.places) for station in chosen)
        return len(self._drafts(chosen)), readings, len(states - self._measured), len(states - {prefer})

    def _drafts(self, chosen: Sequence[_Station]) -> tuple[Need, ...]:
        """Stations put into drafts, as many at a time as there are instruments for."""
        drafts: list[Need] = []
        order = {name: place for place, name in enumerate(self._day.states)}
        for state in sorted({station.state for station in chosen}, key=lambda name: order[name]):
            places: list[str] = []
            pads = platforms = 0
            for station in chosen:
                if station.state != state:
                    continue
                if pads + station.pads > self._pads or platforms + station.platforms > self._platforms:
                    drafts.append(Need(state, tuple(places)))
                    places, pads, platforms = [], 0, 0
                places.extend(station.places)
                pads += station.pads
                platforms += station.platforms
            drafts.append(Need(state, tuple(places)))
        return tuple(drafts)


def _left(rows: Array, target: Array) -> float:
    """How much of ``target``, shape (n,), lies outside the span of ``rows``."""
    fit = np.linalg.lstsq(rows.T, target, rcond=1e-8)[0]
    return float(np.linalg.norm(target - rows.T @ fit))


def _tells(chosen: Sequence[_Station], target: Array) -> bool:
    return _left(np.vstack([station.rows for station in chosen]), target) < TELLS


def _build_up(useful: list[_Station], target: Array) -> list[_Station]:
    """Stations added by what they tell most, then those that turned out to be needless dropped."""
    chosen: list[_Station] = []
    while not chosen or not _tells(chosen, target):
        rest = [station for station in useful if not any(station is other for other in chosen)]
        if not rest:
            return []
        chosen.append(min(rest, key=lambda station: _left(np.vstack([s.rows for s in [*chosen, station]]), target)))
    for station in list(chosen):
        without = [other for other in chosen if other is not station]
        if without and _tells(without, target):
            chosen = without
    return chosen
