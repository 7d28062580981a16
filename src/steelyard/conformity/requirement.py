"""A requirement: a limit on a finding, with where it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

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
        infinite constant where there is no limit.
    upper: for each break whether it belongs to the piece above it.
    """

    finding: str
    breaks: tuple[float, ...]
    pieces: tuple[tuple[float, float], ...]
    upper: tuple[bool, ...]

    def limit(self, value: float) -> float:
        """The limit where the other finding has ``value``, both in SI units; infinite where there is none."""
        place = 0
        for at, above in zip(self.breaks, self.upper, strict=True):
            near = abs(value - at) <= SAME * max(abs(at), 1.0)
            if not (above if near else value > at):
                break
            place += 1
        constant, slope = self.pieces[place]
        return constant + slope * value


SAME = 1e-9
"""Part of a break within which a value counts as the break itself: sums of taped lengths are off by their last bits."""


@dataclass(frozen=True, slots=True)
class Requirement:
    """A limit (SI) on one finding.

    ``id`` is the finding's id, a colon and the name of the requirement. ``remedy`` completes "... less" or "... more":
    what a person would change to meet it. Where the limit is not one number ``curve`` says what it depends on, and
    ``limit`` is the one at that finding's value. ``rule`` is the id of a rule of the road, empty for all others.
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
