"""Two texts that are equal but for the last digits of their numbers.

The kernels of linear algebra differ between processors in the last bits of a sum, and a figure that lies between two
steps of its rounding then ends in another digit. So a number may differ by one unit in the last digit that is printed,
or by a milliardth, of itself or of its unit: what is left of two figures that cancel is noise. Everything else is
compared letter by letter: keys and their order, words, and which numbers there are at all.
"""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import zip_longest

_LEAST = Decimal("1e-9")
_STRING = re.compile(r'("(?:[^"\\]|\\.)*")')
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)")
_SHOWN = 5
_MARGIN = 60


def differences(before: str, after: str) -> list[str]:
    """The first lines of JSON that differ, each with what it was; empty if none does."""
    lines = zip_longest(before.splitlines(), after.splitlines(), fillvalue="")
    found = [(number, one, other) for number, (one, other) in enumerate(lines, start=1) if not alike(one, other)]
    return [f"line {number}: {_around(one, other)}" for number, one, other in found[:_SHOWN]]


def alike(one: str, other: str) -> bool:
    """Whether two lines of JSON are equal but for the last digits of numbers outside their strings."""
    if one == other:
        return True
    mine, theirs = _parts(one), _parts(other)
    return len(mine) == len(theirs) and all(
        a == b or (_NUMBER.fullmatch(a) and _NUMBER.fullmatch(b) and _near(a, b))
        for a, b in zip(mine, theirs, strict=True)
    )


def _parts(text: str) -> list[str]:
    """The strings and the numbers of a line, and what stands between them."""
    found: list[str] = []
    for part in _STRING.split(text):
        found.extend([part] if part.startswith('"') else _NUMBER.split(part))
    return found


def _near(one: str, other: str) -> bool:
    a, b = Decimal(one), Decimal(other)
    unit = Decimal((0, (1,), min(_exponent(a), _exponent(b))))
    # a whole number is a count unless it is the round end of a decimal: "2" and "2.0000001" are near, 2 and 3 are not
    step = unit if "." in one + other or "e" in (one + other).lower() else Decimal(0)
    return abs(a - b) <= max(step, _LEAST * max(abs(a), abs(b), Decimal(1)))


def _exponent(number: Decimal) -> int:
    exponent = number.as_tuple().exponent
    assert isinstance(exponent, int)  # JSON holds neither infinity nor "not a number"
    return exponent


def _around(one: str, other: str) -> str:
    """Both lines from shortly before the place where they begin to differ."""
    at = next((i for i, (a, b) in enumerate(zip(one, other, strict=False)) if a != b), min(len(one), len(other)))
    begin = max(0, at - _MARGIN)
    return f"was ...{one[begin : at + _MARGIN]}... and is ...{other[begin : at + _MARGIN]}..."
