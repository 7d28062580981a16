"""The keys of the forms for axle groups by their spread, the bridge formula, and the licence by weight."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, cast

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.tables import Key, listed_tables, nested, read_table
from steelyard.dayfile.values import Bound, amount, choice
from steelyard.model import Rounding
from steelyard.units import Dimension

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_LENGTH = amount(Dimension.LENGTH, Bound.POSITIVE)
_MOST_AXLES = 99
_MOST_STEPS = 100
_LEAST_LENGTH = 0.1  # m; a formula goes by feet or metres, and finer steps only make it slow


def _axles(sheet: Sheet, path: KeyPath, raw: Any) -> int | None:
    if isinstance(raw, int) and not isinstance(raw, bool) and 2 <= raw <= _MOST_AXLES:
        return raw
    sheet.fault(path, f"is not a number of axles; write a whole number from 2 to {_MOST_AXLES}, without quotes", raw)
    return None


def _formula_length(sheet: Sheet, path: KeyPath, raw: Any) -> float | None:
    read = _LENGTH(sheet, path, raw)
    if read is not None and read < _LEAST_LENGTH:
        sheet.fault(path, 'is under 100 mm; write the length that the formula counts in, as in "1 ft"', raw)
        return None
    return read


def _read_steps(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[dict[str, Any], ...] | None:
    if isinstance(raw, list) and len(cast(list[Any], raw)) > _MOST_STEPS:
        sheet.fault(path, f"has more than {_MOST_STEPS} steps; write the figures that the formula does not give alone")
        return None
    rows = listed_tables(sheet, path, raw, example='[{ axles = 2, under = "9 ft", limit = "38000 lb" }]')
    return tuple(read_table(sheet, (*path, index), row, _STEP, what="a step") for index, row in rows)


_STEP = {
    "axles": Key(_axles, "2"),
    "under": Key(_LENGTH, '"9 ft"'),
    "limit": Key(_MASS, '"38000 lb"'),
}
_TANDEMS = {
    "limit": Key(_MASS, '"68000 lb"'),
    "from": Key(_LENGTH, '"36 ft"'),
    "over": Key(_LENGTH, '"40 in"'),
    "upto": Key(_LENGTH, '"96 in"'),
}

AMERICAN_KEYS: Mapping[str, Mapping[str, Key]] = {
    "axle_group": {
        "limit": Key(_MASS, '"34000 lb"'),
        "over": Key(_LENGTH),
        "upto": Key(_LENGTH, '"96 in"'),
    },
    "bridge": {
        "over": Key(_LENGTH, '"96 in"'),
        "weight": Key(_MASS, '"500 lb"'),
        "length": Key(_formula_length, '"1 ft"'),
        "weight_rounding": Key(choice(Rounding), f'"{Rounding.HALF_DOWN}"'),
        "length_rounding": Key(choice(Rounding), f'"{Rounding.HALF_UP}"'),
        "steps": Key(_read_steps),
        "tandems": Key(nested(_TANDEMS, what="the exception for two tandems")),
    },
    "licence_us": {
        "combination": Key(_MASS, '"26001 lb"'),
        "single": Key(_MASS, '"26001 lb"'),
        "towed": Key(_MASS, '"10000 lb"'),
    },
    "carrier_us": {"limit": Key(_MASS, '"10001 lb"')},
}


def _spreads_in_order(sheet: Sheet, path: KeyPath, values: Mapping[str, Any], raw: Mapping[str, Any]) -> None:
    """A band of spreads ends above where it begins."""
    if "over" in values and "upto" in values and values["upto"] <= values["over"]:
        message = "is not more than over, so that no group of axles is meant; over is the lower end of the spreads"
        sheet.fault((*path, "upto"), message, raw["upto"])


def _tandems_in_order(sheet: Sheet, path: KeyPath, values: Mapping[str, Any], raw: Mapping[str, Any]) -> None:
    pair: Mapping[str, Any] = values.get("tandems", {})
    _spreads_in_order(sheet, (*path, "tandems"), pair, raw.get("tandems", {}))


AMERICAN_CHECKS: Mapping[str, Callable[[Sheet, KeyPath, Mapping[str, Any], Mapping[str, Any]], None]] = {
    "axle_group": _spreads_in_order,
    "bridge": _tandems_in_order,
}
"""Checks of the values of a rule against each other, by its form: sheet, path of the rule, values, raw table."""
