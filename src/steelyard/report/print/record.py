"""Record for the ticket: who, where and when, with which instruments, and every reading as it was taken."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Collection, Iterator, Sequence

from steelyard.model import Correction, Draft, Instrument, Vehicle, WeighDay, in_utc
from steelyard.report.words.draft import circumstances
from steelyard.report.words.names import figure, with_unit
from steelyard.units import Dimension, Quantity, UnitSystem, format_number

_RATINGS = (("GVWR", "gvwr"), ("GCWR", "gcwr"), ("heaviest trailer", "towed"), ("payload", "payload"))


def occasion(day: WeighDay) -> list[dict[str, object]]:
    """A heading and lines for client, place, time and rig; each says where the file leaves it out."""
    record, site = day.record, day.site
    who = [f"weighed by {record.tester}"] if record.tester else []
    who += [f"for {record.owner}"] if record.owner else []
    where = [text for text in (site.name, _ground(day), _position(day)) if text]
    when = [] if record.date is None else [record.date.isoformat()]
    when += _span(day)
    entries = (("Who", who), ("Where", where), ("When", when))
    return [{"name": name, "lines": lines or ["not stated"]} for name, lines in entries]


def vehicles(day: WeighDay) -> list[dict[str, object]]:
    """The weighed vehicles, each with its plate and serial number, if given, and the ratings off its label."""
    return [
        {
            "name": vehicle.title,
            "id": other_id(vehicle),
            "marks": ", ".join(_marks(vehicle)),
            "ratings": ", ".join(_ratings(vehicle, day.units)) or "no ratings",
        }
        for vehicle in day.vehicles.values()
    ]


def _marks(vehicle: Vehicle) -> Iterator[str]:
    """The marks by which a stranger knows the vehicle."""
    if vehicle.plate:
        yield f"plate {vehicle.plate}"
    if vehicle.serial:
        yield f"serial {vehicle.serial}"


def other_id(vehicle: Vehicle) -> str:
    """Name of a vehicle in the readings where it differs from its title; else empty."""
    return "" if vehicle.id == vehicle.title else vehicle.id


def instruments(day: WeighDay) -> list[list[str]]:
    """One row for each instrument: id, kind, serial, verified, capacity, division, height, span, set."""
    return [_instrument(item, day.units) for item in day.instruments.values()]


def drafts(day: WeighDay, suspects: Collection[tuple[int, str]]) -> list[dict[str, object]]:
    """Every draft with every reading as it was taken, and what was put beside a reading afterwards.

    ``suspects`` are the readings that do not fit, by number of draft and place; they are marked.
    """
    return [_draft(day, draft, suspects) for draft in day.drafts]


def date_of(day: WeighDay) -> datetime.date | None:
    """The day that the ticket is of: the record's, else that of the first draft that has a time."""
    if day.record.date is not None:
        return day.record.date
    times = [draft.at for draft in day.drafts if draft.at is not None]
    return _in_one_zone(day)(times[0]).date() if times else None


def _ground(day: WeighDay) -> str:
    site = day.site
    slopes = [
        f"{_angle(slope)} {way}"
        for slope, way in ((site.slope_long, "front up"), (site.slope_lat, "left up"))
        if slope is not None
    ]
    return ", ".join([text for text in (site.surface, *slopes) if text])


def _position(day: WeighDay) -> str:
    site = day.site
    latitude = "" if site.latitude is None else f"latitude {_angle(site.latitude)}"
    elevation = "" if site.elevation is None else f"{format_number(site.elevation.value)} m above the sea"
    return ", ".join(text for text in (latitude, elevation) if text)


def _angle(quantity: Quantity) -> str:
    degrees = UnitSystem().show(quantity.value, Dimension.ANGLE)
    return f"{format_number(degrees, 2).rstrip('0').rstrip('.')}°"


def _span(day: WeighDay) -> list[str]:
    """From the first draft to the last, with the zone; times without one, which nothing can place, by themselves."""
    times = [draft.at for draft in day.drafts if draft.at is not None]
    zoned = [at for at in map(_in_one_zone(day), times) if at.tzinfo is not None]
    lines = [_from_to(day, zoned, f" {_zone(zoned[0])}")] if zoned else []
    bare = [at for at in times if at.tzinfo is None]
    return lines + ([_from_to(day, bare, ", no zone given" if zoned else "")] if bare else [])


