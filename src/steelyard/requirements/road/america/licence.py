"""The form ``licence_us``: which group of commercial driver's licence the weights ask for."""

from __future__ import annotations

from collections.abc import Iterator
from enum import StrEnum

from steelyard.conformity import LimitCurve, Sense
from steelyard.model import gross_load
from steelyard.requirements.road.america.rated import (
    Rated,
    exceeds,
    parked,
    reaches,
    weighed_limits,
)
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling, mass_text
from steelyard.requirements.road.train import RoadUnit
from steelyard.units import Dimension


class LicenceGroup(StrEnum):
    """The group of licence for some weights; a licence of Group A is good for Group B too (49 CFR 383.91(c)(1))."""

    A = "Group A"
    B = "Group B"
    NONE = "no commercial licence by weight"


_LETTERS = {LicenceGroup.A: {"a"}, LicenceGroup.B: {"a", "b"}}
_PREFIXES = ("cdl", "class", "group")


def licence_us(asked: AskedRule) -> Iterator[Ruling]:
    """The group by the ratings, as a paper check; and what the weighed loads would have to stay under, softly.

    ``combination`` and ``single`` [kg] are what Group A and Group B begin at, ``towed`` [kg] is what the GVWR of the
    towed vehicles is over in Group A. Group C, for passengers and hazardous materials, is not judged.
    Source: 49 CFR 383.91(a) and (c), 383.5.
    """
    for unit in asked.train.units:
        if unit.towing is None:
            yield parked(asked, unit)
            continue
        rated = Rated(unit.vehicles)
        group = _group(asked, rated)
        if group is None:
            yield asked.missing(unit.owner, *rated.needs, subject=unit.title)
            continue
        yield _paper(asked, unit, rated, group)
        if group is LicenceGroup.NONE and not _holds(asked, LicenceGroup.B):
            subject = f"{unit.vehicles[0].title} as weighed, to stay out of Group B"
            limit = asked.values["single"]
            yield asked.limit(gross_load(unit.vehicles[0].id), limit, subject=subject, name="b", note=_SOFT)
        if rated.towed and group is not LicenceGroup.A and not _holds(asked, LicenceGroup.A):
            yield from _weighed_a(asked, unit, rated)


_SOFT = "no check of papers: the law counts the actual weight where it is more than the rating"


def _group(asked: AskedRule, rated: Rated) -> LicenceGroup | None:
    """The group by the ratings; None where a missing GVWR decides it."""
    values = asked.values
    high, heavy = reaches(rated.least, values["combination"]), exceeds(rated.least_towed, values["towed"])
    if rated.towed and high and heavy:
        return LicenceGroup.A
    low_is_sure = not high and not rated.needs
    light_is_sure = not heavy and rated.towed_is_known
    if rated.own is None or (rated.towed and not low_is_sure and not light_is_sure):
        return None
    return LicenceGroup.B if reaches(rated.own, values["single"]) else LicenceGroup.NONE


def _holds(asked: AskedRule, group: LicenceGroup) -> bool:
    """Whether the driver is said to hold a licence that is good for a group."""
    held = {text.lower().replace("-", " ").split()[-1] for text in asked.day.rules.licence or () if _is_group(text)}
    return bool(held & _LETTERS[group])


def _is_group(text: str) -> bool:
    words = text.lower().replace("-", " ").split()
    return bool(words) and all(word in _PREFIXES for word in words[:-1])


def _paper(asked: AskedRule, unit: RoadUnit, rated: Rated, group: LicenceGroup) -> Ruling:
    unsaid = asked.day.rules.licence is None
    met = True if group is LicenceGroup.NONE else None if unsaid else _holds(asked, group)
    # without a limit, so that the answer in words is what a reader sees
    heavy = rated.own if group is LicenceGroup.B and rated.own is not None else rated.least
    paper = Paper(heavy, None, Sense.MAX, Dimension.MASS, met, group.value)
    return asked.compare(unit.owner, paper, subject=unit.title, note=_reason(asked, rated, group))


def _reason(asked: AskedRule, rated: Rated, group: LicenceGroup) -> str:
    """The ratings that decide, in words."""
    if not rated.towed:
        return f"GVWR {mass_text(asked.day, rated.least)}; nothing is towed"
    towed = f"GVWR of what is towed {mass_text(asked.day, rated.least_towed)}"
    if group is LicenceGroup.B and rated.own is not None:
        return f"GVWR of the power unit {mass_text(asked.day, rated.own)}, {towed}"
    if rated.label <= rated.least_sum:
        return f"GCWR {mass_text(asked.day, rated.least)} as the sum of the GVWRs, {towed}"
    note = f"GCWR {mass_text(asked.day, rated.label)}, which counts only where it is on the certification label"
    if not rated.needs and exceeds(rated.least_towed, asked.values["towed"]):
        note += f" (the GVWRs come to {mass_text(asked.day, rated.least_sum)})"
    return f"{note}, {towed}"


def _weighed_a(asked: AskedRule, unit: RoadUnit, rated: Rated) -> Iterator[Ruling]:
    """Limits on weighed loads beyond which actual weights make it Group A, by whichever of its two conditions lacks."""
    combination, towed = asked.values["combination"], asked.values["towed"]
    if exceeds(rated.least_towed, towed):
        for measurand, title, limit in weighed_limits(unit, rated, combination):
            yield asked.limit(measurand, limit, subject=_stay(title), name="a", note=_SOFT)
        return
    if reaches(rated.least, combination):
        for vehicle in rated.towed:
            limit = towed - (rated.least_towed - (vehicle.ratings.gvwr or 0.0))
            yield asked.limit(gross_load(vehicle.id), limit, subject=_stay(vehicle.title), name="a", note=_SOFT)
        return
    if len(rated.towed) == 1 and rated.own is not None:
        yield _both(asked, unit, rated.own)


def _both(asked: AskedRule, unit: RoadUnit, own: float) -> Ruling:
    """The limit on a trailer where both conditions lack: over ``towed``, and with the power unit over ``combination``.

    The power unit counts with its rating or its weight, so that the limit falls as it weighs more than its rating.
    """
    combination, towed = asked.values["combination"], asked.values["towed"]
    power, trailer = unit.vehicles
    subject = _stay(trailer.title)
    limit = max(combination - own, towed)
    if limit <= towed:
        return asked.limit(gross_load(trailer.id), towed, subject=subject, name="a", note=_SOFT)
    curve = LimitCurve(
        str(gross_load(power.id).at(asked.train.state.id)),
        (own, combination - towed),
        ((limit, 0.0), (combination, -1.0), (towed, 0.0)),
        (True, True),
    )
    return asked.limit(gross_load(trailer.id), limit, subject=subject, name="a", note=_SOFT, curve=curve)


def _stay(title: str) -> str:
    return f"{title} as weighed, to stay out of Group A"
