"""Changes that nobody declared, tried on a day whose readings disagree: a mass that grows, comes or goes.

Where the readings disagree, one mass more is tried on each vehicle, growing with the clock or there from one draft on;
the fall of chi-square says how well that explains the day (one unknown more, as in Baarda's test of a single reading).
A change is worth saying only where drafts before it and after it would show a fair share of its mass, and where the rig
could carry it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.misfit.consistency import ALIKE
from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.solve import Array
from steelyard.classes import dataclass
from steelyard.model import Draft, Role, Vehicle

APART = 0.5
"""Drafts closer together than this [h] are not said to differ by what drains."""

PLACES = 9
"""Places along a vehicle that are tried, each on the centreline and half way to the wheels on either side."""

FEWEST = 3
"""Drafts of a vehicle from which on a change can be told from a slip."""

EQUAL = 0.5
"""Places whose falls of chi-square differ by less explain a change equally well."""

FAIR_SHARE = 0.3
"""A draft shows a change where its readings would differ by this share of the mass."""

LEAST = 1e-6
"""A change of a reading by less [kg] is none."""

REACH = 0.3
"""A mass whose place is not known may stand this share of the vehicle's length away from the best place."""

CARRIED = 0.5
"""No change is larger than this share of what the readings put on the vehicle. Common practice, no source."""


@dataclass(frozen=True)
class Trial:
    """One change tried: what a mass on ``vehicle`` at (``x``, ``y``) [m] that changes so would explain.

    Attributes
    ----------
    column: what one kilogram (or kilogram a second) adds to each reading, shape (readings,); along, across: what one
    metre further back or to the left changes of that. effect: what one kilogram would add at any time.
    size: the best [kg or kg/s]. u: its standard uncertainty. fall: of chi-square.
    first, last: numbers of the drafts between which it changed. hours: between them, None for a step.
    late: whether the drafts after the change differ from what the file says; else those before it do.
    """

    vehicle: Vehicle
    x: float
    y: float
    column: Array
    along: Array
    across: Array
    effect: Array
    size: float
    u: float
    fall: float
    first: int
    last: int
    hours: float | None
    late: bool

    @property
    def amount(self) -> float:
        """Mass that came aboard by the last draft [kg], negative where it left."""
        grown = self.size if self.hours is None else 3600.0 * self.hours * self.size
        return grown if self.late else -grown

    def touches(self, residuals: Residuals, rows: Sequence[int]) -> bool:
        """Whether it moves one of some readings by a fair share of what that reading is off by itself."""
        return touches(self.amount * self.effect, residuals, rows)

    @property
    def reach(self) -> tuple[float, float]:
        """How far from (``x``, ``y``) the mass may well be [m], as standard uncertainties. Common practice, no
        source.
        """
        axles = self.vehicle.axles
        front = axles[0].x.value if self.vehicle.role is Role.TOWING else 0.0
        return REACH * max(axles[-1].x.value - front, 0.0), max(axle.track.value for axle in axles) / 4.0


def touches(moved: Array, residuals: Residuals, rows: Sequence[int]) -> bool:
    """Whether a change of the readings, shape (readings,), moves one of some by a fair share of what it is off."""
    chosen = np.array(rows, dtype=int)
    return bool((np.abs(moved[chosen]) >= np.maximum(FAIR_SHARE * np.abs(residuals.off(chosen)), LEAST)).any())


class TriedChanges:
    """All changes that could be tried on a day, their effects on the readings made once."""

    def __init__(self, observations: Observations, fewest: int = FEWEST) -> None:
        self.day = observations.rig.day
        self._on = [
            found
            for vehicle in self.day.vehicles.values()
            if len(drafts := showing(observations, vehicle.id)) >= fewest
            for found in [_OnVehicle(observations, vehicle, drafts)]
        ]

    @property
    def count(self) -> int:
        """How many ways of changing are tried."""
        return sum(one.count for one in self._on)

    def best(self, residuals: Residuals, least: float) -> list[Trial]:
        """Those that lower chi-square by ``least`` or more, the best place of each, the best first."""
        found = [trial for one in self._on for trial in one.best(residuals, least)]
        falls = residuals.told(np.array([one.fall for one in found]))
        return [found[at] for at in np.lexsort((np.array([not one.late for one in found]), -falls))]


def showing(observations: Observations, vehicle: str) -> list[Draft]:
    """The drafts that read something of a vehicle, in the order in which they were taken."""
    drafts = {
        item.draft.number: item.draft
        for item in observations.items
        if vehicle in observations.rig.day.states[item.draft.state].vehicles
    }
    ordered = [drafts[number] for number in sorted(drafts)]
    times = [draft.at for draft in ordered]
    if all(at is not None for at in times) and len({at.tzinfo is None for at in times if at is not None}) == 1:
        ordered.sort(key=lambda draft: (draft.at is not None and draft.at.timestamp(), draft.number))
    return ordered


