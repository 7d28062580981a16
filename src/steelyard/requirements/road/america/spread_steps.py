"""The limit on a group of axles as a step function of its spread: single axles, tandems, and the bridge formula above.

Source: 23 USC 127(a)(2) and 23 CFR 658.17: a group that is spread over at most 96 in is judged as a single axle or a
tandem, any wider one by W = 500 (L N/(N - 1) + 12 N + 36) lb, L in ft. The figures come from the rule set.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from typing import Any

from steelyard.classes import dataclass
from steelyard.model import Rounding

SAME = 1e-9
"""Lengths [m] no further apart than this are the same: sums of taped lengths are off by their last bits."""
_STRETCH = 5.0
"""Steps of the formula are listed in stretches of so many metres, and one stretch beyond the spread itself."""


def over(spread: float, bound: float) -> bool:
    """Whether a spread is more than a bound [m], and not the bound itself."""
    return spread > bound + SAME


@dataclass(frozen=True, slots=True)
class Band:
    """A limit [kg] on groups with a spread of more than ``over`` and at most ``upto`` [m]; over None: one axle too."""

    over: float | None
    upto: float
    limit: float

    @classmethod
    def of(cls, values: Any) -> Band:
        """The band that a rule of the form ``axle_group`` gives."""
        return cls(values.get("over"), values["upto"], values["limit"])

    def holds(self, spread: float, axles: int) -> bool:
        """Whether it is the band of a group."""
        if over(spread, self.upto):
            return False
        return self.over is None or (axles > 1 and over(spread, self.over))


@dataclass(frozen=True, slots=True)
class Tandems:
    """The exception for two neighbouring tandems, each of a spread over ``over`` and up to ``upto`` [m].

    They carry ``limit`` [kg] together where their outermost axles are ``start`` apart or more [m].
    """

    limit: float
    start: float
    over: float
    upto: float


@dataclass(frozen=True, slots=True)
class Formula:
    """The bridge formula, W = weight (L/length N/(N - 1) + 12 N + 36), for spreads over ``over`` [m].

    Attributes
    ----------
    steps: number of axles, spread under which the published table has a figure of its own [m], that figure [kg].
    """

    over: float
    weight: float
    length: float
    weight_rounding: Rounding
    length_rounding: Rounding
    steps: tuple[tuple[int, float, float], ...] = ()
    tandems: Tandems | None = None

    @classmethod
    def of(cls, values: Any) -> Formula:
        """The formula that a rule of the form ``bridge`` gives."""
        pair = values.get("tandems")
        return cls(
            values["over"],
            values["weight"],
            values["length"],
            values["weight_rounding"],
            values["length_rounding"],
            tuple((row["axles"], row["under"], row["limit"]) for row in values.get("steps", ())),
            None if pair is None else Tandems(pair["limit"], pair["from"], pair["over"], pair["upto"]),
        )

    def piece(self, spread: float, axles: int, pair: Tandems | None) -> tuple[float, float]:
        """Constant and slope of the limit [kg, kg/m] around a spread that is not one of the jumps."""
        for of_axles, under, limit in self.steps:
            if axles == of_axles and spread < under:
                return limit, 0.0
        least = pair.limit if pair is not None and spread > pair.start else 0.0
        steps = self.length_rounding.steps(Fraction(spread / self.length))
        exact = steps * Fraction(axles, axles - 1) + 12 * axles + 36
        weight = self.weight * float(self.weight_rounding.steps(exact))
        if weight <= least or not (self.length_rounding is self.weight_rounding is Rounding.NONE):
            return max(weight, least), 0.0
        slope = self.weight / self.length * axles / (axles - 1)
        return self.weight * (12 * axles + 36), slope

    def jumps(self, axles: int, pair: Tandems | None, reach: float) -> Iterator[tuple[float, bool]]:
        """Spreads up to ``reach`` at which the limit may change [m], and whether the jump belongs to what is above."""
        yield self.over, False
        yield from ((under, True) for of_axles, under, _ in self.steps if of_axles == axles)
        if pair is not None:
            yield pair.start, True
            yield self._spread_of(Fraction(pair.limit / self.weight), axles), True
        if self.length_rounding is not Rounding.NONE:
            rounding = self.length_rounding
            for whole in range(math.floor(self.over / self.length), math.ceil(reach / self.length)):
                yield float(whole + rounding.jump) * self.length, rounding.jump_goes_up
        elif self.weight_rounding is not Rounding.NONE:
            rounding = self.weight_rounding
            for whole in range(12 * axles + 36, math.ceil(reach / self.length * axles / (axles - 1)) + 12 * axles + 36):
                yield self._spread_of(whole + rounding.jump, axles), rounding.jump_goes_up

    def _spread_of(self, steps: Fraction, axles: int) -> float:
        """The spread [m] at which the formula gives so many steps of weight before any rounding."""
        return float((steps - 12 * axles - 36) * Fraction(axles - 1, axles)) * self.length


@dataclass(frozen=True, slots=True)
class Steps:
    """A step function as ``conformity.LimitCurve`` has it: jumps [m], pieces [kg, kg/m], owner of each jump."""

    breaks: tuple[float, ...]
    pieces: tuple[tuple[float, float], ...]
    upper: tuple[bool, ...]

    def limit(self, spread: float) -> float:
        """The limit [kg] at a spread [m], as ``LimitCurve.limit`` gives it, found without looking at every piece."""
        place = bisect_left(self.breaks, spread - SAME)
        if place < len(self.breaks) and self.upper[place] and not over(self.breaks[place], spread):
            place += 1
        constant, slope = self.pieces[place]
        return constant + slope * spread


def steps_of(
    bands: tuple[Band, ...], formula: Formula | None, *, axles: int, spread: float, pair: Tandems | None = None
) -> Steps:
    """The limit on a group of so many axles, at and around a spread [m]; ``pair``: it is two tandems."""
    reach = _STRETCH * (math.floor(spread / _STRETCH) + 2)
    return _steps_to(bands, None if axles == 1 else formula, axles, pair, reach)


@lru_cache(maxsize=512)
def _steps_to(
    bands: tuple[Band, ...], formula: Formula | None, axles: int, pair: Tandems | None, reach: float
) -> Steps:
    ends = [(end, False) for band in bands for end in (band.over, band.upto) if end is not None]
    jumps = [] if formula is None else list(formula.jumps(axles, pair, reach))
    breaks: list[tuple[float, bool]] = []
    for at, upper in sorted(one for one in (*ends, *jumps) if SAME < one[0] < reach):
        if not breaks or over(at, breaks[-1][0]):
            breaks.append((at, upper))
    inner = [at for at, _ in breaks]
    middles = [(low + high) / 2.0 for low, high in zip((0.0, *inner), (*inner, reach), strict=True)]
    pieces = [_piece(bands, formula, axles, pair, middle) for middle in middles]
    kept = [place for place in range(len(breaks)) if pieces[place] != pieces[place + 1]]
    return Steps(
        tuple(breaks[place][0] for place in kept),
        (pieces[0], *(pieces[place + 1] for place in kept)),
        tuple(breaks[place][1] for place in kept),
    )


def _piece(
    bands: tuple[Band, ...], formula: Formula | None, axles: int, pair: Tandems | None, spread: float
) -> tuple[float, float]:
    limits = [(band.limit, 0.0) for band in bands if band.holds(spread, axles)]
    if formula is not None and spread > formula.over:
        limits.append(formula.piece(spread, axles, pair))
    return min(limits, key=lambda piece: piece[0] + piece[1] * spread, default=(math.inf, 0.0))
