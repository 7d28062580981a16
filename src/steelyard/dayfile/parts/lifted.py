"""Reads ``lifted`` of a state: the axles that are up in it."""

from __future__ import annotations

from typing import Any

from steelyard.dayfile.fault import KeyPath, listed
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.values import as_list
from steelyard.model import Role, Sharing, Vehicle

_EXAMPLE = 'lifted = ["tow/3"]'


def read_lifted(sheet: Sheet, path: KeyPath, raw: Any, vehicles: tuple[str, ...]) -> dict[str, frozenset[int]]:
    """Axles by vehicle, counted from 1; empty where a fault was entered on the sheet."""
    items = as_list(raw)
    if items is None:
        sheet.fault(path, f"is not a list of axles; write {_EXAMPLE}", raw)
        return {}
    found: dict[str, set[int]] = {}
    for index, item in enumerate(items):
        place = (*path, index)
        axle = _axle(sheet, place, item, vehicles)
        if axle is None:
            continue
        name, number = axle
        if number in found.get(name, ()):
            sheet.fault(place, "stands twice in the list; name each axle once", item)
        found.setdefault(name, set()).add(number)
    lifted = {name: frozenset(numbers) for name, numbers in found.items()}
    for name, numbers in lifted.items():
        _check_rest(sheet, path, sheet.vehicles[name], numbers)
    return lifted


def _axle(sheet: Sheet, path: KeyPath, item: Any, vehicles: tuple[str, ...]) -> tuple[str, int] | None:
    """The vehicle and the number of one axle that may be up; None with a fault entered, or where nobody can tell."""
    name, slash, number = item.partition("/") if isinstance(item, str) else ("", "", "")
    if not slash or not (number.isascii() and number.isdigit()):
        sheet.fault(path, f"is not an axle; name vehicle and axle, as in {_EXAMPLE}", item)
        return None
    if not sheet.knows("vehicles", name, path, sheet.vehicles) or sheet.is_ghost("vehicles", name):
        return None
    if name not in vehicles:
        if not sheet.is_ghost("states", str(path[1])):
            sheet.fault(path, f"is of {name!r}, which is not in this state; it has {listed(vehicles)}", item)
        return None
    vehicle = sheet.vehicles[name]
    if not 1 <= int(number) <= len(vehicle.axles):
        sheet.fault(path, f"is not an axle of {name!r}, which has {len(vehicle.axles)}, counted from 1", item)
        return None
    if int(number) == 1 and vehicle.role is Role.TOWING:
        sheet.fault(path, "is the front axle of a motor vehicle, which steers and is never up", item)
        return None
    return name, int(number)


def _check_rest(sheet: Sheet, path: KeyPath, vehicle: Vehicle, numbers: frozenset[int]) -> None:
    """Some axle stays down, and an equalised group goes up as a whole or not at all."""
    if len(numbers) == len(vehicle.axles):
        sheet.fault(path, f"lifts every axle of {vehicle.id!r}; at least one stays on the ground")
        return
    for number in sorted(numbers):
        axle = vehicle.axles[number - 1]
        others = [
            at
            for at, other in enumerate(vehicle.axles, start=1)
            if axle.sharing is Sharing.EQUALISED and other.group == axle.group and at not in numbers
        ]
        if others:
            rest = listed(f"{vehicle.id}/{at}" for at in others)
            message = f"shares load through an equaliser with {rest}, which would take its side down; lift all or none"
            sheet.fault(path, message, f"{vehicle.id}/{number}")
