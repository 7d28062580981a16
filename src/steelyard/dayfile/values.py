"""Readers of single values: text, yes or no, names, dates, quantities within bounds, one of a few words.

Each takes the sheet, the path and the raw value; it returns the value read, or None with a fault entered.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Callable
from enum import StrEnum
from typing import Any, TypeAlias, TypeVar, cast

from steelyard.dayfile.fault import KeyPath, suggest
from steelyard.dayfile.sheet import Sheet
from steelyard.dayfile.slips import quantity_complaint
from steelyard.units import Dimension, Quantity, QuantityError, UnitSystem, parse_quantity

Reader: TypeAlias = Callable[[Sheet, KeyPath, Any], Any]
_Word = TypeVar("_Word", bound=StrEnum)

RESERVED = ("combination", "coupling", "cargo")
"""Names that finding ids and places use for something else."""

_NAME = re.compile(r"[A-Za-z0-9_-]+")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")
_LEAST = 1e-9
_ROUNDED = 1e-5  # of a bound: what its six figures in the file's unit, or the conversion, may take away
# Bounds in SI that no rig reaches: they keep a slip of the unit, or of the exponent, out of the arithmetic. Common
# practice, no source.
_MOST = {
    Dimension.MASS: 1e6,
    Dimension.LENGTH: 60.0,
    Dimension.RATE: 1e8,
    Dimension.ROLL_RATE: 1e9,
    Dimension.COUPLE: 1e6,
    Dimension.ANGLE: math.pi / 2,
    Dimension.DENSITY: 3e4,
    Dimension.VOLUME: 1e3,
    Dimension.SHARE: 1.0,
    Dimension.MASS_FLOW: 1.0,
    Dimension.VOLUME_FLOW: 1e-3,
    Dimension.FORCE: 1e7,
    Dimension.PRESSURE: 2e6,
}

_CHECK = "check the number and its unit"

HIGHEST = 1e4
"""The highest place [m] where anything is weighed."""


class Bound(StrEnum):
    """The values that a quantity may have."""

    ANY = "any"
    NOT_NEGATIVE = "zero or more"
    POSITIVE = "more than zero"
    SHARE = "0 % to 100 %"
    SLOPE = "-15 deg to 15 deg"
    LATITUDE = "-90 deg to 90 deg"


_WITHIN = {
    Bound.SHARE: (0.0, 1.0),
    Bound.SLOPE: (-math.pi / 12, math.pi / 12),
    Bound.LATITUDE: (-math.pi / 2, math.pi / 2),
}


def quantity(dimension: Dimension, bound: Bound = Bound.ANY, *, most: float | None = None) -> Reader:
    """A reader of a quantity [SI] with its stated uncertainty, if any.

    Neither the value nor its uncertainty is over ``most`` [SI], nor the value under minus that; left out: what the
    bound or the dimension allows.
    """
    limit = _WITHIN[bound][1] if bound in _WITHIN else _MOST[dimension] if most is None else most
    least = {Bound.NOT_NEGATIVE: 0.0, Bound.POSITIVE: _LEAST}.get(bound, _WITHIN.get(bound, (-limit, limit))[0])

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> Quantity | None:
        try:
            value = parse_quantity(raw, dimension, sheet.bare_unit(dimension))
        except QuantityError as error:
            sheet.fault(path, quantity_complaint(raw, error, dimension), raw)
            return None
        if least <= value.value <= limit and (value.u is None or value.u <= limit):
            return value  # as nearly all are: the messages below need not be thought about
        told = _out_of_bounds(value, bound)
        if told is None and (sheet.units_sound or isinstance(raw, str)):
            told = _too_large(sheet, value, dimension, bound, limit)
        if told is not None:
            sheet.fault(path, told, raw)
            return None
        return value

    return read


def amount(dimension: Dimension, bound: Bound = Bound.ANY, *, most: float | None = None) -> Reader:
    """A reader of a plain number [SI]; an uncertainty may be stated but nothing uses it."""
    read_quantity = quantity(dimension, bound, most=most)

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> float | None:
        value = read_quantity(sheet, path, raw)
        return None if value is None else value.value

    return read


def _out_of_bounds(value: Quantity, bound: Bound) -> str | None:
    if bound in (Bound.NOT_NEGATIVE, Bound.POSITIVE):
        if value.value < 0.0:
            return f"is negative; it must be {bound}"
        if bound is Bound.POSITIVE and value.value < _LEAST:
            return "is zero; it must be more than zero" if value.value == 0.0 else "is too small; check its unit"
    elif bound in _WITHIN:
        low, high = _WITHIN[bound]
        # a bound met exactly in the file's unit may miss it by rounding in SI
        return None if low - 1e-12 <= value.value <= high + 1e-12 else f"is outside {bound}"
    return None


def _too_large(sheet: Sheet, value: Quantity, dimension: Dimension, bound: Bound, most: float) -> str | None:
    """Message for a value, or an uncertainty, over ``most`` [SI], with the bound in the file's unit."""
    if abs(value.value) > most * (1 + _ROUNDED):
        limit = _limit(sheet.units, dimension, most)
        span = f"outside -{limit} to {limit}" if bound is Bound.ANY else f"over {limit}, the most that is allowed here"
        return f"is {span}; {_CHECK}"
    return doubt_complaint(value, dimension, sheet.units, most=most)


