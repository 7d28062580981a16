"""Regions and bands of a load map: which limit binds where, round amounts for its lines, a place for each letter."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steelyard.loading import LoadMap
from steelyard.questions.load_map.contours import Point, framed, stretches

Array = NDArray[np.float64]

_BANDS = 7
ENDLESS = 1e9
"""kg, in place of infinity: nothing binds."""


def in_order(made: LoadMap) -> list[int]:
    """The limits that bind somewhere, the one of the largest region first."""
    sizes = {place: int((made.limit == place).sum()) for place in made.binding}
    return sorted(sizes, key=lambda place: -sizes[place])


def filled(values: Array) -> Array:
    """The grid, shape (ny, nx), with what is off the floor taken from the nearest place: lines run on to its edge."""
    out = values.copy()
    for row in out:
        good = np.flatnonzero(~np.isnan(row))
        if len(good):
            near = np.abs(np.arange(len(row))[:, None] - good).argmin(axis=1)
            row[:] = row[good[near]]
    rows = np.flatnonzero(~np.isnan(out[:, 0]))
    for empty in np.flatnonzero(np.isnan(out[:, 0])):
        out[empty] = out[rows[np.abs(rows - empty).argmin()]]
    return out


def most_framed(made: LoadMap) -> tuple[Array, Array, Array]:
    """The most that each place takes [kg], on a grid carried on to the edges; ``ENDLESS`` where nothing binds."""
    return framed(made.x, made.y, filled(np.where(np.isinf(made.most), ENDLESS, made.most)))


def borders(made: LoadMap) -> list[list[Point]]:
    """Lines where one limit gives way to another; none where a limit is not kept before anything is added."""
    if len(made.binding) < 2 or set(made.missed) & set(made.ids):
        return []
    each = np.minimum(made.each, ENDLESS)
    found: list[list[Point]] = []
    for place in range(len(made.binding)):
        others = np.delete(each, place, axis=0).min(axis=0)
        found += stretches(*framed(made.x, made.y, filled(others - each[place])), 0.0)
    return found


def round_levels(shown: Array) -> tuple[float, ...]:
    """Round amounts for a grid of shape (ny, nx), from below the least to above the most, a few of them."""
    low, high = float(shown.min()), float(shown[shown < ENDLESS / 10].max(initial=0.0))
    span = high - low
    if span <= 1e-6 * max(high, 1.0):
        return (low,)
    rough = span / _BANDS
    power = 10.0 ** np.floor(np.log10(rough))
    step = next(power * factor for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if power * factor >= rough)
    first, last = np.floor(low / step), np.ceil(high / step)
    return tuple(float(step) * place for place in range(int(first), int(last) + 1))


# -- the floor ---------------------------------------------------------------------------------------------------------


def widest(region: NDArray[np.bool_]) -> tuple[int, int]:
    """The place farthest from the edge of a region of shape (ny, nx), along and across: its row and column."""
    far = np.minimum(_run(region), _run(region[:, ::-1])[:, ::-1]) / region.shape[1]
    wide = np.minimum(_run(region.T).T, _run(region[::-1].T).T[::-1]) / region.shape[0]
    room = np.minimum(far * 2.5, wide)
    best = np.argwhere(room >= 0.98 * room.max())
    at = int(best[len(best) // 2] @ (region.shape[1], 1))
    return at // region.shape[1], at % region.shape[1]


def _run(region: NDArray[np.bool_]) -> Array:
    """How many places before each one in its row belong to the region without a break, itself among them."""
    out = np.zeros(region.shape)
    for column in range(region.shape[1]):
        before = out[:, column - 1] if column else 0.0
        out[:, column] = np.where(region[:, column], before + 1, 0)
    return out
