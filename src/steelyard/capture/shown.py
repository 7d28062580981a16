"""The display of a box as a person reports it: as values, and as typed, ``p1 2960 lb steady; p2 980 moving``."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace

from steelyard.capture.line import mass_unit
from steelyard.units import NumberError, read_number

_NUMBER = re.compile(r"[-+]?(?:[0-9]+(?:[.,][0-9]+)*[.,]?|[.,][0-9]+)")
_CHANNEL = re.compile(r"[A-Za-z0-9_-]{1,40}")
_MARKS = {"steady": True, "still": True, "stable": True, "moving": False, "unsteady": False}
_EXAMPLE = '"2960 lb steady", "p1 2960; p2 980", or "overload"'


class ShownError(ValueError):
    """A text that does not say what a box showed; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Shown:
    """The display of the box when it printed a line.

    Attributes
    ----------
    value: the number on its display, in its unit; None if only the rest is known. unit: such as ``lb``.
    channel: the name here of the pad that it was. steady: whether the load stood still.
    overload: it said that the load was too much.
    """

    value: float | None = None
    unit: str | None = None
    channel: str | None = None
    steady: bool | None = None
    overload: bool = False


def parse_shown(text: str) -> tuple[Shown, ...]:
    """Read what a box showed when it printed one line: nothing where nothing is written.

    One display, or several behind semicolons: a channel's name if there are some, the number, its unit, ``steady`` or
    ``moving``; or ``overload`` in place of the number. A fraction begins with a point, as on most displays, or with a
    comma; ``2,960`` could be either of two numbers and is asked.

    Raises
    ------
    ShownError: a word too many, two numbers, one that could be either of two, a display without a number.
    """
    pieces = [piece.strip() for piece in text.replace("\N{MINUS SIGN}", "-").split(";")]
    return tuple(_one(piece) for piece in pieces if piece)


def _one(piece: str) -> Shown:
    shown = Shown()
    spaced = re.sub(r"(?<=[0-9])(?=[A-Za-z]+(?:\s|$))", " ", re.sub(r"[:=]", " ", piece))
    words = spaced.split()
    numbers = [word for word in words if _NUMBER.fullmatch(word)]
    first_is_name = len(numbers) == 2 and numbers[0] == words[0]  # channels may be called 1 and 2
    for place, word in enumerate(words):
        if word in numbers and not (first_is_name and place == 0):
            if shown.value is not None:
                raise ShownError(f"{piece!r} has two numbers; write for example {_EXAMPLE}")
            shown = replace(shown, value=_value(word))
        else:
            shown = _with_word(shown, word, piece)
    if shown.value is None and not shown.overload:
        raise ShownError(f"{piece!r} has no number; write for example {_EXAMPLE}")
    return shown


def _with_word(shown: Shown, word: str, piece: str) -> Shown:
    lower = word.lower()
    if lower in _MARKS and shown.steady is None:
        return replace(shown, steady=_MARKS[lower])
    if lower == "overload":
        return replace(shown, overload=True)
    unit = mass_unit(word)
    if unit is not None and shown.unit is None and shown.value is not None:
        return replace(shown, unit=unit)
    if shown.channel is None and shown.value is None and _CHANNEL.fullmatch(word):
        return replace(shown, channel=word)
    raise ShownError(f"{piece!r} has {word!r}, which is neither a unit nor a mark; write for example {_EXAMPLE}")


def _value(word: str) -> float:
    try:
        return read_number(word)
    except NumberError as error:
        raise ShownError(f"{word!r} {error}") from None
