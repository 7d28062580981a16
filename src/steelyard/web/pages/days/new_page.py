"""The page of a new rig: what the yard has for it, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from steelyard.dayfile import DayFileError
from steelyard.model import Instrument, Role, Vehicle
from steelyard.report import pieces
from steelyard.store import Kept, Store
from steelyard.units import Dimension, UnitSystem
from steelyard.web.pages.days.contracts import NewPage, YardPad, YardRig
from steelyard.web.pages.days.new import SURFACES
from steelyard.web.station.yard import read_kept, units_of_kept

_UNNAMED = ("tow", "trailer")  # of vehicles that have no name of their own: other days have others under it


def new_page(
    values: Mapping[str, str], faults: Mapping[str, str], vehicles: Sequence[Kept], pads: Sequence[Kept], store: Store
) -> NewPage:
    """The page with what was answered so far, and with what the yard has. Waits for the database."""
    rigs = tuple(rig for kept in vehicles if (rig := _rig(kept, store)) is not None)
    known = tuple(pad for kept in pads if (pad := _pad(kept)) is not None)
    return NewPage(values, faults, rigs, known, SURFACES)


def _rig(kept: Kept, store: Store) -> YardRig | None:
    """A vehicle of the yard; None where this version cannot read it."""
    try:
        vehicle = read_kept(kept).vehicles[kept.name]
    except (DayFileError, KeyError):
        return None
    said = [_size(vehicle, units_of_kept([kept])), _weighed(kept.name, store)]
    return YardRig(kept.name, vehicle.title, ", ".join(filter(None, said)), vehicle.role is Role.TOWING)


def _size(vehicle: Vehicle, units: UnitSystem) -> str:
    """The wheelbase, or the way from a trailer's coupling to its first axle."""
    tows = vehicle.role is Role.TOWING
    length = vehicle.axles[-1 if tows and len(vehicle.axles) == 2 else 1 if tows else 0].x.value
    return pieces.with_unit(length, Dimension.LENGTH, units) + ("" if tows else " to its axle")


def _weighed(name: str, store: Store) -> str:
    """On how many days it was weighed; empty where its name does not tell."""
    if name in _UNNAMED:
        return ""
    times = sum(day.drafts > 0 for day in store.days_with_vehicle(name))
    return f"weighed {times} times" if times > 1 else "weighed once" if times else "not weighed yet"


def _pad(kept: Kept) -> YardPad | None:
    try:
        day = read_kept(kept)
        instrument: Instrument = day.instruments[kept.name]
    except (DayFileError, KeyError):
        return None
    units = units_of_kept([kept])
    capacity = pieces.with_unit(instrument.capacity, Dimension.MASS, units)
    division = pieces.with_unit(instrument.division, Dimension.MASS, units)
    return YardPad(kept.name, f"{instrument.kind}, {capacity} by {division}")
