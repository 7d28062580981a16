"""The drafts to take: which, in what order, at what cost, and what they leave in doubt."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise, permutations
from typing import TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, expected_loads, knowledge_of
from steelyard.model import Draft, Instrument, WeighDay, WheelRef
from steelyard.planning.doubt import Doubt
from steelyard.planning.kit import Costs, Kit, change_costs
from steelyard.planning.offers import Offers, Placing, drafts_of, loads_at_places
from steelyard.planning.problem import Array, Plan, Prices, Problem
from steelyard.planning.search import Outcome, Progress, Status, cheapest

_Item = TypeVar("_Item", bound=Hashable)

NORMAL = 1.959963984540054
"""The 97.5 % quantile of the normal distribution: no coverage factor of an interval is smaller."""

WITHOUT_END = 1.0e5
"""Drafts of every kind that stand for as many as anyone could take."""

_KINDS = {
    "span": "the span of the instruments",
    "set": "the span of the instruments",
    "zero": "the zero of the instruments",
    "x": "taped lengths",
    "track": "taped lengths",
    "coupling_x": "taped lengths",
    "ride": "the stiffness of the springs",
    "roll": "the stiffness of the springs",
    "tie": "the stiffness of the springs",
    "latched": "the roll couple latched into the fifth wheel",
    "rise": "how far the coupling point rises when it is hitched",
    "couple": "the stated weight-distributing couple",
    "slope_long": "the slope of the ground",
    "slope_lat": "the slope of the ground",
    "cg_height": "the height of the centre of gravity",
    "pad_height": "the height of the pads",
    "sink": "how far the pads sink",
    "cargo": "what is stated of the cargo",
}


@dataclass(frozen=True)
class Question:
    """What is wanted, of what: derivatives by the unknowns of the base, and how far each interval may reach.

    Attributes
    ----------
    gradients: shape (wanted, unknowns). bounds: half-widths at 95 % in SI units, infinite where it shall only be
    determined, shape (wanted,).
    """

    gradients: Array
    bounds: Array


class Planner:
    """Plans drafts for one day, set of instruments and question.

    Parameters
    ----------
    base: the day before its readings, at the loads in ``expected``. states: where drafts may be taken; none: anywhere.
    """

    def __init__(
        self,
        base: Adjustment,
        expected: dict[Hashable, float],
        kit: Kit,
        costs: Costs,
        question: Question,
        states: Sequence[str] = (),
    ) -> None:
        self.base, self.kit, self.costs, self.question = base, kit, costs, question
        self.day = base.rig.day
        places = loads_at_places(base, expected_loads(base, expected))
        self.on_offer = Offers(self.day, kit, places)
        barred = [name for name in self.day.states if states and name not in states]
        self.placings = self.on_offer.all((*base.tipped, *barred))
        self._knowledge = knowledge_of(base, self._drafts(places.loads), expected)
        at = {key: place for place, key in enumerate(self._knowledge.keys)}
        gradients = np.zeros((len(question.gradients), len(at)))
        for key, place in base.rig.unknowns.index.items():
            gradients[:, at[key]] = question.gradients[:, place]
        self.doubt = Doubt(self._knowledge, gradients)

    def _drafts(self, loads: dict[tuple[str, str], float]) -> list[tuple[Draft, ...]]:
        return [drafts_of(self.day, placing, lambda state, place: loads[state, place]) for placing in self.placings]

    @cached_property
    def limits(self) -> Array:
        """Upper bounds on the variances that meet the question, shape (wanted,)."""
        wide = np.where(self.doubt.open_limits > 0.0, self.doubt.open_limits, np.inf)
        return np.minimum((self.question.bounds / NORMAL) ** 2, wide)

    @cached_property
    def problem(self) -> Problem:
        """The same question without vehicles."""
        prices = prices_of(self.day, self.placings, self.costs)
        finite = np.isfinite(self.limits)
        bounds = self.question.bounds * (1.0 + 1e-9)

        def accepts(plan: Plan) -> bool:
            half = self.doubt.half_widths(plan)
            return bool((np.isfinite(half) & (half <= bounds)).all())

        wanted, limits = self.doubt.wanted[finite], self.limits[finite]
        return Problem(self.doubt.rows, self.doubt.known, wanted, limits, prices, accepts, self._mirrors())

    def _mirrors(self) -> tuple[NDArray[np.int_], ...]:
        """Exchanges of pairs of equal pads that no reading tells apart so far."""
        read = {reading.instrument for draft in self.day.drafts for reading in draft.readings}
        pairs = self.kit.pairs
        if self.kit.single or len(pairs) < 2 or read & set(self.kit.pads):
            return ()
        if len({_like(self.day.instruments[name]) for name in self.kit.pads}) > 1:
            return ()
        number = {(_states(placing), _placements(placing)): at for at, placing in enumerate(self.placings)}
        found: list[NDArray[np.int_]] = []
        for order in permutations(pairs):
            if order == pairs:
                continue
            other = {old: new for one, two in zip(pairs, order, strict=True) for old, new in zip(one, two, strict=True)}
            images = [
                number.get(
                    (
                        _states(placing),
                        frozenset((place, other.get(name, name)) for place, name in _placements(placing)),
                    )
                )
                for placing in self.placings
            ]
            if all(image is not None for image in images):
                found.append(np.array(images, dtype=int))
        return tuple(found)

    def solve(self, *, seconds: float, told: Callable[[Progress], None] | None = None) -> Outcome:
        """The cheapest drafts, in order.

        ``told`` hears of progress; an interruption ends the search with the best so far.
        """
        if not self.placings or not self.possible():
            half = self.doubt.half_widths(())
            sufficient = bool((np.isfinite(half) & (half <= self.question.bounds)).all())
            status = Status.OPTIMAL if sufficient else Status.IMPOSSIBLE
            return Outcome(status, (), 0.0 if sufficient else float("inf"), 0.0)
        return cheapest(self.problem, seconds=seconds, told=told)

    # -- what is possible at all ------------------------------------------------------------------------------------

    @cached_property
    def _all_told(self) -> Array:
        return self.doubt.known + WITHOUT_END * self.doubt.told.sum(axis=0)

    @cached_property
    def best_possible(self) -> Array:
        """Half-widths that no number of drafts would narrow, shape (wanted,); infinite where not determined."""
        variance = self._variances(self._all_told)
        untold = (self.doubt.open_limits > 0.0) & (variance > self.doubt.open_limits)
        return np.where(untold, np.inf, NORMAL * np.sqrt(variance))

    def _variances(self, information: Array) -> Array:
        solved = np.linalg.solve(information, self.doubt.wanted.T)
        return np.maximum((self.doubt.wanted.T * solved).sum(axis=0), 0.0)

    def possible(self) -> bool:
        """Whether enough drafts would meet the question."""
        return bool((self.best_possible <= self.question.bounds).all() and np.isfinite(self.best_possible).all())

    def limited_by(self, wish: int) -> list[tuple[str, float]]:
        """What keeps a quantity in doubt however many drafts are taken, as shares of its variance, largest first."""
        whole = float(self._variances(self._all_told)[wish])
        if whole <= 0.0:
            return []
        found: dict[str, float] = {}
        for name in dict.fromkeys(_KINDS.values()):
            own = [at for at, key in enumerate(self._knowledge.keys) if self._is(key, at, name)]
            if own:
                sharp = self._all_told.copy()
                sharp[own, own] += 1e12
                found[name] = 1.0 - float(self._variances(sharp)[wish]) / whole
        return sorted(((name, share) for name, share in found.items() if share > 0.05), key=lambda one: -one[1])

    def _is(self, key: Hashable, at: int, name: str) -> bool:
        known = not np.isnan(self._knowledge.priors[at])
        first = cast("tuple[object, ...]", key)[0] if isinstance(key, tuple) else key
        return known and _KINDS.get(str(first)) == name

    # -- one more draft ---------------------------------------------------------------------------------------------

    def one_more(self, plan: Sequence[int]) -> int | None:
        """The placement that would narrow the wanted intervals most for what it costs, after those of ``plan``."""
        if not self.placings:
            return None
        now, after = self.problem.after_one_more(list(plan))
        gained = np.log(np.maximum(now, 1e-300) / np.maximum(after, 1e-300)).sum(axis=1)
        steps = self.problem.prices.step[plan[-1]] if len(plan) else self.problem.prices.first
        return int(np.argmax(gained / steps))


def _like(instrument: Instrument) -> tuple[object, ...]:
    """What two pads have in common where they are interchangeable."""
    return (
        instrument.kind,
        instrument.capacity,
        instrument.division,
        instrument.height,
        instrument.span_uncertainty,
        instrument.repeatability,
        instrument.zero_uncertainty,
        instrument.set,
        instrument.set_uncertainty,
        instrument.eccentricity,
        instrument.verified_latitude,
        instrument.verified_elevation,
    )


def _states(placing: Placing) -> tuple[str, ...]:
    return tuple(offer.state for offer in placing)


def _placements(placing: Placing) -> frozenset[tuple[str, str]]:
    """Where each instrument stands in a placement."""
    return frozenset(item for offer in placing for item in offer.placements)


def _stations(placing: Placing) -> frozenset[str]:
    return frozenset(station for offer in placing for station in offer.stations)


def _blocks(placing: Placing) -> frozenset[WheelRef]:
    return frozenset(wheel for offer in placing for wheel in offer.blocks)


def prices_of(day: WeighDay, placings: Sequence[Placing], costs: Costs) -> Prices:
    """What the placements on offer cost one after the other, from where the last draft of the day left rig and pads.

    A pad under another wheel than before was carried there. For every placement the rig drives off and on; what is
    hitched, tensioned or loaded within it is paid for as between two.
    """
    chains = [_states(placing) for placing in placings]
    states = list(dict.fromkeys([*(state for chain in chains for state in chain), *(d.state for d in day.drafts[-1:])]))
    change = change_costs(day, states, costs)
    begin = np.array([states.index(chain[0]) for chain in chains], dtype=int)
    end = np.array([states.index(chain[-1]) for chain in chains], dtype=int)
    within = np.array(
        [sum(float(change[states.index(a), states.index(b)]) for a, b in pairwise(chain)) for chain in chains]
    )
    put, stands = _marked([_placements(placing) for placing in placings])
    _, blocked = _marked([_blocks(placing) for placing in placings])
    step = costs.move + change[np.ix_(end, begin)] + within[None, :]
    step += costs.carry * (1.0 - stands) @ stands.T + costs.block * (1.0 - blocked) @ blocked.T
    there, began = _left(day, put)
    first = costs.move + within + costs.carry * stands @ (1.0 - there) + costs.block * blocked.sum(axis=1)
    if began is not None:
        first = first + change[states.index(began), begin]
    return _with_features(day, placings, costs, (first, step), (states, change, began))


def _marked(sets: Sequence[frozenset[_Item]]) -> tuple[dict[_Item, int], Array]:
    """A column for each item that is in any of some sets, and which set has which, shape (sets, items)."""
    columns = {item: at for at, item in enumerate(dict.fromkeys(item for own in sets for item in own))}
    marks = np.zeros((len(sets), len(columns)))
    for row, own in enumerate(sets):
        marks[row, [columns[item] for item in own]] = 1.0
    return columns, marks


def _left(day: WeighDay, put: dict[tuple[str, str], int]) -> tuple[Array, str | None]:
    """Where the day's last draft left the instruments, shape (placements,), and its state."""
    there = np.zeros(len(put))
    if not day.drafts:
        return there, None
    for reading in day.drafts[-1].readings:
        at = put.get((reading.place.text, reading.instrument))
        if at is not None:
            there[at] = 1.0
    return there, day.drafts[-1].state


