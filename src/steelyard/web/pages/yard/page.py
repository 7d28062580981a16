"""The yard: vehicles and instruments kept between days, taken in from a day and put into a new one."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from typing import Any, cast

from steelyard.dayfile import parse_day
from steelyard.model import Instrument, Role, Vehicle, WeighDay
from steelyard.report import pieces
from steelyard.store import Kept
from steelyard.units import Dimension, UnitSystem
from steelyard.web.pages.shell.contracts import DayCard, YardCard, YardPage

_HEAD = 'format = 1\nunits = {{ mass = "{mass}", length = "{length}" }}\n'


def yard_page(vehicles: Iterable[Kept], instruments: Iterable[Kept], days: tuple[DayCard, ...]) -> YardPage:
    """The page of what is kept."""
    return YardPage(tuple(map(vehicle_card, vehicles)), tuple(map(instrument_card, instruments)), days)


def new_day(vehicles: list[Kept], instruments: list[Kept], today: datetime.date) -> str:
    """A day without drafts of what was chosen: each vehicle alone, and each trailer on what can tow it.

    Raises
    ------
    DayFileError: what is kept does not make a day.
    """
    blocks = [item.text for item in (*instruments, *vehicles)]
    units = _units_of(vehicles)
    base = _HEAD.format(mass=units.mass, length=units.length)
    day = parse_day("\n".join([base, *blocks]), "yard")
    names = " and ".join(item.title for item in day.vehicles.values())
    title = f"{names}, {today:%d %B %Y}".replace("\\", "").replace('"', "'")
    head = base.replace("format = 1\n", f'format = 1\ntitle = "{title}"\n')
    return "\n".join([head, *blocks, *_states(day)])


def _states(day: WeighDay) -> Iterator[str]:
    trailers = [item for item in day.vehicles.values() if item.role is Role.TRAILER]
    pairs = len(trailers) * sum(item.role is Role.TOWING and bool(item.couplings) for item in day.vehicles.values())
    for towing in day.vehicles.values():
        if towing.role is not Role.TOWING:
            continue
        yield f'[states.{towing.id}_solo]\nvehicles = ["{towing.id}"]\n'
        coupling = next(iter(towing.couplings), None)
        for trailer in trailers if coupling is not None else ():
            couple = f'{{ towing = "{towing.id}", at = "{coupling}", trailer = "{trailer.id}" }}'
            name = "hitched" if pairs == 1 else f"{towing.id}_{trailer.id}"
            yield f'[states.{name}]\nvehicles = ["{towing.id}", "{trailer.id}"]\ncouple = {couple}\n'
    if not any(item.role is Role.TOWING for item in day.vehicles.values()):
        for trailer in trailers:
            yield f'[states.{trailer.id}_alone]\nvehicles = ["{trailer.id}"]\n'


def _units_of(kept: list[Kept]) -> UnitSystem:
    """Every value says its unit; the day takes those of its first vehicle."""
    return UnitSystem("kg", "mm") if kept and " kg" in kept[0].text else UnitSystem("lb", "in")


def vehicle_card(kept: Kept) -> YardCard:
    """A vehicle that is kept."""
    units = _units_of([kept])
    vehicle = _read(kept, units).vehicles[kept.name]
    lines = (*_vehicle_lines(vehicle, units), *_learned_lines(kept))
    return YardCard(kept.name, vehicle.title, lines, kept.version)


def _learned_lines(kept: Kept) -> Iterator[str]:
    """What logs of growing load taught of a vehicle, and when."""
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
    units = _units_of([kept])
    instrument = _read(kept, units).instruments[kept.name]
    return YardCard(kept.name, kept.name, tuple(_instrument_lines(instrument, units)), kept.version)


def _instrument_lines(instrument: Instrument, units: UnitSystem) -> Iterator[str]:
    capacity = pieces.with_unit(instrument.capacity, Dimension.MASS, units)
    yield f"{instrument.kind}, {capacity}, division {pieces.with_unit(instrument.division, Dimension.MASS, units)}"
    if instrument.serial:
        yield f"serial {instrument.serial}"
    if instrument.verified is not None:
        yield f"verified {instrument.verified.isoformat()}"


def read_kept(kept: Kept) -> WeighDay:
    """A day with nothing but a thing of the yard."""
    return _read(kept, _units_of([kept]))


def _read(kept: Kept, units: UnitSystem) -> WeighDay:
    return parse_day(_HEAD.format(mass=units.mass, length=units.length) + kept.text, "yard")
