"""Plateaus: samples of one load gathered into one point, so that a long wait does not pass for many measurements.

A mean of any stretch of a sweep lies on the same line as its samples, for everything moves along one line. So how the
stretches are cut costs some sharpness and never any truth; what may be counted as independent is decided here.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.learning.channels import Array

MOST = 2000
"""The most pieces that stretches are put together from; longer sweeps are cut into equal pieces first."""

_STAYS = 1.25
"""A piece belongs to the stretch before it while no channel moves by more than so many steps,"""

_SCATTER = 4.0
"""or by more than so many times the scatter of the pieces about the common line."""

STEERING = 0.8
"""Where one channel carries more than this share of what tells the load, its own residual tells little of its noise."""

_SAME = 0.25
"""Stretches whose means differ by less than so many steps in every channel are one load come back to."""


@dataclass(frozen=True)
class Plateaus:
    """Points of a sweep.

    Attributes
    ----------
    means: of each channel, shape (b, m). counts: samples in each, shape (b,).
    """

    means: Array
    counts: Array


def plateaus(values: Array, step: Array) -> Plateaus:
    """The plateaus of a sweep; the same load met again is one of them.

    Parameters
    ----------
    values: shape (n, m), in the order of time. step: of each channel, shape (m,).
    """
    size = -(-len(values) // MOST)
    edges = np.arange(0, len(values), size)
    counts = np.diff(np.append(edges, len(values))).astype(float)
    means = np.add.reduceat(values, edges, axis=0) / counts[:, None]
    stretch = _stretches(means / np.maximum(_STAYS * step, _SCATTER * flicker(means, step)), counts)
    means, counts = _gathered(means, counts, stretch, int(stretch[-1]) + 1)
    return _met_again(means, counts, step)


def _stretches(scaled: Array, counts: Array) -> NDArray[np.int_]:
    """The number of the stretch that each piece belongs to, shape (pieces,)."""
    found = np.zeros(len(scaled), dtype=int)
    number, mean, weight = 0, list(scaled[0]), counts[0]
    for place, (row, count) in enumerate(zip(scaled.tolist(), counts.tolist(), strict=True)):
        if max(abs(a - b) for a, b in zip(row, mean, strict=True)) > 1.0:
            number, mean, weight = number + 1, row, 0.0
        weight += count
        mean = [a + (b - a) * count / weight for a, b in zip(mean, row, strict=True)]
        found[place] = number
    return found


def _met_again(means: Array, counts: Array, step: Array) -> Plateaus:
    along = direction(means, step, np.sqrt(counts))
    order = np.argsort((means / step) @ (along / step)).tolist()
    number, numbers = -1, np.zeros(len(order), dtype=int)
    first: Array | None = None
    for place in order:
        if first is None or bool((np.abs(means[place] - first) > _SAME * step).any()):
            number, first = number + 1, means[place]
        numbers[place] = number
    return Plateaus(*_gathered(means, counts, numbers, number + 1))


def _gathered(means: Array, counts: Array, numbers: NDArray[np.int_], many: int) -> tuple[Array, Array]:
    whole = np.zeros(many)
    np.add.at(whole, numbers, counts)
    sums = np.zeros((many, means.shape[1]))
    np.add.at(sums, numbers, means * counts[:, None])
    return sums / whole[:, None], whole


def direction(points: Array, step: Array, weights: Array) -> Array:
    """How all channels move together, for one unit of the whole movement in steps; shape (m,), per channel's unit.

    Parameters
    ----------
    points: shape (b, m). step: of each channel, shape (m,). weights: of each point, shape (b,).
    """
    centred = (points - weights @ points / weights.sum()) / step
    _, vectors = np.linalg.eigh((centred * weights[:, None]).T @ centred)
    return vectors[:, -1] * step


def residuals(values: Array, points: Array, along: Array, step: Array) -> Array:
    """Residual of each row of ``values``, shape (n, m), from the line along ``along`` through ``points``.

    Parameters
    ----------
    points: shape (b, m). along, step: shape (m,).
    """
    towards = along / step**2
    centred = values - points.mean(axis=0)
    return centred - np.outer(centred @ (towards / float(along @ towards)), along)


def made_good(square: Array, along: Array, step: Array) -> Array:
    """Mean squares of residuals in steps made good for what the line took of each channel; all of shape (m,).

    Where one channel steers the line its own residual tells little; it gets the mean of all.
    """
    lever = (along / step) ** 2
    lever = lever / lever.sum()
    pooled = float(square.sum()) / max(len(square) - 1, 1)
    return np.where(lever > STEERING, pooled, square / np.maximum(1.0 - lever, 1.0 - STEERING))


def flicker(rows: Array, step: Array) -> Array:
    """Standard deviation of what successive rows scatter by about their common line, shape (m,), in channels' units.

    ``rows`` has shape (n, m), ``step`` shape (m,).
    """
    along = direction(rows, step, np.ones(len(rows)))
    left = residuals(rows, rows, along, step) / step
    return np.sqrt(made_good(0.5 * (np.diff(left, axis=0) ** 2).mean(axis=0), along, step)) * step
