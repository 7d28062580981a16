"""Serial numbers of several files held against one another: one number cannot belong to two different things."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from steelyard.loading import ScenarioError
from steelyard.model import Instrument, Vehicle
from steelyard.questions.compare.together import ComparedRig
from steelyard.units import Dimension, UnitSystem, format_number

T = TypeVar("T")

ONE_PLATE = 0.01
"""Capacities this near [1] are one: a plate that bears pounds and kilograms rounds one of them. Common practice, no
source."""


def refuse_two_of_one_serial(rigs: Sequence[ComparedRig], units: UnitSystem) -> None:
    """Refuse rigs in whose files one serial number stands for two different instruments or vehicles.

    Instruments differ by kind or capacity, vehicles by role or number of axles. ``units`` are those of the message.

    Raises
    ------
    ScenarioError: a number stands for two things; both files and their values are named.
    """
    days = list({rig.file: rig.adjustment.rig.given for rig in rigs}.items())
    instruments = [(file, item.serial, item) for file, day in days for item in day.instruments.values()]
    vehicles = [(file, item.serial, item) for file, day in days for item in day.vehicles.values()]
    _refuse("instruments", instruments, _same_instrument, lambda item: _shown_instrument(item, units))
    _refuse("vehicles", vehicles, _same_vehicle, _shown_vehicle)


def _refuse(
    what: str, bearers: Iterable[tuple[str, str, T]], same: Callable[[T, T], bool], shown: Callable[[T], str]
) -> None:
    first: dict[str, tuple[str, T]] = {}
    for file, serial, item in bearers:
        if not serial:
            continue
        other, known = first.setdefault(serial, (file, item))
        if not same(known, item):
            raise ScenarioError(
                f"the serial number {serial!r} stands for two different {what}: {shown(known)} in {other}, "
                f"{shown(item)} in {file}; correct one of the files"
            )


def _same_instrument(one: Instrument, other: Instrument) -> bool:
    return one.kind is other.kind and math.isclose(one.capacity, other.capacity, rel_tol=ONE_PLATE)


def _shown_instrument(item: Instrument, units: UnitSystem) -> str:
    return f"a {item.kind} of {format_number(units.show(item.capacity, Dimension.MASS))} {units.mass} ({item.id})"


def _same_vehicle(one: Vehicle, other: Vehicle) -> bool:
    return one.role is other.role and len(one.axles) == len(other.axles)


def _shown_vehicle(item: Vehicle) -> str:
    count = len(item.axles)
    kind = "trailer" if item.role == "trailer" else "towing vehicle"
    return f"a {kind} of {count} {'axle' if count == 1 else 'axles'} ({item.id})"
