"""The measures by which rigs are compared, each made of one finding of a day: the same rows for every rig."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from math import isfinite

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment, centre_heights
from steelyard.conformity import Sense
from steelyard.findings import Basis, Catalogue, CatalogueEntry
from steelyard.model import (
    Measurand,
    State,
    WeighDay,
    axle_load,
    combination_gross,
    coupling_quantity,
    gross_load,
    wheel_load,
)
from steelyard.requirements import requirements_of, states_alone
from steelyard.statics import Change, Combination, mass_at
from steelyard.units import Dimension

Array = NDArray[np.float64]

_STEP = 1e-4
"""Step of an unknown, in standard uncertainties of it, for the derivative of a lever."""


class Better(StrEnum):
    """Which of two values of a measure is the better one."""

    MORE = "more"
    LESS = "less"


LEAST = "left/least"
"""Id of the room under the rating that binds first."""


@dataclass(frozen=True, slots=True)
class RigMeasure:
    """One row of a comparison: the same quantity of several rigs."""

    id: str
    label: str
    dimension: Dimension
    better: Better | None = None
    of_rating: bool = False
    """Whether it is a share of a rating, which is kept up to 100 %."""


@dataclass(frozen=True)
class MeasureRow:
    """A measure of one rig: ``offset + factor * entry``, or a figure of its own.

    Attributes
    ----------
    binds: the limit that is meant, where a measure is the least of several. gradient: of the figure by the unknowns,
        shape (unknowns,). own: value and standard uncertainty of a figure that the unknowns do not carry.
    """

    measure: RigMeasure
    basis: Basis
    entry: CatalogueEntry | None = None
    factor: float = 1.0
    offset: float = 0.0
    binds: str = ""
    value: float | None = None
    gradient: Array | None = None
    own: tuple[float, float] | None = None


def roles(day: WeighDay, state: State) -> dict[str, str]:
    """The vehicles of a state by what they are in it: ``towing``, ``trailer``, ``trailer2``."""
    if not state.links:
        first = state.vehicles[0]
        return {day.vehicles[first].role.value: first}
    found = {"towing": state.links[0].towing}
    for number, link in enumerate(state.links, start=1):
        found["trailer" if number == 1 else f"trailer{number}"] = link.trailer
    return found


class RigMeasures:
    """The rows of one rig.

    Parameters
    ----------
    adjustment: of its day. state: the one that is compared; it stands.
    """

    def __init__(self, adjustment: Adjustment, state: str) -> None:
        self._adjustment = adjustment
        self._day = adjustment.rig.day
        self._state = self._day.states[state]
        self.roles = roles(self._day, self._state)
        catalogue = Catalogue(adjustment)
        self._entries = {entry.id: entry for entry in catalogue.entries(about=state)}

    def rows(self) -> list[MeasureRow]:
        """All that the day has an equation for, determined or not."""
        return [row for part in (self._loads(), self._left(), self._hitched(), self._placed()) for row in part]

    def own_mass(self, vehicle: str) -> CatalogueEntry:
        """A vehicle's own mass with what is aboard, what hangs on it taken out."""
        entry = self._entries[str(Measurand(vehicle, "cg_x").at(self._state.id))]
        return replace(entry, id=f"{vehicle}/own", dimension=Dimension.MASS, terms=entry.over, over={}, arms=())

    def _of(self, measurand: Measurand) -> CatalogueEntry | None:
        return self._entries.get(str(measurand.at(self._state.id)))

    def _row(
        self, measure: RigMeasure, entry: CatalogueEntry | None, factor: float = 1.0, offset: float = 0.0
    ) -> list[MeasureRow]:
        return [] if entry is None else [MeasureRow(measure, entry.basis, entry, factor, offset)]

    def _loads(self) -> Iterator[MeasureRow]:
        if self._state.links:
            yield from self._row(_mass("gross/combination", "Gross of the combination"), self._of(combination_gross()))
        for role, name in self.roles.items():
            yield from self._row(_mass(f"gross/{role}", f"Gross, {_word(role)}"), self._of(gross_load(name)))
        for role, name in self.roles.items():
            measure = RigMeasure(f"balance/{role}", f"Left side, {_word(role)}", Dimension.SHARE)
            yield from self._row(measure, self._of(Measurand(name, "left_share")))
        for role, name in self.roles.items():
            yield from self._used(role, name)

    def _used(self, role: str, name: str) -> Iterator[MeasureRow]:
        """Axles and wheels as a share of their ratings."""
        vehicle = self._day.vehicles[name]
        for number, axle in enumerate(vehicle.axles, start=1):
            if axle.rating is not None:
                entry, label = self._of(axle_load(name, number)), f"{_word(role)}, axle {number}: used of its rating"
                yield from self._row(_used(f"used/{role}/axle{number}", label), entry, 1.0 / axle.rating)
            for side in "LR" if axle.wheel_rating is not None else "":
                entry = self._of(wheel_load(name, f"{number}{side}"))
                label = f"{_word(role)}, wheel {number}{side}: used of its rating"
                measure = _used(f"used/{role}/wheel{number}{side}", label)
                yield from self._row(measure, entry, 1.0 / (axle.wheel_rating or 1.0))

    def _left(self) -> Iterator[MeasureRow]:
        """The remaining payload, and the room under the limit that binds first."""
        name = self.roles.get("towing")
        payload = None if name is None else self._day.vehicles[name].ratings.payload
        if name is not None and payload is not None:
            entry = self._of(Measurand(name, "payload"))
            yield from self._row(_left("left/payload", "Left of the payload"), entry, -1.0, payload)
        least = _left(LEAST, "Left of the limit that binds first")
        rooms = [(row.offset - self._estimate(row.entry), row) for row in self.ratings() if row.entry is not None]
        if rooms:
            _, tightest = min(rooms, key=lambda one: round(one[0], 6))
            yield replace(tightest, measure=least)

    def ratings(self) -> list[MeasureRow]:
        """The room under every rating and chosen rule of the state, one row for each.

        A limit that depends on a distance counts as the one at the distance as taped. One that depends on another load
        is left out: ``steelyard rules`` and the verdicts judge it.
        """
        rows: list[MeasureRow] = []
        for limit in requirements_of(self._day, self._state.id):
            entry = self._entries.get(limit.finding)
            if not isfinite(limit.limit) or (limit.curve is not None and not limit.curve.taped):
                continue  # it does not hold at the distance that was taped, or it moves with another load
            if limit.dimension is Dimension.MASS and limit.sense is Sense.MAX and entry is not None:
                row = self._row(_left(limit.id, limit.label), entry, -1.0, limit.limit)
                rows += [replace(one, binds=limit.label) for one in row]
        return rows

    def _estimate(self, entry: CatalogueEntry) -> float:
        load = sum(factor * float(self._adjustment.loads.values[out]) for out, factor in entry.terms.items())
        return load + sum(factor * term.at(self._adjustment.unknowns) for term, factor in entry.known)

    def _hitched(self) -> Iterator[MeasureRow]:
        for number in range(1, len(self._state.links) + 1):
            more = "" if number == 1 else str(number)
            words = "" if number == 1 else f", coupling {number}"
            load, share, restored = (
                self._of(coupling_quantity(number, kind)) for kind in ("load", "share", "restored")
            )
            yield from self._row(_mass("coupling" + more + "/load", f"Coupling load{words}"), load)
            label = f"Share on the coupling{words}"
            yield from self._row(RigMeasure("coupling" + more + "/share", label, Dimension.SHARE), share)
            if number == 1:
                yield from self._front(restored)

    def _front(self, restored: CatalogueEntry | None) -> Iterator[MeasureRow]:
        name = self.roles["towing"]
        lost = RigMeasure("front/lost", "Lost by the front axle", Dimension.SHARE, Better.LESS)
        for before in states_alone(self._day, name):
            change = Measurand(name, "front_change").between(before, self._state.id)
            entry = self._entries.get(str(change))
            if entry is not None:
                yield from self._row(lost, entry, -1.0)
                break
        measure = RigMeasure("front/restored", "Of that, restored by weight distribution", Dimension.SHARE, Better.MORE)
        yield from self._row(measure, restored)
        yield from self._response(name)

    def _response(self, name: str) -> Iterator[MeasureRow]:
        """By how much the axles answer to the coupling load, for each 100 of it: the lever alone."""
        vehicle = self._day.vehicles[name]
        link = next((one for one in self._state.links if one.towing == name), None)
        if link is None or len(vehicle.axles) < 2:
            return
        rig = self._adjustment.rig
        joint = rig.joint_of(self._state.id, link.trailer)

        def answer(unknowns: Array) -> Array:
            alone = Combination({name: rig.body(name, unknowns)}, ())
            wheels = alone.solve(Change({name: mass_at(1.0, x=rig.coupling_x(joint, unknowns), y=0.0)})).wheels[name]
            return np.array([wheels[:2].sum(), wheels[2:].sum()])

        at = self._adjustment.unknowns
        value, gradients = answer(at), np.zeros((2, len(at)))
        coupling = rig.coupling_x_at(joint)
        places: list[int] = [int(place) for place in rig.own_at[name]]
        for place in places if coupling is None else [*places, coupling]:
            step = _STEP * rig.unknowns.prior_u[place]
            moved = at.copy()
            moved[place] += step
            gradients[:, place] = (answer(moved) - value) / step
        for end, word, row in (("front", "Front", 0), ("rear", "Rear", 1)):
            measure = RigMeasure(f"response/{end}", f"{word} axles, per 100 on the coupling", Dimension.SHARE)
            basis = Basis.PREDICTED
            yield MeasureRow(measure, basis, value=float(value[row]), gradient=gradients[row])

    def _placed(self) -> Iterator[MeasureRow]:
        heights = {one.vehicle: one for one in centre_heights(self._adjustment) if one.value is not None}
        for role, name in self.roles.items():
            for axis, words in (("x", "behind its origin"), ("y", "left of the middle")):
                measure = RigMeasure(
                    f"cg/{role}/{axis}", f"Centre of gravity, {_word(role)}, {words}", Dimension.LENGTH
                )
                yield from self._row(measure, self._of(Measurand(name, f"cg_{axis}")))
            height = heights.get(name)
            if height is not None and height.value is not None and height.u is not None:
                measure = RigMeasure(
                    f"cg/{role}/height", f"Height of the centre of gravity, {_word(role)}", Dimension.LENGTH
                )
                yield MeasureRow(measure, Basis.MEASURED, own=(height.value, height.u))


def _word(role: str) -> str:
    if role == "towing":
        return "towing vehicle"
    return role if role == "trailer" else f"trailer {role.removeprefix('trailer')}"


def _mass(identity: str, label: str) -> RigMeasure:
    return RigMeasure(identity, label, Dimension.MASS)


def _left(identity: str, label: str) -> RigMeasure:
    return RigMeasure(identity, label, Dimension.MASS, Better.MORE)


def _used(identity: str, label: str) -> RigMeasure:
    return RigMeasure(identity, label[0].upper() + label[1:], Dimension.SHARE, Better.LESS, of_rating=True)
