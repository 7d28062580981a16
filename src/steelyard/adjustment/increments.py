"""The loads of every stance of a day from one linear system: the reference plus the operator times what changed.

Free lengths of springs are never known, so each vehicle starts from its reference state, whose wheel loads (and, for a
trailer, whose coupling load) are unknowns. Every stance adds its equations; the couplings tie stances together where
one vehicle's reference already holds a coupling load. One factorisation gives loads and, by implicit differentiation,
their derivatives by every unknown.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from steelyard.adjustment.loads import changes
from steelyard.adjustment.rig import Rig
from steelyard.adjustment.stances import Stance
from steelyard.adjustment.unknowns import Array
from steelyard.model import State
from steelyard.statics import Body, Joint, Lift

GROUND = Lift()


@dataclass(frozen=True)
class StanceLoads:
    """All loads of a day at one set of unknowns, one flat vector.

    Attributes
    ----------
    values: wheel loads [kg], coupling loads [kg], couples and roll ties [kg*m], shape (outputs,).
    jacobian: their derivatives, shape (outputs, unknowns).
    """

    values: Array
    jacobian: Array


class _System:
    """``A X = r`` and the derivative of ``A X - r`` by the unknowns, filled term by term."""

    def __init__(self, size: int, unknowns: Array) -> None:
        self.matrix = np.zeros((size, size))
        self.right = np.zeros(size)
        self.by_unknown = np.zeros((size, len(unknowns)))
        self.unknowns = unknowns

    def motion(self, row: int, column: int, factor: float) -> None:
        self.matrix[row, column] += factor

    def unknown(self, row: int, index: int, factor: float) -> None:
        self.right[row] -= factor * self.unknowns[index]
        self.by_unknown[row, index] += factor


class Increments:
    """The joint system of some stances of one rig. Level stances of all states come first, in file order."""

    def __init__(self, rig: Rig, stances: list[Stance]) -> None:
        self.rig = rig
        levels = [Stance(name) for name in rig.day.states]
        self.stances = levels + [stance for stance in dict.fromkeys(stances) if not stance.level]
        self.level = {name: index for index, name in enumerate(rig.day.states)}
        self.number = {stance: index for index, stance in enumerate(self.stances)}
        self.body_at: list[dict[str, int]] = []
        self.joint_at: list[dict[str, int]] = []
        self.wheels_out: list[dict[str, slice]] = []
        self.coupling_out: list[dict[str, int]] = []
        self.couple_out: list[dict[str, int]] = []
        self.tie_out: list[dict[str, int]] = []
        self._lay_out()

    def _lay_out(self) -> None:
        row = out = 0
        for stance in self.stances:
            state = self.rig.day.states[stance.state]
            joints = self.rig.joints[stance.state]
            self.body_at.append({name: row + 3 * place for place, name in enumerate(state.vehicles)})
            row += 3 * len(state.vehicles)
            self.joint_at.append({joint.trailer: row + place for place, joint in enumerate(joints)})
            row += len(joints)
            wheels: dict[str, slice] = {}
            for name in state.vehicles:
                count = self.rig.layouts[name].wheels
                wheels[name] = slice(out, out + count)
                out += count
            self.wheels_out.append(wheels)
            self.coupling_out.append({joint.trailer: out + place for place, joint in enumerate(joints)})
            out += len(joints)
            linked = [joint.trailer for joint in joints if joint.towing is not None]
            self.couple_out.append({trailer: out + place for place, trailer in enumerate(linked)})
            out += len(linked)
            self.tie_out.append({trailer: out + place for place, trailer in enumerate(linked)})
            out += len(linked)
        self.size, self.outputs = row, out

    # -- loads ------------------------------------------------------------------------------------------------------

    def solve(self, unknowns: Array, lifts: Mapping[str, Lift]) -> StanceLoads:
        """Loads of every stance and their derivatives.

        Parameters
        ----------
        unknowns: shape (unknowns,).
        lifts: what is off the ground, by state.
        """
        system = _System(self.size, unknowns)
        bodies = self._bodies(unknowns, lifts)
        for index, stance in enumerate(self.stances):
            self._fill(system, index, stance, bodies[index], lifts.get(stance.state, GROUND))
        inverse = np.linalg.inv(system.matrix)
        found = inverse @ system.right
        direct = self._differentiate(system, found, bodies)
        by_unknown = -inverse @ system.by_unknown
        return self._outputs(system, found, by_unknown, bodies, direct)

    def _bodies(self, unknowns: Array, lifts: Mapping[str, Lift]) -> list[dict[str, Body]]:
        plain = {name: self.rig.body(name, unknowns) for name in self.rig.layouts}
        cache: dict[tuple[str, frozenset[int]], Body] = {}
        chosen: list[dict[str, Body]] = []
        for stance in self.stances:
            lift = lifts.get(stance.state, GROUND)
            here: dict[str, Body] = {}
            for name in self.rig.day.states[stance.state].vehicles:
                off = lift.wheels.get(name, frozenset[int]())
                if (name, off) not in cache:
                    cache[name, off] = plain[name].lifted(off)
                here[name] = cache[name, off]
            chosen.append(here)
        return chosen

    def _fill(self, system: _System, index: int, stance: Stance, bodies: dict[str, Body], lift: Lift) -> None:
        state = self.rig.day.states[stance.state]
        for name, body in bodies.items():
            row = self.body_at[index][name]
            system.matrix[row : row + 3, row : row + 3] += body.ground_stiffness
            if stance.pads:
                system.right[row : row + 3] -= body.travel_stiffness @ self.rig.supports(stance, name, system.unknowns)
            if body.kept is not None:
                at = self.rig.reference_at[name]
                given = body.travel.T @ (body.kept - np.eye(body.layout.wheels))
                system.right[row : row + 3] -= given @ system.unknowns[at]
                system.by_unknown[row : row + 3, at] += given
            self._joints_on(system, row, name, index, 1.0)
            self._reference_joints(system, row, name)
            self._cargo(system, row, name, state)
            if stance.sloped:
                self._slope(system, row, name, stance)
        for joint in self.rig.joints[stance.state]:
            self._constrain(system, index, stance, state, joint, lift)

    def _joints_on(self, system: _System, row: int, vehicle: str, index: int, sign: float) -> None:
        """What the joints of stance ``index`` put on ``vehicle``, into the equations at ``row``."""
        for joint in self.rig.joints[self.stances[index].state]:
            if vehicle not in (joint.trailer, joint.towing):
                continue
            side = sign if vehicle == joint.trailer else -sign
            column = self.joint_at[index][joint.trailer]
            system.motion(row, column, side)
            if vehicle == joint.towing:
                system.motion(row + 1, column, side * self.rig.coupling_x(joint, system.unknowns))
            self._couple(system, row + 1, index, joint, -side)
            self._tie(system, row + 2, index, joint, side)

    def _reference_joints(self, system: _System, row: int, vehicle: str) -> None:
        """Take out what the reference state of ``vehicle`` already holds."""
        index = self.level[self.rig.reference[vehicle]]
        self._joints_on(system, row, vehicle, index, -1.0)
        if vehicle in self.joint_at[index]:
            # its own coupling load there is an unknown of its own, not the outcome of another body's equations
            system.motion(row, self.joint_at[index][vehicle], 1.0)
            system.unknown(row, self.rig.coupling_at[vehicle], -1.0)

    def _couple(self, system: _System, row: int, index: int, joint: Joint, factor: float) -> None:
        """The weight-distributing couple: that of its root state, less what the bars give as the rig bends."""
        if joint.towing is None:
            return
        root = self.rig.couple_root(self.stances[index].state, joint.trailer)
        if root is None:
            return
        term = self.rig.couples[root, joint.trailer]
        if term.index is None:
            system.right[row] -= factor * term.value
        else:
            system.unknown(row, term.index, factor)
        level = self.level[root]
        if joint.bars and level != index:
            for at, sign in ((index, 1.0), (level, -1.0)):
                trailer, towing = self.body_at[at][joint.trailer], self.body_at[at][joint.towing]
                system.motion(row, trailer + 1, -factor * sign * joint.bars)
                system.motion(row, towing + 1, factor * sign * joint.bars)

    def _tie(self, system: _System, row: int, index: int, joint: Joint, factor: float) -> None:
        """The roll tie of a fifth wheel: what was latched in, and its stiffness on the difference in roll."""
        if joint.towing is None or not joint.tie:
            return
        system.unknown(row, self.rig.latched(joint), factor)
        rate = factor * self.rig.tie(joint, system.unknowns)
        system.motion(row, self.body_at[index][joint.trailer] + 2, rate)
        system.motion(row, self.body_at[index][joint.towing] + 2, -rate)

    def _cargo(self, system: _System, row: int, vehicle: str, state: State) -> None:
        then = self.rig.aboard[self.rig.reference[vehicle]]
        for sign, load in changes(self.rig.aboard[state.id], then, vehicle):
            system.right[row : row + 3] += sign * load.at(system.unknowns)
            for at, gradient in load.gradients(system.unknowns):
                system.by_unknown[row : row + 3, at] -= sign * gradient

    def _slope(self, system: _System, row: int, vehicle: str, stance: Stance) -> None:
        for offset, moment, gradients in self.rig.slope_moments(vehicle, stance, system.unknowns):
            system.right[row + offset] += moment
            for at, gradient in gradients:
                system.by_unknown[row + offset, at] -= gradient

    # -- couplings and stands ---------------------------------------------------------------------------------------

    def _gap(self, system: _System, row: int, index: int, joint: Joint, sign: float) -> None:
        """How far the coupling point sinks against what holds it: trailer minus towing, or minus the ground."""
        system.motion(row, self.body_at[index][joint.trailer], sign)
        if joint.towing is not None:
            towing = self.body_at[index][joint.towing]
            system.motion(row, towing, -sign)
            system.motion(row, towing + 1, -sign * self.rig.coupling_x(joint, system.unknowns))

    def _constrain(
        self, system: _System, index: int, stance: Stance, state: State, joint: Joint, lift: Lift
    ) -> None:
        row = self.joint_at[index][joint.trailer]
        if joint.trailer in lift.stands:
            system.motion(row, row, 1.0)
            return
        if not stance.level:
            self._gap(system, row, index, joint, 1.0)
            self._gap(system, row, self.level[state.id], joint, -1.0)
            return
        hitch = self.rig.hitches[state.id, joint.trailer]
        if hitch.against is None:
            system.motion(row, self.body_at[index][joint.trailer], 1.0)
        else:
            self._gap(system, row, index, joint, 1.0)
            self._gap(system, row, self.level[hitch.against], joint, -1.0)
        if hitch.rise.index is None:
            system.right[row] -= hitch.rise.value
        else:
            system.unknown(row, hitch.rise.index, 1.0)

    # -- derivatives and outputs ------------------------------------------------------------------------------------

    def _differentiate(
        self, system: _System, found: Array, bodies: list[dict[str, Body]]
    ) -> list[dict[str, tuple[Array, Array]]]:
        """Add what geometry and stiffness do at the motion ``found``; returns wheel loads' direct derivatives.

        The result holds, by stance and vehicle, the wheel loads that springs make, shape (wheels,), and their derivative
        at fixed motion by the vehicle's own parameters, shape (parameters, wheels).
        """
        direct: list[dict[str, tuple[Array, Array]]] = []
        for index, stance in enumerate(self.stances):
            here: dict[str, tuple[Array, Array]] = {}
            for name, body in bodies[index].items():
                row = self.body_at[index][name]
                motion = found[row : row + 3]
                travel = body.travel @ motion
                if stance.pads:
                    travel = travel + self.rig.supports(stance, name, system.unknowns)
                made = body.stiffness @ travel
                by_own = body.d_stiffness @ travel + (body.d_travel @ motion) @ body.stiffness
                carried = made
                if body.kept is not None:
                    reference = system.unknowns[self.rig.reference_at[name]]
                    carried = made + body.kept @ reference - reference
                rows = carried @ body.d_travel + by_own @ body.travel
                used, at = self.rig.own_used[name], self.rig.own_at[name]
                system.by_unknown[row : row + 3, at] += rows[used].T
                for at, raised in self.rig.support_gradients(stance, name):
                    system.by_unknown[row : row + 3, at] += body.travel_stiffness @ raised
                here[name] = (made, by_own)
            direct.append(here)
            self._differentiate_joints(system, found, index)
        return direct

    def _differentiate_joints(self, system: _System, found: Array, index: int) -> None:
        """What the place of each coupling and the stiffness of each roll tie do."""
        state = self.stances[index].state
        for name in self.rig.day.states[state].vehicles:
            row = self.body_at[index][name]
            reference = self.level[self.rig.reference[name]]
            for at, sign in ((index, 1.0), (reference, -1.0)):
                for joint in self.rig.joints[self.stances[at].state]:
                    if joint.towing is None or name not in (joint.trailer, joint.towing):
                        continue
                    side = sign if name == joint.trailer else -sign
                    x_at = self.rig.coupling_x_at(joint)
                    if name == joint.towing and x_at is not None:
                        system.by_unknown[row + 1, x_at] += side * found[self.joint_at[at][joint.trailer]]
                    tie_at = self.rig.tie_at(joint)
                    if tie_at is not None:
                        roll = found[self.body_at[at][joint.trailer] + 2] - found[self.body_at[at][joint.towing] + 2]
                        rate = self.rig.tie(joint, system.unknowns)
                        system.by_unknown[row + 2, tie_at] += side * rate * roll
        self._differentiate_gaps(system, found, index)

    def _differentiate_gaps(self, system: _System, found: Array, index: int) -> None:
        stance = self.stances[index]
        for joint in self.rig.joints[stance.state]:
            x_at = self.rig.coupling_x_at(joint)
            hitch = self.rig.hitches[stance.state, joint.trailer]
            against = stance.state if not stance.level else hitch.against
            if joint.towing is None or x_at is None or against is None:
                continue
            pitch = found[self.body_at[index][joint.towing] + 1]
            pitch -= found[self.body_at[self.level[against]][joint.towing] + 1]
            system.by_unknown[self.joint_at[index][joint.trailer], x_at] -= pitch

    def _outputs(
        self,
        system: _System,
        found: Array,
        by_unknown: Array,
        bodies: list[dict[str, Body]],
        direct: list[dict[str, tuple[Array, Array]]],
    ) -> StanceLoads:
        values = np.zeros(self.outputs)
        jacobian = np.zeros((self.outputs, len(system.unknowns)))
        for index, stance in enumerate(self.stances):
            for name, body in bodies[index].items():
                row, out = self.body_at[index][name], self.wheels_out[index][name]
                at = self.rig.reference_at[name]
                made, by_own = direct[index][name]
                kept = np.eye(body.layout.wheels) if body.kept is None else body.kept
                values[out] = made + kept @ system.unknowns[at]
                jacobian[out] = body.travel_stiffness.T @ by_unknown[row : row + 3]
                jacobian[out, at] += kept
                jacobian[out, self.rig.own_at[name]] += by_own[self.rig.own_used[name]].T
                for height_at, raised in self.rig.support_gradients(stance, name):
                    jacobian[out, height_at] += body.stiffness @ raised
            for trailer, out in self.coupling_out[index].items():
                row = self.joint_at[index][trailer]
                values[out] = found[row]
                jacobian[out] = by_unknown[row]
            self._couple_outputs(system, found, by_unknown, index, values, jacobian)
            self._tie_outputs(system, found, by_unknown, index, values, jacobian)
        return StanceLoads(values, jacobian)

    def _couple_outputs(
        self, system: _System, found: Array, by_unknown: Array, index: int, values: Array, jacobian: Array
    ) -> None:
        for joint in self.rig.joints[self.stances[index].state]:
            root = self.rig.couple_root(self.stances[index].state, joint.trailer)
            if joint.towing is None or root is None:
                continue
            out = self.couple_out[index][joint.trailer]
            term = self.rig.couples[root, joint.trailer]
            values[out] = term.at(system.unknowns)
            if term.index is not None:
                jacobian[out, term.index] = 1.0
            for at, sign in ((index, 1.0), (self.level[root], -1.0)) if joint.bars else ():
                trailer, towing = self.body_at[at][joint.trailer] + 1, self.body_at[at][joint.towing] + 1
                values[out] -= sign * joint.bars * (found[trailer] - found[towing])
                jacobian[out] -= sign * joint.bars * (by_unknown[trailer] - by_unknown[towing])

    def _tie_outputs(
        self, system: _System, found: Array, by_unknown: Array, index: int, values: Array, jacobian: Array
    ) -> None:
        for joint in self.rig.joints[self.stances[index].state]:
            if joint.towing is None or not joint.tie:
                continue
            out, latched, at = self.tie_out[index][joint.trailer], self.rig.latched(joint), self.rig.tie_at(joint)
            near, far = self.body_at[index][joint.trailer] + 2, self.body_at[index][joint.towing] + 2
            rate, roll = self.rig.tie(joint, system.unknowns), found[near] - found[far]
            values[out] = system.unknowns[latched] + rate * roll
            jacobian[out] = rate * (by_unknown[near] - by_unknown[far])
            jacobian[out, latched] += 1.0
            if at is not None:
                jacobian[out, at] += rate * roll