def _with_features(
    day: WeighDay,
    placings: Sequence[Placing],
    costs: Costs,
    paid: tuple[Array, Array],
    moves: tuple[list[str], Array, str | None],
) -> Prices:
    """The same with what is paid for once at least: to come into each state, to bring something to each station."""
    states, change, began = moves
    stations = list(dict.fromkeys(station for placing in placings for station in sorted(_stations(placing))))
    brought = [_brought(day, placings, station) for station in stations]
    price = np.concatenate([_entries(change, states, began), costs.carry * np.array(brought)])
    extra = np.concatenate([_detours(change, states, began), costs.carry * np.array(brought)])
    marks = [(frozenset(_states(placing)), _stations(placing)) for placing in placings]
    kinds = {mark: at for at, mark in enumerate(dict.fromkeys(marks))}
    features = tuple(
        frozenset([*map(states.index, chain), *(len(states) + stations.index(station) for station in of)])
        for chain, of in kinds
    )
    spared = float(price[: len(states)].max()) if began is None and len(states) else 0.0
    of_kind = np.array([kinds[mark] for mark in marks], dtype=int)
    return Prices(
        *paid, costs.move, of_kind, features, price, spared, extra, len(states), _rounds(change, states, began)
    )


MOST_STATES = 8
"""The least cost of coming into every state of a set is reckoned where a day has no more states than this."""