class _OnVehicle:
    """The changes on one vehicle: growing with the clock, where all drafts have a time; there from each draft on."""

    def __init__(self, observations: Observations, vehicle: Vehicle, drafts: Sequence[Draft]) -> None:
        self._vehicle, self._drafts = vehicle, drafts
        rank = {draft.number: at for at, draft in enumerate(drafts)}
        self._rank = np.array([rank.get(item.draft.number, 0) for item in observations.items], dtype=int)
        front = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
        rear = vehicle.axles[-1].x.value
        side = max(axle.track.value for axle in vehicle.axles) / 4.0
        along = np.linspace(front, rear + 0.125 * (rear - front), PLACES)
        self._places = [(float(x), y) for y in (0.0, side, -side) for x in along]
        self._columns = effects_of(observations, vehicle.id, front)
        self._vectors = np.array([[1.0, x - front, y] for x, y in self._places]).T
        self._most = _most(observations, vehicle)
        stamps = [draft.at.timestamp() for draft in drafts if draft.at is not None]
        timed = len(stamps) == len(drafts) and max(stamps) - min(stamps) >= 3600.0 * APART
        self._stamps = np.array(stamps) if timed else None

    @property
    def count(self) -> int:
        """How many ways of changing are tried."""
        return len(self._drafts) - 1 + (self._stamps is not None)

    def best(self, residuals: Residuals, least: float) -> Iterator[Trial]:
        """For each way of changing the best place, where chi-square falls by ``least`` or more."""
        steps = _Steps(residuals, self._columns, self._vectors, self._rank)
        for late in (True, False):
            pulls, weights = steps.sums(late=late)
            for at, place in self._best_places(pulls, weights, steps.shown, least):
                factors = (self._rank > at) if late else (self._rank <= at)
                yield self._trial(factors, place, pulls[at, place], weights[at, place], (at, at + 1), None, late)
        if self._stamps is None:
            return
        for late in (True, False):
            factors = (self._stamps - self._stamps[0 if late else -1])[self._rank]
            columns = factors[:, None] * self._columns
            pulls = (residuals.weighed @ columns @ self._vectors)[None]
            square = columns.T @ residuals.answers(columns)
            weights = np.einsum("ip,ij,jp->p", self._vectors, square, self._vectors)[None]
            hours = float(self._stamps[-1] - self._stamps[0]) / 3600.0
            shown = self._shown_over_hours(steps.shares)[None]
            for _, place in self._best_places(pulls, weights, shown, least, 3600.0 * hours):
                ends = 0, len(self._drafts) - 1
                yield self._trial(factors, place, pulls[0, place], weights[0, place], ends, hours, late)

    def _shown_over_hours(self, shares: Array) -> NDArray[np.bool_]:
        """Whether drafts far enough apart show a fair share of a mass at each place, shape (places,)."""
        stamps = np.zeros(len(shares)) if self._stamps is None else self._stamps
        fair = shares >= FAIR_SHARE
        first = np.where(fair, stamps[:, None], np.inf).min(axis=0)
        last = np.where(fair, stamps[:, None], -np.inf).max(axis=0)
        return np.greater_equal(last - first, 3600.0 * APART)

    def _best_places(
        self, pulls: Array, weights: Array, shown: NDArray[np.bool_], least: float, grown: float = 1.0
    ) -> Iterator[tuple[int, int]]:
        """For each way of changing the place that explains most of those which the rig and the readings allow."""
        felt = shown & (weights > 0.0)
        sizes = np.where(felt, pulls / np.where(felt, weights, 1.0), 0.0)
        falls = sizes * pulls
        fair = falls >= falls.max(axis=1, keepdims=True) - ALIKE  # where it fits best the rig must be able to carry it
        falls = np.where(fair & (np.abs(sizes) * grown <= self._most), falls, 0.0)
        ranked = falls.copy()  # of answers alike the plainest: the centreline
        ranked[:, :PLACES] += np.where(falls[:, :PLACES] > 0.0, ALIKE, 0.0)
        near = ranked >= ranked.max(axis=1, keepdims=True) - EQUAL
        best = np.where(near, np.round(np.abs(sizes), 9), np.inf).argmin(axis=1)  # and the smallest mass
        for at in np.flatnonzero(falls[np.arange(len(best)), best] >= max(least, 1e-9)):
            yield int(at), int(best[at])

    def _trial(
        self,
        factors: Array | NDArray[np.bool_],
        place: int,
        pull: float,
        weight: float,
        ends: tuple[int, int],
        hours: float | None,
        late: bool,
    ) -> Trial:
        x, y = self._places[place]
        size, effect = float(pull / weight), self._columns @ self._vectors[:, place]
        first, last = (self._drafts[at].number for at in ends)
        u, fall = 1.0 / math.sqrt(weight), float(pull * size)
        column, along, across = (factors * one for one in (effect, self._columns[:, 1], self._columns[:, 2]))
        return Trial(self._vehicle, x, y, column, along, across, effect, size, u, fall, first, last, hours, late)


