"""Faults: what is wrong with a file, where, and what would be right."""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Iterable
from typing import Any, Self, TypeAlias, cast

from steelyard.classes import dataclass
from steelyard.names import nearest as nearest_name

KeyPath: TypeAlias = tuple[str | int, ...]
"""The path to a value: keys, and positions in a list counted from 0."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_LONGEST_VALUE = 60
_MOST_BITS = 13_000  # of an integer: the language itself writes none of more than 4,300 decimal digits
_LONGEST_MESSAGE = 500
_LONGEST_NAME = 64  # a longer one is no slip of the pen, and comparing it takes long
_MOST_NAMES = 200  # among more, the comparison takes longer than it helps


class BeyondFloat(float):
    """A number too large for a float, and therefore infinite; it keeps the text that was written.

    Attributes
    ----------
    written: as it stands in the file or the request, ``1e400``.
    """

    def __new__(cls, written: str) -> Self:
        """The number that ``written`` says; only its sign counts."""
        number = super().__new__(cls, -math.inf if written.startswith("-") else math.inf)
        number.written = written
        return number

    written: str


def written_float(text: str) -> float:
    """The number that a TOML or JSON text writes; one beyond every float keeps its text."""
    value = float(text)
    return BeyondFloat(text) if math.isinf(value) and "inf" not in text else value


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a file.

    Attributes
    ----------
    line: counted from 1; None where it cannot be told.
    path: the keys that lead there, list places counted from 1: ``vehicles.tow.axles[2].track``.
    value: the offending value as the file shows it, shortened; empty where there is none.
    message: what is wrong and what would be right.
    """

    line: int | None
    path: str
    value: str
    message: str

    def __str__(self) -> str:
        place = "" if self.line is None else f"line {self.line}"
        return ": ".join(part for part in (place, self.path, self.value, self.message) if part)


class DayFileError(ValueError):
    """A file that is no sound weigh day, with all its faults in the order of their lines."""

    def __init__(self, file: str, faults: tuple[Fault, ...]) -> None:
        self.file = file
        self.faults = faults
        super().__init__(file, faults)

    def lines(self) -> list[str]:
        """One line for each fault: ``file:line: path: value: message``."""
        return [self._line(fault) for fault in self.faults]

    def _line(self, fault: Fault) -> str:
        place = self.file if fault.line is None else f"{self.file}:{fault.line}"
        return ": ".join(part for part in (place, fault.path, fault.value, fault.message) if part)

    def __str__(self) -> str:
        return "\n".join(self.lines())


def show_path(path: KeyPath) -> str:
    """A key path as text; a key that TOML would quote is quoted."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += ("." if text else "") + (step if _BARE_KEY.fullmatch(step) else quoted(step))
    return text


def quoted(text: str) -> str:
    """A TOML basic string: quotes, backslashes and what cannot be printed are escaped."""
    return '"' + "".join(_escaped(letter) for letter in text) + '"'


def _escaped(letter: str) -> str:
    if letter in '"\\':
        return "\\" + letter
    if letter.isprintable():
        return letter
    code = ord(letter)
    return f"\\u{code:04X}" if code <= 0xFFFF else f"\\U{code:08X}"


def show_line(content: str) -> str:
    """A line of the file, shortened, with nothing in it that cannot be printed."""
    return _shortened(_printable(content[: _LONGEST_VALUE + 1]), _LONGEST_VALUE)


def show_message(message: str) -> str:
    """A message on one line; names from the file may have brought in letters that cannot be printed."""
    return _printable(_shortened(message, _LONGEST_MESSAGE))


def _printable(text: str) -> str:
    return text if text.isprintable() else "".join(a if a.isprintable() else _escaped(a) for a in text)


def _shortened(text: str, most: int) -> str:
    return text if len(text) <= most else text[: most - 3] + "..."


def show_value(raw: object) -> str:
    """A value in one short line, written as TOML would have it."""
    return _shortened(_written(raw, _LONGEST_VALUE), _LONGEST_VALUE)


def _written(raw: object, room: int) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, str):
        return quoted(raw[: _LONGEST_VALUE + 1])
    if raw is None:
        return "null"  # only JSON has it
    if isinstance(raw, BeyondFloat):
        return raw.written[: _LONGEST_VALUE + 1]
    if isinstance(raw, int):
        # so long a one was written in hexadecimal digits: of decimal ones the parser takes no more
        return str(raw) if raw.bit_length() <= _MOST_BITS else hex(raw)[: _LONGEST_VALUE + 1]
    if isinstance(raw, datetime.date | datetime.time):
        return raw.isoformat()
    if isinstance(raw, list | dict) and room <= 0:
        return "..."
    if isinstance(raw, list):
        return "[" + _joined((_written(item, room // 2) for item in cast(list[Any], raw)), room) + "]"
    if isinstance(raw, dict):
        pairs = cast(dict[str, Any], raw).items()
        inner = _joined((f"{show_path((key,))} = {_written(value, room // 2)}" for key, value in pairs), room)
        return "{ " + inner + " }" if inner else "{}"
    return str(raw)


def _joined(texts: Iterable[str], room: int) -> str:
    """Items joined by commas, no further than a reader will ever see."""
    out = ""
    for text in texts:
        out += (", " if out else "") + text
        if len(out) > room:
            break
    return out


def nearest(name: str, known: Iterable[str]) -> str | None:
    """The known name that looks most like ``name``, if any does."""
    names = list(known)
    if len(name) > _LONGEST_NAME or len(names) > _MOST_NAMES:
        return None
    return nearest_name(name, names)


def suggest(name: str, known: Iterable[str], otherwise: str) -> str:
    """``did you mean 'x'?``, or ``otherwise`` where nothing comes near."""
    names = list(known)
    near = nearest(name, names)
    return otherwise if near is None else f"did you mean {near!r}?"


def listed(names: Iterable[str]) -> str:
    """Names for a message, in the order given, no more than a dozen."""
    names = list(names)
    return ", ".join(names[:12]) + (", ..." if len(names) > 12 else "") if names else "none"
