"""Slips of the pen and of the pads, put into some simulated days so that people can learn to find them.

The kinds are those that ``adjustment/misfit/slips.py`` offers as explanations: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from steelyard.simulation.text import WrittenSlot

LEAST = 3
"""A slip changes a reading by at least so many divisions, or nobody could find it."""


@dataclass(frozen=True)
class Changed:
    """One reading that a slip changed: its index, and its divisions before and after."""

    reading: int
    right: int
    written: int


@dataclass(frozen=True)
class Slip:
    """One slip: its kind in words, and the readings that it changed."""

    kind: str
    changed: tuple[Changed, ...]


@dataclass(frozen=True)
class SlipReadings:
    """The readings of a day in which a slip may be made, one entry each: divisions, largest count, how written."""

    counts: Sequence[int]
    most: Sequence[int]
    written: Sequence[WrittenSlot]


def slip_in(shown: SlipReadings, chances: Sequence[float], rate: float) -> Slip | None:
    """The slip of a day, made with a probability of ``rate``; ``chances`` are uniform numbers, four at least."""
    if not chances[0] < rate:
        return None
    size = len(shown.counts)
    first, kind = int(chances[1] * size), int(chances[2] * len(_KINDS))
    kinds = [*_KINDS[kind:], *_KINDS[:kind]]
    for reading in [*range(first, size), *range(first)]:
        for words, made in kinds:
            changed = tuple(made(shown, reading, chances[3]))
            if changed and all(_tells(shown, one) for one in changed):
                return Slip(words, changed)
    return None


def _tells(shown: SlipReadings, one: Changed) -> bool:
    return abs(one.written - one.right) >= LEAST and 0 <= one.written <= shown.most[one.reading]


def _exchanged(shown: SlipReadings, reading: int, chance: float) -> Iterator[Changed]:
    """Two readings of one draft, each written at the other's place."""
    del chance
    own = shown.written[reading]
    for other, its in enumerate(shown.written):
        if other != reading and its.draft == own.draft and (its.step, its.unit) == (own.step, own.unit):
            here, there = shown.counts[reading], shown.counts[other]
            if abs(here - there) >= LEAST:
                yield Changed(reading, here, there)
                yield Changed(other, there, here)
                return


def _digits(shown: SlipReadings, reading: int, chance: float) -> Iterator[Changed]:
    """Two neighbouring digits exchanged, where the result is one that the pad can show."""
    own, count = shown.written[reading], shown.counts[reading]
    digits = str(int(count * own.division)) if count * own.division == int(count * own.division) else ""
    pairs = [at for at in range(len(digits) - 1) if digits[at] != digits[at + 1]]
    for step in range(len(pairs)):
        at = pairs[(int(chance * len(pairs)) + step) % len(pairs)]
        swapped = Decimal(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :])
        if swapped % own.division == 0 and abs(int(swapped / own.division) - count) >= LEAST:
            yield Changed(reading, count, int(swapped / own.division))
            return


def _not_zeroed(shown: SlipReadings, reading: int, chance: float) -> Iterator[Changed]:
    """The pad showed something before the wheel stood on it."""
    count = shown.counts[reading]
    yield Changed(reading, count, count + LEAST + int(chance * 12))


def _half_off(shown: SlipReadings, reading: int, chance: float) -> Iterator[Changed]:
    """A part of the tyre stood beside the plate."""
    count = shown.counts[reading]
    yield Changed(reading, count, round(count * (0.6 + 0.3 * chance)))


_KINDS: tuple[tuple[str, Callable[[SlipReadings, int, float], Iterator[Changed]]], ...] = (
    ("two readings exchanged", _exchanged),
    ("two digits exchanged", _digits),
    ("a pad that was not zeroed", _not_zeroed),
    ("a wheel half off its pad", _half_off),
)
