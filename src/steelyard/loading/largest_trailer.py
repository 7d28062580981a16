"""How heavy a trailer may be for each share of it on the coupling, from the towing vehicle alone, in closed form.

Every limit is linear in the coupling load ``V`` and the trailer's gross ``G``; at a share ``s``, ``V = s G``. So each
limit bounds ``G`` by one root at every share. The vehicle must keep its limits as it stands alone, too: it is driven to
the trailer, and the pull of a trailer that is on the ground for a moment, or lighter than was thought, must not be what
keeps a wheel within its rating.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.limits import TowLimits, least_of_each, owners
from steelyard.loading.room import Array, Curves, tightest

SAME_SHARE = 1e-6
"""Shares [1] that are closer than this are one."""


@dataclass(frozen=True, slots=True)
class Corner:
    """Corner where one limit gives way to another: share [1], mass [kg], indices of the limits before and after it."""

    share: float
    mass: float
    before: int
    after: int


@dataclass(frozen=True)
class LargestTrailer:
    """The trailers that every limit allows.

    Attributes
    ----------
    shares: on the coupling [1], rising, shape (k,): those asked for and those of the corners.
    most: largest gross at 95 % [kg], shape (k,). best: the same at the best estimate, without its doubt.
    each: the same at 95 % by each limit alone [kg], shape (k, n); of one that does not come near binding, a lesser one.
    binds: index of the limit that binds at 95 %, shape (k,), -1: none does.
    corners: in order of their share.
    load: the most coupling load at 95 % [kg] that the limits on it allow, infinite where none does, and ``load_best``
        without doubt. load_binds: which limit that is, -1: none.
    missed: indices of the limits that are not kept at 95 % without a trailer, the one that lacks the most first; where
        there is one, no trailer is allowed, and it is what binds.
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
    missed: tuple[int, ...] = ()

    @property
    def largest(self) -> tuple[float, float, float]:
        """The largest gross of all [kg], and the least and the greatest share [1] at which it is allowed."""
        mass = float(self.most.max())
        close = (
            np.flatnonzero(self.most >= mass * (1.0 - 1e-6))
            if np.isfinite(mass)
            else np.flatnonzero(np.isinf(self.most))
        )
        return mass, float(self.shares[close[0]]), float(self.shares[close[-1]])

    def at(self, share: float) -> tuple[float, int]:
        """The largest gross at 95 % [kg] at one share [1], and the limit that binds."""
        if self.missed:
            return 0.0, self.missed[0]
        each = _each(self.limits, np.array([share]))
        place = int(tightest(each)[0])
        return float(each[0, place]), place if np.isfinite(each[0, place]) else -1


def largest_trailer(limits: TowLimits, shares: Array) -> LargestTrailer:
    """The largest trailer for each of ``shares`` [1], rising, shape (k,), and at every corner between them.

    A limit that is not kept without a trailer leaves none, whether a trailer would bring it within or not.
    """
    missed = _missed(limits)
    each, binds = _bound(limits, shares, missed)
    corners = () if missed else tuple(_corners(limits, shares, binds))
    if corners:
        shares = np.unique([*shares, *(corner.share for corner in corners)])
        each, binds = _bound(limits, shares, missed)
    most, best = each.min(axis=1), _best(limits, shares).min(axis=1)
    return LargestTrailer(limits, shares, most, best, each, binds, corners, *_load(limits, missed), missed)


def _bound(limits: TowLimits, shares: Array, missed: tuple[int, ...]) -> tuple[Array, NDArray[np.int_]]:
    """The largest gross by each limit at each share, shape (k, n), and which binds, shape (k,), -1: none."""
    each = _each(limits, shares)
    each[:, list(missed)] = 0.0
    binds = np.full(len(shares), missed[0]) if missed else tightest(each)
    return each, np.where(np.isinf(each.min(axis=1)), -1, binds)


def _missed(limits: TowLimits) -> tuple[int, ...]:
    """The limits that are not kept without a trailer, by what they lack to the gram, then in order."""
    lacking = limits.quantile * np.linalg.norm(limits.root, axis=1) - limits.room
    first = owners(limits)
    worst: dict[int, float] = {}
    for place in np.flatnonzero(lacking > 0.0):
        worst[int(first[place])] = max(worst.get(int(first[place]), 0.0), float(lacking[place]))
    return tuple(sorted(worst, key=lambda place: (-round(worst[place], 3), place)))


def _load(limits: TowLimits, missed: tuple[int, ...]) -> tuple[float, float, int]:
    """The most coupling load at 95 % and at the best estimate [kg], and the limit that binds; -1: none."""
    down = limits.by_load < 0.0
    best = 0.0 if (limits.room < 0.0).any() else np.min(-limits.room[down] / limits.by_load[down], initial=np.inf)
    if missed:
        return 0.0, float(best), missed[0]
    moved = np.flatnonzero(limits.by_load != 0.0)
    if not len(moved):
        return np.inf, float(best), -1
    curves = _curves(limits, limits.by_load[None, :], np.ones(1))
    most = least_of_each(limits, np.where(curves.kept(0.0), curves.binding(), 0.0))[0, moved]
    place = int(tightest(most[None, :])[0])
    return float(most[place]), float(best), int(moved[place]) if np.isfinite(most[place]) else -1


def _each(limits: TowLimits, shares: Array) -> Array:
    """The largest gross by each limit at each share, shape (k, n); of one that does not bind there, a lesser one."""
    curves = _curves(limits, limits.by_load * shares[:, None] + limits.by_gross, shares)
    return least_of_each(limits, np.where(curves.kept(0.0), curves.binding(), 0.0))


def _curves(limits: TowLimits, rate: Array, parts: Array) -> Curves:
    """The room over a mass, which changes it by ``rate``, shape (k, n), and puts ``parts`` of it on the coupling."""
    part, shape = parts[:, None], rate.shape
    own, mixed, square = (limits.learned[:, :, i, j].T[:, None, :] for i, j in ((0, 0), (0, 1), (1, 1)))
    learned = [np.broadcast_to(own, (len(own), *shape)), mixed * part, square * part**2]
    return Curves(
        np.broadcast_to(limits.room, shape),
        rate,
        np.broadcast_to((limits.root**2).sum(axis=1) + limits.latched**2, shape),
        (limits.load_root * limits.root).sum(axis=1) * part,
        (limits.load_root**2).sum(axis=1) * part**2,
        np.stack(learned, axis=1),
        limits.dof,
    )


def _best(limits: TowLimits, shares: Array) -> Array:
    """The largest gross by each limit at the best estimate, shape (k, n)."""
    rate = limits.by_load * shares[:, None] + limits.by_gross
    with np.errstate(divide="ignore"):
        most = np.where(rate < 0.0, np.maximum(-limits.room / np.where(rate < 0.0, rate, -1.0), 0.0), np.inf)
    return np.where(limits.room < 0.0, 0.0, most)


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
        near = float(shares[np.abs(shares - low).argmin()])
        low = near if abs(near - low) < SAME_SHARE else low
        found.append(Corner(low, float(_each(limits, np.array([low]))[0].min()), before, after))
    return found
