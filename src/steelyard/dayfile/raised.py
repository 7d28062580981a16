"""Reads what was raised for a draft, and holds it against the rig: one of two supports, and not too far."""

from __future__ import annotations

import math
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.values import Bound, as_table, quantity
from steelyard.model import Place, Raise, Vehicle, WrittenReading, support_lines
from steelyard.units import Dimension, Quantity

STEEPEST = math.radians(30.0)
"""No rig is tilted further to be weighed; common practice, no source."""

_EXAMPLE = 'write for example { "tow/2" = "20 in" }'
_HEIGHT = quantity(Dimension.LENGTH, Bound.NOT_NEGATIVE)


def read_raised(
    sheet: Sheet, path: KeyPath, raw: Any, state: str | None, readings: tuple[WrittenReading, ...]
) -> tuple[Raise, ...]:
    """The axles and coupling points raised in a draft; ``readings`` are its own, ``state`` that of the draft."""
    table = as_table(raw)
    if not table:
        sheet.fault(path, f"names nothing that was raised; {_EXAMPLE}, or leave it out", raw)
        return ()
    found: list[Raise] = []
    for text, height in table.items():
        one = _read_one(sheet, (*path, text), text, height)
        if one is not None:
            found.extend(one)
    if len(found) < len(table):
        return ()
    told = _complaint(sheet, found, state, readings)
    if told is not None:
        sheet.fault(path, told, raw)
        return ()
    return tuple(found)


def _read_one(sheet: Sheet, path: KeyPath, text: str, raw: Any) -> list[Raise] | None:
    place = sheet.place(text, path, value=raw)
    height: Quantity | None = _HEIGHT(sheet, path, raw)
    if place is None or height is None:
        return None
    if height.value == 0.0:
        sheet.fault(
            path, "is not a raise: zero tilts nothing; write how much higher it stood, or leave raised out", raw
        )
        return None
    parts = _parts(place)
    if parts is None:
        sheet.fault(path, f"is one wheel end; whole axles are raised, both ends alike; {_EXAMPLE}", raw)
        return None
    return [Raise(vehicle, axle, height) for vehicle, axle in parts]


def _parts(place: Place) -> list[tuple[str, int | None]] | None:
    """The axles and coupling points of a place; None where one end of an axle is missing."""
    ends: dict[tuple[str, int], set[str]] = {}
    for wheel in place.wheels:
        ends.setdefault((wheel.vehicle, wheel.axle), set()).add(wheel.side)
    if any(len(sides) < 2 for sides in ends.values()):
        return None
    return [*ends, *((trailer, None) for trailer in place.couplings)]


def _complaint(sheet: Sheet, found: list[Raise], state: str | None, readings: tuple[WrittenReading, ...]) -> str | None:
    """The fault in raising these together, in this state, with these readings; None without one."""
    names = dict.fromkeys(item.vehicle for item in found)
    if any(sheet.is_ghost("vehicles", name) for name in names) or state is None or sheet.is_ghost("states", state):
        return None
    if len(names) > 1:
        return f"is of {' and '.join(names)}; raise one vehicle in a draft"
    vehicle = sheet.vehicles[next(iter(names))]
    condition = sheet.states[state]
    if vehicle.id not in condition.vehicles:
        return f"raises {vehicle.id!r}, which is not in state {state!r}"
    if any(vehicle.id in (link.towing, link.trailer) for link in condition.links):
        return f"raises {vehicle.id!r}, which is coupled in state {state!r}; raise a vehicle that stands alone"
    lines = support_lines(vehicle)
    if len(lines) != 2:
        return (
            f"raises {vehicle.id!r}, which stands on {len(lines)} axles or groups that do not share load; what it does "
            "then follows from its springs and not from levers, and is not calculated"
        )
    return _uneven(vehicle, found) or _too_steep(vehicle, found) or _unread(vehicle, readings)


def _rise(found: list[Raise], line: tuple[int | None, ...]) -> set[float]:
    heights = {item.axle: item.height.value for item in found}
    return {heights.get(axle, 0.0) for axle in line}


def _uneven(vehicle: Vehicle, found: list[Raise]) -> str | None:
    rises = [_rise(found, line) for line in support_lines(vehicle)]
    if any(len(rise) > 1 for rise in rises):
        return f"raises some axles of a group of {vehicle.id!r} more than others; raise all axles of a group alike"
    if rises[0] == rises[1]:
        return f"raises everything that {vehicle.id!r} stands on by the same: it is higher, not tilted; raise one end"
    return None


def _too_steep(vehicle: Vehicle, found: list[Raise]) -> str | None:
    front, rear = support_lines(vehicle)
    rise = abs(next(iter(_rise(found, front))) - next(iter(_rise(found, rear))))
    base = abs(_mean_x(vehicle, rear) - _mean_x(vehicle, front))
    if rise < base and math.asin(rise / base) <= STEEPEST:
        return None
    tilt = (
        f"tilts {vehicle.id!r} by {math.degrees(math.asin(rise / base)):.0f} deg"
        if rise < base
        else (f"is more than the distance between what {vehicle.id!r} stands on")
    )
    return f"{tilt}; at most {math.degrees(STEEPEST):.0f} deg are calculated, and nobody should go near that"


def _mean_x(vehicle: Vehicle, line: tuple[int | None, ...]) -> float:
    return sum(0.0 if axle is None else vehicle.axles[axle - 1].x.value for axle in line) / len(line)


def _unread(vehicle: Vehicle, readings: tuple[WrittenReading, ...]) -> str | None:
    """A raised draft reads whole axles, groups or the coupling point, each by itself: only such sums tell of levers."""
    lines = support_lines(vehicle)
    read: dict[tuple[int | None, ...], int] = dict.fromkeys(lines, 0)
    for one in readings:
        others = [wheel.vehicle for wheel in one.place.wheels] + list(one.place.couplings)
        if any(name != vehicle.id for name in others):
            where = f"comes with a reading at {one.place.text!r}"
            return f"{where}; a draft with {vehicle.id!r} raised reads {vehicle.id!r} only"
        axles = [wheel.axle for wheel in one.place.wheels] + [None] * len(one.place.couplings)
        line = next((line for line in lines if set(axles) <= set(line)), None)
        if line is None:
            return f"comes with {one.place.text!r}, which holds what was raised and what was not; read them apart"
        read[line] += len(axles)
    for line, count in read.items():
        if 0 < count < (1 if line == (None,) else 2 * len(line)):
            what = " and ".join(f"{vehicle.id}/{axle}" for axle in line)
            return f"comes with readings of only a part of {what}; read all its wheel ends in the same draft, or none"
    return None