def _rounds(change: Array, states: list[str], began: str | None) -> Array:
    """What it costs at least to come into all states of each set, by its bits, shape (2 ** states,).

    By the last state (Held and Karp, A dynamic programming approach to sequencing problems, J. SIAM 10 (1962)).
    """
    count = len(states)
    if count > MOST_STATES:
        return np.zeros(0)
    ends = np.full((1 << count, count), np.inf)
    for at in range(count):
        ends[1 << at, at] = 0.0 if began is None else change[states.index(began), at]
    for mask in range(1, 1 << count):
        for at in range(count):
            if mask >> at & 1 and mask != 1 << at:
                ends[mask, at] = (ends[mask ^ (1 << at)] + change[:, at]).min()
    found = ends.min(axis=1)
    found[0] = 0.0
    return found


def _brought(day: WeighDay, placings: Sequence[Placing], station: str) -> float:
    """How many instruments are brought under a station at least: none where the last draft left one there."""
    left = [reading.place.text for reading in day.drafts[-1].readings] if day.drafts else []
    if any(_station(place) == station for place in left):
        return 0.0
    counts = [sum(_station(place) == station for place, _ in _placements(placing)) for placing in placings]
    return float(min(count for count in counts if count))


def _station(place: str) -> str:
    return place if place.endswith("/coupling") else place.rstrip("LR")


def _entries(change: Array, states: list[str], began: str | None) -> Array:
    """The least price of coming into each state from another, shape (states,)."""
    apart = change + np.where(np.eye(len(states), dtype=bool), np.inf, 0.0)
    least = apart.min(axis=0) if len(states) > 1 else np.zeros(len(states))
    return np.array([0.0 if state == began else float(least[at]) for at, state in enumerate(states)])


def _detours(change: Array, states: list[str], began: str | None) -> Array:
    """What each state adds at least to a sequence that is without it, between two others or at an end, (states,)."""
    found = _entries(change, states, began)
    for at in range(len(states)):
        others = [other for other in range(len(states)) if other != at]
        if others:
            inside = change[others, at][:, None] + change[at, others][None, :] - change[np.ix_(others, others)]
            found[at] = min(found[at], max(float(inside.min()), 0.0))
    return found
