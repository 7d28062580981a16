"""Limits as the searches take them: straight in every load, and never less strict than the verdict.

The room under a limit must stay linear in a load that is put on. A limit that depends on another finding is therefore
replaced by a straight one that is enough for it, of several the one that leaves most room as things stand.

Where the other finding is a distance, no load changes it. With steps, a load that keeps the limit ``c`` with the
probability ``0.95 + e`` meets the requirement with 0.95 at least, ``e`` being the probability that a step stricter than
``c`` holds (Boole's inequality): the guard band is widened by the quotient of the two quantiles. A step outside the
95 % interval of the distance costs little in this way; one well within it is taken as if it held.

Where a load changes the other finding too, a line counts that is as strict as the limit at every value of it; or that
the other finding stays where there is no limit at all.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from steelyard.adjustment import student_quantile
from steelyard.classes import dataclass
from steelyard.conformity import CONFIDENT, REACH, DependentLimit, LimitCurve, Piece, Requirement, Sense

MOST_WIDENED = 0.04
"""A step is passed over only where all stricter ones together are less probable than this."""

_SLIGHT = 1e-9


@dataclass(frozen=True, slots=True)
class Straight:
    """A limit that is linear in findings: ``requirement.limit + slope * other``.

    Attributes
    ----------
    requirement: the finding that is limited, the constant and the sense. other: id of the other finding, in the same
    state; empty: there is none. widened: factor on the doubt.
    """

    requirement: Requirement
    other: str = ""
    slope: float = 0.0
    widened: float = 1.0


def straight_limits(
    requirement: Requirement, curve: LimitCurve, other: float, other_u: float, dof: float
) -> Iterator[Straight]:
    """Straight limits each of which is enough for one that depends on another finding; none where it does not hold.

    Parameters
    ----------
    other, other_u: value and standard uncertainty of the other finding (SI). dof: fewest degrees of freedom of any
    doubt of the day.
    """
    if curve.taped:
        yield from _over_distance(requirement, curve, other, other_u, dof)
    else:
        yield from _over_load(requirement, curve)


def _over_distance(
    requirement: Requirement, curve: LimitCurve, other: float, other_u: float, dof: float
) -> Iterator[Straight]:
    sign = 1.0 if requirement.sense is Sense.MAX else -1.0
    pieces = curve.reached(other, REACH * other_u)
    if len(pieces) == 1:
        piece = pieces[0]
        if piece.limits:
            yield Straight(replace(requirement, limit=piece.constant), curve.finding, piece.slope)
        return
    pair = DependentLimit(curve, requirement.sense, 0.0, other, other_u, 0.0, 0.0, math.inf)
    steps = sorted((sign * _strictest(part, sign), pair.chance(part)) for part in pair.parts() if part.limits)
    stricter = 0.0
    for level, chance in steps:
        if stricter <= MOST_WIDENED:
            yield Straight(replace(requirement, limit=sign * level), widened=_widened(stricter, dof))
        stricter += chance


def _strictest(part: Piece, sign: float) -> float:
    """The strictest limit of a part: the least of a greatest limit, the greatest of a least one."""
    return sign * min(sign * part.limit(part.low), sign * part.limit(part.high))


def _widened(stricter: float, dof: float) -> float:
    """The quotient of the guard bands at 95 % and so much more."""
    wanted, plain = (float(student_quantile(np.array([dof]), CONFIDENT + more)[0]) for more in (stricter, 0.0))
    return wanted / plain


def _over_load(requirement: Requirement, curve: LimitCurve) -> Iterator[Straight]:
    sign = 1.0 if requirement.sense is Sense.MAX else -1.0
    pieces = [replace(one, low=max(one.low, 0.0)) for one in curve.pieces_rising if one.high > 0.0]
    limiting = [one for one in pieces if one.limits]
    lines = [(one.constant, one.slope) for one in limiting]
    if all(math.isfinite(one.high) or sign * one.slope >= 0.0 for one in limiting):
        ends = [
            _strictest(replace(one, high=one.high if math.isfinite(one.high) else one.low), sign) for one in limiting
        ]
        lines += [(sign * min(sign * end for end in ends), 0.0)] if ends else []
    for constant, slope in dict.fromkeys(lines) if limiting else ():
        if all(_as_strict(constant, slope, piece, sign) for piece in limiting):
            yield Straight(replace(requirement, limit=constant), curve.finding if slope else "", slope)
    if pieces and limiting:
        yield from _staying_free(requirement, curve, pieces)


def _as_strict(constant: float, slope: float, piece: Piece, sign: float) -> bool:
    """Whether a line is as strict as a piece of a limit wherever that holds."""
    if math.isinf(piece.high) and sign * (slope - piece.slope) > _SLIGHT:
        return False
    ends = [end for end in (piece.low, piece.high) if math.isfinite(end)]
    size = abs(constant) + abs(piece.constant)
    return all(sign * (constant + slope * end - piece.limit(end)) <= _SLIGHT * size for end in ends)


def _staying_free(requirement: Requirement, curve: LimitCurve, pieces: list[Piece]) -> Iterator[Straight]:
    """That the other finding stays below the first limit, or above the last one, where it is free there."""
    first = next(place for place, one in enumerate(pieces) if one.limits)
    last = next(place for place, one in reversed(list(enumerate(pieces))) if one.limits)
    for place, end, sense in ((first, pieces[first].low, Sense.MAX), (last, pieces[last].high, Sense.MIN)):
        beyond = place > 0 if sense is Sense.MAX else place < len(pieces) - 1
        if beyond:
            yield Straight(replace(requirement, finding=curve.finding, limit=end, sense=sense, curve=None))
