"""The yard: vehicles and instruments kept between days, taken in from a day and put into a new one."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from typing import Any, cast

from steelyard.model import Instrument, Role, Vehicle
from steelyard.report import pieces
from steelyard.store import Kept
from steelyard.units import Dimension, UnitSystem
from steelyard.web.pages.days.contracts import DayCard
from steelyard.web.pages.yard.contracts import YardCard, YardPage
from steelyard.web.pages.yard.drift import span_of
from steelyard.web.station.yard import read_kept, units_of_kept


def yard_page(vehicles: Iterable[Kept], instruments: Iterable[Kept], days: tuple[DayCard, ...]) -> YardPage:
    """The page of what is kept."""
    return YardPage(tuple(map(vehicle_card, vehicles)), tuple(map(instrument_card, instruments)), days)


def item_of(kept: Kept) -> Vehicle | Instrument:
    """The vehicle or the instrument that is kept."""
    day = read_kept(kept)
    return day.vehicles[kept.name] if kept.name in day.vehicles else day.instruments[kept.name]


def title_of(kept: Kept) -> str:
    """The name for people of a thing of the yard."""
    found = read_kept(kept).vehicles.get(kept.name)
    return kept.name if found is None else found.title


def vehicle_card(kept: Kept) -> YardCard:
    """A vehicle that is kept."""
    units = units_of_kept([kept])
    vehicle = read_kept(kept).vehicles[kept.name]
    lines = (*_vehicle_lines(vehicle, units), *_learned_lines(kept))
    return YardCard(kept.name, vehicle.title, lines, kept.version, "vehicles")


def _learned_lines(kept: Kept) -> Iterator[str]:
    """The lines that say what was learned about a vehicle from logs of growing load, and when."""
    sweeps: Any = kept.learned.get("sweeps")
    for state, told in sweeps.items() if isinstance(sweeps, dict) else ():  # pyright: ignore[reportUnknownVariableType]
        if not isinstance(told, dict) or not isinstance(told.get("learned"), dict):  # pyright: ignore[reportUnknownMemberType]
            continue
        count = len(cast("dict[str, Any]", told["learned"]))
        words = f"learned in {state}: {count} figures from {told.get('log', 'a log')}"  # pyright: ignore[reportUnknownMemberType]
        kept_on = told.get("kept") or f"{kept.saved:%Y-%m-%d}"  # pyright: ignore[reportUnknownMemberType, reportUnknownVariableType]
        yield f"{words}, kept {kept_on}"


def _vehicle_lines(vehicle: Vehicle, units: UnitSystem) -> Iterator[str]:
    count = len(vehicle.axles)
    yield f"{'tows' if vehicle.role is Role.TOWING else 'trailer'}, {count} axle{'' if count == 1 else 's'}"
    if vehicle.ratings.gvwr is not None:
        yield f"gross rating {pieces.with_unit(vehicle.ratings.gvwr, Dimension.MASS, units)}"
    rated = [axle.rating for axle in vehicle.axles if axle.rating is not None]
    if rated:
        figures = ", ".join(pieces.figure(rating, Dimension.MASS, units) for rating in rated)
        yield f"axle ratings {figures} {units.mass}"


def instrument_card(kept: Kept) -> YardCard:
    """An instrument that is kept."""
    units = units_of_kept([kept])
    instrument = read_kept(kept).instruments[kept.name]
    return YardCard(kept.name, kept.name, tuple(_instrument_lines(instrument, units)), kept.version, "instruments")


def _instrument_lines(instrument: Instrument, units: UnitSystem) -> Iterator[str]:
    capacity = pieces.with_unit(instrument.capacity, Dimension.MASS, units)
    yield f"{instrument.kind}, {capacity}, division {pieces.with_unit(instrument.division, Dimension.MASS, units)}"
    if instrument.serial:
        yield f"serial {instrument.serial}"
    span = span_of(instrument)
    if span is not None:
        yield f"span {span.said} %"
    if instrument.verified is not None:
        due = "" if instrument.due is None else f", due again {instrument.due.isoformat()}"
        yield f"verified {instrument.verified.isoformat()}{due}"
    if instrument.due is not None and instrument.due < datetime.datetime.now(datetime.UTC).date():
        yield "to be verified again: its day has passed"
