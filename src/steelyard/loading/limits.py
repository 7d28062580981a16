"""Every limit of a state as room left, and what a load on one vehicle takes of it: the form that all searches share."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Limits:
    """Limits of one state, linear in a generalised load ``(m, m x, m y)`` [kg, kg*m, kg*m] put on one vehicle.

    Room is positive where a limit is kept. A limit on a share is written as a load: ``limit x whole - part``.

    Attributes
    ----------
    ids: verdict ids, n of them. labels: in words.
    room: [kg], shape (n,). root: its doubt, ``covariance = root root'``, shape (n, q).
    rate: change of room for one unit of each component of the load, shape (n, 3). rate_root: shape (n, 3, q).
    quantile: one-sided 95 % quantile of each limit's distribution without a load, shape (n,).
    learned: what each learned component of the readings' doubt brings to the covariances of the room and the three
        rates, shape (n, components, 4, 4). dof: degrees of freedom of each component.
    taped: standard uncertainty of the place of a load, along and across [m].
    """

    ids: tuple[str, ...]
    labels: tuple[str, ...]
    room: Array
    root: Array
    rate: Array
    rate_root: Array
    quantile: Array
    learned: Array
    dof: tuple[float, ...] = ()
    taped: float = 0.0


@dataclass(frozen=True)
class TowLimits:
    """Limits on a trailer that is hitched to one coupling.

    Attributes
    ----------
    ids: verdict ids, n of them. labels: in words.
    room: left without the trailer [kg], shape (n,). root: its doubt, shape (n, q).
    by_load: change of room for one unit of coupling load, shape (n,). load_root: its doubt, shape (n, q).
    by_gross: change of room for one unit of the trailer's gross, shape (n,).
    quantile: one-sided 95 % quantile of each limit's distribution without a trailer, shape (n,).
    learned: what each learned component of the readings' doubt brings to the covariances of the room and of its change
        for one unit of coupling load, shape (n, components, 2, 2). dof: degrees of freedom of each component.
    latched: standard uncertainty that hitching brings whatever the trailer [kg], shape (n,): of the roll couple that is
        latched into a fifth wheel.
    low, high: window of the share on this kind of coupling [1], None where it is open. source: of the window.
    """

    ids: tuple[str, ...]
    labels: tuple[str, ...]
    room: Array
    root: Array
    by_load: Array
    load_root: Array
    by_gross: Array
    quantile: Array
    learned: Array
    latched: Array
    low: float | None
    high: float | None
    source: str
    dof: tuple[float, ...] = ()


_WORDS = ("ids", "labels")
_Limits = TypeVar("_Limits", Limits, TowLimits)


def without(limits: _Limits, ids: frozenset[str]) -> _Limits:
    """The same limits but some."""
    kept = [place for place, name in enumerate(limits.ids) if name not in ids]
    columns: dict[str, Any] = {name: tuple(getattr(limits, name)[place] for place in kept) for name in _WORDS}
    columns |= {
        column.name: getattr(limits, column.name)[kept]
        for column in fields(limits)
        if isinstance(getattr(limits, column.name), np.ndarray)
    }
    return replace(limits, **columns)
