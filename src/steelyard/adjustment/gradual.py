"""What may have changed without anyone touching the rig: fuel burnt, water drained, people who got in or out.

Where the readings disagree, one mass more is tried on each vehicle, growing with the clock or there from one draft on;
the fall of chi-square says how well that explains the day (one unknown more, as in Baarda's test of a single reading).
A change is worth saying only where drafts before it and after it would show a fair share of its mass, and where the rig
could carry it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.consistency import ALIKE, Change
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.propagate import student_quantile
from steelyard.adjustment.residuals import Residuals
from steelyard.adjustment.solve import Array
from steelyard.model import Draft, Role, Vehicle, WeighDay
from steelyard.units import Dimension, UnitSystem, format_number

APART = 0.5
"""Drafts closer together than this [h] are not said to differ by what drains."""

PLACES = 9
"""Places along a vehicle that are tried, each on the centreline and half way to the wheels on either side."""

FEWEST = 3
"""Drafts of a vehicle from which on a change can be told from a slip."""

CHANCE = 1e-2
"""Chance that readings which are merely unlucky are said to tell of a change."""

MOST = 3
"""No more explanations than this are offered."""

EQUAL = 0.5
"""Places whose falls of chi-square differ by less explain a change equally well."""

FAIR_SHARE = 0.3
"""A draft shows a change where its readings would differ by this share of the mass."""

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
        """What came aboard by the last draft [kg], negative where it went."""
        grown = self.size if self.hours is None else 3600.0 * self.hours * self.size
        return grown if self.late else -grown

    def touches(self, residuals: Residuals, rows: Sequence[int]) -> bool:
        """Whether it moves one of some readings by a fair share of what that reading is off by itself."""
        off = residuals.weighed[list(rows)] / np.maximum(residuals.weight[list(rows)], 1e-300)
        return bool((np.abs(self.amount * self.effect[list(rows)]) >= FAIR_SHARE * np.abs(off)).any())

    @property
    def reach(self) -> tuple[float, float]:
        """How far from (``x``, ``y``) the mass may well be [m], as standard uncertainties. Common practice, no source."""
        axles = self.vehicle.axles
        front = axles[0].x.value if self.vehicle.role is Role.TOWING else 0.0
        return REACH * max(axles[-1].x.value - front, 0.0), max(axle.track.value for axle in axles) / 4.0


class Changes:
    """All changes that could be tried on a day, their effects on the readings made once."""

    def __init__(self, observations: Observations, fewest: int = FEWEST) -> None:
        self.day = observations.rig.day
        self._on = [
            found
            for vehicle in self.day.vehicles.values()
            if len(drafts := _showing(observations, vehicle.id)) >= fewest
            for found in [_OnVehicle(observations, vehicle, drafts)]
        ]

    @property
    def count(self) -> int:
        """How many ways of changing are tried."""
        return sum(one.count for one in self._on)

    def best(self, residuals: Residuals, least: float) -> list[Trial]:
        """Those that lower chi-square by ``least`` or more, the best place of each, the best first."""
        found = [trial for one in self._on for trial in one.best(residuals, least)]
        return sorted(found, key=lambda one: (-round(one.fall, 6), not one.late))


def changes_that_explain(
    changes: Changes, residuals: Residuals, best: float, suspects: Sequence[int]
) -> tuple[Change, ...]:
    """Changes that explain a misfit about as well as the best single reading does, the best first.

    ``residuals`` are those with nothing freed; ``best`` is the fall of chi-square that freeing one reading brings.
    ``suspects`` are the readings that do not fit, one of which a change must touch; none: any will do.
    """
    if not changes.count:
        return ()
    limit = float(student_quantile(np.array([60.0]), 1.0 - CHANCE / (2 * changes.count))[0]) ** 2
    found = [trial for trial in changes.best(residuals, max(limit, best - ALIKE)) if trial.late]
    found = [trial for trial in found if not suspects or trial.touches(residuals, suspects)]
    return tuple(_change(changes.day, one) for one in found if one.fall >= found[0].fall - ALIKE)[:MOST]


def _showing(observations: Observations, vehicle: str) -> list[Draft]:
    """The drafts that read something of a vehicle, in the order in which they were taken."""
    drafts = {
        item.draft.number: item.draft
        for item in observations.items
        if vehicle in observations.rig.day.states[item.draft.state].vehicles
    }
    ordered = list(drafts.values())
    times = [draft.at for draft in ordered]
    if all(at is not None for at in times) and len({at.tzinfo is None for at in times if at is not None}) == 1:
        ordered.sort(key=lambda draft: (draft.at is not None and draft.at.timestamp(), draft.number))
    return ordered


class _OnVehicle:
    """The changes on one vehicle: growing with the clock, where all drafts have a time; and there from each draft on.

    Sums over the drafts after (or before) each change are running sums, so the cost grows with the readings alone.
    """

    def __init__(self, observations: Observations, vehicle: Vehicle, drafts: Sequence[Draft]) -> None:
        self._vehicle, self._drafts = vehicle, drafts
        rank = {draft.number: at for at, draft in enumerate(drafts)}
        self._rank = np.array([rank.get(item.draft.number, 0) for item in observations.items], dtype=int)
        front = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
        rear = vehicle.axles[-1].x.value
        side = max(axle.track.value for axle in vehicle.axles) / 4.0
        along = np.linspace(front, rear + 0.125 * (rear - front), PLACES)
        self._places = [(float(x), y) for y in (0.0, side, -side) for x in along]
        self._columns = _effects(observations, vehicle.id, self._places)
        (start, _), (end, _) = self._places[0], self._places[PLACES - 1]
        self._along = (self._columns[:, PLACES - 1] - self._columns[:, 0]) / (end - start)  # statics is linear in place
        self._across = (self._columns[:, PLACES] - self._columns[:, 0]) / side
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
        steps = _Steps(residuals, self._columns, self._rank, len(self._drafts))
        for late in (True, False):
            pulls, weights = steps.late if late else steps.early
            for at, place in self._best_places(pulls, weights, steps.shown, least):
                factors = (self._rank > at) if late else (self._rank <= at)
                yield self._trial(factors, place, pulls[at, place], weights[at, place], (at, at + 1), None, late)
        if self._stamps is None:
            return
        for late in (True, False):
            factors = (self._stamps - self._stamps[0 if late else -1])[self._rank]
            columns = factors[:, None] * self._columns
            pulls = (residuals.weighed @ columns)[None]
            weights = residuals.weights_of(columns)[None]
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
        falls = np.where(np.abs(sizes) * grown <= self._most, sizes * pulls, 0.0)
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
        size, effect = float(pull / weight), self._columns[:, place]
        first, last = (self._drafts[at].number for at in ends)
        u, fall = 1.0 / math.sqrt(weight), float(pull * size)
        columns = (factors * one for one in (effect, self._along, self._across))
        return Trial(self._vehicle, x, y, *columns, effect, size, u, fall, first, last, hours, late)


class _Steps:
    """Pulls and weights of a mass that is there from each draft on, or up to each, at each place; (drafts - 1, places).

    ``shown`` tells whether drafts before the change and after it both show a fair share of it; ``shares`` what each
    draft shows of it, shape (drafts, places).
    """

    def __init__(self, residuals: Residuals, columns: Array, rank: NDArray[np.int_], drafts: int) -> None:
        self._residuals, self._columns, self._rank, self._drafts = residuals, columns, rank, drafts
        self._pull = self._by_draft(residuals.weighed[:, None] * columns)
        self.shares = np.abs(self._by_draft(columns))
        before = np.maximum.accumulate(self.shares, axis=0)[:-1]
        after = np.maximum.accumulate(self.shares[::-1], axis=0)[::-1][1:]
        self.shown = (before >= FAIR_SHARE) & (after >= FAIR_SHARE)

    def _by_draft(self, values: Array) -> Array:
        """Sums over the readings of each draft, shape (drafts, n)."""
        found = np.zeros((self._drafts, values.shape[1]))
        np.add.at(found, self._rank, values)
        return found

    @cached_property
    def late(self) -> tuple[Array, Array]:
        """There from each draft but the first on."""
        return self._sums(slice(None, None, -1), np.minimum)

    @cached_property
    def early(self) -> tuple[Array, Array]:
        """There up to each draft but the last."""
        return self._sums(slice(None), np.maximum)

    def _sums(self, order: slice, nearer: np.ufunc) -> tuple[Array, Array]:
        kept = slice(1, None) if order.step == -1 else slice(None, -1)
        at, inverse = self._residuals.inverse_blocks()
        ranks = np.append(self._rank, 0)[at]
        pair = nearer(ranks[:, :, None], ranks[:, None, :]).ravel()
        root = self._residuals.rooted()
        pulls = self._pull[order].cumsum(axis=0)[order][kept]
        weights = np.empty(pulls.shape)
        for place, column in enumerate(self._columns.T):
            inside = np.append(column, 0.0)[at]
            terms = inverse * inside[:, :, None] * inside[:, None, :]
            whole = np.bincount(pair, weights=terms.ravel(), minlength=self._drafts)
            fitted = self._by_draft(root * column[:, None])[order].cumsum(axis=0)[order]
            square = whole[order].cumsum()[order]
            weight = square - (fitted**2).sum(axis=1)
            weights[:, place] = np.where(weight > 1e-6 * square, weight, 0.0)[kept]
        return pulls, weights


def _effects(observations: Observations, vehicle: str, places: Sequence[tuple[float, float]]) -> Array:
    """What one kilogram at each of some places adds to each reading, shape (readings, places)."""
    wheels: dict[str, dict[str, Array]] = {}
    ends: dict[str, dict[str, Array]] = {}
    for name, operator in observations.rig.operators.items():
        if vehicle in operator.bodies:
            answers = [operator.place_influence(vehicle, x=x, y=y) for x, y in places]
            wheels[name] = {one: np.array([a.wheels[one] for a in answers]).T for one in answers[0].wheels}
            ends[name] = {one: np.array([a.couplings[one] for a in answers]) for one in answers[0].couplings}
    columns = np.zeros((len(observations.items), len(places)))
    for row, item in enumerate(observations.items):
        state = item.draft.state
        if state in wheels:
            for one in item.reading.place.wheels:
                columns[row] += wheels[state][one.vehicle][2 * (one.axle - 1) + (one.side == "R")]
            for trailer in item.reading.place.couplings:
                columns[row] += ends[state][trailer]
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


# -- in words ---------------------------------------------------------------------------------------------------------


def said(trial: Trial, units: UnitSystem) -> str:
    """A change in a few words: how much, where, and which drafts differ by it."""
    amount = trial.amount if trial.late or trial.hours is not None else -trial.amount
    about = f"about {_mass(abs(amount), units)} {'less' if amount < 0.0 else 'more'} "
    about += _where(trial.vehicle, trial.x, trial.y)
    if trial.hours is not None:
        ends = f"by draft {trial.last} than in draft {trial.first}, which nobody declared"
        return f"{about} {ends}" if trial.late else f"{about} {ends} (as it was in draft {trial.last})"
    when = f"from draft {trial.last} on" if trial.late else f"up to draft {trial.first}"
    return f"{about} {when}, which nobody declared"


def _change(day: WeighDay, trial: Trial) -> Change:
    units, vehicle, amount = day.units, trial.vehicle, trial.amount
    about = f"about {_mass(abs(amount), units)} {'less' if amount < 0.0 else 'more'} "
    about += _where(vehicle, trial.x, trial.y)
    rate = None
    if trial.hours is not None:
        what = "fuel burnt, water drained, or people?" if amount < 0.0 else "a tank filling, rain, or people?"
        words = f"{about} by draft {trial.last} than in draft {trial.first}, {trial.hours:.1f} h before: {what}"
        words += " Declare it as cargo with a rate"
        rate = trial.size
        toml = _rate_text(day, trial)
    else:
        what = "did somebody get out?" if amount < 0.0 else "did somebody get in?"
        words = f"{about} from draft {trial.last} on than up to draft {trial.first}: {what}"
        words += " Declare it as cargo, aboard in the states of the drafts that had it"
        toml = _step_text(day, trial)
    return Change(vehicle.id, trial.x, amount, rate, trial.first, trial.last, trial.fall, words, toml, trial.y)


def _where(vehicle: Vehicle, x: float, y: float) -> str:
    front = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
    share = (x - front) / max(vehicle.axles[-1].x.value - front, 1e-9)
    word = "at the front" if share < 0.3 else "in the middle" if share < 0.7 else "at the rear"
    side = "" if y == 0.0 else " left" if y > 0.0 else " right"
    return f"{word}{side} of {vehicle.title}"


def _rate_text(day: WeighDay, trial: Trial) -> str:
    """A cargo that changes by itself, as TOML; its doubt is wide, for the readings themselves will tell the rate."""
    units, rate, amount, vehicle = day.units, trial.size, trial.amount, trial.vehicle
    hourly, doubt = (units.show(part, Dimension.MASS_FLOW) for part in (rate, max(2.0 * trial.u, abs(rate) / 2.0)))
    start = 0.0 if amount > 0.0 else math.ceil(units.show(-3.0 * amount, Dimension.MASS) / 10.0) * 10.0
    name = _free_name(day, "drained" if amount < 0.0 else "gained")
    aboard = ", ".join(dict.fromkeys(state.id for state in day.states.values() if vehicle.id in state.vehicles))
    return (
        f"# list it in the cargo of {aboard}\n[cargo.{name}]\n"
        f'on = "{vehicle.id}"\nmass = "{plain(start, 3)} {units.mass}"\n{_place_text(units, trial)}'
        f'rate = "{plain(hourly, 3)} {units.mass}/h +/- {plain(doubt, 2)} {units.mass}/h"\n'
    )


def _step_text(day: WeighDay, trial: Trial) -> str:
    units, amount, vehicle = day.units, trial.amount, trial.vehicle
    parts = (abs(amount), max(2.0 * trial.u, abs(amount) / 5.0))
    mass, doubt = (units.show(part, Dimension.MASS) for part in parts)
    name = _free_name(day, "left" if amount < 0.0 else "joined")
    when = f"before draft {trial.last}" if amount < 0.0 else f"from draft {trial.last} on"
    return (
        f"# in the states of drafts {when}; the others want states without it\n[cargo.{name}]\n"
        f'on = "{vehicle.id}"\nmass = "{plain(mass, 3)} {units.mass} +/- {plain(doubt, 2)} {units.mass}"\n'
        f"{_place_text(units, trial)}"
    )


def plain(value: float, figures: int) -> str:
    """A number for a file, to so many significant figures, without an exponent: 1170, 0.0052."""
    if value == 0.0:
        return "0"
    places = figures - 1 - math.floor(math.log10(abs(value)))
    text = f"{round(value, places):.{max(places, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _place_text(units: UnitSystem, trial: Trial) -> str:
    def length(value: float) -> str:
        short = units.length in ("in", "mm", "cm")
        return f"{units.show(value, Dimension.LENGTH):.{0 if short else 1 if units.length == 'ft' else 2}f}"

    across = "0" if trial.y == 0.0 else length(trial.y)
    return f'x = "{length(trial.x)} {units.length}"\ny = "{across} {units.length}"\n'


def _free_name(day: WeighDay, name: str) -> str:
    if name not in day.cargo:
        return name
    return next(f"{name}_{number}" for number in range(2, len(day.cargo) + 3) if f"{name}_{number}" not in day.cargo)


def _mass(kilograms: float, units: UnitSystem) -> str:
    value = units.show(kilograms, Dimension.MASS)
    return f"{format_number(value, -1 if value >= 100.0 else 0)} {units.mass}"
