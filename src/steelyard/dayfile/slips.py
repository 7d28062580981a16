"""A slip of the pen in a quantity that has a plain remedy: one amount in two units."""

from __future__ import annotations

import re

from steelyard.dayfile.fault import quoted
from steelyard.units import UNITS, Dimension, QuantityError

_LONGEST = 60  # characters; what is longer is no slip
_NUMBER = r"\d+(?:\.\d*)?"
_TWO_UNITS = rf"\s*(?P<one>{_NUMBER})\s*(?P<large>[^\s\d.,+-]+)\s*(?P<two>{_NUMBER})\s*(?P<small>[^\s\d.,+-]+)\s*"
_MARKS = {"'": "ft", "′": "ft", "’": "ft", '"': "in", "″": "in", "”": "in", "''": "in"}


def quantity_complaint(raw: object, error: QuantityError, dimension: Dimension) -> str:
    """Message for ``raw``, which is not a quantity: the remedy where it is plain, else the message of ``error``."""
    if not isinstance(raw, str) or len(raw) > _LONGEST:
        return str(error)
    one_unit = _in_one_unit(raw, dimension)
    return str(error) if one_unit is None else f"has two units; write it in one, for example {quoted(one_unit)}"


def _in_one_unit(raw: str, dimension: Dimension) -> str | None:
    """``190 lb 8 oz`` as ``3048 oz``: the sum in the second of two units of the dimension; None where it is no such."""
    match = re.fullmatch(_TWO_UNITS, raw)
    if match is None:
        return None
    large, small = (UNITS.get(_MARKS.get(match[side], match[side])) for side in ("large", "small"))
    if large is None or small is None or large.dimension is not dimension or small.dimension is not dimension:
        return None
    if large.factor <= small.factor:
        return None
    total = float(match["one"]) * (large.factor / small.factor) + float(match["two"])
    return f"{total:.10g} {small.symbol}"
