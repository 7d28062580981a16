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
    quantile: one-sided 95 % quantile of each limit's distribution, shape (n,).
    """

    ids: tuple[str, ...]
    labels: tuple[str, ...]
    room: Array
    root: Array
    rate: Array
    rate_root: Array
    quantile: Array


_Limits = TypeVar("_Limits", bound=Any)


def without(limits: _Limits, ids: frozenset[str]) -> _Limits:
    """The same limits but some: every column of theirs, whatever kind they are of."""
    kept = [place for place, name in enumerate(limits.ids) if name not in ids]
    columns: dict[str, Any] = {}
    for column in fields(limits):
        values = getattr(limits, column.name)
        if isinstance(values, np.ndarray):
            columns[column.name] = values[kept]
        elif isinstance(values, tuple):
            columns[column.name] = tuple(values[place] for place in kept)
    return replace(limits, **columns)