def size_complaint(value: Quantity, dimension: Dimension, units: UnitSystem) -> str | None:
    """Message for a value, or its uncertainty, beyond the bound of its dimension; None within it."""
    if abs(value.value) > _MOST[dimension] * (1 + _ROUNDED):
        return f"is over {_limit(units, dimension, _MOST[dimension])}, the most that is allowed here; {_CHECK}"
    return doubt_complaint(value, dimension, units)


def doubt_complaint(
    value: Quantity, dimension: Dimension, units: UnitSystem, *, most: float | None = None
) -> str | None:
    """Message for an uncertainty over ``most`` [SI], else over the bound of its dimension; None within it."""
    bound = _MOST[dimension] if most is None else most
    if value.u_or(0.0) <= bound * (1 + _ROUNDED):
        return None
    return f"has an uncertainty over {_limit(units, dimension, bound)}, the most that is allowed here; {_CHECK}"


def _limit(units: UnitSystem, dimension: Dimension, most: float) -> str:
    return f"{_plain(units.show(most, dimension))} {units.symbol(dimension)}"


def _plain(value: float) -> str:
    """Six figures, without an exponent."""
    return f"{float(f'{value:.6g}'):.10f}".rstrip("0").rstrip(".")


def text(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A text of any kind, without control characters other than tab and newline."""
    if not isinstance(raw, str):
        sheet.fault(path, "is not a text; write it in quotes", raw)
        return None
    control = _CONTROL.search(raw)
    if control is not None:
        code = f"U+{ord(control[0]):04X}"
        sheet.fault(path, f"has the control character {code}; a text has none but tab and newline", raw)
        return None
    return raw


def words(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A text that says something."""
    read = text(sheet, path, raw)
    if read is not None and not read.strip():
        sheet.fault(path, "is empty; write a word or more", raw)
        return None
    return read


def flag(sheet: Sheet, path: KeyPath, raw: Any) -> bool | None:
    """True or false."""
    if isinstance(raw, bool):
        return raw
    sheet.fault(path, "is neither true nor false; write true or false, without quotes", raw)
    return None


def name(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A name that groups things: letters, digits, ``_`` and ``-``."""
    if isinstance(raw, str) and _NAME.fullmatch(raw):
        return raw
    sheet.fault(path, "is not a name; names are letters, digits, _ and -", raw)
    return None


def sound_name(sheet: Sheet, path: KeyPath, key: str) -> bool:
    """Whether a table's key may name a thing; a fault is entered where it may not."""
    if not _NAME.fullmatch(key):
        sheet.ghost("names", key)
        sheet.fault(path, "is not a name; names are letters, digits, _ and -", key)
        return False
    if key in RESERVED:
        sheet.fault(
            path, f"is a reserved name, as are {' and '.join(n for n in RESERVED if n != key)}; choose another", key
        )
        return False
    return True


def date(sheet: Sheet, path: KeyPath, raw: Any) -> datetime.date | None:
    """A date without a time."""
    if isinstance(raw, datetime.date) and not isinstance(raw, datetime.datetime):
        return raw
    sheet.fault(path, "is not a date; write for example 2026-05-14, without quotes", raw)
    return None


def moment(sheet: Sheet, path: KeyPath, raw: Any) -> datetime.datetime | None:
    """A date with a time, in local time or with an offset."""
    if isinstance(raw, datetime.datetime):
        return raw
    sheet.fault(path, "is not a date with a time; write for example 2026-05-14T09:12:00Z, without quotes", raw)
    return None


def choice(of: type[_Word]) -> Reader:
    """A reader of one of the words of an enumeration."""
    known = [word.value for word in of]
    *most, last = (f'"{word}"' for word in known)
    allowed = f"write {', '.join(most)} or {last}"

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> _Word | None:
        if isinstance(raw, str) and raw in known:
            return of(raw)
        hint = suggest(raw, known, "") if isinstance(raw, str) else ""
        sheet.fault(path, f"is not known; {hint + ' ' if hint else ''}{allowed}", raw)
        return None

    return read


def as_table(raw: Any) -> dict[str, Any] | None:
    """The raw value where it is a table, else None."""
    return cast(dict[str, Any], raw) if isinstance(raw, dict) else None


def as_list(raw: Any) -> list[Any] | None:
    """The raw value where it is a list, else None."""
    return cast(list[Any], raw) if isinstance(raw, list) else None
