"""Every quantity of a weigh day by its id: which loads it adds up, or which two quantities it is the ratio of."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from itertools import combinations

from steelyard.adjustment import Adjustment
from steelyard.findings.axle_groups import rule_entries
from steelyard.findings.entry import CatalogueEntry, difference
from steelyard.findings.result import Basis
from steelyard.model import (
    Measurand,
    Role,
    State,
    Vehicle,
    axle_load,
    axles_load,
    cargo_finding,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)
from steelyard.requirements import restorations, steering_changes
from steelyard.statics import TAPE
from steelyard.units import Dimension

EVERY_PAIR = 20
"""Up to so many states, the change between every two of them is told. Beyond, only changes between neighbours and those
that are asked for: the number of pairs grows with the square of the states, and nobody reads them all."""


class Catalogue:
    """The findings of an adjusted day, in file order of states, then of pairs of states, then cargo."""

    def __init__(self, adjustment: Adjustment) -> None:
        self._adjustment = adjustment
        self._day = adjustment.rig.day
        self._layout = adjustment.layout
        self._measured = self._day.measured_states()
        self._loads: dict[str, dict[Measurand, tuple[str, Mapping[int, float]]]] = {}

    def entries(
        self,
        only: tuple[str, ...] | None = None,
        about: str | None = None,
        changes: Collection[tuple[str, str]] = (),
    ) -> list[CatalogueEntry]:
        """The entries of all states, or of some states and the changes between them; states that tip over have none.

        ``changes`` are pairs of states whose change is told on a day of many states too, in either order.

        With ``about``, only what is of that state, or changes towards it: also what a steering axle lost against every
        state in which its vehicle tows nothing, named or not, for that is a limit of the state itself.
        """
        tipped = self._adjustment.tipped
        wanted = self._day.states if only is None else only
        states = [state for state in self._day.states.values() if state.id in wanted and state.id not in tipped]
        found: list[CatalogueEntry] = []
        for state in states:
            self._loads[state.id] = dict(self._sums(state))
            if about in (None, state.id):
                found.extend(self._of_state(state))
        for before, after in self._pairs(states, changes):
            if about in (None, after.id):
                found.extend(self._between(before, after))
        for before_id, after_id, name in steering_changes(self._day, about):
            if after_id in self._loads and self._summed(before_id, only=only if about is None else None):
                found.append(self.steering_change(before_id, after_id, name))
        found.extend(self._restored(about))
        if only is None:
            found.extend(self._cargo())
        return found

    def _pairs(self, states: Sequence[State], asked: Collection[tuple[str, str]]) -> Iterator[tuple[State, State]]:
        """The pairs of states whose change is told, in file order."""
        if len(states) <= EVERY_PAIR:
            yield from combinations(states, 2)
            return
        place = {state.id: number for number, state in enumerate(states)}
        told = {tuple(sorted(pair, key=place.__getitem__)) for pair in asked if set(pair) <= place.keys()}
        wanted = {pair for pair in self._day.neighbours() if set(pair) <= place.keys()} | told
        for before, after in sorted(wanted, key=lambda pair: (place[pair[0]], place[pair[1]])):
            yield states[place[before]], states[place[after]]

    # -- sums of loads ----------------------------------------------------------------------------------------------

    def _sums(self, state: State) -> Iterator[tuple[Measurand, tuple[str, Mapping[int, float]]]]:
        """Measurands with label and terms: what can be added up in a state and compared between states."""
        index = self._layout.level[state.id]
        everything: dict[int, float] = {}
        coupled = {name for link in state.links for name in (link.towing, link.trailer)}
        for name in state.vehicles:
            vehicle = self._day.vehicles[name]
            out = self._layout.wheels_out[index][name]
            wheels = list(range(out.start, out.stop))
            for wheel, identity in zip(wheels, vehicle.wheels, strict=True):
                yield wheel_load(name, identity), (f"{vehicle.title} wheel {identity}", {wheel: 1.0})
            for axle in range(len(vehicle.axles)):
                pair = {wheels[2 * axle]: 1.0, wheels[2 * axle + 1]: 1.0}
                yield axle_load(name, axle + 1), (f"{vehicle.title} axle {axle + 1}", pair)
            for start, side in enumerate("LR"):
                word = "left" if side == "L" else "right"
                yield side_load(name, side), (f"{vehicle.title} {word} side", dict.fromkeys(wheels[start::2], 1.0))
            total = dict.fromkeys(wheels, 1.0)
            if name in coupled:
                everything.update(total)
            coupling = self._layout.coupling_out[index].get(name)
            own = total if coupling is None else {**total, coupling: 1.0}
            yield gross_load(name), (f"{vehicle.title} gross", own)
            yield axles_load(name), (f"{vehicle.title} all axles", total)
        for place, (trailer, out) in enumerate(self._layout.coupling_out[index].items(), start=1):
            parked = state.link_of_trailer(trailer) is None
            what = "on its stand" if parked else "coupling load"
            yield coupling_quantity(place, "load"), (f"{self._day.vehicles[trailer].title} {what}", {out: 1.0})
        if state.links:
            yield combination_gross(), ("combination gross", everything)

    def _of_state(self, state: State) -> Iterator[CatalogueEntry]:
        basis = Basis.MEASURED if state.id in self._measured else Basis.PREDICTED
        sums = self._loads[state.id]
        for measurand, (label, terms) in sums.items():
            yield CatalogueEntry(
                measurand.named_at(state.id), f"{state.id}: {label}", Dimension.MASS, basis, state.id, terms
            )
        for name in state.vehicles:
            yield from self._payload(state, self._day.vehicles[name], basis)
            yield from self._shares(state, self._day.vehicles[name], basis)
            yield from self._centre(state, self._day.vehicles[name], basis)
        index = self._layout.level[state.id]
        for place, trailer in enumerate(self._layout.coupling_out[index], start=1):
            title = self._day.vehicles[trailer].title
            share = CatalogueEntry(
                coupling_quantity(place, "share").named_at(state.id),
                f"{state.id}: {title} share on its coupling point",
                Dimension.SHARE,
                basis,
                state.id,
                sums[coupling_quantity(place, "load")][1],
                sums[gross_load(trailer)][1],
            )
            yield share
            if self._adjustment.rig.couple_root(state.id, trailer) is not None:
                out = self._layout.couple_out[index][trailer]
                label = f"{state.id}: {title} weight-distributing couple"
                couple = coupling_quantity(place, "couple").named_at(state.id)
                yield CatalogueEntry(couple, label, Dimension.COUPLE, basis, state.id, {out: 1.0})
        yield from rule_entries(self._adjustment, state, basis)

    def _payload(self, state: State, vehicle: Vehicle, basis: Basis) -> Iterator[CatalogueEntry]:
        """The payload aboard a vehicle that has a payload rating: its gross mass less its unladen mass."""
        if vehicle.ratings.payload is None:
            return
        unladen = self._adjustment.rig.unladen.get(vehicle.id)
        gross = self._loads[state.id][gross_load(vehicle.id)][1]
        terms: Mapping[int, float] = gross if unladen is not None else dict[int, float]()
        known = () if unladen is None else ((unladen, -1.0),)
        label = f"{state.id}: {vehicle.title} payload aboard"
        identity = Measurand(vehicle.id, "payload").named_at(state.id)
        yield CatalogueEntry(identity, label, Dimension.MASS, basis, state.id, terms, known=known)

    def _shares(self, state: State, vehicle: Vehicle, basis: Basis) -> Iterator[CatalogueEntry]:
        sums = self._loads[state.id]
        axles = sums[axles_load(vehicle.id)][1]
        pairs = [("left_share", "share on the left side", side_load(vehicle.id, "L"))]
        if vehicle.role is Role.TOWING:
            pairs.insert(0, ("front_share", "share on the front axle", axle_load(vehicle.id, 1)))
        for name, words, part in pairs:
            identity = Measurand(vehicle.id, name).named_at(state.id)
            label = f"{state.id}: {vehicle.title} {words}"
            yield CatalogueEntry(identity, label, Dimension.SHARE, basis, state.id, sums[part][1], axles)

    # -- centre of gravity ------------------------------------------------------------------------------------------

    def _centre(self, state: State, vehicle: Vehicle, basis: Basis) -> Iterator[CatalogueEntry]:
        """The vehicle's own mass and its moments, with coupling loads, couples and roll ties taken out."""
        rig, unknowns = self._adjustment.rig, self._adjustment.unknowns
        index = self._layout.level[state.id]
        springs = rig.springs(vehicle.id, unknowns)
        out = self._layout.wheels_out[index][vehicle.id]
        mass = dict.fromkeys(range(out.start, out.stop), 1.0)
        pitch: dict[int, float] = {}
        roll: dict[int, float] = {}
        arms: dict[str, list[tuple[int, Mapping[int, float]]]] = {"x": [], "y": []}
        for axle in range(len(vehicle.axles)):
            left, right = out.start + 2 * axle, out.start + 2 * axle + 1
            half = float(springs.track[axle]) / 2
            pitch |= {left: float(springs.x[axle]), right: float(springs.x[axle])}
            roll |= {left: half, right: -half}
            for axis, key, loads in (("x", "x", {left: 1.0, right: 1.0}), ("y", "track", {left: 0.5, right: -0.5})):
                at = rig.unknowns.index.get((key, vehicle.id, axle + 1))
                if at is not None:
                    arms[axis].append((at, loads))
        for joint in rig.joints[state.id]:
            if vehicle.id not in (joint.trailer, joint.towing):
                continue
            side = 1.0 if vehicle.id == joint.trailer else -1.0
            load = self._layout.coupling_out[index][joint.trailer]
            mass[load] = side
            if joint.towing is None:
                continue
            if side < 0:
                pitch[load] = -rig.coupling_x(joint, unknowns)
                at = rig.coupling_x_at(joint)
                if at is not None:
                    arms["x"].append((at, {load: -1.0}))
            pitch[self._layout.couple_out[index][joint.trailer]] = -side
            roll[self._layout.tie_out[index][joint.trailer]] = side
        for axis, moment, words in (("x", pitch, "behind its origin"), ("y", roll, "left of the centreline")):
            identity = Measurand(vehicle.id, f"cg_{axis}").named_at(state.id)
            label = f"{state.id}: {vehicle.title} centre of gravity {words}"
            yield CatalogueEntry(identity, label, Dimension.LENGTH, basis, state.id, moment, mass, tuple(arms[axis]))

    # -- changes and cargo ------------------------------------------------------------------------------------------

    def _between(self, before: State, after: State) -> Iterator[CatalogueEntry]:
        measured = {before.id, after.id} <= self._measured
        basis = Basis.MEASURED if measured else Basis.PREDICTED
        then, now = self._loads[before.id], self._loads[after.id]
        if not set(before.vehicles) & set(after.vehicles):
            return
        for measurand, (label, terms) in now.items():
            if measurand not in then or measurand.kind == "axles" or measurand.of_combination:
                continue
            change = difference(terms, then[measurand][1])
            identity = measurand.named_between(before.id, after.id)
            yield CatalogueEntry(
                identity, f"{before.id} to {after.id}: {label}", Dimension.MASS, basis, after.id, change
            )

    def _summed(self, state: str, *, only: tuple[str, ...] | None) -> bool:
        """Whether the loads of a state are at hand, or can be: it is among the states wanted, and does not tip over."""
        if state not in self._loads and (only is None or state in only) and state not in self._adjustment.tipped:
            self._loads[state] = dict(self._sums(self._day.states[state]))
        return state in self._loads

    def steering_change(self, before: str, after: str, vehicle: str) -> CatalogueEntry:
        """The gain of the front axle as a share of its load before; the loads of both states must be known already."""
        then, now = (self._loads[state][axle_load(vehicle, 1)][1] for state in (before, after))
        measured = {before, after} <= self._measured
        return CatalogueEntry(
            Measurand(vehicle, "front_change").named_between(before, after),
            f"{before} to {after}: {self._day.vehicles[vehicle].title} front axle, share of its load before",
            Dimension.SHARE,
            Basis.MEASURED if measured else Basis.PREDICTED,
            after,
            difference(now, then),
            then,
        )

    def _restored(self, about: str | None) -> Iterator[CatalogueEntry]:
        """The front axle load restored, where the day has the combination without the couple and its vehicle alone."""
        for match in restorations(self._day, self._loads if about is None else (about,)):
            states = [match.state, match.without, match.alone]
            if any(state not in self._loads for state in states):
                continue
            towing = self._day.vehicles[match.link.towing]
            if towing.couplings[match.link.at].x.value <= towing.axles[-1].x.value:
                continue  # hitched ahead of the rear axle, a trailer takes nothing off the front one
            front = axle_load(towing.id, 1)
            now, loose, own = (self._loads[state or ""][front][1] for state in states)
            yield CatalogueEntry(
                coupling_quantity(match.number, "restored").named_at(match.state),
                f"{match.state}: {towing.title} front axle load restored",
                Dimension.SHARE,
                Basis.MEASURED if {*states} <= self._measured else Basis.PREDICTED,
                match.state,
                difference(now, loose),
                difference(own, loose),
            )

    def _cargo(self) -> Iterator[CatalogueEntry]:
        index = self._adjustment.rig.unknowns.index
        for name, cargo in self._day.cargo.items():
            if cargo.mass_known and cargo.x is not None and cargo.y is not None:
                continue
            keys = {"x": (cargo.x, "place from the origin, rearward"), "y": (cargo.y, "place left of the centreline")}
            mass_at = index.get(("cargo", name, "mass"))
            label = f"{cargo.title}: mass"
            identity = str(cargo_finding(name, "mass"))
            if cargo.mass_known:
                fixed = (cargo.mass_value().value, cargo.mass_value().u_or(0.0))
                yield CatalogueEntry(identity, label, Dimension.MASS, Basis.MEASURED, "", fixed=fixed)
            else:
                yield CatalogueEntry(identity, label, Dimension.MASS, Basis.MEASURED, "", unknown=mass_at)
            for key, (place, words) in keys.items():
                identity, label = str(cargo_finding(name, key)), f"{cargo.title}: {words}"
                taped = index.get(("cargo", name, key, place))
                if place is not None and taped is None:
                    fixed = (place.value, place.u_or(TAPE))
                    yield CatalogueEntry(identity, label, Dimension.LENGTH, Basis.MEASURED, "", fixed=fixed)
                    continue
                at = taped if taped is not None else index.get(("cargo", name, key))
                moment_at = index.get(("cargo", name, "moment", key))
                over = mass_at if moment_at is not None else None
                found = at if moment_at is None else moment_at
                yield CatalogueEntry(
                    identity, label, Dimension.LENGTH, Basis.MEASURED, "", unknown=found, over_unknown=over
                )
