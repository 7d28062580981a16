"""A sweep learned from: what one sum of its channels does for each unit of another, with an interval that covers."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from steelyard.adjustment import effective_dof, excess_of, fieller, student_quantile
from steelyard.distributions import functions
from steelyard.learning.channels import Array, Channels, SweepError
from steelyard.learning.doubt import Spread, SweepDoubt, doubt_of
from steelyard.learning.plateaus import plateaus
from steelyard.learning.york import FittedLine, NoLineError, york

MOVED = 4.0
"""Least movement of a slope's denominator, in its standard uncertainties; below it the slope is not determined."""

_UNLIKELY = 0.95
_FEWEST = 3
_STUCK = 1.0
"""Steps by which a channel at its largest value must fall short of what the others tell before it counts as stuck,"""

_SURE = 4.0
"""beyond so many times the doubt of what they tell."""


_ONE_LOAD = (
    "shows one load only: no place moved by more than its own doubt; put on more, step by step, so that some place "
    "moves by many divisions"
)


@dataclass(frozen=True)
class ChannelSum:
    """A sum of channels: a factor for each, shape (m,), and the doubts of these factors.

    ``doubts`` are pairs of a change of the factors, shape (m,), and the standard uncertainty of how much of it there
    is.
    """

    factors: Array
    doubts: tuple[tuple[Array, float], ...] = ()


@dataclass(frozen=True)
class Slope:
    """Change of one sum for each unit of another.

    Attributes
    ----------
    value, u, low, high: the slope, its standard uncertainty and its 95 % interval; None where it is not determined.
    line: the best fit to the plateaus; None where these make none.
    moved, u_moved: by how much what stands below moved over the sweep, and its standard uncertainty.
    factor: by how much the scatter about the line exceeds the doubt of the readings, as a ratio of standard deviations;
        1 where it does not.
    u_intercept_at: standard uncertainty of the line at the middle of the sweep, in the unit above.
    middle: where that is, in the units below and above.
    """

    value: float | None
    u: float | None
    low: float | None
    high: float | None
    line: FittedLine | None
    moved: float
    u_moved: float
    factor: float
    u_intercept_at: float
    middle: tuple[float, float]


class Sweep:
    """The plateaus of a sweep and their doubt, ready to be asked for slopes.

    Raises
    ------
    SweepError: fewer than three samples, one channel only, one load only, or a channel that stays at its largest value
        while the others go on.
    """

    def __init__(self, channels: Channels) -> None:
        _check(channels)
        self.channels = channels
        points = plateaus(channels.values, channels.step)
        if len(points.counts) < 2:
            raise SweepError(_ONE_LOAD)
        self.doubt: SweepDoubt = doubt_of(channels, points)
        if not self._moves():
            raise SweepError(_ONE_LOAD)
        self._spread = Spread(self.doubt, channels)
        self._pull: Array = self.doubt.along / self.doubt.variances.mean(axis=0)
        self._score: Array = points.means @ self._pull
        _refuse_stuck(channels)

    def _moves(self) -> bool:
        points, doubt = self.doubt.points.means, np.sqrt(self.doubt.variances).max(axis=0)
        moved = points.max(axis=0) - points.min(axis=0)
        return bool((moved > MOVED * np.sqrt(2.0) * doubt)[self.channels.loads].any())

    def at(self, total: ChannelSum) -> Array:
        """A sum of channels at each plateau, shape (b,)."""
        return self.doubt.points.means @ total.factors

    def u_at(self, total: ChannelSum) -> Array:
        """Its standard uncertainty at each plateau, shape (b,)."""
        return np.sqrt(self.doubt.variances @ total.factors**2)

    def slope(self, above: ChannelSum, below: ChannelSum) -> Slope:
        """Change of ``above`` for each unit of ``below``: York's fit, with an interval of the ratio (Fieller)."""
        variances = self.doubt.variances
        try:
            line = york(
                self.at(below),
                self.at(above),
                var_x=variances @ below.factors**2,
                var_y=variances @ above.factors**2,
                covariance=variances @ (above.factors * below.factors),
            )
        except NoLineError:
            return Slope(None, None, None, None, None, 0.0, 0.0, 1.0, 0.0, (0.0, 0.0))
        return self._judged(line, above, below)

    def _judged(self, line: FittedLine, above: ChannelSum, below: ChannelSum) -> Slope:
        """The slope with the plateaus weighted by where they lie on the sweep as all channels together show it.

        Weighted by the line through these two sums alone, a sum that does not move would seem to: such a line finds a
        movement in noise, and the more plateaus there are the surer it looks.
        """
        points, factor = self.doubt.points.means, _excess(line)
        weights = line.weights * (self._score - line.weights @ self._score / line.weights.sum())
        own = factor**2 * line.weights[:, None] * self.doubt.variances * self._pull
        travel = weights @ points - own.sum(axis=0)
        noise, estimated = self._spread.of(weights)
        top, bottom = above.factors, below.factors
        pairs = ((top, top), (bottom, bottom), (top, bottom))
        whole = [factor**2 * float((a * b) @ noise) + self._crossed(own, a, b, line, factor) for a, b in pairs]
        scattered = tuple(whole)
        for one, other, weight in self._systematic(above, below, travel):
            for at, part in enumerate((one * one, other * other, one * other)):
                whole[at] += part * weight**2
        moved, u_moved = float(bottom @ travel), float(np.sqrt(whole[1]))
        ratio = float(top @ travel) / moved if moved else 0.0
        across = top - ratio * bottom
        variance, seen = (max(of[0] - 2.0 * ratio * of[2] + ratio**2 * of[1], 0.0) for of in (whole, scattered))
        if factor > 1.0:  # the scatter about the line tells all of the doubt but what spans and factors bring
            dof = _dof(np.array([seen]), np.array([max(line.dof, 1.0)]), variance)
        else:
            dof = _dof(across**2 * estimated, self.doubt.dof, variance)
        quantile = float(student_quantile(np.array([dof]))[0])
        ends = None
        if abs(moved) >= MOVED * u_moved and moved != 0.0:
            ends = fieller(
                float(top @ travel), moved, variances=(whole[0], whole[1]), covariance=whole[2], quantile=quantile
            )
        scale = float(np.abs(weights).sum()) / 2.0 or 1.0
        middle = tuple(float(line.weights @ part / line.weights.sum()) for part in (points @ bottom, points @ top))
        at_middle, _ = self._spread.of(line.weights / line.weights.sum())
        known = ends is not None
        return Slope(
            ratio if known else None,
            float(np.sqrt(variance)) / abs(moved) if known else None,
            ends[0] if ends is not None else None,
            ends[1] if ends is not None else None,
            line,
            moved / scale,
            u_moved / scale,
            factor,
            factor * float(np.sqrt(across**2 @ at_middle)),
            (middle[0], middle[1]),
        )

    def _crossed(self, own: Array, one: Array, other: Array, line: FittedLine, factor: float) -> float:
        """Covariance of two sums from their noise times the noise of the weights; ``own`` of shape (b, m)."""
        variances = factor**2 * self.doubt.variances
        among = line.weights**2 * (variances @ self._pull**2) * (variances @ (one * other))
        return float(among.sum() + (own @ one) @ (own @ other))

    def _systematic(self, above: ChannelSum, below: ChannelSum, travel: Array) -> list[tuple[float, float, float]]:
        """Effect of spans and uncertain factors on the sums above and below: pairs of derivatives and a u."""
        channels = self.channels
        tops, bottoms = above.factors * travel, below.factors * travel
        found = [(float(tops[j]), float(bottoms[j]), float(u)) for j, u in enumerate(channels.span) if u > 0.0]
        found += [(float(tops[who].sum()), float(bottoms[who].sum()), u) for who, u in channels.sets if u > 0.0]
        found += [(float(change @ travel), 0.0, u) for change, u in above.doubts]
        found += [(0.0, float(change @ travel), u) for change, u in below.doubts]
        return found


