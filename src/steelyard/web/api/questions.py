"""What is asked of a day, read from JSON: a scenario with the words of the weigh-day file, a map, a trailer, a remedy.

Every value passes the reader of files, so that what a question takes, a file takes too; a fault names its key.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.dayfile import (
    DayFileError,
    Fault,
    doubt_complaint,
    quantity_complaint,
    size_complaint,
)
from steelyard.model import WeighDay
from steelyard.units import Dimension, Quantity, QuantityError, parse_quantity

# ---- keys and values ----


def as_object(value: Any) -> dict[str, Any]:
    """A JSON object as it is; anything else as an empty one."""
    return dict(value) if isinstance(value, dict) else {}  # pyright: ignore[reportUnknownArgumentType]


def fault(path: str, value: Any, message: str) -> DayFileError:
    """One thing wrong with a question."""
    shown = str(value)[:60].encode("utf-8", "backslashreplace").decode()  # half a letter is none that can be sent
    path = path.encode("utf-8", "backslashreplace").decode()
    return DayFileError("question", (Fault(None, path, shown, message),))


def only(data: Mapping[str, Any], *keys: str) -> None:
    """Refuse keys that nobody knows.

    Raises
    ------
    DayFileError: there is one.
    """
    for key in data:
        if key not in keys:
            raise fault(str(key)[:60], "", f"is no key here; there are {', '.join(keys)}")


def text(data: Mapping[str, Any], key: str, default: str | None = None) -> str:
    """A name.

    Raises
    ------
    DayFileError: it is missing, or none.
    """
    value = data.get(key, default)
    if value is None:
        raise fault(key, "", "is missing")
    if not isinstance(value, str) or len(value) > 200:
        raise fault(key, value, "is no name")
    return value


def table(data: Mapping[str, Any], key: str) -> dict[str, Any]:
    """An object with keys of its own, empty where it is missing.

    Raises
    ------
    DayFileError: it is none.
    """
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise fault(key, value, "is no table of keys and values")
    return as_object(value)


def items(data: Mapping[str, Any], key: str) -> list[Any]:
    """A list, empty where it is missing.

    Raises
    ------
    DayFileError: it is none, or too long.
    """
    value: Any = data.get(key, [])
    if not isinstance(value, list) or len(value) > 200:  # pyright: ignore[reportUnknownArgumentType]
        raise fault(key, value, "is no list of at most 200")
    return list(value)  # pyright: ignore[reportUnknownArgumentType]


def flag(data: Mapping[str, Any], key: str) -> bool:
    """True or false, false where it is missing.

    Raises
    ------
    DayFileError: it is neither.
    """
    value = data.get(key, False)
    if not isinstance(value, bool):
        raise fault(key, value, "is neither true nor false")
    return value


def quantity(day: WeighDay, value: Any, dimension: Dimension, path: str) -> Quantity:
    """A number in the day's units, or a text with its unit.

    Raises
    ------
    DayFileError: it is none.
    """
    bare = day.units.symbol(dimension) if dimension in (Dimension.MASS, Dimension.LENGTH) else None
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise fault(path, value, "is no quantity")
    if not isinstance(value, str) and bare is None:
        raise fault(path, value, "needs its unit, in quotes")
    written = value if isinstance(value, str) else repr(float(value)) if abs(value) < 1e12 else "too large"
    try:
        found = parse_quantity(written, dimension, bare)
    except QuantityError as error:
        raise fault(path, value, quantity_complaint(written, error, dimension)) from None
    own = (
        Dimension.MASS,
        Dimension.LENGTH,
        Dimension.COUPLE,
        Dimension.SHARE,
    )  # what these are of says how large they may be
    complaint = (doubt_complaint if dimension in own else size_complaint)(found, dimension, day.units)
    if complaint is not None:
        raise fault(path, value, complaint)
    return found
