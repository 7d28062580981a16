"""How heavy a trailer may be for each share of it on the coupling, from the towing vehicle alone, in closed form.

Every limit is linear in the coupling load ``V`` and the trailer's gross ``G``; at a share ``s``, ``V = s G``. So each
limit bounds ``G`` by one root of a quadratic at every share.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.limits import TowLimits
from steelyard.loading.room import Array, Curves


@dataclass(frozen=True, slots=True)
class Corner:
    """Where one limit gives way to another: share [1], mass [kg], indices of the limits before and after it."""

    share: float
    mass: float
    before: int
    after: int


@dataclass(frozen=True)
class LargestTrailer:
    """The trailers that every limit allows.

    Attributes
    ----------
    shares: on the coupling [1], shape (k,).
    most: largest gross at 95 % [kg], shape (k,). best: the same at the best estimate, without its doubt.
    each: the same at 95 % by each limit alone [kg], shape (k, n).
    binds: index of the limit that binds at 95 %, shape (k,), -1: none does.
    corners: in order of their share.
    load: the most coupling load at 95 % [kg] that the limits on it allow, infinite where none does, and ``load_best``
        without doubt. load_binds: which limit that is, -1: none.
    """

    limits: TowLimits
    shares: Array
    most: Array
    best: Array
    each: Array
    binds: NDArray[np.int_]
    corners: tuple[Corner, ...]
    load: float
    load_best: float
    load_binds: int

    def at(self, share: float) -> tuple[float, int]:
        """The largest gross at 95 % [kg] at one share [1], and the limit that binds."""
        each = _each(self.limits, np.array([share]))
        place = int(np.argmin(each[0]))
        return float(each[0, place]), place if np.isfinite(each[0, place]) else -1


def largest_trailer(limits: TowLimits, shares: Array) -> LargestTrailer:
    """The largest trailer for each of ``shares`` [1], rising, shape (k,).

    A limit that is not kept without a trailer, and that no trailer brings within, leaves none.
    """
    each = _each(limits, shares)
    best = _best(limits, shares).min(axis=1)
    binds = np.argmin(each, axis=1)
    most = each[np.arange(len(shares)), binds]
    binds = np.where(np.isinf(most), -1, binds)
    only = limits.by_load != 0.0
    load, load_best, load_binds = np.inf, np.inf, -1
    if only.any():
        alone = _interval(limits.room, limits.by_load, limits.root, limits.load_root, limits.quantile)
        alone = np.where(only, alone, np.inf)
        load_binds = int(np.argmin(alone))
        load = float(alone[load_binds])
        down = only & (limits.by_load < 0.0)
        load_best = float(max(np.min(-limits.room[down] / limits.by_load[down], initial=np.inf), 0.0))
        load_binds = load_binds if np.isfinite(load) else -1
    return LargestTrailer(
        limits, shares, most, best, each, binds, tuple(_corners(limits, shares, binds)), load, load_best, load_binds
    )


def _each(limits: TowLimits, shares: Array) -> Array:
    """The largest gross by each limit at each share, shape (k, n); zero where no trailer keeps it."""
    share = shares[:, None]
    mixed = (limits.load_root * limits.root).sum(axis=1)
    shape = (len(shares), len(limits.ids))
    curves = Curves(
        np.broadcast_to(limits.room, shape),
        limits.by_load * share + limits.by_gross,
        np.broadcast_to((limits.root**2).sum(axis=1), shape),
        mixed * share,
        (limits.load_root**2).sum(axis=1) * share**2,
        np.broadcast_to(limits.quantile, shape),
    )
    _, most = curves.interval()
    return most


def _interval(room: Array, rate: Array, root: Array, rate_root: Array, quantile: Array) -> Array:
    mixed, square = (rate_root * root).sum(axis=1), (rate_root**2).sum(axis=1)
    return Curves(room, rate, (root**2).sum(axis=1), mixed, square, quantile).interval()[1]


def _best(limits: TowLimits, shares: Array) -> Array:
    """The largest gross by each limit at the best estimate, shape (k, n)."""
    rate = limits.by_load * shares[:, None] + limits.by_gross
    with np.errstate(divide="ignore"):
        return np.where(rate < 0.0, np.maximum(-limits.room / np.where(rate < 0.0, rate, -1.0), 0.0), np.inf)


def _corners(limits: TowLimits, shares: Array, binds: NDArray[np.int_]) -> list[Corner]:
    """Shares between which another limit takes over, found to within a millionth by halving."""
    found: list[Corner] = []
    for place in np.flatnonzero(np.diff(binds)):
        low, high = float(shares[place]), float(shares[place + 1])
        before, after = int(binds[place]), int(binds[place + 1])
        if before < 0 or after < 0:
            continue
        for _ in range(20):
            middle = (low + high) / 2
            each = _each(limits, np.array([middle]))[0]
            low, high = (middle, high) if each[before] <= each[after] else (low, middle)
        found.append(Corner(low, float(_each(limits, np.array([low]))[0].min()), before, after))
    return found
