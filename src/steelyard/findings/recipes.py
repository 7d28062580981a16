"""The list of a rig's findings, made once for all days of one shape: which loads each adds up, under which name.

What a day alone knows is left open and filled in: taped lengths, which are the arms of centres of gravity, masses with
nothing aboard, and what is stated of cargo. ``Catalogue`` is how the rest of the program asks for the list.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from steelyard.adjustment import Adjustment, Term
from steelyard.findings.assembly import Assembly, Entries, Known
from steelyard.findings.centres import Length, centre_entries, lengths_in, lengths_of
from steelyard.findings.entry import CatalogueEntry, difference
from steelyard.findings.result import Basis
from steelyard.findings.shape import CargoShape, ListShape, StateShape, VehicleShape
from steelyard.findings.sums import Sums, sums_of
from steelyard.model import (
    Cargo,
    Measurand,
    axle_load,
    axles_load,
    cargo_finding,
    coupling_quantity,
    gross_load,
    side_load,
)
from steelyard.statics import TAPE
from steelyard.units import Dimension

_KEPT = 32
"""Shapes that are remembered, the latest ones: a batch has days of a few rigs, one after the other or mixed."""

_OPEN = (0.0, 0.0)
"""Stands for what is stated of cargo, and its doubt, until a day fills it in."""

_MOST_STATES = 8
"""A shape of more states is made anew each time: what it takes to remember grows with the square of the states."""


class Recipes:
    """The entries of one shape, in file order of states, then of pairs of states, then cargo.

    Attributes
    ----------
    shape: what they are made from, and nothing else. loads: the sums of each state.
    ends: how many entries the list has up to and with those of each state.
    """

    def __init__(self, shape: ListShape) -> None:
        self.shape = shape
        self.loads: dict[str, Sums] = {state.id: sums_of(shape, state) for state in shape.states}
        self.ends: dict[str, int] = {}
        self._vehicles = {vehicle.id: vehicle for vehicle in shape.vehicles}
        self._measured = {state.id for state in shape.states if state.measured}
        self._entries: list[CatalogueEntry] = []
        self._lengths: dict[int, tuple[Length, ...]] = {}  # by place, the lengths in the terms of a centre of gravity
        self._payloads: dict[int, str] = {}  # by place, the vehicle whose mass with nothing aboard is taken off
        self._stated: dict[int, tuple[str, str]] = {}  # by place, what is stated of an item of cargo
        self._list()
        self._assembly = Assembly(self._entries)
        self._terms = self._assembly.sums.terms_of(tuple(self._lengths))
        at = {length: number for number, length in enumerate(lengths_in(shape))}
        self._factors = self._assembly.sums.factors[self._terms]
        self._length_at = np.array([at[one] for each in self._lengths.values() for one in each], dtype=int)

    def filled(self, adjustment: Adjustment) -> Entries:
        """The entries of a day of this shape."""
        entries = list(self._entries)
        factors = self._factors * np.array(lengths_of(self.shape, adjustment))[self._length_at]
        left = iter(factors.tolist())
        for place in self._lengths:
            entry = entries[place]
            entries[place] = _with_terms(entry, dict(zip(entry.terms, left, strict=False)))
        known: list[Known] = []
        for place, vehicle in self._payloads.items():
            unladen = adjustment.rig.unladen[vehicle]
            known.append((place, unladen, -1.0))
            entries[place] = _with_known(entries[place], ((unladen, -1.0),))
        for place, (name, key) in self._stated.items():
            entries[place] = replace(entries[place], fixed=_fixed(adjustment.rig.day.cargo[name], key))
        return Entries(entries, self._assembly.filled(self._terms, factors, known))

    # -- the list ---------------------------------------------------------------------------------------------------

    def _list(self) -> None:
        states = {state.id: state for state in self.shape.states}
        for name in self.shape.told:
            self._of_state(states[name])
            self.ends[name] = len(self._entries)
        for before, after in self.shape.pairs:
            self._entries.extend(self._between(states[before], states[after]))
        self._entries.extend(self.steering_change(*each) for each in self.shape.steering)
        self._entries.extend(self._restored())
        for cargo in self.shape.cargo:
            self._of_cargo(cargo)

    def _basis(self, *states: str) -> Basis:
        return Basis.MEASURED if self._measured.issuperset(states) else Basis.PREDICTED

    def _of_state(self, state: StateShape) -> None:
        basis, sums = self._basis(state.id), self.loads[state.id]
        for measurand, (label, terms) in sums.items():
            name = measurand.named_at(state.id)
            self._entries.append(CatalogueEntry(name, f"{state.id}: {label}", Dimension.MASS, basis, state.id, terms))
        for name in state.vehicles:
            vehicle = self._vehicles[name]
            if vehicle.payload:
                self._payload(state, vehicle, basis)
            self._entries.extend(self._shares(state, vehicle, basis))
            for entry, lengths in centre_entries(state, vehicle, basis):
                self._lengths[len(self._entries)] = lengths
                self._entries.append(entry)
        self._entries.extend(self._couplings(state, basis))

    def _payload(self, state: StateShape, vehicle: VehicleShape, basis: Basis) -> None:
        """The payload aboard a vehicle that has a payload rating: its gross mass less its unladen mass."""
        terms: Mapping[int, float] = {}
        if vehicle.unladen:
            terms = self.loads[state.id][gross_load(vehicle.id)][1]
            self._payloads[len(self._entries)] = vehicle.id
        name = Measurand(vehicle.id, "payload").named_at(state.id)
        label = f"{state.id}: {vehicle.title} payload aboard"
        self._entries.append(CatalogueEntry(name, label, Dimension.MASS, basis, state.id, terms))

    def _shares(self, state: StateShape, vehicle: VehicleShape, basis: Basis) -> Iterator[CatalogueEntry]:
        sums = self.loads[state.id]
        axles = sums[axles_load(vehicle.id)][1]
        pairs = [("left_share", "share on the left side", side_load(vehicle.id, "L"))]
        if vehicle.towing:
            pairs.insert(0, ("front_share", "share on the front axle", axle_load(vehicle.id, 1)))
        for name, words, part in pairs:
            identity = Measurand(vehicle.id, name).named_at(state.id)
            label = f"{state.id}: {vehicle.title} {words}"
            yield CatalogueEntry(identity, label, Dimension.SHARE, basis, state.id, sums[part][1], axles)

    def _couplings(self, state: StateShape, basis: Basis) -> Iterator[CatalogueEntry]:
        sums = self.loads[state.id]
        for place, joint in enumerate(state.joints, start=1):
            title = self._vehicles[joint.trailer].title
            load, gross = sums[coupling_quantity(place, "load")][1], sums[gross_load(joint.trailer)][1]
            name = coupling_quantity(place, "share").named_at(state.id)
            label = f"{state.id}: {title} share on its coupling point"
            yield CatalogueEntry(name, label, Dimension.SHARE, basis, state.id, load, gross)
            if joint.distributes and joint.couple is not None:
                label = f"{state.id}: {title} weight-distributing couple"
                name = coupling_quantity(place, "couple").named_at(state.id)
                yield CatalogueEntry(name, label, Dimension.COUPLE, basis, state.id, {joint.couple: 1.0})

    # -- changes and cargo ------------------------------------------------------------------------------------------

    def _between(self, before: StateShape, after: StateShape) -> Iterator[CatalogueEntry]:
        if not set(before.vehicles) & set(after.vehicles):
            return
        basis = self._basis(before.id, after.id)
        then, now = self.loads[before.id], self.loads[after.id]
        for measurand, (label, terms) in now.items():
            if measurand not in then or measurand.kind == "axles" or measurand.of_combination:
                continue
            change = difference(terms, then[measurand][1])
            name = measurand.named_between(before.id, after.id)
            yield CatalogueEntry(name, f"{before.id} to {after.id}: {label}", Dimension.MASS, basis, after.id, change)

    def steering_change(self, before: str, after: str, vehicle: str) -> CatalogueEntry:
        """The gain of the front axle as a share of its load before; both states are among those of the shape."""
        then, now = (self.loads[state][axle_load(vehicle, 1)][1] for state in (before, after))
        return CatalogueEntry(
            Measurand(vehicle, "front_change").named_between(before, after),
            f"{before} to {after}: {self._vehicles[vehicle].title} front axle, share of its load before",
            Dimension.SHARE,
            self._basis(before, after),
            after,
            difference(now, then),
            then,
        )

    def _restored(self) -> Iterator[CatalogueEntry]:
        """The front axle load restored, where the day has the combination without the couple and its vehicle alone."""
        for match in self.shape.restored:
            states = (match.state, match.without, match.alone)
            front = axle_load(match.towing, 1)
            now, loose, own = (self.loads[state][front][1] for state in states)
            yield CatalogueEntry(
                coupling_quantity(match.number, "restored").named_at(match.state),
                f"{match.state}: {self._vehicles[match.towing].title} front axle load restored",
                Dimension.SHARE,
                self._basis(*states),
                match.state,
                difference(now, loose),
                difference(own, loose),
            )

    def _of_cargo(self, cargo: CargoShape) -> None:
        name, label = str(cargo_finding(cargo.id, "mass")), f"{cargo.title}: mass"
        if cargo.mass_known:
            self._stated[len(self._entries)] = (cargo.id, "mass")
            self._entries.append(CatalogueEntry(name, label, Dimension.MASS, Basis.MEASURED, "", fixed=_OPEN))
        else:
            self._entries.append(CatalogueEntry(name, label, Dimension.MASS, Basis.MEASURED, "", unknown=cargo.mass))
        where = {"x": "place from the origin, rearward", "y": "place left of the centreline"}
        for (key, words), (exact, found, over) in zip(where.items(), cargo.places, strict=True):
            name, label = str(cargo_finding(cargo.id, key)), f"{cargo.title}: {words}"
            entry = CatalogueEntry(name, label, Dimension.LENGTH, Basis.MEASURED, "", unknown=found, over_unknown=over)
            if exact:
                self._stated[len(self._entries)] = (cargo.id, key)
                entry.fixed = _OPEN
            self._entries.append(entry)


def _fixed(cargo: Cargo, key: str) -> tuple[float, float] | None:
    """The stated mass or place of an item of cargo, and its standard uncertainty (SI)."""
    if key == "mass":
        return cargo.mass_value().value, cargo.mass_value().u_or(0.0)
    place = cargo.x if key == "x" else cargo.y
    return None if place is None else (place.value, place.u_or(TAPE))


def _with_terms(entry: CatalogueEntry, terms: Mapping[int, float]) -> CatalogueEntry:
    """A ratio of the same, but for the factors of its numerator."""
    return CatalogueEntry(
        entry.id, entry.label, entry.dimension, entry.basis, entry.state, terms, entry.over, entry.arms
    )


def _with_known(entry: CatalogueEntry, known: tuple[tuple[Term, float], ...]) -> CatalogueEntry:
    """A sum with numbers that are known beforehand."""
    return CatalogueEntry(entry.id, entry.label, entry.dimension, entry.basis, entry.state, entry.terms, known=known)


def recipes_of(shape: ListShape) -> Recipes:
    """The entries of a shape; those of the latest shapes are at hand already."""
    return _remembered(shape) if len(shape.states) <= _MOST_STATES else Recipes(shape)


@lru_cache(maxsize=_KEPT)
def _remembered(shape: ListShape) -> Recipes:
    return Recipes(shape)