def _dof(parts: Array, dof: Array, variance: float) -> float:
    """Effective degrees of freedom of a variance of which ``parts`` are learned, each to its own ``dof``, shapes (n,).

    Squares of expanded uncertainties add up, as they do wherever else a doubt is learned in part.
    """
    if variance <= 0.0:
        return float("inf")
    return float(effective_dof(np.minimum(parts / variance, 1.0) @ excess_of(dof)))


def _excess(line: FittedLine) -> float:
    """By how much the points scatter more than their doubt, where that is more than chance: Birge's ratio, else 1."""
    if line.dof < 1 or line.chi2 <= float(functions().chdtri(line.dof, 1.0 - _UNLIKELY)):
        return 1.0
    return float(np.sqrt(line.chi2 / line.dof))


def _check(channels: Channels) -> None:
    count = len(channels.values)
    if count < _FEWEST:
        raise SweepError(f"has {count} sample{'' if count == 1 else 's'}; a sweep takes three or more")
    if int(channels.loads.sum()) < 2:
        raise SweepError("has one place only; a slope takes two places that carry load")
    if bool((channels.values == channels.values[0]).all()):
        raise SweepError(
            f"shows one distinct load in all its {count} samples; put on more, step by step, while the log runs"
        )


def _refuse_stuck(channels: Channels) -> None:
    """See that no load stays at its largest value while the others tell that it went on.

    Raises
    ------
    SweepError: one does.
    """
    for place in np.flatnonzero(channels.loads):
        held = _held_back(channels, int(place))
        if held:
            raise SweepError(
                f"{channels.names[place]} stays at its largest value in {held} samples while the other places go on: "
                "its pad is saturated or stuck; take these samples out, or use a larger pad"
            )


def _held_back(channels: Channels, place: int) -> int:
    """In how many samples a channel is at its largest value and by the others should be far beyond; 0: it is not.

    What the others show is a line through the plateaus below the largest value, carried on. Its doubt has three parts:
    this channel's own, the others' (their rounding too, for they may have coarser divisions), and the line's. All of
    it comes from the samples below alone, for a channel that is stuck spoils what the rest shows of the noise.
    """
    values, step = channels.values[:, place], channels.step
    top = values == values.max()
    if top.sum() < _FEWEST or (~top).sum() < _FEWEST:
        return 0
    below = replace(channels, values=channels.values[~top])
    points = plateaus(below.values, step)
    if len(points.counts) < 2:
        return 0
    doubt = doubt_of(below, points)
    pull = np.where(np.arange(len(step)) == place, 0.0, doubt.along / step**2)
    scores, further = points.means @ pull, channels.values[top] @ pull
    middle = float(scores.mean())
    square = float(np.sum((scores - middle) ** 2))
    if square <= 0.0:
        return 0
    own = points.means[:, place]
    slope = float((scores - middle) @ own) / square
    beyond = own.mean() + slope * (further - middle) - values.max()
    noise = doubt.shared + doubt.each + doubt.flicker
    left = own - own.mean() - slope * (scores - middle)
    spread = max(noise[place] + slope**2 * float(pull**2 @ noise), float(left @ left) / max(len(scores) - 2, 1))
    away = 1.0 + 1.0 / len(scores) + (further - middle) ** 2 / square
    clear = _STUCK * step[place] + _SURE * np.sqrt(spread * away)
    seen = abs(slope) * float(np.ptp(scores)) > 2.0 * float(clear.min())
    return int(top.sum()) if seen and float(np.quantile(beyond - clear, 0.75)) > 0.0 else 0
