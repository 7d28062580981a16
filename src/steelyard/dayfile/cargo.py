"""Reads ``[cargo.*]`` and what states change of it."""

from __future__ import annotations

from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, named_tables, read_table, whole
from steelyard.dayfile.values import Bound, as_table, flag, quantity, text
from steelyard.model import Cargo
from steelyard.units import Dimension, Quantity

_QUANTITIES = {
    "mass": Key(quantity(Dimension.MASS, Bound.NOT_NEGATIVE)),
    "volume": Key(quantity(Dimension.VOLUME, Bound.NOT_NEGATIVE)),
    "density": Key(quantity(Dimension.DENSITY, Bound.POSITIVE)),
    "level": Key(quantity(Dimension.SHARE, Bound.SHARE)),
    "x": Key(quantity(Dimension.LENGTH)),
    "y": Key(quantity(Dimension.LENGTH)),
    "z": Key(quantity(Dimension.LENGTH, Bound.NOT_NEGATIVE)),
}
_TANK = ("volume", "density", "level")
_KEYS = {
    "on": Key(text, '"tow"'),
    "name": Key(text),
    "movable": Key(flag),
    "roof": Key(flag),
    "rate": Key(whole),
} | _QUANTITIES
_MASS_RATE = quantity(Dimension.MASS_FLOW)
_VOLUME_RATE = quantity(Dimension.VOLUME_FLOW)


def read_cargo(sheet: Sheet, raw: Any) -> None:
    """Read all cargo onto the sheet; the vehicles must be there."""
    for key, table in named_tables(sheet, ("cargo",), raw, what="each cargo"):
        path = ("cargo", key)
        values = read_table(sheet, path, table, _KEYS, what="a cargo")
        on = values.get("on")
        if on is None or not sheet.knows("vehicles", on, (*path, "on"), sheet.vehicles):
            sheet.ghost("cargo", key)
        present = as_table(table) or {}
        sound = _check_contents(sheet, path, set(present), present)
        if not sound or any(quantity not in values for quantity in present if quantity in _QUANTITIES):
            sheet.ghost("contents", key)
        rate = values.pop("rate", None)
        if rate is not None:
            values |= _read_rate(sheet, path, rate, values)
        values.setdefault("on", "")
        sheet.cargo[key] = Cargo(id=key, **values)


def _read_rate(sheet: Sheet, path: KeyPath, raw: Any, values: dict[str, Any]) -> dict[str, Quantity]:
    """How fast the amount changes by itself; by mass, or by volume for a tank."""
    path = (*path, "rate")
    by_volume = isinstance(raw, str) and any(f"{unit}/" in raw for unit in ("gal", "L", "l", "m3", "ft3", "in3"))
    rate = (_VOLUME_RATE if by_volume else _MASS_RATE)(sheet, path, raw)
    if rate is None:
        return {}
    if "x" not in values or "y" not in values or not ({"mass", "volume"} & set(values)):
        message = "needs an amount and a place beside it: mass, or volume and density, with x and y"
        sheet.fault(path, message, raw)
        return {}
    if by_volume and "density" not in values:
        sheet.fault(path, "is of a volume but this cargo is stated by its mass; write the rate by mass too", raw)
        return {}
    return {"volume_rate" if by_volume else "rate": rate}


def read_change(sheet: Sheet, path: KeyPath, raw: Any, aboard: tuple[str, ...]) -> dict[str, dict[str, Quantity]]:
    """Changes that a state makes to the cargo aboard."""
    table = as_table(raw)
    if table is None:
        sheet.fault(path, 'is not a table; write for example change.water.level = "100 %"', raw)
        return {}
    changes: dict[str, dict[str, Quantity]] = {}
    for key, overrides in table.items():
        place = (*path, key)
        if not sheet.knows("cargo", key, place, sheet.cargo):
            continue
        if key not in aboard:
            message = f"is not aboard in this state; add {key!r} to its cargo, or leave the change out"
            sheet.fault(place, message, overrides)
        values = read_table(sheet, place, overrides, _QUANTITIES, what="a change of cargo")
        cargo = sheet.cargo[key]
        own = {name for name in _QUANTITIES if getattr(cargo, name) is not None}
        stated = as_table(overrides) or {}
        if not sheet.is_ghost("contents", key):
            _check_contents(sheet, place, own | set(stated), stated)
        changes[key] = values
    return changes


def _check_contents(sheet: Sheet, path: KeyPath, present: set[str], shown: dict[str, Any]) -> bool:
    """Whether a mass is stated, or a tank, or nothing. ``shown`` is what stands at ``path`` itself."""
    tank = [key for key in _TANK if key in present]
    if not tank:
        return True
    if "mass" in present:
        key = next((key for key in tank if key in shown), "mass")
        other = tank[0] if key == "mass" else "mass"
        message = f"cannot stand beside {other}; give the mass, or volume, density and level, not both"
    elif "volume" not in present:
        key, message = tank[0], 'has no volume beside it; write for example volume = "40 gal", or give the mass instead'
    elif "density" not in present:
        key, message = tank[0], 'has no density beside it; write for example density = "8.34 lb/gal", or give the mass'
    else:
        return True
    key = key if key in shown else next(key for key in shown if key in _QUANTITIES)
    sheet.fault((*path, key), message, shown[key])
    return False
