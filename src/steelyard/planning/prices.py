"""Lower bounds on what placements cost: what has to be paid once at least, in any order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.planning.handling import Deed, Handling
from steelyard.planning.offers import Placing
from steelyard.planning.problem import Array, Prices

MOST_STATES = 8
"""The least cost of coming into every state of a set is reckoned where a day has no more states than this."""


def prices_of(handling: Handling) -> Prices:
    """Cost of the offered placements one after the other, from where the last draft of the day left rig and pads."""
    placings, costs = handling.placings, handling.costs
    states = _States(handling)
    stations = list(dict.fromkeys(station for placing in placings for station in sorted(_stations(placing))))
    left = {_station(fact.value) for fact in handling.standing(handling.began, Deed.PAD)}
    brought = costs.carry * np.array([_brought(placings, station, left) for station in stations])
    price = np.concatenate([states.entries, brought])
    extra = np.concatenate([states.detours, brought])
    marks = [(frozenset(offer.state for offer in placing), _stations(placing)) for placing in placings]
    kinds = {mark: at for at, mark in enumerate(dict.fromkeys(marks))}
    features = tuple(
        frozenset([*map(states.names.index, chain), *(len(states.names) + stations.index(station) for station in of)])
        for chain, of in kinds
    )
    spared = float(states.entries.max()) if states.began is None and len(states.names) else 0.0
    of_kind = np.array([kinds[mark] for mark in marks], dtype=int)
    leading = len(states.names)
    return Prices(handling, costs.move, of_kind, features, price, spared, extra, leading, states.rounds)


def _stations(placing: Placing) -> frozenset[str]:
    return frozenset(station for offer in placing for station in offer.stations)


def _station(place: str) -> str:
    return place if place.endswith("/coupling") else place.rstrip("LR")


def _brought(placings: Sequence[Placing], station: str, left: set[str]) -> float:
    """How many instruments are brought under a station at least: none where the last draft left one there."""
    if station in left:
        return 0.0
    placed = ({item for offer in placing for item in offer.placements} for placing in placings)
    counts = [sum(_station(place) == station for place, _ in items) for items in placed]
    return float(min(count for count in counts if count))


class _States:
    """Least cost of coming into states, whatever else was known when they were entered.

    Attributes
    ----------
    names: of the states. began: the one that the rig is in, None where nothing was weighed.
    change: what it costs at least to come from one into another, shape (states, states).
    entries: the least price of coming into each from another, shape (states,).
    detours: what each adds at least to a sequence that is without it, shape (states,).
    rounds: the least that coming into all states of each set costs, by its bits, shape (2 ** states,).
    """

    def __init__(self, handling: Handling) -> None:
        self.names = handling.states
        self.began = handling.began_in
        differ = _differences(handling)
        found = differ
        for through in range(len(self.names)):  # no change costs more than the same by way of a third state
            found = np.minimum(found, found[:, [through]] + found[[through], :])
        self.change = found
        self.entries = self._entries()
        self.detours = self._detours(handling)
        self.rounds = self._rounds()

    def _entries(self) -> Array:
        count = len(self.names)
        apart = self.change + np.where(np.eye(count, dtype=bool), np.inf, 0.0)
        least = apart.min(axis=0) if count > 1 else np.zeros(count)
        return np.array([0.0 if name == self.began else float(least[at]) for at, name in enumerate(self.names)])

    def _detours(self, handling: Handling) -> Array:
        """Between two others, or at an end; only of what all three say something about.

        What one of the neighbours says nothing about is never made dearer by leaving the state out, for each thing
        alone obeys the triangle inequality.
        """
        values, weights = _values(handling)
        count = len(self.names)
        found = self.entries.copy()
        for at in range(count):
            rest = [other for other in range(count) if other != at]
            if not rest:
                continue
            one, other = values[rest][:, None, :], values[rest][None, :, :]
            here = values[at][None, None, :]
            told = (one >= 0) & (other >= 0) & (here >= 0)
            saved = (one != here).astype(float) + (here != other) - (one != other)
            inside = (saved * told * weights).sum(axis=2)
            ends = ((one[:, 0] != here[:, 0]) & (one[:, 0] >= 0) & (here[:, 0] >= 0)) @ weights
            found[at] = min(found[at], max(float(inside.min()), 0.0), float(ends.min()))
        return found

    def _rounds(self) -> Array:
        """By the last state (Held and Karp, A dynamic programming approach to sequencing problems, 1962)."""
        count = len(self.names)
        if count > MOST_STATES:
            return np.zeros(0)
        ends = np.full((1 << count, count), np.inf)
        for at in range(count):
            ends[1 << at, at] = 0.0 if self.began is None else self.change[self.names.index(self.began), at]
        for mask in range(1, 1 << count):
            for at in range(count):
                if mask >> at & 1 and mask != 1 << at:
                    ends[mask, at] = (ends[mask ^ (1 << at)] + self.change[:, at]).min()
        found = ends.min(axis=1)
        found[0] = 0.0
        return found


def _values(handling: Handling) -> tuple[NDArray[np.int_], Array]:
    """How each state wants each thing, -1 where it says nothing about it, shape (states, things), and what it costs."""
    weight = {Deed.COUPLE: handling.costs.hitch, Deed.BARS: handling.costs.bars, Deed.CARGO: handling.costs.load}
    wanted = [handling.wanted(name) for name in handling.states]
    things = list(dict.fromkeys((fact.deed, fact.about) for facts in wanted for fact in facts))
    known: dict[tuple[object, ...], int] = {}
    values = np.full((len(wanted), len(things)), -1, dtype=int)
    for row, facts in enumerate(wanted):
        for fact in facts:
            column = things.index((fact.deed, fact.about))
            values[row, column] = known.setdefault((column, fact.value), len(known))
    return values, np.array([weight[deed] for deed, _ in things], dtype=np.float64)


def _differences(handling: Handling) -> Array:
    """Certain differences between two states: what both say something about, shape (states, states)."""
    values, weights = _values(handling)
    one, other = values[:, None, :], values[None, :, :]
    return np.asarray((((one != other) & (one >= 0) & (other >= 0)) * weights).sum(axis=2), dtype=np.float64)
