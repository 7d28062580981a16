"""The form ``licence_by_mass``: the category that a driver needs, by the permissible masses in the papers.

What the vehicles weigh does not matter for it: the papers decide.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steelyard.conformity import Sense
from steelyard.model import Role
from steelyard.requirements.road.europe.asked import ROUNDED, absent, at_most, rating
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling, mass_text
from steelyard.requirements.road.train import RoadUnit
from steelyard.units import Dimension

_FEW_SEATS = ("M1", "N1", "N2", "N3")
"""Classes with at most 8 seats beside the driver's: M1 by its definition, N because it carries goods."""


def licence_by_mass(asked: AskedRule) -> Iterator[Ruling]:
    """The first of ``categories`` into whose bounds the vehicles fall, for each motor vehicle with its trailer, if any.

    A category has upper bounds ``vehicle``, ``trailer`` and ``together`` and lower ones ``vehicle_over`` and
    ``trailer_over`` [kg]; ``silent`` says that the rule has nothing to say of it. ``passengers`` of the rule is the
    most beside the driver.
    """
    for unit in asked.train.units:
        yield _ruling(asked, unit)


def _ruling(asked: AskedRule, unit: RoadUnit) -> Ruling:
    subject = f"driver of the {unit.title}" if unit.links else f"driver of {unit.title}"
    if unit.towing is None:
        return asked.silent(unit.owner, subject=subject, note="a trailer that stands alone needs no driver")
    if len(unit.vehicles) > 2:
        return asked.silent(unit.owner, subject=subject, note="the rule speaks of one trailer")
    more = _more_seats(asked, unit)
    if more is None:
        needed = f"vehicles.{unit.towing.id}.class"
        note = f"vehicles.{unit.towing.id}.papers.seats would tell too"
        return asked.missing(unit.owner, needed, subject=subject, note=note)
    if more:
        note = f"it carries more than {asked.values['passengers']} passengers: the rule is for fewer"
        return asked.silent(unit.owner, subject=subject, note=note)
    needs = [rating(vehicle, "gvwr") for vehicle in unit.vehicles]
    keys = absent(*needs)
    if keys:
        return asked.missing(unit.owner, *keys, subject=subject)
    vehicle, trailer = (*(need.value or 0.0 for need in needs), 0.0)[:2]
    return _answer(asked, unit, subject, vehicle, trailer)


def _more_seats(asked: AskedRule, unit: RoadUnit) -> bool | None:
    """Whether the motor vehicle has more seats than the rule allows; None: the file does not say."""
    papers = unit.vehicles[0].papers
    if papers.seats is not None:
        return papers.seats - 1 > asked.values["passengers"]
    if papers.category in _FEW_SEATS:
        return False
    return True if papers.category else None


def _answer(asked: AskedRule, unit: RoadUnit, subject: str, vehicle: float, trailer: float) -> Ruling:
    towed = any(one.role is Role.TRAILER for one in unit.vehicles)
    fitting = [row for row in asked.values["categories"] if _within(row, vehicle, trailer)]
    if fitting and fitting[0].get("silent"):
        return asked.silent(unit.owner, subject=subject, note=fitting[0]["words"])
    masses = f"permissible masses: vehicle {mass_text(asked.day, vehicle)}"
    if towed:
        both = mass_text(asked.day, vehicle + trailer)
        masses += f", trailer {mass_text(asked.day, trailer)}, together {both}"
    names = tuple(dict.fromkeys(row["name"] for row in asked.values["categories"]))
    words = fitting[0]["words"] if fitting else f"more than {', '.join(names)} allow"
    answer = fitting[0]["name"] if fitting else f"beyond {names[-1]}"
    met, unknown = _held(asked, [row["name"] for row in fitting], names)
    note = f"{words}; {masses}"
    if unknown:
        note += f"; whether {', '.join(unknown)} covers it, the rule does not say"
    result = Paper(None, None, Sense.MAX, Dimension.MASS, met, answer)
    return asked.compare(unit.owner, result, subject=subject, note=note)


def _within(row: Mapping[str, Any], vehicle: float, trailer: float) -> bool:
    values = {"vehicle": vehicle, "trailer": trailer, "together": vehicle + trailer}
    upper = all(at_most(value, row[key]) for key, value in values.items() if key in row)
    lower = all(value > row[f"{key}_over"] * (1.0 + ROUNDED) for key, value in values.items() if f"{key}_over" in row)
    return upper and lower


def _held(asked: AskedRule, fitting: list[str], names: tuple[str, ...]) -> tuple[bool | None, tuple[str, ...]]:
    """Whether a licence that the driver holds covers it (None: not said), and those of which the rule does not tell.

    The table goes from the smallest category to the largest. Whether a larger one than is needed covers the smaller is
    not in it; a smaller one does not cover a larger.
    """
    if asked.day.rules.licence is None:
        return None, ()
    held = tuple(one.upper().replace(" ", "") for one in asked.day.rules.licence)
    if any(one in fitting for one in held):
        return True, ()
    smaller = names[: names.index(fitting[0])] if fitting else names
    unknown = tuple(one for one in held if one not in smaller)
    return (None if unknown else False), unknown