def _from_to(day: WeighDay, times: Sequence[datetime.datetime], zone: str) -> str:
    first, last = min(times), max(times)
    if first.date() != last.date() or (day.record.date is not None and first.date() != day.record.date):
        return f"{first:%Y-%m-%d %H:%M} to {last:%Y-%m-%d %H:%M}{zone}"
    return f"drafts {first:%H:%M} to {last:%H:%M}{zone}"


def _in_one_zone(day: WeighDay) -> Callable[[datetime.datetime], datetime.datetime]:
    """Puts the times of drafts into the zone that they share as written, else into UTC; those without one stay."""
    offsets = {draft.at.utcoffset() for draft in day.drafts if draft.at is not None} - {None}

    def put(at: datetime.datetime) -> datetime.datetime:
        return at if at.tzinfo is None or len(offsets) == 1 else in_utc(at)

    return put


def _mixed(day: WeighDay) -> bool:
    """Whether drafts are written in several zones, or some of them in none."""
    return len({draft.at.utcoffset() for draft in day.drafts if draft.at is not None}) > 1


def _zone(at: datetime.datetime) -> str:
    """``UTC``, ``UTC+02:00``, or nothing for a time without a zone."""
    offset = at.utcoffset()
    return "" if offset is None else str(datetime.timezone(offset))


def _ratings(vehicle: Vehicle, units: UnitSystem) -> Iterator[str]:
    for name, key in _RATINGS:
        rating: float | None = getattr(vehicle.ratings, key)
        if rating is not None:
            yield f"{name} {figure(rating, Dimension.MASS, units)}"
    axles = [axle.rating for axle in vehicle.axles]
    if any(rating is not None for rating in axles):
        shown = " + ".join("?" if rating is None else figure(rating, Dimension.MASS, units) for rating in axles)
        yield f"axles {shown}"


def _instrument(item: Instrument, units: UnitSystem) -> list[str]:
    span = "not stated"
    if item.span_uncertainty is not None:
        span = with_unit(item.span_uncertainty, Dimension.SHARE, units)
    if item.span != 0.0:
        span = f"{with_unit(item.span, Dimension.SHARE, units)} corrected, {span}"
    return [
        item.id,
        str(item.kind),
        item.serial or "not stated",
        _verified(item),
        figure(item.capacity, Dimension.MASS, units),
        figure(item.division, Dimension.MASS, units),
        figure(item.height.value, Dimension.LENGTH, units) or "0",
        span,
        item.set or "",
    ]


def _verified(item: Instrument) -> str:
    verified = "not stated" if item.verified is None else item.verified.isoformat()
    return verified if item.due is None else f"{verified}, due {item.due.isoformat()}"


def _draft(day: WeighDay, draft: Draft, suspects: Collection[tuple[int, str]]) -> dict[str, object]:
    corrections = [item for item in day.corrections if item.draft == draft.number]
    last = {item.place: item for item in corrections}
    readings: list[dict[str, object]] = []
    for reading in draft.readings:
        correction = last.get(reading.place.text)
        value = None if correction is None or correction.value is None else correction.value
        readings.append(
            {
                "place": reading.place.text,
                "instrument": reading.instrument,
                "value": figure(reading.value, Dimension.MASS, day.units) or "0",
                "changed": correction is not None,
                "suspect": (draft.number, reading.place.text) in suspects,
                "corrected": None if value is None else figure(value, Dimension.MASS, day.units),
            }
        )
    notes = [_reason(item, day.units) for item in corrections] + ([draft.note] if draft.note else [])
    notes += circumstances(day, draft)
    return {
        "number": draft.number,
        "time": _time(day, draft),
        "state": day.state_title(draft.state),
        "label": day.label_of(draft),
        "readings": readings,
        "notes": notes,
    }


def _time(day: WeighDay, draft: Draft) -> str:
    if draft.at is None:
        return ""
    at = _in_one_zone(day)(draft.at)
    time = f"{at:%H:%M}" if at.date() == date_of(day) else f"{at:%m-%d %H:%M}"
    return f"{time} {_zone(at)}".strip() if _mixed(day) else time


def _reason(item: Correction, units: UnitSystem) -> str:
    what = "set aside" if item.value is None else f"corrected to {with_unit(item.value, Dimension.MASS, units)}"
    if item.label is not None:
        what = "named anew"
    at = "" if item.at is None else f" ({f'{item.at:%Y-%m-%d %H:%M} {_zone(item.at)}'.strip()})"
    return f"{item.place} {what}{at}: {item.reason}".lstrip()
