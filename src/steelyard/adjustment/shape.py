"""The shape of a day: all that its equations depend on, but for what the readings show.

Two days of one shape have the same unknowns, the same rows and the same constants; what is worked out for the one holds
for the other. Everything that describes the rig, the ground and the instruments is in the shape, whether the equations
use it or not, so that nothing they will use one day can be forgotten; of a draft only what is named here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from operator import attrgetter
from typing import Any

from steelyard.model import CountedReading, Draft, WeighDay, drift_hours

_PLAIN = frozenset({str, int, bool, type(None)})


def shape_of(day: WeighDay) -> Hashable:
    """The shape of a day; equal for two days only where their equations are the same to the last digit."""
    return (
        _exact(day.site),
        _each(day.instruments),
        _each(day.vehicles),
        _each(day.cargo),
        _each(day.states),
        tuple(_draft(day, draft) for draft in day.drafts),
        tuple(drift_hours(day.cargo, day.states, day.drafts).items()),
        tuple(one.drifted(one.verified, day.date) if one.span_drift else 0.0 for one in day.instruments.values()),
    )


def _draft(day: WeighDay, draft: Draft) -> Hashable:
    """How the rig stood, and which instrument stood where: of all that is read, and of what counts."""
    readings, counted = day.readings_of(draft), day.counted(draft)
    return (
        draft.number,
        draft.state,
        draft.placement,
        draft.on_ground,
        draft.reversed,
        bool(draft.raised),
        draft.blocks,
        _places(readings),
        None if len(counted) == len(readings) else _places(counted),
    )


def _places(readings: Iterable[CountedReading]) -> Hashable:
    return tuple((one.place.text, one.place.wheels, one.place.couplings, one.instrument) for one in readings)


_KNOWN: dict[int, tuple[object, Hashable]] = {}
"""Things that were looked at lately, each with what tells it from others: files of one rig often share theirs."""

MOST_KNOWN = 500


def _each(things: Mapping[str, object]) -> Hashable:
    """Names and things in their order; a thing that was looked at before, which nothing can change, is not again."""
    told: list[Hashable] = [*things]
    for thing in things.values():
        known = _KNOWN.get(id(thing))
        if known is None or known[0] is not thing:
            if len(_KNOWN) >= MOST_KNOWN:
                _KNOWN.clear()
            known = _KNOWN[id(thing)] = thing, _exact(thing)
        told.append(known[1])
    return tuple(told)


def _exact(value: object) -> Hashable:
    """Something that is equal for two values only where nothing tells them apart, the order of their parts included."""
    kind = type(value)
    if kind in _PLAIN:
        return value  # pyright: ignore[reportReturnType]
    if isinstance(value, float):
        return value or ("zero", math.copysign(1.0, value))
    if isinstance(value, tuple):
        return _all(value)  # pyright: ignore[reportUnknownArgumentType]
    if isinstance(value, Mapping):
        return *value, _all(value.values())  # pyright: ignore[reportUnknownArgumentType, reportUnknownVariableType]
    parts = _parts(kind)
    return value if parts is None else (kind, _all(parts(value)))  # pyright: ignore[reportReturnType]


def _all(values: Iterable[object]) -> Hashable:
    """The same of several; most are plain."""
    return tuple([value if type(value) in _PLAIN else _exact(value) for value in values])


@cache
def _parts(kind: type[Any]) -> Callable[[object], tuple[object, ...]] | None:
    """A function that takes a record apart into its fields; None where a value is no record, as a date or a set."""
    if not is_dataclass(kind):
        return None
    names = [field.name for field in fields(kind)]
    if len(names) == 1:
        return lambda record: (getattr(record, names[0]),)
    return attrgetter(*names)
