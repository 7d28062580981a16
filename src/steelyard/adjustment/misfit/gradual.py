"""Changes that may have happened by themselves, in words: fuel burnt, water drained, people in or out."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from steelyard.adjustment.misfit.consistency import ALIKE, GradualChange
from steelyard.adjustment.misfit.residuals import Residuals
from steelyard.adjustment.misfit.trials import Trial, TriedChanges
from steelyard.adjustment.student import student_quantile
from steelyard.model import Role, Vehicle, WeighDay
from steelyard.units import Dimension, UnitSystem, format_number

CHANCE = 1e-2
"""Chance that readings which are merely unlucky are said to tell of a change."""

MOST = 3
"""No more explanations than this are offered."""


def changes_that_explain(
    changes: TriedChanges, residuals: Residuals, best: float, suspects: Sequence[int]
) -> tuple[GradualChange, ...]:
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


def kind_of(trial: Trial) -> tuple[object, ...]:
    """Marks of a change that stay the same however much it is: where, between which drafts, how it came about."""
    where = _where(trial.vehicle, trial.x, trial.y)
    return trial.vehicle.id, where, trial.first, trial.last, trial.hours is None, trial.late


def _change(day: WeighDay, trial: Trial) -> GradualChange:
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
    return GradualChange(vehicle.id, trial.x, amount, rate, trial.first, trial.last, trial.fall, words, toml, trial.y)


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
