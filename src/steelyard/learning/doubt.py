"""Uncertainty of the readings of a sweep: flicker seen, rounding that flicker may or may not wash out.

The mean rounding error of readings that scatter by ``s`` about a load ``w`` is a wave in ``w``, one division long,

    e(w) = (d / pi) sum_k (-1)^k / k  exp(-2 (pi k s / d)^2) sin(2 pi k w / d),

so it is shared by all samples of one load, alternates along a slow channel, and dies out from ``s = 0.3 d`` on
(B. Widrow and I. Kollar, Quantization Noise, 2008; from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from steelyard.learning.channels import Array, Channels
from steelyard.learning.plateaus import Plateaus, direction, made_good, residuals

_WAVES = 5
"""How many waves of the rounding error are followed along a channel; the rest counts as independent."""

_LINES = (-2.0, -1.5, -1.0, -0.5, 0.0, 0.5, 1.0, 1.5, 2.0)
"""The lines that are looked at, in standard uncertainties of how fast a channel moves."""

_FEW = 400
"""With more plateaus than this, how fast a channel moves is known well enough for one line."""


_CHANCE = 2.0
"""A declared repeatability that flicker falls short of by more than so many of its own standard uncertainties is taken
to come anew with every plateau, where no number of samples washes it out."""


@dataclass(frozen=True)
class SweepDoubt:
    """The doubt of the plateaus of a sweep.

    Attributes
    ----------
    along: how the channels move together, shape (m,). points: the plateaus.
    flicker: variance of one sample that more samples wash out, shape (m,).
    shared: variance of the rounding error that samples of one load share, shape (m,).
    each: variance of what every plateau has anew and no flicker shows, shape (m,); dof: of that, shape (m,).
    share: standard deviation of the flicker in divisions, shape (m,).
    """

    along: Array
    points: Plateaus
    flicker: Array
    shared: Array
    each: Array
    dof: Array
    share: Array

    @property
    def variances(self) -> Array:
        """The variance of each plateau's mean, shape (b, m)."""
        return self.shared + self.each + self.flicker / self.points.counts[:, None]


def doubt_of(channels: Channels, points: Plateaus) -> SweepDoubt:
    """The doubt of the plateaus: what is declared, held against what the samples show."""
    step = channels.step
    along = direction(points.means, step, np.sqrt(points.counts))
    left = residuals(channels.values, points.means, along, step) / step
    own = np.where(channels.division > 0.0, 1.0, 0.0)
    declared = channels.repeatability / step
    seen = made_good(0.5 * (np.diff(left, axis=0) ** 2).mean(axis=0), along, step)
    scatter = made_good((left**2).mean(axis=0), along, step) - own / 12.0
    more = max(len(points.counts) - 2, 0)
    blended = np.maximum((channels.dof * declared**2 + more * scatter) / (channels.dof + more), 0.0)
    flickers = np.where(own > 0.0, np.interp(seen, _table()[1], _table()[0]), np.sqrt(seen))
    flickers = np.where(seen > _table()[1][-1], np.sqrt(np.maximum(seen - own / 12.0, 0.0)), flickers)
    flickers = np.minimum(flickers, np.sqrt(blended))
    shared = own * wave_variance(flickers).sum(axis=0)
    unseen = np.maximum(np.minimum(blended, declared**2) - flickers**2, 0.0)
    sure = unseen > _CHANCE * np.sqrt(2.0 / channels.dof) * blended
    flicker = np.maximum(flickers**2 + own / 12.0 - shared, 0.0) + np.where(sure, 0.0, unseen)
    each = np.where(sure, unseen, 0.0)
    square = step**2
    return SweepDoubt(along, points, flicker * square, shared * square, each * square, channels.dof, flickers)


