"""The number in what a person wrote: which mark groups the digits and which one begins the fraction.

``static/number.js`` of the weigh station follows the same rules; ``tests/units/numbers.json`` holds both to them.
Sources: ISO 80000-1:2009, 7.3 (digits in threes, a point or a comma before the fraction); the Indian grouping
(12,34,567) and the apostrophe of Switzerland are common practice.
"""

from __future__ import annotations

import re
from enum import StrEnum

from steelyard.units.spoken import plain_text

_SPACES = " \u00a0\u2007\u2009\u202f"
_QUIET = f"[{_SPACES}'\u2019_]"  # these marks only ever group
NUMBER = (
    rf"[+\-\u2212]?(?:[0-9](?:{_QUIET}(?=[0-9]{{2,3}})[0-9]|[.,](?=[0-9])[0-9]|[0-9])*[.,]?|[.,][0-9]+)"
    r"(?:[eE][+\-\u2212]?[0-9]+)?"
)
"""A pattern of what may be a number; ``read_number`` says whether it is one."""

_PARTS = re.compile(r"(?P<sign>[+\-\u2212]?)(?P<body>[^eE]*)(?:[eE](?P<exponent>[+\-\u2212]?[0-9]+))?")
# few numbers are grouped: these two are compiled when one is
_QUIETLY = rf"[0-9]{{1,3}}(?P<mark>{_QUIET})[0-9]{{3}}(?:(?P=mark)[0-9]{{3}})*"
_LAKH = rf"[0-9]{{1,2}}(?P<mark>{_QUIET}|[.,])[0-9]{{2}}(?:(?P=mark)[0-9]{{2}})*(?P=mark)[0-9]{{3}}"
_THREES = {mark: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(mark)}[0-9]{{3}})+") for mark in ".,"}
_LONGEST = 100  # characters


class Marks(StrEnum):
    """How much is known of what a point and a comma mean in the text."""

    TYPED = "typed"
    """A person typed it where nothing is agreed: a mark that could be either is asked."""
    WRITTEN = "written"
    """In files, options and JSON a point begins the fraction, as the program writes it; a comma may be asked."""
    COMMA = "comma"
    """A table whose fractions begin with a comma; points group."""


class NumberError(ValueError):
    """A text that is not a number."""


class EitherNumberError(NumberError):
    """A text that is one of two numbers; ``readings`` are both, written so that they are read as nothing else."""

    def __init__(self, text: str, readings: tuple[str, str]) -> None:
        self.text = text
        self.readings = readings
        super().__init__(f"could be {readings[0]} or {readings[1]}; write the one that is meant")


def read_number(text: str, marks: Marks = Marks.WRITTEN) -> float:
    """The value of a number, which may be infinite where its exponent is large.

    Digits may be grouped by commas, points, spaces, apostrophes or underscores; a fraction begins with a point or a
    comma; a minus may be the true minus sign. ``2,500`` is two numbers and is not guessed; ``2700,5``, ``2.700,5``,
    ``2,700.5``, ``0,500`` and ``1,234,567`` are each one. Typed digits may be those of any one script.

    Raises
    ------
    EitherNumberError: a mark before three digits, which could group or begin the fraction.
    NumberError: not a number.
    """
    if marks is Marks.TYPED and len(text) <= _LONGEST:
        text = plain_text(text)
    parts = _PARTS.fullmatch(text.strip()) if len(text) <= _LONGEST else None
    if parts is None:
        raise NumberError("is not a number")
    exponent = parts["exponent"]
    try:
        digits = _plain(parts["body"], marks, exponent is not None)
    except EitherNumberError as error:
        group, fraction = (f"{_sign(parts['sign'])}{reading}" for reading in error.readings)
        raise EitherNumberError(text.strip(), (group, fraction)) from None
    return float(f"{_sign(parts['sign'])}{digits}" + ("" if exponent is None else f"e{_sign(exponent)}"))


def _sign(text: str) -> str:
    return text.replace("\N{MINUS SIGN}", "-").replace("+", "")


def _plain(body: str, marks: Marks, scaled: bool) -> str:
    """The digits with a decimal point; ``scaled``: an exponent follows, and nobody groups the digits before one."""
    found = sorted({letter for letter in body if letter in ".,"}, key=body.rindex)
    if not found:
        return _whole(body, "")
    last = found[-1]
    head, _, tail = body.rpartition(last)
    if len(found) == 2:
        if last in head or (marks is Marks.COMMA and last == "."):
            raise NumberError("is not a number")
        return f"{_whole(head, found[0])}.{_digits(tail)}"
    if last in head:
        return _whole(body, last)
    could_group = _THREES[last].fullmatch(body) is not None and not body.startswith("0") and not scaled
    if marks is Marks.COMMA and last == ".":
        if not could_group:
            raise NumberError("is not a number")
        return head + tail
    if could_group and (marks is Marks.TYPED or (marks is Marks.WRITTEN and last == ",")):
        raise EitherNumberError(body, (head + tail, _sure(head, tail, marks)))
    if not tail and (last == "," or not head):
        raise NumberError("is not a number")
    return f"{_whole(head, '') if head else '0'}.{_digits(tail) if tail else '0'}"


def _sure(head: str, tail: str, marks: Marks) -> str:
    """The number with ``tail`` as its fraction, written so that it is read as nothing else."""
    short = f"{head}.{tail}".rstrip("0").rstrip(".")
    return f"{short}0" if marks is Marks.TYPED and len(short) == len(head) + 4 else short


def _digits(text: str) -> str:
    if not (text.isascii() and text.isdecimal()):
        raise NumberError("is not a number")
    return text


def _whole(text: str, mark: str) -> str:
    """The digits of a whole number, in groups of three, or of two before the last three."""
    if text.isascii() and text.isdecimal():
        return text
    plain = re.sub(rf"[{_SPACES}'\u2019_.,]", "", text)
    grouped = _THREES[mark].fullmatch(text) if mark else re.fullmatch(_QUIETLY, text)
    lakh = re.fullmatch(_LAKH, text)
    if text != plain and not grouped and not (lakh and lakh["mark"] in (mark or text)):
        raise NumberError("is not a number")
    return _digits(plain)


def pair_of(text: str) -> tuple[str, str] | None:
    """The two parts of ``224 in, 0 in``, whose numbers may have decimal commas themselves; None where it is no pair.

    A semicolon parts them, else the only comma, else the only comma with a space behind it.
    """
    for between in (r";", r",", r",\s+"):
        parts = re.split(between, text)
        if len(parts) == 2:
            return parts[0], parts[1]
    return None
