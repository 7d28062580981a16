"""Text or a bare number into a quantity, with a message that says what would be right."""

from __future__ import annotations

import math
import re
from functools import lru_cache

from steelyard.classes import dataclass
from steelyard.names import nearest
from steelyard.units.number import NUMBER, EitherNumberError, Marks, NumberError, read_number
from steelyard.units.quantity import Dimension, Quantity
from steelyard.units.spoken import TONS, is_any_ton, plain_text, unit_of_word
from steelyard.units.table import UNITS

_PLUS_MINUS = re.compile(r"\+/-|±")
_TERM = re.compile(rf"\s*(?P<number>{NUMBER})\s*(?P<unit>[^\d\s+\-\u2212±.,][^\s±]*)?\s*")
_FRACTION = r"(?:[0-9]+[ -])?[0-9]+/(?:2|4|8|16|32|64)"
# few lengths are said so: these are compiled when one may be
_TAPE = rf"(?P<number>{_FRACTION})\s*(?P<unit>[^\s]+)?"
_INCHES = rf"{_FRACTION}|[0-9]{{1,2}}(?:[.,][0-9]+)?"
_FEET = rf"(?P<feet>[0-9]+)\s*(?:ft|['\u2032\u2019])\s*(?P<inches>{_INCHES})\s*(?:in|\"|\u2033|\u201d|'')?"
# As people say it: 14 feet 2, 14'-2", 14 ft and 2 in.
_FEET_SAID = (
    rf"(?i)(?P<feet>[0-9]+)\s*(?:(?:ft\.?|feet|foot)(?:-|\s*(?:,|and)?\s*)|['\u2032\u2019]-?)\s*(?P<inches>{_INCHES})"
    r"\s*(?:in\.?|inch|inches|\"|\u2033|\u201d|''|\u2019\u2019)?"
)
_ON_A_TAPE = ("/", "ft", "feet", "foot", "'", "\u2032", "\u2019")
"""Every text that one of the three patterns fits has one of these, in small letters or capitals."""

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
    Dimension.FORCE: '"10.4 kN"',
    Dimension.PRESSURE: '"65 psi" or "4.5 bar"',
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
    "kn": "kN",
    "lbs/in2": "psi",
    "psig": "psi",
    "bars": "bar",
    "kpa": "kPa",
}


class QuantityError(ValueError):
    """A text that is no quantity of the wanted dimension; the message says what would be right."""


class EitherQuantityError(QuantityError):
    """A text with a number that could be either of two; the message says both."""


def parse_quantity(
    raw: object, dimension: Dimension, bare_unit: str | None = None, marks: Marks = Marks.WRITTEN
) -> Quantity:
    """Read a quantity.

    Parameters
    ----------
    raw: a text such as ``"176 in +/- 0.25 in"``, or a bare number where ``bare_unit`` is given.
    dimension: what it must be a measure of.
    bare_unit: the unit of a bare number; None where a bare number is not allowed.
    marks: what is known of the points and commas in a text. A length may be in feet and inches, or have a fraction.
        Where a person typed it, units may be words, digits those of any script, and a ton is asked which it is.

    Returns
    -------
    The value and its stated standard uncertainty in SI units.

    Raises
    ------
    EitherQuantityError: a number that could be either of two.
    QuantityError: not a number, not finite, an unknown unit, a unit of another dimension, a negative uncertainty.
    """
    if isinstance(raw, bool) or not isinstance(raw, str | int | float):
        raise QuantityError(f"is not a {dimension}; write for example {_EXAMPLES[dimension]}")
    if not isinstance(raw, str):
        return _bare(float(raw) if abs(raw) < 1e300 else math.inf, dimension, bare_unit)
    if len(raw) > 200:
        raise QuantityError(f"is {len(raw)} characters long; write for example {_EXAMPLES[dimension]}")
    text = plain_text(raw) if marks is Marks.TYPED else raw
    return _read_text(text, dimension, marks, bare_unit)


@lru_cache(maxsize=1 << 12)
def _read_text(raw: str, dimension: Dimension, marks: Marks, bare_unit: str | None) -> Quantity:
    """The quantity of a text; days of one rig have most of their texts in common."""
    return _Text(raw, dimension, marks).read(bare_unit)


