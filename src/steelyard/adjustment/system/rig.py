"""The rig of a day as the adjustment sees it: bodies, joints, references, and which numbers in them are unknown."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from copy import copy
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.assumed import ANY_HEIGHT, LATCHED_ROLL, SLOPE, UNSTATED_SLOPE
from steelyard.adjustment.system.heights import Heights, Level
from steelyard.adjustment.system.loads import CargoLoad, cargo_load, drift_load
from steelyard.adjustment.system.stances import BLOCK, Stance, both_ways, joints_of
from steelyard.adjustment.system.unknowns import Array, Term, Unknowns
from steelyard.model import Cargo, CouplingType, DistributionKind, Role, State, Vehicle, WeighDay
from steelyard.statics import (
    TAPE,
    Body,
    BodyLayout,
    Change,
    Combination,
    Joint,
    Springs,
    TipsOverError,
    ride_rate,
    roll_rate,
    springs_of,
    tie_rate,
)
from steelyard.units import Quantity

_Alike = tuple[tuple[str, ...], tuple[frozenset[int], ...], tuple[Joint, ...]]


class Rig:
    """Bodies, joints, references and unknowns of a day; states that tip over are left out and named in ``tipped``.

    ``given`` is the day as it was given, with those states.

    ``like`` is the rig of a day of the same vehicles and drafts whose states this one's begin with: what is alike in
    both is taken from it. ``reference`` names reference states that are to be used in place of the first in the file.
    """

    def __init__(self, day: WeighDay, like: Rig | None = None, *, reference: Mapping[str, str] | None = None) -> None:
        if like is None:
            self.layouts = {name: BodyLayout(vehicle) for name, vehicle in day.vehicles.items()}
            self.plain = {name: self.layouts[name].build(springs_of(vehicle)) for name, vehicle in day.vehicles.items()}
        else:
            self.plain = like.plain
            self.layouts = {name: body.layout for name, body in self.plain.items()}
        self.latest: dict[str, tuple[bytes, Body]] = {} if like is None else dict(like.latest)
        self.alike: dict[_Alike, Combination] = {} if like is None else dict(like.alike)
        self.given = day
        self.day, self.tipped = self._standing(day)
        self.unknowns = Unknowns()
        self._roots: dict[tuple[str, str], str | None] = {}
        self.joints = {name: joints_of(self.day, state) for name, state in self.day.states.items()}
        self.reference = self._references((reference or {}) if like is None else like.reference)
        self.layouts = {name: layout for name, layout in self.layouts.items() if name in self.reference}
        self.reference_at: dict[str, slice] = {}
        self.coupling_at: dict[str, int] = {}
        self._loads_unknown()
        self.couples = self._couples()
        heights = None if like is None else like.heights
        self.heights = Heights(self.day, self.joints, self.reference, self.unknowns, heights)
        self.aboard = self._cargo()
        self.unladen = self._unladen()
        self.own_used: dict[str, NDArray[np.int_]] = {}
        self.own_at: dict[str, NDArray[np.int_]] = {}
        self._rates_at: dict[str, list[int]] = {}
        for name in self.layouts:
            self._own_unknowns(self.day.vehicles[name])
        self._springs = {name: springs_of(self.day.vehicles[name]) for name in self.layouts}
        self._coupling_x: dict[Joint, Term] = {}
        self._tie: dict[Joint, int | None] = {}
        self._latched: dict[Joint, int] = {}
        for name, state in self.day.states.items():
            self._joint_unknowns(name, state)
        self._site_unknowns()
        own = [at for name in self.layouts for at in self._rates_at[name]]
        self.rates = np.array([*own, *{at for at in self._tie.values() if at is not None}], dtype=int)

    def _standing(self, day: WeighDay) -> tuple[WeighDay, tuple[str, ...]]:
        self.operators: dict[str, Combination] = {}
        tipped: list[str] = []
        for name, state in day.states.items():
            joints = joints_of(day, state)
            up = tuple(state.wheels_up(vehicle) for vehicle in state.vehicles)
            key = (state.vehicles, up, tuple(joints))
            try:
                if key not in self.alike:
                    bodies = zip(state.vehicles, up, strict=True)
                    standing = {vehicle: self.plain[vehicle].lifted(wheels) for vehicle, wheels in bodies}
                    self.alike[key] = Combination(standing, joints)
                self.operators[name] = self.alike[key]
            except TipsOverError:
                tipped.append(name)
        return _without(day, tipped), tuple(tipped)

    def of(self, day: WeighDay) -> Rig:
        """The same rig on another day of the same shape (see ``shape_of``)."""
        other = copy(self)
        other.given, other.day, other.latest = day, _without(day, self.tipped), dict(self.latest)
        return other

    def _references(self, known: Mapping[str, str]) -> dict[str, str]:
        found = {name: known.get(name) or self.day.reference_state(name) for name in self.day.vehicles}
        return {name: state for name, state in found.items() if state is not None}

    def carrying(self, vehicle: str) -> Array:
        """One for each wheel that is on the ground in the vehicle's reference state, nothing for one that is up.

        Shape (wheels,). The unknown of a wheel that is up there is its load beyond what springs make, once it is down.
        """
        found = np.ones(self.layouts[vehicle].wheels)
        found[list(self.day.states[self.reference[vehicle]].wheels_up(vehicle))] = 0.0
        return found

    def _loads_unknown(self) -> None:
        for name in self.reference:
            vehicle = self.day.vehicles[name]
            first = len(self.unknowns)
            for wheel in vehicle.wheels:
                self.unknowns.free(("wheel", name, wheel))
            self.reference_at[name] = slice(first, len(self.unknowns))
            if vehicle.role is Role.TRAILER:
                self.coupling_at[name] = self.unknowns.free(("coupling", name))

    # -- what states say --------------------------------------------------------------------------------------------

    def couple_root(self, state: str, trailer: str) -> str | None:
        """The state whose couple acts on ``trailer`` in ``state``; None where there is none."""
        key = (state, trailer)
        if key not in self._roots:
            self._roots[key] = self._find_root(state, trailer)
        return self._roots[key]

    def _find_root(self, state: str, trailer: str) -> str | None:
        seen: set[str] = set()
        while state not in seen:
            seen.add(state)
            link = self.day.states[state].link_of_trailer(trailer) if state in self.day.states else None
            if link is None or link.distribution.kind is DistributionKind.NONE:
                return None
            if link.distribution.kind is not DistributionKind.SAME or link.distribution.state is None:
                return state
            state = link.distribution.state
        return None

    def _couples(self) -> dict[tuple[str, str], Term]:
        couples: dict[tuple[str, str], Term] = {}
        for name, state in self.day.states.items():
            for link in state.links:
                key = ("couple", name, link.trailer)
                kind, value = link.distribution.kind, link.distribution.value
                if kind is DistributionKind.UNKNOWN:
                    couples[name, link.trailer] = Term(0.0, self.unknowns.free(key))
                elif kind is DistributionKind.STATED and value is not None:
                    at = self.unknowns.known(key, value.value, value.u_or(0.0))
                    couples[name, link.trailer] = Term(value.value, at)
        return couples

    def _cargo(self) -> dict[str, dict[str, CargoLoad]]:
        built: dict[Cargo, CargoLoad] = {}
        self._drifting: dict[tuple[str, str], Cargo] = {}
        aboard: dict[str, dict[str, CargoLoad]] = {}
        for name, state in self.day.states.items():
            aboard[name] = {}
            for cargo_name, cargo in self.day.cargo_in(state).items():
                if cargo not in built:
                    built[cargo] = cargo_load(cargo, self.unknowns)
                aboard[name][cargo_name] = built[cargo]
                if cargo.drifts:
                    self._drifting[name, cargo_name] = cargo
                    drift_load(cargo, 1.0, self.unknowns)  # its rate is an unknown of the day
        return aboard

    def _unladen(self) -> dict[str, Term]:
        """The unladen mass of each vehicle whose payload is rated: no reading feels it, but what it carries does."""
        found: dict[str, Term] = {}
        for name in self.reference:
            unladen = self.day.vehicles[name].unladen
            if unladen is not None and self.day.vehicles[name].ratings.payload is not None:
                at = self.unknowns.known(("unladen", name), unladen.value, unladen.u_or(0.0))
                found[name] = Term(unladen.value, at)
        return found

    def drifted(self, stance: Stance, vehicle: str) -> list[CargoLoad]:
        """Mass that came aboard ``vehicle`` by itself since its stated amounts held, negative where it drained."""
        found = [(self._drifting[stance.state, name], hours) for name, hours in stance.drifted]
        return [drift_load(cargo, hours, self.unknowns) for cargo, hours in found if cargo.on == vehicle]

    def decks_on(self, stance: Stance, vehicle: str) -> list[CargoLoad]:
        """Instruments that stand on ``vehicle`` under the coupling point of what hangs on it."""
        found: list[CargoLoad] = []
        for joint in self.joints[stance.state]:
            deck = stance.deck(joint.trailer)
            if deck is None or joint.towing != vehicle:
                continue
            if deck in self._deck_masses:
                places = (self._coupling_x[joint], Term(0.0))
                found.append(CargoLoad(vehicle, (self._deck_masses[deck],), places, (None, None)))
        return found

    def pad_height(self, instrument: str) -> Term:
        """Height of an instrument [m]."""
        return self._pad_heights[instrument]

    # -- geometry and stiffness -------------------------------------------------------------------------------------

    def _own_unknowns(self, vehicle: Vehicle) -> None:
        entries: list[int | None] = []
        for number, axle in enumerate(vehicle.axles, start=1):
            origin = vehicle.role is Role.TOWING and number == 1
            u = 0.0 if origin else axle.x.u_or(TAPE)
            entries.append(self.unknowns.known(("x", vehicle.id, number), axle.x.value, u))
        for number, axle in enumerate(vehicle.axles, start=1):
            entries.append(self.unknowns.known(("track", vehicle.id, number), axle.track.value, axle.track.u_or(TAPE)))
        for kind, rate in (("ride", ride_rate), ("roll", roll_rate)):
            for number, axle in enumerate(vehicle.axles, start=1):
                entries.append(self.unknowns.known((kind, vehicle.id, number), 0.0, rate(axle).relative_u))
        self._rates_at[vehicle.id] = [at for at in entries[2 * len(vehicle.axles) :] if at is not None]
        self.own_used[vehicle.id] = np.array([place for place, at in enumerate(entries) if at is not None], dtype=int)
        self.own_at[vehicle.id] = np.array([at for at in entries if at is not None], dtype=int)

    def springs(self, vehicle: str, unknowns: Array) -> Springs:
        """Geometry and stiffness of ``vehicle`` at one set of unknowns, shape (unknowns,)."""
        plain = self._springs[vehicle]
        count = self.layouts[vehicle].axles
        own = np.concatenate([plain.x, plain.track, np.zeros(2 * count)])
        own[self.own_used[vehicle]] = unknowns[self.own_at[vehicle]]
        x, track, ride, roll = own.reshape(4, count)
        return Springs(x, track, plain.ride * np.exp(ride), plain.roll * np.exp(roll))

    def body(self, vehicle: str, unknowns: Array) -> Body:
        """The body of ``vehicle`` at one set of unknowns, shape (unknowns,)."""
        springs = self.springs(vehicle, unknowns)
        key = b"".join(part.tobytes() for part in (springs.x, springs.track, springs.ride, springs.roll))
        if vehicle not in self.latest or self.latest[vehicle][0] != key:
            self.latest[vehicle] = key, self.layouts[vehicle].build(springs)
        return self.latest[vehicle][1]

    def rates_in(self, states: Collection[str]) -> list[int]:
        """The indices of the logarithms of stiffnesses that matter in some states, in an order that neither names nor
        the file decide: towing vehicles first, then by their axles.
        """

        def size(name: str) -> tuple[bool, int, float]:
            vehicle = self.day.vehicles[name]
            return vehicle.role is Role.TRAILER, len(vehicle.axles), round(vehicle.axles[-1].x.value, 2)

        there = {vehicle for state in states for vehicle in self.operators[state].bodies}
        own = [at for name in sorted(there, key=size) for at in self._rates_at[name]]
        ties = [self._tie.get(joint) for state in states for joint in self.operators[state].joints]
        return [*own, *dict.fromkeys(at for at in ties if at is not None)]

    def _joint_unknowns(self, name: str, state: State) -> None:
        for joint in self.joints[name]:
            link = state.link_of_trailer(joint.trailer)
            if link is None:
                continue
            coupling = self.day.vehicles[link.towing].couplings[link.at]
            key = (link.towing, link.at)
            x_at = self.unknowns.known(("coupling_x", *key), coupling.x.value, coupling.x.u_or(TAPE))
            self._coupling_x[joint] = Term(coupling.x.value, x_at)
            if coupling.type is CouplingType.FIFTH_WHEEL and joint.tie:
                self._tie[joint] = self.unknowns.known(("tie", *key), 0.0, tie_rate(coupling).relative_u)
                latched = self.unknowns.known(("latched", *key, link.trailer), 0.0, LATCHED_ROLL)
                if latched is not None:
                    self._latched[joint] = latched

    def coupling_x(self, joint: Joint, unknowns: Array) -> float:
        """Place of a coupling on the vehicle in front [m]."""
        return self._coupling_x[joint].at(unknowns)

    def coupling_x_at(self, joint: Joint) -> int | None:
        """The index of that place among the unknowns, None where exact."""
        return self._coupling_x[joint].index if joint in self._coupling_x else None

    def tie(self, joint: Joint, unknowns: Array) -> float:
        """Stiffness of a roll tie [kg*m/rad]."""
        at = self._tie.get(joint)
        return joint.tie if at is None else joint.tie * math.exp(float(unknowns[at]))

    def tie_at(self, joint: Joint) -> int | None:
        """The index of the logarithm of that stiffness among the unknowns, None where exact or absent."""
        return self._tie.get(joint)

    def joint_of(self, state: str, trailer: str) -> Joint:
        """The joint of ``trailer`` in a state."""
        return next(joint for joint in self.joints[state] if joint.trailer == trailer)

    def joint_on(self, hold: tuple[str, str], trailer: str) -> Joint:
        """The joint of ``trailer`` on one coupling, in the first state that has it."""
        links = ((name, state.link_of_trailer(trailer)) for name, state in self.day.states.items())
        state = next(name for name, link in links if link is not None and (link.towing, link.at) == hold)
        return self.joint_of(state, trailer)

    def twist_of(self, state: str, joint: Joint) -> Level:
        """The twist of a fifth wheel at which what was latched in is all of its couple."""
        link = self.day.states[state].link_of_trailer(joint.trailer)
        return self.heights.twist_of(state, joint.trailer, None if link is None else (link.towing, link.at))

    def latched(self, joint: Joint) -> int:
        """The index of the roll couple latched into a fifth wheel."""
        return self._latched[joint]

    # -- supports and slope -----------------------------------------------------------------------------------------

    def _site_unknowns(self) -> None:
        site = self.day.site
        sink = Quantity(0.0, 0.0) if site.pad_sink is None else site.pad_sink
        self._sink = Term(sink.value, self.unknowns.known(("sink",), sink.value, sink.u_or(0.0)))
        self._pad_heights: dict[str, Term] = {}
        self._deck_masses: dict[str, Term] = {}
        for name, instrument in self.day.instruments.items():
            height = instrument.height
            at = self.unknowns.known(("pad_height", name), height.value, height.u_or(0.0))
            self._pad_heights[name] = Term(height.value, at)
            if instrument.mass is not None:
                mass = instrument.mass
                at = self.unknowns.known(("instrument_mass", name), mass.value, mass.u_or(0.0))
                self._deck_masses[name] = Term(mass.value, at)
        self._slopes: list[Term] = []
        turned = both_ways(self.day)
        for key, slope in (("slope_long", site.slope_long), ("slope_lat", site.slope_lat)):
            value = Quantity(0.0, UNSTATED_SLOPE if turned else 0.0) if slope is None else slope
            self._slopes.append(Term(value.value, self.unknowns.known((key,), value.value, value.u_or(SLOPE))))
        self._height: dict[str, Term] = {}
        for name in self.layouts:
            height = self.day.vehicles[name].cg_height
            if height is not None:
                at = self.unknowns.known(("cg_height", name), height.value, height.u_or(TAPE))
                self._height[name] = Term(height.value, at)
        self._leans = {
            name: self._lean(name) for name in sorted(turned & set(self.layouts)) if name not in self._height
        }
        self._tilts: dict[Stance, Mapping[str, Array]] = {}
        self._parts: dict[tuple[Stance, str], list[tuple[Term, Array]]] = {}

    def _lean(self, vehicle: str) -> tuple[Term, Term]:
        """Height of the centre of gravity times the tangent of the slope [m], along and across, where the height is
        not stated but the vehicle was weighed both ways: left to the readings, within what any rig and slope can be.
        """
        site = self.day.site
        terms: list[Term] = []
        for key, slope in (("lean_long", site.slope_long), ("lean_lat", site.slope_lat)):
            steep = UNSTATED_SLOPE if slope is None else math.hypot(slope.value, slope.u_or(SLOPE))
            terms.append(Term(0.0, self.unknowns.known((key, vehicle), 0.0, ANY_HEIGHT * math.tan(steep))))
        return terms[0], terms[1]

    def support_parts(self, stance: Stance, vehicle: str) -> list[tuple[Term, Array]]:
        """Heights of supports as terms [m], and the wheels they raise, shape (wheels,)."""
        key = (stance, vehicle)
        if key not in self._parts:
            everywhere = [name for _, pads in stance.pads for name in pads if name is not None and name != BLOCK]
            here = dict(stance.pads)[vehicle]
            on_pad = np.array([name is not None for name in here], dtype=float)
            on_block = np.array([name == BLOCK for name in here], dtype=float)
            parts: list[tuple[Term, Array]] = []
            for name in dict.fromkeys(everywhere):
                raised = np.array([other == name for other in here], dtype=float)
                if not stance.on_ground:  # wheels without a pad stand at the mean height, which is the common plane
                    raised = raised - on_pad * everywhere.count(name) / len(everywhere)
                raised = raised + on_block * everywhere.count(name) / len(everywhere)
                parts.append((self._pad_heights[name], raised))
            if stance.on_ground:
                parts.append((self._sink, -on_pad))
            self._parts[key] = parts
        return self._parts[key]

    def supports(self, stance: Stance, vehicle: str, unknowns: Array) -> Array:
        """Heights of the supports of ``vehicle`` above the common plane [m], shape (wheels,)."""
        heights = np.zeros(self.layouts[vehicle].wheels)
        for term, raised in self.support_parts(stance, vehicle):
            heights += term.at(unknowns) * raised
        return heights

    def support_gradients(self, stance: Stance, vehicle: str) -> list[tuple[int, Array]]:
        """Derivatives of these heights: pairs of the index of an unknown and shape (wheels,)."""
        if not stance.pads:
            return []
        return [(term.index, raised) for term, raised in self.support_parts(stance, vehicle) if term.index is not None]

    def level_factor(self) -> float:
        """Share of a load that a pad on the site's slope shows: the cosine of the slope, along and across."""
        return math.cos(self._slopes[0].value) * math.cos(self._slopes[1].value)

    def _tilt(self, stance: Stance, vehicle: str) -> tuple[float, float]:
        """How far the pads of ``stance`` tilt a vehicle: front up, left up [rad]."""
        if not stance.pads:
            return 0.0, 0.0
        if stance not in self._tilts:
            starts = self.unknowns.starts()
            heights = {name: self.supports(stance, name, starts) for name, _ in stance.pads}
            self._tilts[stance] = self.operators[stance.state].solve(Change(supports=heights)).motion
        _, pitch, roll = self._tilts[stance][vehicle]
        return float(pitch), -float(roll)

    def slope_moments(
        self, vehicle: str, stance: Stance, unknowns: Array, mass: float
    ) -> list[tuple[int, float, list[tuple[int, float]]]]:
        """Moments [kg*m] that slope and tilt put on a vehicle whose centre of gravity stands above the ground.

        Returns
        -------
        For pitch (row 1) and roll (row 2): the row, the moment, and its derivatives as pairs of index and value. The
        vehicle's own ``mass`` [kg] is taken as it is, without derivative: a slope must never pass for a scale.
        """
        facing = -1.0 if stance.reversed else 1.0
        if vehicle in self._leans:
            return [
                (row, sign * facing * mass * lean.at(unknowns), _gradient(lean, sign * facing * mass))
                for row, lean, sign in zip((1, 2), self._leans[vehicle], (1.0, -1.0), strict=True)
            ]
        height = self._height.get(vehicle)
        if height is None:
            return []
        moments: list[tuple[int, float, list[tuple[int, float]]]] = []
        for row, slope, tilt, sign in zip((1, 2), self._slopes, self._tilt(stance, vehicle), (1.0, -1.0), strict=True):
            angle = facing * slope.at(unknowns) + tilt
            arm = height.at(unknowns)
            gradients = _gradient(height, sign * mass * math.tan(angle))
            gradients += _gradient(slope, sign * facing * mass * arm / math.cos(angle) ** 2)
            moments.append((row, sign * mass * arm * math.tan(angle), gradients))
        return moments


def _without(day: WeighDay, tipped: Sequence[str]) -> WeighDay:
    """A day without the states that tip over."""
    if not tipped:
        return day
    states = {name: state for name, state in day.states.items() if name not in tipped}
    drafts = tuple(draft for draft in day.drafts if draft.state not in tipped)
    return replace(day, states=states, drafts=drafts)


def _gradient(term: Term, slope: float) -> list[tuple[int, float]]:
    """The derivative by a term, where it is an unknown: its index and ``slope``."""
    return [] if term.index is None else [(term.index, slope)]
