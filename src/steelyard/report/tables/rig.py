"""The head of the text: what was weighed, where, by whom and with what."""

from __future__ import annotations

from itertools import pairwise

from steelyard.findings import Findings
from steelyard.model import Instrument, Ratings, Role, Sharing, Vehicle, WeighDay
from steelyard.report.tables.contested import contested_legend, contested_mark
from steelyard.report.tables.verdicts import in_short
from steelyard.report.words.grid import listed, rule, wrapped
from steelyard.report.words.names import figure, with_unit
from steelyard.units import Dimension, UnitSystem

_RATINGS = (("gvwr", "GVWR"), ("gcwr", "GCWR"), ("towed", "heaviest trailer"), ("payload", "payload"))


def head_section(findings: Findings) -> list[str]:
    """Title, who and where, and the whole day in one sentence."""
    day = findings.day
    lines = [*wrapped(day.title or "Weigh day"), *occasion(day), ""]
    limits = in_short(findings)
    parts = [part for part in (limits, agreement_words(findings), contested_mark(findings)) if part]
    return lines + wrapped(f"In short: {'; '.join(parts)}.")


def agreement_words(findings: Findings) -> str:
    """Whether the readings agree, in a few words without a capital."""
    if findings.consistency.suspects:
        count = len(findings.consistency.suspects)
        return f"{count} reading{'' if count == 1 else 's'} to look at again"
    if not findings.day.measured_states():
        return "there are no readings yet"
    if findings.consistency.p is None:
        return "nothing checks the readings"
    return "the readings agree" if findings.consistency.consistent else "the readings do not agree"


def occasion(day: WeighDay) -> list[str]:
    """Date, people and place, as far as the file tells."""
    parts = [
        day.record.date.isoformat() if day.record.date is not None else "",
        f"weighed by {day.record.tester}" if day.record.tester else "",
        f"for {day.record.owner}" if day.record.owner else "",
        ", ".join(part for part in (day.site.name, day.site.surface) if part),
    ]
    text = "; ".join(part for part in parts if part)
    return [part for text in (text, day.record.note) if text for part in wrapped(text)]


def rig_section(findings: Findings) -> list[str]:
    """Vehicles and instruments, and how the figures are to be read."""
    day = findings.day
    lines = [rule("the rig"), ""]
    for vehicle in day.vehicles.values():
        lines += wrapped(vehicle_line(vehicle, day.units), rest="  ")
        for coupling in vehicle.couplings.values():
            kind = coupling.type.replace("_", " ")
            name = kind if coupling.id == coupling.type else f"{kind} {coupling.id}"
            place = with_unit(coupling.x.value, Dimension.LENGTH, day.units)
            lines += wrapped(f"{name}, {place} behind {_origin(vehicle)}", first="  ", rest="    ")
    lines += wrapped(instrument_line(day), rest="  ")
    return [*lines, "", *_legend(), *contested_legend(findings)]


def vehicle_line(vehicle: Vehicle, units: UnitSystem) -> str:
    """``tow: Crew-cab dually, towing vehicle, 2 axles 176 in apart, GVWR 14,000 lb``."""
    name = f"{vehicle.id}:" if vehicle.title == vehicle.id else f"{vehicle.id}: {vehicle.title},"
    kind = "towing vehicle" if vehicle.role is Role.TOWING else "trailer"
    return ", ".join([f"{name} {kind}", _axles(vehicle, units), *_ratings(vehicle.ratings, units)])


def _axles(vehicle: Vehicle, units: UnitSystem) -> str:
    places = [axle.x.value for axle in vehicle.axles]
    count = f"{len(places)} axle{'' if len(places) == 1 else 's'}"
    equalised = " (equalised)" if any(axle.sharing is Sharing.EQUALISED for axle in vehicle.axles) else ""
    if vehicle.role is Role.TRAILER:
        return f"{count}{equalised} {_lengths(places, units)} behind its coupling point"
    gaps = [after - before for before, after in pairwise(places)]
    return f"{count}{equalised} {_lengths(gaps, units)} apart"


def _lengths(values: list[float], units: UnitSystem) -> str:
    texts = [figure(value, Dimension.LENGTH, units) for value in values]
    return f"{listed(texts)} {units.symbol(Dimension.LENGTH)}"


def _ratings(ratings: Ratings, units: UnitSystem) -> list[str]:
    stated = [(words, getattr(ratings, key)) for key, words in _RATINGS]
    return [f"{words} {with_unit(value, Dimension.MASS, units)}" for words, value in stated if value is not None]


def _origin(vehicle: Vehicle) -> str:
    return "axle 1" if vehicle.role is Role.TOWING else "its coupling point"


def instrument_line(day: WeighDay) -> str:
    """``Weighed on pads p1, p2 (division 20 lb)``: instruments of one kind and division drawn together.

    Of a day without a reading: ``To be weighed on ...``.
    """
    alike: dict[tuple[str, float], list[Instrument]] = {}
    for instrument in day.instruments.values():
        alike.setdefault((instrument.kind, instrument.division), []).append(instrument)
    texts = [
        f"{kind}{'' if len(members) == 1 else 's'} {listed(member.id for member in members)} "
        f"(division {with_unit(division, Dimension.MASS, day.units)})"
        for (kind, division), members in alike.items()
    ]
    if not texts:
        return "The file names no instruments."
    return f"{'Weighed on' if day.measured_states() else 'To be weighed on'} {'; '.join(texts)}."


def _legend() -> list[str]:
    return wrapped(
        "After ± stands half of the 95 % interval, which holds the true load with a probability of 95 %. Loads are "
        "those on level ground, all wheels in one plane."
    )
