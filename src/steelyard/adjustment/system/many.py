"""The loads of every stance at many sets of unknowns at once, without derivatives: what simulated days are made of.

The equations are those of ``increments.py``; only the arrays have one axis more, the first, with a row for each set.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.solve import Solution
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.adjustment.system.lifting import PULLS, lift_next
from steelyard.adjustment.system.loads import CargoLoad, changes
from steelyard.adjustment.system.standing import places_of
from steelyard.adjustment.system.template import Template
from steelyard.adjustment.system.unknowns import Array, Term
from steelyard.classes import dataclass
from steelyard.statics import Joint, Lift, Springs

Lifts = Mapping[str, Lift]
Places = NDArray[np.int_]

GROUNDED: Lifts = {}
"""Every support is on the ground."""


@dataclass(frozen=True)
class _Bodies:
    """One vehicle at many geometries: travel (n, wheels, 3), stiffness (n, wheels, wheels), kept (the same or None)."""

    travel: Array
    stiffness: Array
    kept: Array | None = None

    def lifted(self, wheels: frozenset[int]) -> _Bodies:
        """See ``Body.lifted``."""
        off = sorted(wheels)
        if not off:
            return self
        count = self.stiffness.shape[1]
        on = [wheel for wheel in range(count) if wheel not in wheels]
        inverse = np.linalg.pinv(self.stiffness[:, off][:, :, off], rcond=1e-9)
        release = np.tile(np.eye(count), (len(self.stiffness), 1, 1))
        release[:, off] = 0.0
        release[:, np.array(off)[:, None], np.array(on)] = -inverse @ self.stiffness[:, off][:, :, on]
        kept = np.swapaxes(release, 1, 2).copy()
        stiffness = kept @ self.stiffness @ release
        stiffness[:, off] = 0.0
        stiffness[:, :, off] = 0.0
        kept[:, off] = 0.0
        return _Bodies(self.travel, stiffness, kept)

    @property
    def travel_stiffness(self) -> Array:
        """``B' S``, shape (n, 3, wheels)."""
        return np.swapaxes(self.travel, 1, 2) @ self.stiffness


