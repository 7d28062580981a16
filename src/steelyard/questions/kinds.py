"""Kinds of values that a question can take: names, numbers, quantities, tables and lists of these; see ``form``."""

from __future__ import annotations

import re
from enum import Enum
from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile import doubt_complaint, quantity_complaint, size_complaint
from steelyard.names import meant, nearest
from steelyard.questions.form import SHOWN, Kind, Reading, filled, question_schema
from steelyard.units import Dimension, Quantity, QuantityError, parse_quantity

MOST = 200
"""Items of a list, and letters of a name, that a question may have."""

_OWN_SIZE = (Dimension.MASS, Dimension.LENGTH, Dimension.COUPLE, Dimension.SHARE)


@dataclass(frozen=True, slots=True)
class Text(Kind):
    """A text of at most so many letters, and of ``least`` or more; ``printable``: all of them can be seen."""

    doc: str
    most: int = MOST
    printable: bool = False
    least: int = 0

    def read(self, reading: Reading, value: Any, path: str) -> str:
        """The text."""
        counted = isinstance(value, str) and self.least <= len(value) <= self.most
        if not counted or not (value.isprintable() or not self.printable):
            count = f"{self.least} to {self.most}" if self.least else f"at most {self.most}"
            letters = "printable letters" if self.printable else "letters"
            reading.fault(path, value, f"is not a text of {count} {letters}")
            return ""
        return value

    def schema(self) -> dict[str, Any]:
        """A string."""
        least = {"minLength": self.least} if self.least else {}
        return {"type": "string", **least, "maxLength": self.most}


@dataclass(frozen=True, slots=True)
class Word(Kind):
    """A name made of letters, digits, ``-`` and ``_``."""

    doc: str
    most: int

    def read(self, reading: Reading, value: Any, path: str) -> str:
        """The name."""
        if not isinstance(value, str) or re.fullmatch(self._pattern, value) is None:
            reading.fault(path, value, f"is not a name; a name has 1 to {self.most} letters, digits, - and _")
            return ""
        return value

    @property
    def _pattern(self) -> str:
        return f"[A-Za-z0-9_-]{{1,{self.most}}}"

    def schema(self) -> dict[str, Any]:
        """A string of these letters."""
        return {"type": "string", "pattern": f"^{self._pattern}$"}