def wave_variance(flicker: Array) -> Array:
    """Variance of each wave of the rounding error, in squared divisions, the last row all that remain.

    Parameters
    ----------
    flicker: standard deviation of the scatter in divisions, shape (m,). Gives shape (waves + 1, m).
    """
    many = np.arange(1, 41)[:, None]
    waves = np.exp(-((2.0 * math.pi * many * flicker) ** 2)) / (2.0 * (math.pi * many) ** 2)
    tail = waves[_WAVES:].sum(axis=0) + np.where(flicker > 0.0, 0.0, 1.0 / 12.0 - waves.sum(axis=0))
    return np.vstack([waves[:_WAVES], tail])


@cache
def _table() -> tuple[Array, Array]:
    """Scatter in divisions, and the variance within one load that readings rounded to divisions show of it."""
    scatter = np.linspace(0.0, 2.0, 401)
    return scatter, scatter**2 + 1.0 / 12.0 - wave_variance(scatter).sum(axis=0)


class Spread:
    """Uncertainty of weighted sums over the plateaus.

    Rounding that a slow channel carries from plateau to plateau adds up with its sign, as far as the other channels
    tell how far it moved. That rests on the line itself, so the worst of all lines that the plateaus allow is taken.
    Where the others do not tell, plateaus count as independent; nowhere do they count as better than that.
    """

    def __init__(self, doubt: SweepDoubt, channels: Channels) -> None:
        self._doubt = doubt
        divided = np.where(channels.division > 0.0, channels.step**2, 0.0)
        self._waves = wave_variance(doubt.share) * divided
        places, known, slack = _elsewhere(doubt, channels)
        numbers = np.arange(1, _WAVES + 1)[:, None]
        self._sure = np.exp(-((2.0 * math.pi * numbers * known) ** 2))
        lines = _LINES if len(places) <= _FEW else _LINES[len(_LINES) // 2 :][:1]
        moved = places[None] * (1.0 + np.multiply.outer(np.array(lines), slack)[:, None, :])
        turn = np.exp(2j * math.pi * moved)
        self._turns = np.stack([turn ** int(number) for number in numbers[:, 0]], axis=1)

    def of(self, weights: Array) -> tuple[Array, Array]:
        """The variance of each channel's weighted sum, and the part of it that is only estimated, shapes (m,).

        ``weights`` are those of the plateaus, shape (b,).
        """
        doubt = self._doubt
        squares = float(weights @ weights)
        estimated = doubt.each * squares
        washed = doubt.flicker * float(weights**2 @ (1.0 / doubt.points.counts))
        together = np.abs(np.einsum("b,lkbm->lkm", weights, self._turns)) ** 2
        alone = self._waves.sum(axis=0) * squares
        waves = self._waves[:-1] * (self._sure * together + (1.0 - self._sure) * squares)
        followed = waves.sum(axis=1).max(axis=0) + self._waves[-1] * squares
        return estimated + washed + np.maximum(alone, followed), estimated


def _elsewhere(doubt: SweepDoubt, channels: Channels) -> tuple[Array, Array, Array]:
    """Position of each channel within its division, by the other channels.

    Gives the places, shape (b, m); how much in doubt each is, shape (m,); and the relative doubt of how fast the
    channel moves, which stretches all its places alike, shape (m,).
    """
    points, along, step = doubt.points, doubt.along, channels.step
    middle = points.means.mean(axis=0)
    typical = doubt.shared + doubt.each + doubt.flicker / float(np.median(points.counts))
    pull = along / typical
    every = float(pull @ along)
    others = np.maximum(every - pull * along, 1e-12 * every)
    centred = points.means - middle
    scores = ((centred @ pull)[:, None] - centred * pull) / others
    known: Array = np.abs(along) / np.sqrt(others) / step
    travel = np.sqrt((scores**2).sum(axis=0)) * np.maximum(np.abs(along), 1e-12 * step)
    loose = np.sqrt(typical + along**2 / others)
    slack: Array = loose / np.maximum(np.maximum(travel, loose), 1e-300)
    return scores * along / step, known, slack
