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
from steelyard.units import Dimension, Quantity, QuantityError, parse_quantity

Reader: TypeAlias = Callable[[Sheet, KeyPath, Any], Any]
_Word = TypeVar("_Word", bound=StrEnum)

RESERVED = ("combination", "coupling", "cargo")
"""Names that finding ids and places use for something else."""

_NAME = re.compile(r"[A-Za-z0-9_-]+")
# Bounds in SI that no rig reaches: they keep a slip of the unit, or of the exponent, out of the arithmetic.
_MOST = 1e12
_LEAST = 1e-9


class Bound(StrEnum):
    """What values a quantity may have."""

    ANY = "any"
    NOT_NEGATIVE = "zero or more"
    POSITIVE = "more than zero"
    SHARE = "0 % to 100 %"
    SMALL_ANGLE = "-45 deg to 45 deg"
    LATITUDE = "-90 deg to 90 deg"


_WITHIN = {
    Bound.SHARE: (0.0, 1.0),
    Bound.SMALL_ANGLE: (-math.pi / 4, math.pi / 4),
    Bound.LATITUDE: (-math.pi / 2, math.pi / 2),
}


def quantity(dimension: Dimension, bound: Bound = Bound.ANY) -> Reader:
    """A reader of a quantity [SI] with its stated uncertainty, if any."""

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> Quantity | None:
        try:
            value = parse_quantity(raw, dimension, sheet.bare_unit(dimension))
        except QuantityError as error:
            sheet.fault(path, str(error), raw)
            return None
        complaint = _out_of_bounds(value, bound)
        if complaint is not None:
            sheet.fault(path, complaint, raw)
            return None
        return value

    return read


def amount(dimension: Dimension, bound: Bound = Bound.ANY) -> Reader:
    """A reader of a plain number [SI]; an uncertainty may be stated but nothing uses it."""
    read_quantity = quantity(dimension, bound)

    def read(sheet: Sheet, path: KeyPath, raw: Any) -> float | None:
        value = read_quantity(sheet, path, raw)
        return None if value is None else value.value

    return read


def _out_of_bounds(value: Quantity, bound: Bound) -> str | None:
    if abs(value.value) > _MOST or value.u_or(0.0) > _MOST:
        return "is larger than anything on wheels; check the number and its unit"
    if bound is Bound.ANY:
        return None
    if bound in (Bound.NOT_NEGATIVE, Bound.POSITIVE):
        if value.value < 0.0:
            return f"is negative; it must be {bound}"
        if bound is Bound.POSITIVE and value.value < _LEAST:
            return "is zero; it must be more than zero" if value.value == 0.0 else "is too small; check its unit"
        return None
    low, high = _WITHIN[bound]
    # a bound met exactly in the file's unit may miss it by rounding in SI
    return None if low - 1e-12 <= value.value <= high + 1e-12 else f"is outside {bound}"


def text(sheet: Sheet, path: KeyPath, raw: Any) -> str | None:
    """A text of any kind."""
    if isinstance(raw, str):
        return raw
    sheet.fault(path, "is no text; write it in quotes", raw)
    return None


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
    sheet.fault(path, "is no name; names are letters, digits, _ and -", raw)
    return None


def sound_name(sheet: Sheet, path: KeyPath, key: str) -> bool:
    """Whether a table's key may name a thing; a fault is entered where it may not."""
    if not _NAME.fullmatch(key):
        sheet.fault(path, "is no name; names are letters, digits, _ and -", key)
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
    sheet.fault(path, "is no date; write for example 2026-05-14, without quotes", raw)
    return None


def moment(sheet: Sheet, path: KeyPath, raw: Any) -> datetime.datetime | None:
    """A date with a time, in local time or with an offset."""
    if isinstance(raw, datetime.datetime):
        return raw
    sheet.fault(path, "is no date with a time; write for example 2026-05-14T09:12:00Z, without quotes", raw)
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