@dataclass(frozen=True, slots=True)
class Object(Kind):
    """An object of JSON, kept as it is."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> dict[str, Any]:
        """The object."""
        return table(reading, value, path)

    def schema(self) -> dict[str, Any]:
        """An object."""
        return {"type": "object"}


@dataclass(frozen=True, slots=True)
class Choice(Kind):
    """One of a few words."""

    doc: str
    of: type[Enum]

    def read(self, reading: Reading, value: Any, path: str) -> Enum | None:
        """The member; None where there is no such word."""
        words = {item.value: item for item in self.of}
        if not isinstance(value, str) or value not in words:
            near = nearest(value, words) if isinstance(value, str) else None
            hint = "" if near is None else f"; did you mean {near!r}?"
            reading.fault(path, value, f"is not one of {', '.join(words)}{hint}")
            return None
        return words[value]

    def schema(self) -> dict[str, Any]:
        """A string, one of the words."""
        return {"enum": [item.value for item in self.of]}


@dataclass(frozen=True)
class OrNull(Kind):
    """A value of a kind, or null, which says something else than leaving it out."""

    kind: Kind
    null = True

    @property
    def doc(self) -> str:  # pyright: ignore[reportIncompatibleVariableOverride]
        """The meaning of the value, in words."""
        return self.kind.doc

    def read(self, reading: Reading, value: Any, path: str) -> Any:
        """The value; None for null."""
        return None if value is None else self.kind.read(reading, value, path)

    def schema(self) -> dict[str, Any]:
        """The schema of the kind, and null."""
        return {"anyOf": [self.kind.schema(), {"type": "null"}]}


@dataclass(frozen=True, slots=True)
class StateName(Kind):
    """A state of the day."""

    doc: str

    def missing(self, reading: Reading) -> str:
        """The states that there are."""
        return f"is missing; the day has {', '.join(reading.day.states)}"

    def read(self, reading: Reading, value: Any, path: str) -> str:
        """The name of a state that the day has."""
        if not isinstance(value, str) or value not in reading.day.states:
            hint = meant(str(value)[:SHOWN], reading.day.states, "the day has")
            reading.fault(path, value, f"there is no such state; {hint}")
        return str(value)

    def schema(self) -> dict[str, Any]:
        """A string."""
        return {"type": "string", "maxLength": MOST}


@dataclass(frozen=True, slots=True)
class Names(Kind):
    """A list of names; a name that comes twice counts once, or is a fault where each stands for something ``done``."""

    doc: str
    done: bool = False

    def read(self, reading: Reading, value: Any, path: str) -> tuple[str, ...]:
        """The names."""
        found = items(reading, value, path)
        for place, item in enumerate(found):
            if not isinstance(item, str) or len(item) > MOST:
                reading.fault(path, item, 'is not a name; write a list of names, as in ["driver"]')
            elif self.done and found.index(item) < place:
                reading.fault(path, item, "is given twice; give it once")
        return tuple(dict.fromkeys(str(item) for item in found))

    def schema(self) -> dict[str, Any]:
        """A list of strings."""
        return {"type": "array", "items": {"type": "string", "maxLength": MOST}, "maxItems": MOST}


@dataclass(frozen=True, slots=True)
class Each(Kind):
    """A list of values of one kind, in the order in which they are given."""

    doc: str
    kind: Kind

    def read(self, reading: Reading, value: Any, path: str) -> tuple[Any, ...]:
        """The values."""
        return tuple(self.kind.read(reading, item, path) for item in items(reading, value, path))

    def schema(self) -> dict[str, Any]:
        """A list of values of the kind."""
        return {"type": "array", "items": self.kind.schema(), "maxItems": MOST}


@dataclass(frozen=True, slots=True)
class Flag(Kind):
    """Yes or no."""

    doc: str

    def read(self, reading: Reading, value: Any, path: str) -> bool:
        """True or false."""
        if not isinstance(value, bool):
            reading.fault(path, value, "is neither true nor false; write one of the two, without quotes")
        return value is True

    def schema(self) -> dict[str, Any]:
        """A boolean."""
        return {"type": "boolean"}


@dataclass(frozen=True, slots=True)
class Whole(Kind):
    """A whole number from ``low`` to ``high``."""

    doc: str
    low: int
    high: int

    def read(self, reading: Reading, value: Any, path: str) -> int:
        """The number."""
        if isinstance(value, bool) or not isinstance(value, int) or not self.low <= value <= self.high:
            reading.fault(path, value, f"is not a whole number from {self.low} to {self.high}")
            return self.low
        return value

    def schema(self) -> dict[str, Any]:
        """An integer within its bounds."""
        return {"type": "integer", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True)
class Number(Kind):
    """A number without a unit, from ``low`` to ``high``."""

    doc: str
    low: float
    high: float

    def read(self, reading: Reading, value: Any, path: str) -> float:
        """The number."""
        # compared before it is converted: a whole number of 400 digits is not a float
        if isinstance(value, bool) or not isinstance(value, int | float) or not self.low <= value <= self.high:
            reading.fault(path, value, f"is not a number from {self.low:g} to {self.high:g}")
            return self.low
        return float(value)

    def schema(self) -> dict[str, Any]:
        """A number within its bounds."""
        return {"type": "number", "minimum": self.low, "maximum": self.high}


@dataclass(frozen=True, slots=True)
class Amount(Kind):
    """A quantity of one dimension: a number in the day's units, or a text with its unit.

    ``positive``: it must be above zero. ``certain``: it may not carry an uncertainty. ``bare``: the unit of a number
    that has none, where that is not the day's. ``filed``: it may not be larger than the same in a weigh-day file.
    ``most``: it may not be larger than this [SI], and what a larger one is.
    """

    doc: str
    dimension: Dimension
    positive: bool = False
    certain: bool = False
    bare: str | None = None
    filed: bool = False
    most: tuple[float, str] | None = None

    def read(self, reading: Reading, value: Any, path: str) -> Quantity:
        """The quantity, in SI units."""
        found = quantity(reading, value, self.dimension, path, self.bare)
        if found is None:
            return Quantity(0.0)
        if self.positive and found.value <= 0.0:
            reading.fault(path, value, "is not above zero")
        elif self.certain and found.u is not None:
            reading.fault(path, value, "has an uncertainty; write it without one")
        elif self.filed and (complaint := size_complaint(found, self.dimension, reading.day.units)) is not None:
            reading.fault(path, value, complaint)
        elif self.most is not None and found.value > self.most[0]:
            units, (most, why) = reading.day.units, self.most
            shown = f"{units.show(most, self.dimension):.0f} {units.symbol(self.dimension)}"
            reading.fault(path, value, f"{why}; at most {shown}")
        return found

    def schema(self) -> dict[str, Any]:
        """A string or a number."""
        return {"type": ["string", "number"]}


@dataclass(frozen=True, slots=True)
class Range(Kind):
    """The least and the greatest of a quantity, in a list."""

    doc: str
    dimension: Dimension

    def read(self, reading: Reading, value: Any, path: str) -> tuple[float, float]:
        """Both ends, in SI units."""
        ends: list[Any] = list(value) if isinstance(value, list) else []  # pyright: ignore[reportUnknownArgumentType]
        if len(ends) != 2:
            reading.fault(
                path, value, 'is not a range; write the least and the greatest in a list, as in ["-6 in", "6 in"]'
            )
            return 0.0, 0.0
        low, high = (quantity(reading, end, self.dimension, path) or Quantity(0.0) for end in ends)
        return low.value, high.value

    def schema(self) -> dict[str, Any]:
        """A list of two quantities."""
        return {"type": "array", "items": {"type": ["string", "number"]}, "minItems": 2, "maxItems": 2}


@dataclass(frozen=True, slots=True)
class ByName(Kind):
    """A table of names of the day, each with a value of one kind."""

    doc: str
    kind: Kind

    def read(self, reading: Reading, value: Any, path: str) -> dict[str, Any]:
        """The values by name."""
        return {
            name: self.kind.read(reading, item, f"{path}.{name}") for name, item in table(reading, value, path).items()
        }

    def schema(self) -> dict[str, Any]:
        """An object whose values are of the kind."""
        return {"type": "object", "additionalProperties": self.kind.schema()}


@dataclass(frozen=True, slots=True)
class Table(Kind):
    """A table with the keys of a dataclass, read as a question is."""

    doc: str
    of: type[Any]

    def read(self, reading: Reading, value: Any, path: str) -> Any:
        """The dataclass; None where something is wrong."""
        before = len(reading.faults)
        data = table(reading, value, path)
        return filled(reading, self.of, data, path) if reading.sound_since(before) else None

    def schema(self) -> dict[str, Any]:
        """The schema of the dataclass."""
        return question_schema(self.of)


@dataclass(frozen=True, slots=True)
class Tables(Kind):
    """A list of tables with the keys of one dataclass."""

    doc: str
    of: type[Any]

    def read(self, reading: Reading, value: Any, path: str) -> tuple[Any, ...]:
        """The dataclasses."""
        each = Table(self.doc, self.of)
        found = items(reading, value, path)
        return tuple(each.read(reading, item, f"{path}.{number}") for number, item in enumerate(found))

    def schema(self) -> dict[str, Any]:
        """A list of objects."""
        return {"type": "array", "items": question_schema(self.of), "maxItems": MOST}


def quantity(reading: Reading, value: Any, dimension: Dimension, path: str, bare: str | None = None) -> Quantity | None:
    """A quantity, in SI units; None where something is wrong with it, which is then noted.

    A number without a unit counts in the unit ``bare``, a mass or length otherwise in the day's; every other dimension
    needs its unit.
    """
    if bare is None and dimension in (Dimension.MASS, Dimension.LENGTH):
        bare = reading.day.units.symbol(dimension)
    stripped = value.strip() if isinstance(value, str) else value
    try:
        found = parse_quantity(stripped, dimension, bare)
    except QuantityError as error:
        reading.fault(path, value, quantity_complaint(stripped, error, dimension))
        return None
    complaint = (doubt_complaint if dimension in _OWN_SIZE else size_complaint)(found, dimension, reading.day.units)
    if complaint is not None:
        reading.fault(path, value, complaint)
        return None
    return found


def items(reading: Reading, value: Any, path: str) -> list[Any]:
    """A list of at most ``MOST`` items; empty where it is not one, which is then noted."""
    if not isinstance(value, list | tuple) or len(value) > MOST:  # pyright: ignore[reportUnknownArgumentType]
        reading.fault(path, value, f"is not a list of at most {MOST} items")
        return []
    return list(value)  # pyright: ignore[reportUnknownArgumentType]


def table(reading: Reading, value: Any, path: str) -> dict[str, Any]:
    """An object with keys of its own; empty where it is not one, which is then noted."""
    if not isinstance(value, dict):
        reading.fault(path, value, "is not a table of keys and values")
        return {}
    return {str(key): item for key, item in value.items()}  # pyright: ignore[reportUnknownVariableType, reportUnknownArgumentType]
