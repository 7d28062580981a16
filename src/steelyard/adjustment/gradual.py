"""What may have changed without anyone touching the rig: fuel burnt, water drained, people who got in or out.

Where the readings disagree, one mass more is tried on each vehicle, growing with the clock or there from one draft on;
the fall of chi-square says how well that explains the day (one unknown more, as in Baarda's test of a single reading).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from steelyard.adjustment.consistency import ALIKE, Change, Residuals
from steelyard.adjustment.observation import Observations
from steelyard.adjustment.propagate import student_quantile
from steelyard.adjustment.solve import Array
from steelyard.model import Draft, Role, Vehicle, WeighDay
from steelyard.units import Dimension, UnitSystem, format_number

APART = 0.5
"""Drafts closer together than this [h] are not said to differ by what drains."""

PLACES = 9
"""Places along a vehicle that are tried."""

FEWEST = 3
"""Drafts of a vehicle from which on a change can be told from a slip."""

CHANCE = 1e-2
"""Chance that readings which are merely unlucky are said to tell of a change."""

MOST = 3
"""No more explanations than this are offered."""


@dataclass(frozen=True, slots=True)
class _Trial:
    """One way of changing: a factor for each draft by number, None where the draft does not show when it was."""

    factors: dict[int, float]
    steady: bool
    first: int
    last: int


def changes_that_explain(observations: Observations, residuals: Residuals, best: float) -> tuple[Change, ...]:
    """Changes that explain a misfit about as well as the best single reading does, the best first.

    ``residuals`` are those with nothing freed; ``best`` is the fall of chi-square that freeing one reading brings.
    """
    found: list[Change] = []
    trials = 0
    for vehicle in observations.rig.day.vehicles.values():
        drafts = _showing(observations, vehicle.id)
        if len(drafts) < FEWEST:
            continue
        answers = _answers(observations, vehicle)
        for trial in _trials(drafts):
            trials += 1
            candidate = _best_place(observations, residuals, vehicle, answers, trial)
            if candidate is not None:
                found.append(candidate)
    if not found:
        return ()
    limit = float(student_quantile(np.array([60.0]), 1.0 - CHANCE / (2 * trials))[0]) ** 2
    found.sort(key=lambda one: -one.fall)
    floor = max(limit, best - ALIKE, found[0].fall - ALIKE)
    return tuple(one for one in found if one.fall >= floor)[:MOST]


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


def _trials(drafts: Sequence[Draft]) -> Iterator[_Trial]:
    """Growing with the clock, where all drafts have a time; and there from each draft on."""
    stamps = [draft.at.timestamp() for draft in drafts if draft.at is not None]
    if len(stamps) == len(drafts) and max(stamps) - min(stamps) >= 3600.0 * APART:
        hours = {draft.number: stamp - stamps[0] for draft, stamp in zip(drafts, stamps, strict=True)}
        yield _Trial(hours, steady=True, first=drafts[0].number, last=drafts[-1].number)
    for place in range(1, len(drafts)):
        factors = {draft.number: float(at >= place) for at, draft in enumerate(drafts)}
        yield _Trial(factors, steady=False, first=drafts[place - 1].number, last=drafts[place].number)


def _best_place(
    observations: Observations, residuals: Residuals, vehicle: Vehicle, answers: _Answers, trial: _Trial
) -> Change | None:
    """The place on ``vehicle`` where a mass that changes as in ``trial`` explains most; None where nothing would."""
    factors = np.array([trial.factors.get(item.draft.number, 0.0) for item in observations.items])
    columns = factors[:, None] * answers.columns
    weights = residuals.weights_of(columns)
    felt = weights > 1e-9 * (columns**2).sum(axis=0)
    if not felt.any():
        return None
    weights = np.where(felt, weights, 1.0)
    pulls = np.where(felt, residuals.weighed @ columns, 0.0)
    best = int((pulls**2 / weights).argmax())
    size = float(pulls[best] / weights[best])
    return _change(
        observations.rig.day,
        vehicle,
        trial,
        x=float(answers.places[best]),
        size=size,
        u=1.0 / math.sqrt(float(weights[best])),
        amount=size * max(trial.factors.values()),
        fall=float(pulls[best] ** 2 / weights[best]),
    )


@dataclass(frozen=True)
class _Answers:
    """What one kilogram at each of some ``places`` [m], shape (n,), adds to each reading, shape (readings, n)."""

    places: Array
    columns: Array


def _answers(observations: Observations, vehicle: Vehicle) -> _Answers:
    front = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
    rear = vehicle.axles[-1].x.value
    places = np.linspace(front, rear + 0.125 * (rear - front), PLACES)
    columns = np.zeros((len(observations.items), PLACES))
    for at, x in enumerate(places):
        columns[:, at] = _column(observations, vehicle.id, float(x))
    return _Answers(places, columns)


def _column(observations: Observations, vehicle: str, x: float) -> Array:
    """What one kilogram at ``x`` adds to each reading, shape (readings,)."""
    answers = {
        name: operator.place_influence(vehicle, x=x, y=0.0)
        for name, operator in observations.rig.operators.items()
        if vehicle in operator.bodies
    }
    column = np.zeros(len(observations.items))
    for row, item in enumerate(observations.items):
        answer = answers.get(item.draft.state)
        if answer is not None:
            place = item.reading.place
            for one in place.wheels:
                column[row] += answer.wheels[one.vehicle][2 * (one.axle - 1) + (one.side == "R")]
            column[row] += sum(answer.couplings[trailer] for trailer in place.couplings)
    return column


# -- in words ---------------------------------------------------------------------------------------------------------


def _change(
    day: WeighDay,
    vehicle: Vehicle,
    trial: _Trial,
    *,
    x: float,
    size: float,
    u: float,
    amount: float,
    fall: float,
) -> Change:
    units = day.units
    about = f"about {_mass(abs(amount), units)} {'less' if amount < 0.0 else 'more'} {_where(vehicle, x)}"
    if trial.steady:
        hours = max(trial.factors.values()) / 3600.0
        what = "fuel burnt, water drained, or people?" if amount < 0.0 else "a tank filling, rain, or people?"
        words = f"{about} by draft {trial.last} than in draft {trial.first}, {hours:.1f} h before: {what}"
        words += " Declare it as cargo with a rate"
        toml = _rate_text(day, vehicle, x=x, rate=size, u=u, amount=amount)
        return Change(vehicle.id, x, amount, size, trial.first, trial.last, fall, words, toml)
    what = "did somebody get out?" if amount < 0.0 else "did somebody get in?"
    words = f"{about} from draft {trial.last} on than up to draft {trial.first}: {what}"
    words += " Declare it as cargo, aboard in the states of the drafts that had it"
    toml = _step_text(day, vehicle, x=x, amount=amount, u=u, last=trial.last)
    return Change(vehicle.id, x, amount, None, trial.first, trial.last, fall, words, toml)


def _where(vehicle: Vehicle, x: float) -> str:
    front = vehicle.axles[0].x.value if vehicle.role is Role.TOWING else 0.0
    share = (x - front) / max(vehicle.axles[-1].x.value - front, 1e-9)
    word = "at the front" if share < 0.3 else "in the middle" if share < 0.7 else "at the rear"
    return f"{word} of {vehicle.title}"


def _rate_text(day: WeighDay, vehicle: Vehicle, *, x: float, rate: float, u: float, amount: float) -> str:
    """A cargo that changes by itself, as TOML; its doubt is wide, for the readings themselves will tell the rate."""
    units = day.units
    hourly, doubt = (units.show(part, Dimension.MASS_FLOW) for part in (rate, max(2.0 * u, abs(rate) / 2.0)))
    start = 0.0 if amount > 0.0 else math.ceil(units.show(-3.0 * amount, Dimension.MASS) / 10.0) * 10.0
    name = _free_name(day, "drained" if amount < 0.0 else "gained")
    aboard = ", ".join(dict.fromkeys(state.id for state in day.states.values() if vehicle.id in state.vehicles))
    return (
        f"# list it in the cargo of {aboard}\n[cargo.{name}]\n"
        f'on = "{vehicle.id}"\nmass = "{start:g} {units.mass}"\n{_place_text(units, x)}'
        f'rate = "{hourly:.3g} {units.mass}/h +/- {doubt:.2g} {units.mass}/h"\n'
    )


def _step_text(day: WeighDay, vehicle: Vehicle, *, x: float, amount: float, u: float, last: int) -> str:
    units = day.units
    mass, doubt = (units.show(part, Dimension.MASS) for part in (abs(amount), max(2.0 * u, abs(amount) / 5.0)))
    name = _free_name(day, "left" if amount < 0.0 else "joined")
    when = f"before draft {last}" if amount < 0.0 else f"from draft {last} on"
    return (
        f"# in the states of drafts {when}; the others want states without it\n[cargo.{name}]\n"
        f'on = "{vehicle.id}"\nmass = "{mass:.3g} {units.mass} +/- {doubt:.2g} {units.mass}"\n{_place_text(units, x)}'
    )


def _place_text(units: UnitSystem, x: float) -> str:
    along = f"{units.show(x, Dimension.LENGTH):.0f}" if units.length in ("in", "mm", "cm") else f"{x:.2f}"
    along = along if units.length != "ft" else f"{units.show(x, Dimension.LENGTH):.1f}"
    return f'x = "{along} {units.length}"\ny = "0 {units.length}"\n'


def _free_name(day: WeighDay, name: str) -> str:
    if name not in day.cargo:
        return name
    return next(f"{name}_{number}" for number in range(2, len(day.cargo) + 3) if f"{name}_{number}" not in day.cargo)


def _mass(kilograms: float, units: UnitSystem) -> str:
    value = units.show(kilograms, Dimension.MASS)
    return f"{format_number(value, -1 if value >= 100.0 else 0)} {units.mass}"
