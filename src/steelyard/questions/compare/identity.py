"""Statements of several files about one thing, held against one another: its kind and size, its lengths, its errors.

One serial number cannot belong to two different things, and one thing cannot have two lengths or two corrections that
contradict each other. Two doubts of one error are no contradiction: the larger counts, and it is said.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping, Sequence
from typing import TypeVar

from steelyard.adjustment import span_u
from steelyard.loading import ScenarioError
from steelyard.model import Instrument, Vehicle, WeighDay
from steelyard.questions.compare.together import ComparedRig
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity, UnitSystem, format_number

T = TypeVar("T")
B = TypeVar("B", Instrument, Vehicle)

ONE_PLATE = 0.01
"""Capacities this near [1] are one: a plate that bears pounds and kilograms rounds one of them. Common practice, no
source."""

APART = 4.0
"""Two statements of one thing contradict each other where they differ by more of their standard uncertainties than
this: by chance one in 16,000 does."""

ONE_SPAN = 0.1
"""The same for what one verification found of a span, which differs between files by its rounding alone."""

_Said = tuple[str, float, float]
"""A statement of a file: the file, the value and its standard uncertainty, in SI units."""


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


def refuse_contradictions(rigs: Sequence[ComparedRig], units: UnitSystem) -> None:
    """Refuse rigs whose files contradict one another on what their serial numbers say is one thing.

    These are the taped lengths of a vehicle, and the span that one verification of an instrument found.

    Raises
    ------
    ScenarioError: two values are further apart than their doubts allow; both files and their values are named.
    """
    said: dict[Hashable, _Said] = {}
    for file, vehicle in _bearers(rigs, lambda day: day.vehicles):
        for name, length in _lengths(vehicle):
            one = (file, length.value, length.u_or(TAPE))
            other = said.setdefault((vehicle.serial, name), one)
            if _contradict(one, other):
                raise ScenarioError(
                    f"the serial number {vehicle.serial!r} stands for one vehicle ({vehicle.id}), but its {name} is "
                    f"{_length(other, units)} and {_length(one, units)}; correct one of the files, or state their doubt"
                )
    for file, item in _bearers(rigs, lambda day: day.instruments):
        one = (file, item.span, span_u(item))
        other = said.setdefault((item.serial, item.verified), one)
        if _contradict(one, other, ONE_SPAN):
            when = "" if item.verified is None else f", verified on {item.verified},"
            raise ScenarioError(
                f"the serial number {item.serial!r} stands for one instrument ({item.id}), but its span{when} is "
                f"{_share(other)} and {_share(one)}; correct one of the files, or date each verification with verified"
            )


def doubts_restated(rigs: Sequence[ComparedRig]) -> list[str]:
    """A sentence for every error that several files share but doubt differently: which doubt counts."""
    said: dict[str, dict[float, list[str]]] = {}
    for rig in {rig.file: rig for rig in rigs}.values():
        for name, u in _errors(rig.adjustment.rig.given.instruments.values()):
            said.setdefault(name, {}).setdefault(round(u, 9), []).append(rig.file)
    found: list[str] = []
    for name, doubts in said.items():
        told = " and of ".join(f"{_percent(u)} in {files[0]}" for u, files in doubts.items() if u > 0.0)
        if sum(u > 0.0 for u in doubts) > 1:
            found.append(f"{name} has a doubt of {told}; it is one error, and the larger doubt counts")
        if told and 0.0 in doubts:
            found.append(
                f"{name} has a doubt of {told}; {doubts[0.0][0]} states none, so that it counts for nothing there"
            )
    return found


def _errors(instruments: Iterable[Instrument]) -> Iterator[tuple[str, float]]:
    """The errors that instruments may share with those of other files: in words, and their doubt [1]."""
    for item in instruments:
        if item.serial:
            when = "" if item.verified is None else f", verified on {item.verified},"
            yield f"the span of instrument {item.serial!r}{when}", span_u(item)
        if item.standard is not None:
            yield f"the standard {item.standard!r}", item.standard_uncertainty
        if item.set is not None and item.serial:
            yield f"the set {item.set!r}", item.set_uncertainty


def _bearers(rigs: Sequence[ComparedRig], things: Callable[[WeighDay], Mapping[str, B]]) -> Iterator[tuple[str, B]]:
    """The vehicles or instruments with a serial number, each with its file."""
    for rig in {rig.file: rig for rig in rigs}.values():
        found = things(rig.adjustment.rig.given).values()
        yield from ((rig.file, item) for item in found if item.serial)


def _lengths(vehicle: Vehicle) -> Iterator[tuple[str, Quantity]]:
    """The lengths of a vehicle that stay what they are, by the words for them."""
    for number, axle in enumerate(vehicle.axles, 1):
        yield f"axle {number} x", axle.x
        yield f"axle {number} track", axle.track
    yield from ((f"coupling {name} x", coupling.x) for name, coupling in vehicle.couplings.items())


def _contradict(one: _Said, other: _Said, apart: float = APART) -> bool:
    return abs(one[1] - other[1]) > apart * math.hypot(one[2], other[2]) + 1e-9


def _length(said: _Said, units: UnitSystem) -> str:
    value = format_number(units.show(said[1], Dimension.LENGTH), 0 if units.length == "mm" else 2)
    return f"{value.rstrip('0').rstrip('.') if '.' in value else value} {units.length} in {said[0]}"


def _share(said: _Said) -> str:
    return f"{_percent(said[1])} in {said[0]}"


def _percent(share: float) -> str:
    return f"{format_number(100.0 * share, 4).rstrip('0').rstrip('.')} %"


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