class ManyLoads(Increments):
    """The joint system of some stances of one rig, at many sets of unknowns; every array has one row for each set.

    Parameters
    ----------
    of: the system whose stances these are.
    """

    def __init__(self, of: Increments) -> None:
        super().__init__(of.rig, of.layout.stances)
        self._starts = self.rig.unknowns.starts()
        self._patterns = {name: self._patterns_of(name) for name in self.rig.layouts}

    def _patterns_of(self, vehicle: str) -> tuple[Array, Array]:
        """``S`` for one unit of ride and of roll of each axle at a track of one, each (axles, wheels, wheels)."""
        layout = self.rig.layouts[vehicle]
        nothing, ones = np.zeros(layout.axles), np.ones(layout.axles)
        units = np.eye(layout.axles)
        ride = [layout.build(Springs(nothing, ones, unit, nothing)).stiffness for unit in units]
        roll = [layout.build(Springs(nothing, ones, nothing, unit)).stiffness for unit in units]
        return np.array(ride), np.array(roll)

    # -- what the unknowns say --------------------------------------------------------------------------------------

    def _at(self, term: Term, unknowns: Array) -> Array:
        return np.full(len(unknowns), term.value) if term.index is None else unknowns[:, term.index]

    def springs(self, vehicle: str, unknowns: Array) -> Springs:
        """Geometry and stiffness of a vehicle, each of shape (n, axles)."""
        plain = self.rig.springs(vehicle, self._starts)
        count = self.rig.layouts[vehicle].axles
        own = np.zeros((len(unknowns), 4 * count))
        own[:, : 2 * count] = np.concatenate([plain.x, plain.track])
        own[:, self.rig.own_used[vehicle]] = unknowns[:, self.rig.own_at[vehicle]]
        x, track, ride, roll = (own[:, part * count : (part + 1) * count] for part in range(4))
        return Springs(x, track, plain.ride * np.exp(ride), plain.roll * np.exp(roll))

    def _bodies(self, vehicle: str, unknowns: Array) -> _Bodies:
        layout, springs = self.rig.layouts[vehicle], self.springs(vehicle, unknowns)
        ride, roll = self._patterns[vehicle]
        mean = springs.track.copy()
        for group in layout.groups:
            mean[:, list(group)] = springs.track[:, list(group)].mean(axis=1, keepdims=True)
        travel = np.ones((len(unknowns), layout.wheels, 3))
        travel[:, :, 1] = np.repeat(springs.x, 2, axis=1)
        travel[:, :, 2] = np.repeat(springs.track, 2, axis=1) * np.tile([0.5, -0.5], layout.axles)
        stiffness = np.tensordot(springs.ride, ride, 1) + np.tensordot(springs.roll / mean**2, roll, 1)
        return _Bodies(travel, stiffness)

    def _coupling_x(self, joint: Joint, unknowns: Array) -> Array:
        at = self.rig.coupling_x_at(joint)
        return np.full(len(unknowns), self.rig.coupling_x(joint, self._starts)) if at is None else unknowns[:, at]

    def _tie(self, joint: Joint, unknowns: Array) -> Array:
        at = self.rig.tie_at(joint)
        return np.full(len(unknowns), joint.tie) if at is None else joint.tie * np.exp(unknowns[:, at])

    def _cargo_load(self, load: CargoLoad, unknowns: Array) -> Array:
        """See ``CargoLoad.at``; shape (n, 3)."""
        mass = np.ones(len(unknowns))
        for term in load.mass:
            mass = mass * self._at(term, unknowns)
        found = np.zeros((len(unknowns), 3))
        found[:, 0] = mass
        for axis, (place, moment) in enumerate(zip(load.place, load.moment, strict=True)):
            if place is not None:
                found[:, 1 + axis] = mass * self._at(place, unknowns)
            elif moment is not None:
                found[:, 1 + axis] = self._at(moment, unknowns)
        return found

    def _supports(self, index: int, vehicle: str, unknowns: Array) -> Array | None:
        """Heights of the supports of a vehicle in a stance [m], shape (n, wheels); None where all are in one plane."""
        stance = self.layout.stances[index]
        if not stance.pads:
            return None
        heights = np.tile(self.rig.supports(stance, vehicle, self._starts), (len(unknowns), 1))
        for at, raised in self.rig.support_gradients(stance, vehicle):
            heights += np.outer(unknowns[:, at] - self._starts[at], raised)
        return heights

    # -- loads of every stance --------------------------------------------------------------------------------------

    def many(self, unknowns: Array, lifts: Lifts = GROUNDED) -> Array:
        """The loads of every stance [kg, kg*m], shape (n, outputs); ``unknowns`` has shape (n, unknowns).

        Slope and tilt act on what each vehicle truly weighs at its own unknowns.
        """
        template = self._template(lifts)
        off = {(state, name): wheels for state, lift in lifts.items() for name, wheels in lift.wheels.items()}
        places = places_of(self.rig, self.layout, off)
        plain = {name: self._bodies(name, unknowns) for name in self.rig.layouts}
        bodies = [plain[place.vehicle].lifted(place.off) for place in places]
        matrix, right = self._filled(template, unknowns)
        for place, body in zip(places, bodies, strict=True):
            ground = body.travel_stiffness @ body.travel
            matrix[:, place.rows[:, :, None], place.rows[:, None, :]] += ground[:, None]
            self._given_back(place.vehicle, place.rows, body, unknowns, right)
            for rows, index in zip(place.rows, place.stances, strict=True):
                heights = self._supports(index, place.vehicle, unknowns)
                if heights is not None:
                    right[:, rows] -= (body.travel_stiffness @ heights[:, :, None])[:, :, 0]
        found = self._found(template, matrix, right)
        if any(stance.sloped for stance in self.layout.stances):
            self._add_slope(unknowns, found, right)
            found = self._found(template, matrix, right)
        values = np.zeros((len(unknowns), self.layout.outputs))
        for place, body in zip(places, bodies, strict=True):
            reference = unknowns[:, self.rig.reference_at[place.vehicle]]
            kept = reference if body.kept is None else (body.kept @ reference[:, :, None])[:, :, 0]
            for rows, out, index in zip(place.rows, place.out, place.stances, strict=True):
                travel = (body.travel @ found[:, rows, None])[:, :, 0]
                heights = self._supports(index, place.vehicle, unknowns)
                travel = travel if heights is None else travel + heights
                values[:, out] = kept + (body.stiffness @ travel[:, :, None])[:, :, 0]
        self._joint_values(found, unknowns, values)
        return values

    def _filled(self, template: Template, unknowns: Array) -> tuple[Array, Array]:
        """The system with couplings, ties and cargo in it, shapes (n, rows, rows) and (n, rows)."""
        matrix = np.repeat(template.matrix[None], len(unknowns), axis=0)
        for joint, factors in template.places.items():
            matrix += self._coupling_x(joint, unknowns)[:, None, None] * factors
        for joint, factors in template.ties.items():
            matrix += self._tie(joint, unknowns)[:, None, None] * factors
        right = template.constant - unknowns @ template.by_unknown.T
        made = {id(load): load for _, _, load in template.cargo}
        loads = {key: self._cargo_load(load, unknowns) for key, load in made.items()}
        for row, sign, load in template.cargo:
            right[:, row : row + 3] += sign * loads[id(load)]
        return matrix, right

    def _given_back(self, vehicle: str, rows: Places, body: _Bodies, unknowns: Array, right: Array) -> None:
        """The reference loads of lifted wheels go back to the body; see ``BodyPlace.given_back``."""
        carrying = self.rig.carrying(vehicle)
        if body.kept is None and carrying.all():
            return
        kept = np.eye(len(carrying)) if body.kept is None else body.kept
        given = np.swapaxes(body.travel, 1, 2) @ (kept - np.diag(carrying))
        at = self.rig.reference_at[vehicle]
        right[:, rows] -= (given @ unknowns[:, at, None])[:, None, :, 0]

    def _found(self, template: Template, matrix: Array, right: Array) -> Array:
        before, after = self._scaling(template)
        columns, rows = after[:, 0] / after[0, 0], after[0]
        scaled: Array = rows * right
        solved = np.linalg.solve(matrix * before, scaled[:, :, None])
        return solved[:, :, 0] * columns

    def _add_slope(self, unknowns: Array, found: Array, right: Array) -> None:
        """Moments that slope and tilt put on each vehicle, at its mass in the level stances ``found``."""
        for index, stance in enumerate(self.layout.stances):
            for vehicle, row in self.layout.body_at[index].items() if stance.sloped else ():
                masses = self._masses(stance.state, vehicle, unknowns, found)
                for at, mass in enumerate(masses.tolist()):
                    for offset, moment, _ in self.rig.slope_moments(vehicle, stance, unknowns[at], mass):
                        right[at, row + offset] += moment

    def _masses(self, state: str, vehicle: str, unknowns: Array, found: Array) -> Array:
        """Mass of a vehicle with its cargo in a state [kg], coupling loads taken out, shape (n,)."""
        rig, reference = self.rig, self.rig.reference[vehicle]
        masses: Array = unknowns[:, rig.reference_at[vehicle]] @ rig.carrying(vehicle)
        joint_at = self.layout.joint_at[self.layout.level[reference]]
        for joint in rig.joints[reference]:
            sign = float(joint.trailer == vehicle) - float(joint.towing == vehicle)
            masses = masses + sign * found[:, joint_at[joint.trailer]]
        for sign, load in changes(rig.aboard[state], rig.aboard[reference], vehicle):
            masses = masses + sign * self._cargo_load(load, unknowns)[:, 0]
        return masses

    def _joint_values(self, found: Array, unknowns: Array, values: Array) -> None:
        layout, rig = self.layout, self.rig
        for index, stance in enumerate(layout.stances):
            for trailer, out in layout.coupling_out[index].items():
                values[:, out] = found[:, layout.joint_at[index][trailer]]
            for joint in rig.joints[stance.state]:
                if joint.towing is None:
                    continue
                trailer, towing = layout.ends(index, joint)
                root = rig.couple_root(stance.state, joint.trailer)
                if root is not None:
                    couple = self._at(rig.couples[root, joint.trailer], unknowns)
                    for at, sign in ((index, 1.0), (layout.level[root], -1.0)) if joint.bars else ():
                        behind, ahead = layout.ends(at, joint)
                        couple = couple - sign * joint.bars * (found[:, behind + 1] - found[:, ahead + 1])
                    values[:, layout.couple_out[index][joint.trailer]] = couple
                if joint.tie and stance.deck(joint.trailer) is None:
                    mean = layout.level_at[rig.twist_of(stance.state, joint)]
                    roll = found[:, trailer + 2] - found[:, towing + 2] - found[:, mean]
                    latched = unknowns[:, rig.latched(joint)]
                    values[:, layout.tie_out[index][joint.trailer]] = latched + self._tie(joint, unknowns) * roll

    # -- supports that leave the ground -----------------------------------------------------------------------------

    def pulling(self, values: Array) -> Places:
        """The rows of ``values``, shape (n, outputs), in which a wheel or a stand of a state would have to pull."""
        outs: list[int] = []
        for state, index in self.layout.level.items():
            for out in self.layout.wheels_out[index].values():
                outs.extend(range(out.start, out.stop))
            stands = [joint.trailer for joint in self.rig.joints[state] if joint.towing is None]
            outs.extend(self.layout.coupling_out[index][trailer] for trailer in stands)
        return np.flatnonzero((values[:, outs] < -PULLS).any(axis=1))

    def settled(self, unknowns: Array) -> tuple[Array, dict[str, Lift]] | None:
        """The loads of one set of unknowns, shape (outputs,), and what is off the ground; None where a state tips over.

        ``unknowns`` has shape (unknowns,).
        """
        lifts, tipped = dict[str, Lift](), list[str]()
        nothing = np.zeros((len(unknowns), 0))
        certain = Solution(np.zeros(len(unknowns)), nothing, 0.0, 0, self._free, nothing, nothing[self._free], nothing)
        values = self.many(unknowns[None], lifts)[0]
        flat = np.zeros((len(values), len(unknowns)))
        while lift_next(self, lifts, tipped, certain, StanceLoads(values, flat)):
            if tipped:
                return None
            values = self.many(unknowns[None], lifts)[0]
        return values, lifts

    # -- what one draft alone shifts --------------------------------------------------------------------------------

    def shifted(
        self, state: str, unknowns: Array, heights: Array, forced: Array, lifts: Lifts = GROUNDED
    ) -> tuple[Array, Array]:
        """Changes of loads that heights of supports and loads that springs do not make bring about in a state.

        Parameters
        ----------
        unknowns: shape (n, unknowns). heights [m] and forced [kg]: shape (n, wheels, several), vehicles in the order of
            the state.

        Returns
        -------
        Of wheels, shape (n, wheels, several), and of couplings, in the order of the joints: (n, joints, several).
        """
        operator = self.rig.operators[state]
        lift = lifts.get(state, Lift())
        joints = [joint for joint in operator.joints if joint.trailer not in lift.stands]
        size = operator.motions + len(joints)
        matrix = np.zeros((len(unknowns), size, size))
        right = np.zeros((len(unknowns), size, heights.shape[2]))
        bodies: dict[str, _Bodies] = {}
        for name, start in operator.start.items():
            up = self.rig.day.states[state].wheels_up(name) | lift.wheels.get(name, frozenset[int]())
            body = bodies[name] = self._bodies(name, unknowns).lifted(up)
            own, at = operator.wheel_slice(name), slice(start, start + 3)
            matrix[:, at, at] = body.travel_stiffness @ body.travel
            right[:, at] = -(body.travel_stiffness @ heights[:, own])
            right[:, at] -= np.swapaxes(body.travel, 1, 2) @ forced[:, own]
        for row, joint in enumerate(joints, start=operator.motions):
            self._tied(matrix, row, joint, operator.start, unknowns)
        found = np.linalg.solve(matrix, right)
        wheels = forced.copy()
        for name, start in operator.start.items():
            own, body = operator.wheel_slice(name), bodies[name]
            wheels[:, own] += body.stiffness @ (body.travel @ found[:, start : start + 3] + heights[:, own])
        couplings = np.zeros((len(unknowns), len(operator.joints), heights.shape[2]))
        couplings[:, [operator.joints.index(joint) for joint in joints]] = found[:, operator.motions :]
        return wheels, couplings

    def _tied(self, matrix: Array, row: int, joint: Joint, start: Mapping[str, int], unknowns: Array) -> None:
        """The row of a joint, and the stiffness of a roll tie and of bars; see ``Combination``."""
        near = start[joint.trailer]
        matrix[:, row, near] = matrix[:, near, row] = 1.0
        if joint.towing is None:
            return
        far, x = start[joint.towing], self._coupling_x(joint, unknowns)
        matrix[:, row, far] = matrix[:, far, row] = -1.0
        matrix[:, row, far + 1] = matrix[:, far + 1, row] = -x
        for offset, rate in ((2, self._tie(joint, unknowns)), (1, np.full(len(unknowns), joint.bars))):
            for one, other, sign in ((near, near, 1.0), (far, far, 1.0), (near, far, -1.0), (far, near, -1.0)):
                matrix[:, one + offset, other + offset] += sign * rate
