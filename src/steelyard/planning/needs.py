"""Which drafts would tell what the readings so far cannot.

The reading of a place adds one row to the equations whatever it will show, so whether it would tell is known before it
is taken: a quantity is determined once its open part lies in the span of the new rows' open parts. The unit of the
search is what is put under at once: a pair of pads under an axle, a platform, an instrument under a coupling point.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment
from steelyard.classes import dataclass
from steelyard.model import InstrumentKind, State

Array = NDArray[np.float64]

EXHAUSTIVE = 1500
"""Up to this many sets of one size are all tried; above, the best is built up station by station, then thinned."""

KEPT = 256
"""Spans of sets of stations that are kept at a time, beside those of all sets of one size."""

TELLS = 1e-6
"""A quantity whose open part lies outside the span of the rows by less than this is determined by them."""


@dataclass(frozen=True, slots=True)
class Need:
    """One draft to take: the state, and the places to be read in it at the same time."""

    state: str
    places: tuple[str, ...]


@dataclass(frozen=True)
class _Station:
    """Instruments put under one axle or coupling point in one state, and the open part of what they would read."""

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
        self._order = {name: place for place, name in enumerate(self._day.states)}
        found = self._all_stations() if adjustment.solution.null.shape[1] else ()
        self._stations = [station for station in found if np.abs(station.rows).max(initial=0.0) > TELLS]
        self._ranked: dict[str, tuple[list[_Station], _Spans]] = {}
        self._cache: dict[tuple[str, tuple[float, ...]], tuple[Need, ...]] = {}

    # -- where instruments can stand --------------------------------------------------------------------------------

    def _open(self, gradients: Array) -> Array:
        """The part of some derivatives that the readings leave open, shape (n, open directions)."""
        solution = self._adjustment.solution
        return (gradients[:, solution.free] / solution.scale) @ solution.null

    def _all_stations(self) -> Iterator[_Station]:
        away = self._day.put_away()
        for state in self._day.states.values():
            if state.id not in self._adjustment.tipped and state.id not in away:
                yield from self._stations_in(state)

    def _stations_in(self, state: State) -> Iterator[_Station]:
        adjustment = self._adjustment
        index = adjustment.layout.level[state.id]
        for name in state.vehicles:
            first = adjustment.layout.wheels_out[index][name].start
            for axle in range(len(self._day.vehicles[name].axles)):
                rows = self._open(adjustment.loads.jacobian[first + 2 * axle : first + 2 * axle + 2])
                yield from self._under_axle(state.id, f"{name}/{axle + 1}", rows)
            out = adjustment.layout.coupling_out[index].get(name)
            if out is not None and state.link_of_trailer(name) is None:
                row = self._open(adjustment.loads.jacobian[out : out + 1])
                if self._platforms:
                    yield _Station(state.id, (f"{name}/coupling",), 0, 1, row)
                elif self._pads:
                    yield _Station(state.id, (f"{name}/coupling",), 1, 0, row)

    def _under_axle(self, state: str, place: str, rows: Array) -> Iterator[_Station]:
        if self._pads >= 2:
            yield _Station(state, (f"{place}L", f"{place}R"), 2, 0, rows)
        elif self._platforms:
            yield _Station(state, (place,), 0, 1, rows.sum(axis=0, keepdims=True))
        elif self._pads:
            for side, end in enumerate("LR"):
                yield _Station(state, (f"{place}{end}",), 1, 0, rows[side : side + 1])

    # -- the search -------------------------------------------------------------------------------------------------

    def of(self, gradients: Iterable[Array], prefer: str) -> tuple[Need, ...]:
        """The smallest set of drafts that would determine a quantity.

        Parameters
        ----------
        gradients: the derivatives by the unknowns, shape (unknowns,), of all that the quantity is made of.
        prefer: the state to weigh in where it is a tie.

        Returns
        -------
        The drafts; empty where no draft in the day's states with the day's instruments would tell.
        """
        targets = self._open(np.array(list(gradients)))
        sizes = np.linalg.norm(targets, axis=1)
        targets = targets[sizes > 0.0] / sizes[sizes > 0.0, None]
        if not len(targets) or not self._stations:
            return ()
        key = (prefer, tuple(round(float(part), 6) for part in targets.ravel()))
        if key not in self._cache:
            self._cache[key] = self._search(targets, prefer)
        return self._cache[key]

    def _useful(self, prefer: str) -> tuple[list[_Station], _Spans]:
        """Stations in order of preference, each sort of row once, and the spans of sets of them."""
        if prefer not in self._ranked:
            ranked = sorted(
                self._stations,
                key=lambda one: (one.state != prefer, one.state not in self._measured, self._order[one.state]),
            )
            seen: set[tuple[int, int, bytes]] = set()
            kept: list[_Station] = []
            for station in ranked:
                mark = (station.pads, station.platforms, np.round(station.rows, 7).tobytes())
                if mark not in seen:
                    seen.add(mark)
                    kept.append(station)
            rows = np.zeros((len(kept), 2, kept[0].rows.shape[1]))
            for place, station in enumerate(kept):
                rows[place, : len(station.rows)] = station.rows
            self._ranked[prefer] = (kept, _Spans(rows))
        return self._ranked[prefer]

    def _search(self, targets: Array, prefer: str) -> tuple[Need, ...]:
        useful, spans = self._useful(prefer)
        if not spans.tells(tuple(range(len(useful))), targets):
            return ()
        upper = _thinned(_built_up(spans, targets), spans, targets)
        for count in range(1, len(upper)):
            if comb(len(useful), count) > EXHAUSTIVE:
                break
            sets = list(combinations(range(len(useful)), count))
            telling = _left(spans.of_size(count), targets) < TELLS
            chosen = [[useful[at] for at in stations] for stations, tells in zip(sets, telling, strict=True) if tells]
            if chosen:
                return self._drafts(min(chosen, key=lambda one: self._effort(one, prefer)))
        return self._drafts([useful[at] for at in sorted(upper)])

    def _effort(self, chosen: Sequence[_Station], prefer: str) -> tuple[int, int, int, int]:
        """Cost of a set of stations: drafts, readings, states not weighed so far, states not preferred."""
        states = {station.state for station in chosen}
        readings = sum(len(station.places) for station in chosen)
        return len(self._drafts(chosen)), readings, len(states - self._measured), len(states - {prefer})

    def _drafts(self, chosen: Sequence[_Station]) -> tuple[Need, ...]:
        """Stations put into drafts, as many at a time as there are instruments for."""
        drafts: list[Need] = []
        for state in sorted({station.state for station in chosen}, key=lambda name: self._order[name]):
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


class _Spans:
    """The spans of sets of stations, kept because one quantity after the other asks for the same sets.

    ``rows`` are those of each station, padded, shape (stations, rows, open).
    """

    def __init__(self, rows: Array) -> None:
        self._rows = rows
        self._sizes: dict[int, Array] = {}
        self._sets: dict[tuple[int, ...], Array] = {}

    def _bases(self, sets: Sequence[Sequence[int]]) -> Array:
        rows = self._rows[np.array(sets)]
        return _basis(rows.reshape(len(sets), -1, rows.shape[3]))

    def _kept(self, key: tuple[int, ...], sets: Sequence[Sequence[int]]) -> Array:
        if key not in self._sets:
            if len(self._sets) >= KEPT:
                self._sets.clear()
            self._sets[key] = self._bases(sets)
        return self._sets[key]

    def of_size(self, count: int) -> Array:
        """A basis of the span of each set of so many stations, shape (sets, basis, open)."""
        if count not in self._sizes:
            self._sizes[count] = self._bases(list(combinations(range(len(self._rows)), count)))
        return self._sizes[count]

    def with_one_more(self, chosen: Sequence[int]) -> tuple[list[int], Array]:
        """Every other station, and a basis of what it and the chosen ones span."""
        rest = [at for at in range(len(self._rows)) if at not in chosen]
        return rest, self._kept((*chosen, -1), [[*chosen, at] for at in rest]) if chosen else self.of_size(1)

    def tells(self, stations: tuple[int, ...], targets: Array) -> bool:
        """Whether some stations determine all targets, shape (targets, open)."""
        return bool(_left(self._kept(stations, [stations]), targets)[0] < TELLS)


def _basis(rows: Array) -> Array:
    """An orthonormal basis of the span of each set of rows, shape (sets, rows, n); padded with nothing."""
    _, sizes, directions = np.linalg.svd(rows, full_matrices=False)
    spanned = sizes > 1e-8 * sizes.max(axis=1, keepdims=True)
    return directions * spanned[:, :, None]


def _left(bases: Array, targets: Array) -> Array:
    """How much of the targets, shape (targets, n), lies outside each span, the worst of them; shape (sets,).

    ``bases`` has shape (sets, basis, n).
    """
    rest = targets - (targets @ bases.transpose(0, 2, 1)) @ bases
    return np.sqrt((rest * rest).sum(axis=2)).max(axis=1)


def _built_up(spans: _Spans, targets: Array) -> list[int]:
    """Stations added one by one, each time the one that leaves least open."""
    chosen: list[int] = []
    while True:
        rest, bases = spans.with_one_more(chosen)
        left = _left(bases, targets)
        best = int(np.argmin(np.round(left, 9)))
        chosen.append(rest[best])
        if left[best] < TELLS:
            return chosen


def _thinned(chosen: list[int], spans: _Spans, targets: Array) -> list[int]:
    """Without the stations that turned out to be needless."""
    for station in list(chosen):
        without = [at for at in chosen if at != station]
        if without and spans.tells(tuple(without), targets):
            chosen = without
    return chosen
