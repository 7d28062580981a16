"""How a number is published: ten significant figures, one by one or all of an answer at once, with the same result."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

FIGURES = 10
"""Significant figures of every number: more than any reading carries, and no noise of the arithmetic."""

_MANY = 40
"""From so many numbers on an array is quicker than one number after another."""

_LARGEST_POWER = 22
"""Powers of ten up to this one are whole in double precision, so that one division by them rounds as decimals do."""

_UNSURE = 1e-4
"""A number is written out where the digits beyond the last figure are this close to one half: a hundred times the
error of the product that moves its point."""


def rounded(value: float) -> float:
    """A number as it is published: ``FIGURES`` significant figures, never minus zero."""
    return float(f"{value:.{FIGURES}g}") + 0.0


def all_rounded(values: Sequence[float]) -> list[float]:
    """Many finite numbers as ``rounded`` gives them, to the last bit, in a fraction of the time.

    A number is taken to a whole one of ten figures by a power of ten, rounded and taken back. Whole numbers and powers
    of ten are exact there, so what comes back is the double next to the decimal. Numbers that are very large, very
    small or next to the middle between two decimals are written out instead, as ``rounded`` does.
    """
    if len(values) < _MANY:
        return [rounded(value) for value in values]
    import numpy as np

    given = np.array(values)
    size = np.abs(given)
    with np.errstate(divide="ignore"):
        places = FIGURES - 1.0 - np.floor(np.log10(size))
    places[size == 0.0] = 0.0
    sure = np.abs(places) <= _LARGEST_POWER
    powers = np.array([10.0**power for power in range(_LARGEST_POWER + 1)])
    power = powers[np.where(sure, np.abs(places), 0.0).astype(np.intp)]
    after = places >= 0.0
    whole = np.where(after, size * power, size / power)
    near = np.rint(whole)
    kept = np.where(after, near / power, near * power)
    sure &= (np.abs(np.abs(whole - near) - 0.5) > _UNSURE) & (near >= 10.0 ** (FIGURES - 1)) & (whole < 10.0**FIGURES)
    sure |= size == 0.0
    found: list[float] = (np.copysign(kept, given) + 0.0).tolist()
    for place in np.flatnonzero(~sure).tolist():
        found[place] = rounded(values[place])
    return found


def all_written(values: Sequence[float]) -> list[str]:
    """Many numbers as JSON writes them once they are rounded: ``json.dumps(rounded(value))`` of each, in one go.

    A decimal of ten figures is the shortest that names its double, so the rounded text is what ``repr`` would make of
    the rounded number; only the form of a whole number and of a power of ten is not the same.

    Raises
    ------
    ValueError: a number is not finite.
    """
    texts = (_TEN_FIGURES * len(values) % tuple(values)).split()
    return [text if "." in text and "e" not in text else _in_full(text) for text in texts]


_TEN_FIGURES = f"%.{FIGURES}g "


@lru_cache(maxsize=1 << 12)
def _in_full(text: str) -> str:
    """A decimal without a point, or with a power of ten, as JSON writes its number."""
    value = float(text) + 0.0
    if not math.isfinite(value):
        raise ValueError(f"{text} is not a finite number")
    return repr(value)


def as_they_are(values: Sequence[float]) -> list[float]:
    """Numbers of an answer that is published unrounded."""
    return [float(value) for value in values]
