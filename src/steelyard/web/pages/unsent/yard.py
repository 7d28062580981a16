"""The yard as far as a device needs it to put one of its rigs at the pads while the station is out of reach."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from steelyard.dayfile import DayFileError
from steelyard.model import Axle, Instrument, Role, Vehicle
from steelyard.store import Kept
from steelyard.web.station.yard import read_kept, units_of_kept


def yard_for_plan(vehicles: Sequence[Kept], instruments: Sequence[Kept]) -> dict[str, Any]:
    """Vehicles and instruments by name in metres and kilograms, as ``unsent-plan.js`` reads them.

    What this version cannot read is left out, as it is on the page of a new rig.
    """
    return {
        "vehicles": {kept.name: one for kept in vehicles if (one := _vehicle(kept)) is not None},
        "instruments": {kept.name: one for kept in instruments if (one := _instrument(kept)) is not None},
    }


def _vehicle(kept: Kept) -> dict[str, Any] | None:
    try:
        vehicle: Vehicle = read_kept(kept).vehicles[kept.name]
    except (DayFileError, KeyError):
        return None
    return {
        "id": vehicle.id,
        "title": vehicle.title,
        "tows": vehicle.role is Role.TOWING,
        "unit": units_of_kept([kept]).mass,
        "axles": [{"x": axle.x.value, "rating": _of_wheel(axle)} for axle in vehicle.axles],
        "couplings": [
            {"id": name, "type": str(item.type), "x": item.x.value, "vertical": item.vertical}
            for name, item in vehicle.couplings.items()
        ],
    }


def _of_wheel(axle: Axle) -> float | None:
    """The rating of one wheel end, as the drawing of the pads has it: half that of its axle where it has none."""
    if axle.wheel_rating is None and axle.rating is not None:
        return axle.rating / 2
    return axle.wheel_rating


def _instrument(kept: Kept) -> dict[str, Any] | None:
    try:
        one: Instrument = read_kept(kept).instruments[kept.name]
    except (DayFileError, KeyError):
        return None
    capacity = one.capacity if math.isfinite(one.capacity) else None
    return {"division": one.division, "capacity": capacity, "kind": str(one.kind)}
