"""Text or a bare number into a quantity, with a message that says what would be right."""

from __future__ import annotations

import difflib
import math
import re

from steelyard.units.quantity import Dimension, Quantity
from steelyard.units.table import UNITS

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_PATTERN = re.compile(
    rf"^\s*(?P<value>{_NUMBER})\s*(?:(?:\+/-|±)\s*(?P<u>{_NUMBER})\s*)?(?P<unit>[^\d\s+\-±.][^\s±]*)?\s*"
    rf"(?:(?:\+/-|±)\s*(?P<u_late>{_NUMBER})\s*(?P<u_unit>[^\s]+)?\s*)?$"
)

_EXAMPLES = {
    Dimension.MASS: '"190 lb" or "86 kg"',
    Dimension.LENGTH: '"176 in", "14.5 ft" or "4470 mm"',
    Dimension.RATE: '"380 lb/in" or "6800 kg/m"',
    Dimension.ROLL_RATE: '"900000 lb*in/rad"',
    Dimension.COUPLE: '"9000 lb*in" or "100 kg*m"',
    Dimension.ANGLE: '"0.3 deg"',
    Dimension.DENSITY: '"8.34 lb/gal" or "1000 kg/m3"',
    Dimension.VOLUME: '"40 gal" (US gallons) or "150 L"',
    Dimension.SHARE: '"50 %"',
    Dimension.MASS_FLOW: '"-5 lb/h" or "-2 kg/h"',
    Dimension.VOLUME_FLOW: '"-0.8 gal/h" or "-3 L/h"',
}

# Spellings people write; each is named in the message, never silently accepted as something else.
_HINTS = {
    '"': "in",
    "inch": "in",
    "inches": "in",
    "feet": "ft",
    "pound": "lb",
    "pounds": "lb",
    "#": "lb",
    "kgs": "kg",
    "kilo": "kg",
    "percent": "%",
    "pct": "%",
    "degree": "deg",
    "degrees": "deg",
    "°": "deg",
    "gallon": "gal",
    "gallons": "gal",
    "litre": "L",
    "liter": "L",
}


class QuantityError(ValueError):
    """A text that is no quantity of the wanted dimension; the message says what would be right."""


def parse_quantity(raw: object, dimension: Dimension, bare_unit: str | None = None) -> Quantity:
    """Read a quantity.

    Parameters
    ----------
    raw: a text such as ``"176 in +/- 0.25 in"``, or a bare number where ``bare_unit`` is given.
    dimension: what it must be a measure of.
    bare_unit: the unit of a bare number; None where a bare number is not allowed.

    Returns
    -------
    The value and its stated standard uncertainty in SI units.

    Raises
    ------
    QuantityError: not a number, not finite, an unknown unit, a unit of another dimension, a negative uncertainty.
    """
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise QuantityError(f"is not a {dimension}; write for example {_EXAMPLES[dimension]}")
    if not isinstance(raw, str):
        return _bare(float(raw) if abs(raw) < 1e300 else math.inf, dimension, bare_unit)
    if len(raw) > 200:
        raise QuantityError(f"is {len(raw)} characters long; write for example {_EXAMPLES[dimension]}")
    match = _PATTERN.match(raw)
    if match is None:
        raise QuantityError(f"is not a {dimension}; write for example {_EXAMPLES[dimension]}")
    value = float(match["value"])
    symbol = match["unit"]
    if symbol is None:
        if bare_unit is None:
            raise QuantityError(f"has no unit; write for example {_EXAMPLES[dimension]}")
        symbol = bare_unit
    factor = _factor(symbol, dimension)
    u_text = match["u"] if match["u"] is not None else match["u_late"]
    u = None
    if u_text is not None:
        u_symbol = match["u_unit"] or symbol
        u = float(u_text) * _u_factor(u_symbol, dimension, abs(value) * factor)
        if u < 0:
            raise QuantityError(f"has a negative uncertainty ({u_text}); a standard uncertainty is zero or more")
    return _finite(Quantity(value * factor, u))


def _bare(value: float, dimension: Dimension, bare_unit: str | None) -> Quantity:
    if not math.isfinite(value):
        raise QuantityError("is not a finite number")
    if bare_unit is None:
        raise QuantityError(f"has no unit; only masses and lengths may be bare numbers, write {_EXAMPLES[dimension]}")
    return _finite(Quantity(value * UNITS[bare_unit].factor))


def _finite(quantity: Quantity) -> Quantity:
    if not math.isfinite(quantity.value) or not math.isfinite(quantity.u_or(0.0)):
        raise QuantityError("is not a finite number")
    return quantity


def _factor(symbol: str, dimension: Dimension) -> float:
    unit = UNITS.get(symbol)
    if unit is None:
        raise QuantityError(f"has the unknown unit {symbol!r}{_suggest(symbol, dimension)}")
    if unit.dimension is not dimension:
        raise QuantityError(
            f"has the unit {symbol!r}, which measures a {unit.dimension}; a {dimension} is wanted, "
            f"for example {_EXAMPLES[dimension]}"
        )
    return unit.factor


def _u_factor(u_symbol: str, dimension: Dimension, magnitude: float) -> float:
    """The factor of an uncertainty; a percentage of the value is allowed for everything but a share."""
    if u_symbol == "%" and dimension is not Dimension.SHARE:
        return magnitude * UNITS["%"].factor
    return _factor(u_symbol, dimension)


def _suggest(symbol: str, dimension: Dimension) -> str:
    known = [unit.symbol for unit in UNITS.values() if unit.dimension is dimension]
    hint = _HINTS.get(symbol.lower())
    if hint is None:
        nearest = difflib.get_close_matches(symbol, known, n=1, cutoff=0.5)
        hint = nearest[0] if nearest else None
    if hint is not None and hint in known:
        return f"; did you mean {hint!r}?"
    return f"; a {dimension} is written for example {_EXAMPLES[dimension]}"