@dataclass(frozen=True, slots=True)
class _Text:
    """A text that shall be a quantity of ``dimension``."""

    raw: str
    dimension: Dimension
    marks: Marks

    def read(self, bare_unit: str | None) -> Quantity:
        parts = _PLUS_MINUS.split(self.raw)
        if len(parts) > 2:
            raise self._refused()
        value, symbol = self._term(parts[0])
        value_u, symbol_u = self._term(parts[1]) if len(parts) == 2 else (None, None)
        symbol = symbol or symbol_u if symbol_u != "%" or self.dimension is Dimension.SHARE else symbol
        symbol = symbol or bare_unit
        if symbol is None:
            raise QuantityError(f"has no unit; write for example {_EXAMPLES[self.dimension]}")
        factor = _factor(symbol, self.dimension)
        if value_u is None:
            return _finite(Quantity(value * factor))
        u = value_u * _u_factor(symbol_u or symbol, self.dimension, abs(value) * factor)
        if u < 0:
            text = _PLUS_MINUS.split(self.raw)[1].split()[0]
            raise QuantityError(f"has a negative uncertainty ({text}); a standard uncertainty is zero or more")
        return _finite(Quantity(value * factor, u))

    def _term(self, text: str) -> tuple[float, str | None]:
        """A number and its unit, if it has one."""
        typed = self.marks is Marks.TYPED
        if self.dimension is Dimension.LENGTH or (typed and self.dimension is Dimension.MASS):
            taped = _on_a_tape(text, (_FEET_SAID if typed else _FEET) if self.dimension is Dimension.LENGTH else None)
            if taped is not None:
                return self._said(*taped)
        match = _TERM.fullmatch(text)
        if match is None:
            raise self._refused()
        return self._said(self._number(match["number"]), match["unit"])

    def _said(self, value: float, unit: str | None) -> tuple[float, str | None]:
        """The same with the symbol of a unit that was typed as a word."""
        if unit is None or self.marks is not Marks.TYPED:
            return value, unit
        if is_any_ton(unit, self.dimension):
            texts = [f"{value * times:.10g} {symbol}" for symbol, times in TONS]
            says, written = f"{texts[0]}, {texts[1]} or {texts[2]}", " or ".join(f'"{one}"' for one in texts)
            raise EitherQuantityError(f"could be {says}: a ton is short, long or metric; write {written}")
        symbol, times = unit_of_word(unit, self.dimension)
        return value * times, symbol

    def _number(self, text: str) -> float:
        try:
            return read_number(text, self.marks)
        except EitherNumberError as error:
            raise EitherQuantityError(self._either(error)) from None
        except NumberError:
            raise self._refused() from None

    def _either(self, error: EitherNumberError) -> str:
        """Both readings, and the whole text as it should stand for each."""
        mark = "a comma" if "," in error.text else "a point"
        texts = " or ".join(f'"{self.raw.strip().replace(error.text, reading)}"' for reading in error.readings)
        says = " or ".join(error.readings)
        return f"could be {says}: {mark} may group digits or begin the fraction; write {texts}"

    def _refused(self) -> QuantityError:
        return QuantityError(f"is not a {self.dimension}; write for example {_EXAMPLES[self.dimension]}")


def _on_a_tape(text: str, in_feet: str | None) -> tuple[float, str | None] | None:
    """Feet and inches, in inches, or a number with a fraction and its unit; None where it is neither."""
    if not any(mark in text.lower() for mark in _ON_A_TAPE):
        return None
    text = text.strip()
    sign = -1.0 if text[:1] in ("-", "\N{MINUS SIGN}") else 1.0
    text = text[1:] if text[:1] in ("+", "-", "\N{MINUS SIGN}") else text
    feet = None if in_feet is None else re.fullmatch(in_feet, text)
    if feet is not None:
        inches = UNITS["ft"].factor / UNITS["in"].factor * int(feet["feet"]) + _with_fraction(feet["inches"])
        return sign * inches, "in"
    taped = re.fullmatch(_TAPE, text)
    return None if taped is None else (sign * _with_fraction(taped["number"]), taped["unit"])


def _with_fraction(text: str) -> float:
    """``2``, ``2.5``, ``1/2`` or ``2 1/2``."""
    whole, _, fraction = text.replace("-", " ").rpartition(" ")
    if "/" not in fraction:
        return float(text.replace(",", "."))
    top, _, bottom = fraction.partition("/")
    return int(whole or 0) + int(top) / int(bottom)


def _bare(value: float, dimension: Dimension, bare_unit: str | None) -> Quantity:
    if not math.isfinite(value):
        raise QuantityError("is not a finite number")
    if bare_unit is None:
        if dimension in (Dimension.MASS, Dimension.LENGTH):  # the file in hand declares no unit for them
            raise QuantityError(f"has no unit; write it in quotes with one, for example {_EXAMPLES[dimension]}")
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
        hint = nearest(symbol, known, close=0.5)
    if hint is not None and hint in known:
        return f"; did you mean {hint!r}?"
    return f"; a {dimension} is written for example {_EXAMPLES[dimension]}"
