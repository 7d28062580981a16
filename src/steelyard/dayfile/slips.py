"""Slips of the pen in a quantity that have a plain remedy: a thousands comma, a length in feet and inches."""

from __future__ import annotations

import re

from steelyard.dayfile.fault import quoted
from steelyard.units import UNITS, Dimension, QuantityError, parse_quantity, units_of

_LONGEST = 60  # characters; what is longer is no slip
_COMMA = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3})+(?![\d,])")
_NUMBER = r"\d+(?:\.\d*)?"
_TWO_UNITS = re.compile(
    rf"\s*(?P<one>{_NUMBER})\s*(?P<large>[^\s\d.,+-]+)\s*(?P<two>{_NUMBER})\s*(?P<small>[^\s\d.,+-]+)\s*"
)
_MARKS = {"'": "ft", "′": "ft", "’": "ft", '"': "in", "″": "in", "”": "in", "''": "in"}


def quantity_complaint(raw: object, error: QuantityError, dimension: Dimension) -> str:
    """What to say of ``raw``, which is no quantity: the remedy where it is plain, else the message of ``error``."""
    if not isinstance(raw, str) or len(raw) > _LONGEST:
        return str(error)
    comma = _COMMA.search(raw)
    if comma is not None:
        return f"has a comma; numbers have no thousands commas here, write {_without_commas(raw, comma[0], dimension)}"
    one_unit = _in_one_unit(raw, dimension)
    return str(error) if one_unit is None else f"has two units; write it in one, for example {quoted(one_unit)}"


def _without_commas(raw: str, number: str, dimension: Dimension) -> str:
    """The text as it should stand; only its number where something else is wrong with it too."""
    text = _COMMA.sub(lambda match: match[0].replace(",", ""), raw)
    try:
        parse_quantity(text, dimension, units_of(dimension)[0])
    except QuantityError:
        return f"{number.replace(',', '')} for {number}"
    return quoted(text)


def _in_one_unit(raw: str, dimension: Dimension) -> str | None:
    """``14 ft 2 in`` as ``170 in``: the sum in the second of two units of the dimension; None where it is no such."""
    match = _TWO_UNITS.fullmatch(raw)
    if match is None:
        return None
    large, small = (UNITS.get(_MARKS.get(match[side], match[side])) for side in ("large", "small"))
    if large is None or small is None or large.dimension is not dimension or small.dimension is not dimension:
        return None
    if large.factor <= small.factor:
        return None
    total = float(match["one"]) * (large.factor / small.factor) + float(match["two"])
    return f"{total:.10g} {small.symbol}"
