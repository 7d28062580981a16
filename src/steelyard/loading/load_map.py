"""The load map: the most mass that each place of a floor can take before the first limit binds, in closed form."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.floor import Outline, inside
from steelyard.loading.guard import quantile_range
from steelyard.loading.limits import Limits, least_of_each, owners, without
from steelyard.loading.room import Array, Flags, curves_of, kept_without, most_at, tightest
from steelyard.loading.scenario import ScenarioError

UNTOUCHED = 1e-9
"""A limit whose room changes by less than this for one unit of mass is none of the load's business."""


@dataclass(frozen=True)
class Item:
    """One thing of a known mass and its standard uncertainty [kg]."""

    mass: float
    u: float = 0.0


@dataclass(frozen=True)
class LoadMap:
    """The most that each place can take, at a one-sided probability of 95 % for every limit by itself.

    It is what a prediction with that mass there would say: with the degrees of freedom that it would have, and with a
    place that is known as well as ``Limits.taped`` says.

    Attributes
    ----------
    outline: of the floor [m]. x, y: places of the grid [m], shapes (nx,) and (ny,).
    within: whether a place is on the floor, shape (ny, nx).
    most: the most mass [kg] with which every limit is kept, shape (ny, nx), NaN off the floor; infinite: none binds.
    limit: which limit binds, an index into ``ids``, shape (ny, nx), -1 for none.
    ids, labels: of the limits that a load on the floor touches.
    missed: ids of limits that are not kept before anything is put on, whether a load touches them or not.
    binding: indices of the limits that bind somewhere. each: the most by each of them alone [kg], shape (b, ny, nx).
    spare: room that the item leaves under the limit that it strains most, guard band taken off [kg], shape (ny, nx):
        it may stand where this is not negative; None without an item.
    not_judged: ids of limits that the readings do not determine. contested: what may be wrong, in words, where readings
        contradict one another; the most is then the least of all answers.
    """

    outline: Outline
    x: Array
    y: Array
    within: Flags
    most: Array
    limit: NDArray[np.int_]
    ids: tuple[str, ...]
    labels: tuple[str, ...]
    missed: tuple[str, ...]
    binding: tuple[int, ...]
    each: Array
    spare: Array | None = None
    not_judged: tuple[str, ...] = ()
    contested: tuple[str, ...] = ()

    @property
    def fits(self) -> Flags | None:
        """Whether the item may stand at each place, shape (ny, nx); None without an item."""
        return None if self.spare is None else self.within & (self.spare >= 0.0)


def load_map(limits: Limits, outline: Outline, *, columns: int, rows: int, item: Item | None = None) -> LoadMap:
    """The load map over ``columns`` x ``rows`` places in the middle of equal cells around ``outline``.

    ``limits`` are those of the vehicle that the floor is on. A limit that is not kept without any load allows only what
    also brings it within; where nothing does, the most is zero. Limits that no load on the floor touches do not bind.

    Raises
    ------
    ScenarioError: no limit is left that a load on the floor touches.
    """
    corners = np.array(outline)
    x = _middles(float(corners[:, 0].min()), float(corners[:, 0].max()), columns)
    y = _middles(float(corners[:, 1].min()), float(corners[:, 1].max()), rows)
    across, along = (part.ravel() for part in np.meshgrid(y, x, indexing="ij"))
    within = inside(outline, along, across)
    missed = [name for name, kept in zip(limits.ids, kept_without(limits), strict=True) if not kept]
    touched = _touched(limits, corners)
    if not touched.ids:
        raise ScenarioError("no limit that the readings determine depends on a load there, so nothing bounds it")
    all_most, most, binds = _bound(touched, along[within], across[within])
    owner, all_most = owners(touched), least_of_each(touched, all_most)
    binds = np.where(binds >= 0, owner[binds], -1)
    names = len(set(owner.tolist()))
    binding = tuple(int(place) for place in np.unique(binds) if place >= 0)

    def spread(values: Array) -> Array:
        everywhere = np.full(len(along), np.nan)
        everywhere[within] = values
        return everywhere.reshape(rows, columns)

    limit = np.full(len(along), -1)
    limit[within] = binds
    return LoadMap(
        outline,
        x,
        y,
        within.reshape(rows, columns),
        spread(most),
        limit.reshape(rows, columns),
        touched.ids[:names],
        touched.labels[:names],
        tuple(dict.fromkeys(missed)),
        binding,
        np.array([spread(all_most[:, place]) for place in binding]).reshape(len(binding), rows, columns),
        None if item is None else spread(_spare(touched, along[within], across[within], item)),
        limits.not_judged,
        limits.contested,
    )


def _touched(limits: Limits, corners: Array) -> Limits:
    """The limits whose room a load somewhere between the ``corners`` [m] changes at all, shape (n, 2)."""
    arms = np.column_stack([np.ones(len(corners)), corners])
    size = np.abs(limits.rate @ arms.T).max(axis=1)
    touched = {name for name, most in zip(limits.ids, size, strict=True) if most >= UNTOUCHED}
    return without(limits, frozenset(limits.ids) - touched)


def _bound(limits: Limits, x: Array, y: Array) -> tuple[Array, Array, NDArray[np.int_]]:
    """The most mass [kg] by every limit at each place, shape (k, n), by all, shape (k,), and which binds, -1: none.

    The degrees of freedom are those of the place and the mass. Where a limit does not come near binding, its most is
    one that surely keeps it.
    """
    kept = kept_without(limits)
    loose, tight = quantile_range(limits.dof)
    most = most_at(limits, x, y, tight)
    if loose < tight and kept.any():
        widest = most_at(limits, x, y, loose)[:, kept].min(axis=1)
        places, rows = np.nonzero((most <= widest[:, None]) & kept)
        most[places, rows] = curves_of(limits, rows, x[places], y[places]).interval()[1]
    least = np.zeros_like(most)
    for row in np.flatnonzero(~kept):
        alone = curves_of(limits, np.full(len(x), row), x, y)
        least[:, row], most[:, row] = alone.interval()
    binds, found = tightest(most), most.min(axis=1)
    if not kept.all():
        needed = tightest(-least)
        never = least[np.arange(len(x)), needed] > found
        binds[never] = needed[never]
        found[never] = 0.0
    binds[np.isinf(found)] = -1
    return most, found, binds


def _spare(limits: Limits, x: Array, y: Array, item: Item) -> Array:
    """Room that the item leaves under the limit that it strains most, shape (k,)."""
    spare = np.full(len(x), np.inf)
    for row in range(len(limits.ids)):
        curves = curves_of(limits, np.full(len(x), row), x, y)
        doubtful = replace(curves, variance=curves.variance + (curves.rate * item.u) ** 2)
        spare = np.minimum(spare, doubtful.left(item.mass))
    return spare


def _middles(start: float, end: float, count: int) -> Array:
    """The middles of equal cells between two places [m], shape (count,); halfway between -1 and 1 stands 0 itself."""
    odd = 2.0 * np.arange(count) + 1.0
    return (start * (2.0 * count - odd) + end * odd) / (2.0 * count)
