"""Unknowns of several weigh days that stand for one thing: instruments and vehicles by serial, standards by name.

Nothing is one thing for bearing the same name. Between two verifications the span of an instrument is one unknown that
may wander; once verified again it is another. Instruments of a set share their error where one of them, known by its
serial number, stands in both files under the same verification; a standard is known by the name on its certificate.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Hashable, Iterator
from dataclasses import field
from typing import cast

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.assumed import span_u
from steelyard.adjustment.several.join import SharedFunction, SharedUnknowns, Stated
from steelyard.adjustment.solve import Array
from steelyard.classes import dataclass
from steelyard.model import Instrument, Vehicle, WeighDay
from steelyard.statics import ride_rate, roll_rate, tie_rate

OF_VEHICLE = frozenset({"x", "track", "ride", "roll", "coupling_x", "tie", "unladen"})
"""Unknowns of a vehicle that stay what they are from day to day; its centre of gravity rises with what is loaded."""


@dataclass(frozen=True, slots=True)
class _Step:
    """The change of a span up to a day, by the key of its unknown; None where the counting begins."""

    until: datetime.date
    key: Hashable | None


@dataclass()
class SharedThings:
    """The things that some days share, filled day after day, in the order of their dates."""

    unknowns: SharedUnknowns = field(default_factory=SharedUnknowns)
    _sets: dict[Hashable, Hashable] = field(default_factory=dict[Hashable, Hashable])
    _walks: dict[Hashable, list[_Step]] = field(default_factory=dict[Hashable, "list[_Step]"])

    def of(self, adjustment: Adjustment, number: int) -> list[SharedFunction]:
        """The things that the day of an adjustment may share with others; ``number`` tells the days apart."""
        return [*self._instruments(adjustment, number), *self._vehicles(adjustment)]

    def _instruments(self, adjustment: Adjustment, number: int) -> Iterator[SharedFunction]:
        day = adjustment.rig.day
        for item in day.instruments.values():
            at = adjustment.rig.unknowns.index.get(("span", item.id))
            if item.serial and at is not None:
                yield self._span(adjustment, item, at, number)
        for kind, name in dict.fromkeys(
            (kind, name) for item in day.instruments.values() for kind, name, _ in item.shared
        ):
            at = adjustment.rig.unknowns.index.get((kind, name))
            key = ("standard", name) if kind == "standard" else self._set(day, name)
            if at is not None and key is not None:
                yield self._plain(adjustment, at, key)

    def _span(self, adjustment: Adjustment, item: Instrument, at: int, number: int) -> SharedFunction:
        """The span of an instrument: what its verification left open, and what came after it."""
        known = _known(adjustment, at)
        date = adjustment.rig.day.date
        key = self.unknowns.add(("span", item.serial, item.verified), Stated(0.0, span_u(item)))
        of: dict[Hashable, float] = {key: 1.0}
        rest = known.u**2 - span_u(item, date) ** 2  # gravity, where its local value is not known well
        if rest > 1e-6 * known.u**2:
            of[self.unknowns.add(("gravity", item.serial, number), Stated(0.0, math.sqrt(rest)))] = 1.0
        if date is not None and item.span_drift > 0.0:
            of |= dict.fromkeys(self._walk(item, date), 1.0)
        return SharedFunction(_unit(adjustment, at), float(adjustment.unknowns[at]), known, of)

    def _walk(self, item: Instrument, date: datetime.date) -> list[Hashable]:
        """The steps by which a span wandered from its verification, or from the first day it was used, to ``date``."""
        steps = self._walks.setdefault((item.serial, item.verified), [_Step(item.verified or date, None)])
        variance = item.drifted(steps[-1].until, date) if date > steps[-1].until else 0.0
        if variance > 0.0:
            key = ("walk", item.serial, item.verified, date)
            steps.append(_Step(date, self.unknowns.add(key, Stated(0.0, math.sqrt(variance)))))
        return [step.key for step in steps if step.key is not None and step.until <= date]

    def _set(self, day: WeighDay, name: str) -> Hashable | None:
        members = [item for item in day.instruments.values() if item.set == name and item.serial]
        marks = [(name, item.serial, item.verified) for item in members]
        found = next((self._sets[mark] for mark in marks if mark in self._sets), ("set", *marks[0]) if marks else None)
        if found is not None:
            self._sets.update(dict.fromkeys(marks, found))
        return found

    def _vehicles(self, adjustment: Adjustment) -> Iterator[SharedFunction]:
        index = adjustment.rig.unknowns.index
        for vehicle in adjustment.rig.day.vehicles.values():
            if not vehicle.serial:
                continue
            for key, at in index.items():
                kind, of, *rest = cast(tuple[object, ...], (*cast(tuple[object, ...], key), None))
                if of == vehicle.id and kind in OF_VEHICLE:
                    yield self._plain(adjustment, at, (kind, vehicle.serial, rest[0]), _base(vehicle, kind, rest[0]))

    def _plain(self, adjustment: Adjustment, at: int, key: Hashable, base: float = 0.0) -> SharedFunction:
        """An unknown that is one and the same in every day; ``base`` is what its zero stands for."""
        known = _known(adjustment, at)
        known = Stated(known.value + base, known.u)
        self.unknowns.add(key, known)
        return SharedFunction(_unit(adjustment, at), float(adjustment.unknowns[at]) + base, known, {key: 1.0})


def _base(vehicle: Vehicle, kind: object, of: object = None) -> float:
    """The value that the zero of an unknown stands for: the logarithm of a rate, where that is how it counts."""
    if kind == "tie":
        return math.log(tie_rate(vehicle.couplings[str(of)]).value)
    if kind in ("ride", "roll") and isinstance(of, int):
        axle = vehicle.axles[of - 1]
        return math.log((ride_rate if kind == "ride" else roll_rate)(axle).value)
    return 0.0


def _known(adjustment: Adjustment, at: int) -> Stated:
    unknowns = adjustment.rig.unknowns
    return Stated(unknowns.start[at], unknowns.prior_u[at])


def _unit(adjustment: Adjustment, at: int) -> Array:
    gradient = np.zeros(len(adjustment.unknowns))
    gradient[at] = 1.0
    return gradient
