"""Every limit of a state as room left, and what a load on one vehicle takes of it: the form that all searches share."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def _nobody() -> NDArray[np.int_]:
    return np.zeros(0, dtype=np.int_)


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
    under: number of the explanation that a limit is told under, 0 for all readings as they are, shape (n,). Where
        readings contradict one another a limit stands once for each explanation that makes it another one, after those
        of all readings, under the same id; it is kept only where all of them are.
    not_judged: ids of limits that the readings do not determine. contested: what may be wrong, in words.
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
    under: NDArray[np.int_] = field(default_factory=_nobody)
    not_judged: tuple[str, ...] = ()
    contested: tuple[str, ...] = ()


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
    under, not_judged, contested: as for ``Limits``.
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
    under: NDArray[np.int_] = field(default_factory=_nobody)
    not_judged: tuple[str, ...] = ()
    contested: tuple[str, ...] = ()


SLIGHT = 1e-9
"""Part of a number within which an explanation leaves it as it is."""

_WORDS = ("ids", "labels")
_Limits = TypeVar("_Limits", Limits, TowLimits)


def without(limits: _Limits, ids: frozenset[str]) -> _Limits:
    """The same limits but some."""
    kept = [place for place, name in enumerate(limits.ids) if name not in ids]
    columns: dict[str, Any] = {name: tuple(getattr(limits, name)[place] for place in kept) for name in _WORDS}
    columns |= {
        column.name: getattr(limits, column.name)[kept]
        for column in fields(limits)
        if isinstance(getattr(limits, column.name), np.ndarray) and len(getattr(limits, column.name)) == len(limits.ids)
    }
    return replace(limits, **columns)


def together(parts: Sequence[_Limits], wrong: Sequence[str], *, every: bool = False) -> _Limits:
    """The limits of all readings as they are, and those of each explanation that differ from them.

    Parameters
    ----------
    parts: the limits of all readings, then under each explanation. wrong: the explanations in words. every: take those
        that do not differ too, so that the limits on several vehicles of a state stand in the same rows.
    """
    plain = parts[0]
    found = [replace(plain, under=np.zeros(len(plain.ids), dtype=np.int_), contested=tuple(wrong))]
    for number, part in enumerate(parts[1:], start=1):
        known = {name: place for place, name in enumerate(part.ids)}
        for place, name in enumerate(plain.ids):
            same = known.get(name)
            if same is not None and not every and _alike(plain, place, part, same):
                continue
            row = _never(plain, place) if same is None else _row(part, same)
            found.append(replace(row, under=np.array([number])))
    return _stacked(found)


def owners(limits: Limits | TowLimits) -> NDArray[np.int_]:
    """For each limit the first of the same id, which is that of all readings, shape (n,)."""
    first: dict[str, int] = {}
    return np.array([first.setdefault(name, place) for place, name in enumerate(limits.ids)], dtype=np.int_)


def least_of_each(limits: Limits | TowLimits, values: Array) -> Array:
    """Values of the limits, shape (k, n): the least of each id at its first, and infinite elsewhere."""
    first = owners(limits)
    found = np.full_like(values, np.inf)
    for place in range(values.shape[1]):
        found[:, first[place]] = np.minimum(found[:, first[place]], values[:, place])
    return found


def _numbers(limits: Limits | TowLimits) -> dict[str, Array]:
    """The arrays of some limits by name, the first axis of each being the limits."""
    named = {column.name: getattr(limits, column.name) for column in fields(limits)}
    return {name: value for name, value in named.items() if isinstance(value, np.ndarray) and name != "under"}


def _alike(one: Limits | TowLimits, row: int, other: Limits | TowLimits, same: int) -> bool:
    """Whether a limit is the same in both, as far as anybody could tell; columns of doubt may be others."""
    mine, theirs = _numbers(one), _numbers(other)
    for name, value in mine.items():
        a, b = np.asarray(value[row]), np.asarray(theirs[name][same])
        if name.endswith("root"):
            a, b = (np.atleast_2d(each) @ np.atleast_2d(each).T for each in (a, b))
        scale = float(np.abs(a).max(initial=0.0)) + 1e-12
        if float(np.abs(a - b).max(initial=0.0)) > SLIGHT * scale:
            return False
    return True


def _row(limits: _Limits, place: int) -> _Limits:
    """One limit by itself."""
    columns: dict[str, Any] = {name: (getattr(limits, name)[place],) for name in _WORDS}
    return replace(limits, **columns, **{name: value[[place]] for name, value in _numbers(limits).items()})


def _never(limits: _Limits, place: int) -> _Limits:
    """A limit that no load keeps: an explanation leaves it undetermined."""
    row = _row(limits, place)
    nothing: dict[str, Any] = {name: np.zeros_like(value) for name, value in _numbers(row).items()}
    return replace(row, **nothing | {"room": np.full(1, -1.0), "quantile": row.quantile})


def _stacked(parts: Sequence[_Limits]) -> _Limits:
    """All limits in one, roots filled up with zeros to one width."""
    if len(parts) == 1:
        return parts[0]
    columns: dict[str, Any] = {name: tuple(word for part in parts for word in getattr(part, name)) for name in _WORDS}
    columns["under"] = np.concatenate([part.under for part in parts])
    every = [_numbers(part) for part in parts]
    for name in every[0]:
        values = [each[name] for each in every]
        if name.endswith("root"):
            width = max(value.shape[-1] for value in values)
            values = [np.pad(value, [(0, 0)] * (value.ndim - 1) + [(0, width - value.shape[-1])]) for value in values]
        columns[name] = np.concatenate(values)
    return replace(parts[0], **columns)
