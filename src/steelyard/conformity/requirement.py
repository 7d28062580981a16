"""A requirement: a limit on a finding, with where it comes from."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.model import FindingId
from steelyard.units import Dimension


class Sense(StrEnum):
    """Which way the limit works."""

    MAX = "max"
    MIN = "min"


@dataclass(frozen=True, slots=True)
class LimitCurve:
    """A limit that depends on another finding, which has a doubt of its own.

    Attributes
    ----------
    finding: its id. breaks: values of it at which the limit changes, rising, n of them [SI].
    pieces: ``(constant, slope)`` of the limit, ``constant + slope * value``, on each of the n + 1 pieces [SI]; an
        infinite constant where there is no limit, of whichever sign.
    upper: for each break whether it belongs to the piece above it.
    """

    finding: str
    breaks: tuple[float, ...]
    pieces: tuple[tuple[float, float], ...]
    upper: tuple[bool, ...]

    @property
    def taped(self) -> bool:
        """Whether the other finding is a distance, which no load changes."""
        return FindingId.parse(self.finding).kind == "spread"

    def limit(self, value: float) -> float:
        """The limit where the other finding has ``value``, both in SI units; infinite where there is none."""
        return self.piece(value).limit(value)

    def piece(self, value: float) -> Piece:
        """The piece that ``value`` belongs to."""
        near = SAME * max(abs(value), 1.0)
        place = bisect_left(self.breaks, value - near)
        while place < len(self.breaks) and (self.upper[place] and self.breaks[place] <= value + near):
            place += 1
        return self._piece(place)

    def reached(self, value: float, reach: float) -> tuple[Piece, ...]:
        """The pieces within ``reach`` of ``value``, the others left out; the one that it belongs to where that is 0."""
        if reach <= 0.0:
            return (self.piece(value),)
        first = bisect_right(self.breaks, value - reach)
        last = bisect_left(self.breaks, value + reach)
        return tuple(self._piece(place) for place in range(first, last + 1))

    def nearest(self, value: float) -> float | None:
        """The limit at ``value``; where there is none, that at the nearest place where there is one; None: nowhere."""
        here = self.limit(value)
        if math.isfinite(here):
            return here
        found = [(abs(one.within(value) - value), one) for one in self.pieces_rising if one.limits]
        if not found:
            return None
        _, piece = min(found, key=lambda one: one[0])
        return piece.limit(piece.within(value))

    @property
    def pieces_rising(self) -> tuple[Piece, ...]:
        """The pieces with their ends, rising."""
        return tuple(self._piece(place) for place in range(len(self.pieces)))

    def _piece(self, place: int) -> Piece:
        low = self.breaks[place - 1] if place else -math.inf
        high = self.breaks[place] if place < len(self.breaks) else math.inf
        return Piece(low, high, *self.pieces[place])


@dataclass(frozen=True, slots=True)
class Piece:
    """The limit ``constant + slope * value`` where another finding is between ``low`` and ``high`` [SI]."""

    low: float
    high: float
    constant: float
    slope: float

    @property
    def limits(self) -> bool:
        """Whether there is a limit on it."""
        return math.isfinite(self.constant)

    def limit(self, value: float) -> float:
        """The limit at a value of the other finding."""
        return self.constant + self.slope * value

    def within(self, value: float) -> float:
        """The value of the other finding on this piece, its ends included, that is nearest to ``value``."""
        return min(max(value, self.low), self.high)


SAME = 1e-9
"""Part of a break within which a value counts as the break itself: sums of taped lengths are off by their last bits."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """A limit (SI) on one finding.

    ``id`` is the finding's id, a colon and the name of the requirement. ``remedy`` completes "... less" or "... more":
    what a person would change to meet it. Where the limit is not one number ``curve`` says what it depends on, and
    ``limit`` is the one at that finding's value as far as the file tells. Where that value lies so far within a piece
    without a limit that no other piece can be meant, no verdict is given. ``rule`` is the id of a rule of the road,
    empty for all others.
    """

    id: str
    finding: str
    label: str
    limit: float
    sense: Sense
    source: str
    dimension: Dimension
    remedy: str = ""
    curve: LimitCurve | None = None
    rule: str = ""