class _Steps:
    """Pulls and weights of a mass that is there from each draft on, or up to each, at each place; (drafts - 1, places).

    What a mass adds to the readings is linear in its place, so three columns serve for all places, and what comes after
    each draft (or before it) is a running sum: the cost grows with the readings alone.

    Attributes
    ----------
    shares: what each draft shows of it, shape (drafts, places). shown: whether drafts before the change and after it
    both show a fair share, shape (drafts - 1, places).
    """

    def __init__(self, residuals: Residuals, columns: Array, places: Array, rank: NDArray[np.int_]) -> None:
        self._residuals, self._columns, self._places, self._rank = residuals, columns, places, rank
        self._order = np.argsort(rank, kind="stable")
        self._drafts = int(rank.max()) + 1
        self._starts = np.searchsorted(rank[self._order], np.arange(self._drafts))  # every draft here has a reading
        self.shares = np.abs(self._by_draft(columns) @ places)
        before = np.maximum.accumulate(self.shares, axis=0)[:-1]
        after = np.maximum.accumulate(self.shares[::-1], axis=0)[::-1][1:]
        self.shown = (before >= FAIR_SHARE) & (after >= FAIR_SHARE)

    def _by_draft(self, values: Array) -> Array:
        """Sums over the readings of each draft, shape (drafts, n)."""
        return np.asarray(np.add.reduceat(values[self._order], self._starts, axis=0), dtype=np.float64)

    def sums(self, *, late: bool) -> tuple[Array, Array]:
        """Pulls and weights; ``late``: there from each draft but the first on, else up to each but the last."""
        order, kept = (slice(None, None, -1), slice(1, None)) if late else (slice(None), slice(None, -1))

        def running(values: Array) -> Array:
            return values[order].cumsum(axis=0)[order][kept]

        at, inverse = self._residuals.inverse_blocks()
        ranks = np.append(self._rank, 0)[at]
        nearer = np.minimum if late else np.maximum
        pair = nearer(ranks[:, :, None], ranks[:, None, :]).ravel()
        inside = np.vstack([self._columns, np.zeros((1, 3))])[at]
        root = self._residuals.rooted()
        fitted = [running(self._by_draft(root * column[:, None])) for column in self._columns.T]
        weights = np.zeros((self._drafts - 1, self._places.shape[1]))
        wholes = np.zeros_like(weights)
        for one in range(3):
            for other in range(3):
                terms = inverse * inside[:, :, None, one] * inside[:, None, :, other]
                added = np.bincount(pair, weights=terms.ravel(), minlength=self._drafts)
                whole = running(np.asarray(added, dtype=np.float64))
                product = self._places[one] * self._places[other]
                wholes += whole[:, None] * product
                weights -= (fitted[one] * fitted[other]).sum(axis=1)[:, None] * product
        weights += wholes
        pulls = running(self._by_draft(self._residuals.weighed[:, None] * self._columns)) @ self._places
        return pulls, np.where(weights > 1e-6 * wholes, weights, 0.0)


def effects_of(observations: Observations, vehicle: str, front: float) -> Array:
    """Effect of one kilogram at ``front`` [m] on each reading, and its change for each metre back or to the left.

    Shape (readings, 3). They are made once and kept with the readings; nobody may change them.
    """
    known = observations.effects.get((vehicle, front))
    if known is None:
        known = observations.effects[vehicle, front] = _effects(observations, vehicle, front)
    return known


def _effects(observations: Observations, vehicle: str, front: float) -> Array:
    places = ((front, 0.0), (front + 1.0, 0.0), (front, 1.0))
    wheels: dict[str, dict[str, Array]] = {}
    ends: dict[str, dict[str, Array]] = {}
    for name, operator in observations.rig.operators.items():
        if vehicle in operator.bodies:
            answers = [operator.place_influence(vehicle, x=x, y=y) for x, y in places]
            wheels[name] = {one: np.array([a.wheels[one] for a in answers]).T for one in answers[0].wheels}
            ends[name] = {one: np.array([a.couplings[one] for a in answers]) for one in answers[0].couplings}
    columns = np.zeros((len(observations.items), 3))
    for row, item in enumerate(observations.items):
        state = item.draft.state
        if state in wheels:
            for one in item.reading.place.wheels:
                columns[row] += wheels[state][one.vehicle][2 * (one.axle - 1) + (one.side == "R")]
            for trailer in item.reading.place.couplings:
                columns[row] += ends[state][trailer]
    columns[:, 1:] -= columns[:, :1]
    return columns


def _most(observations: Observations, vehicle: Vehicle) -> float:
    """The largest change to be believed [kg]: a share of what was read on the vehicle, its rating at most."""
    read: dict[str, float] = {}
    for item in observations.items:
        place = item.reading.place
        if any(wheel.vehicle == vehicle.id for wheel in place.wheels) or vehicle.id in place.couplings:
            read[place.text] = max(read.get(place.text, 0.0), item.reading.value)
    most = CARRIED * sum(read.values())
    return most if vehicle.ratings.gvwr is None else min(most, vehicle.ratings.gvwr)
