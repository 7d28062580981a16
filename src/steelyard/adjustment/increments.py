"""The loads of every stance of a day from one linear system: the reference plus the operator times what changed.

Free lengths of springs are never known, so each vehicle starts from its reference state, whose wheel loads (and, for a
trailer, whose coupling load) are unknowns. Every stance adds its equations; the couplings tie stances together where
one vehicle's reference already holds a coupling load. One factorisation gives loads and, by implicit differentiation,
their derivatives by every unknown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.layout import Layout
from steelyard.adjustment.rig import Rig
from steelyard.adjustment.stances import Stance
from steelyard.adjustment.template import Template
from steelyard.adjustment.unknowns import Array
from steelyard.statics import Body, Joint, Lift


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


@dataclass(frozen=True)
class _Standing:
    """One vehicle with the same wheels on the ground, in some stances.

    ``rows`` (stances, 3) and ``out`` (stances, wheels) say where it stands in the system and among the outputs.
    """

    vehicle: str
    body: Body
    stances: tuple[int, ...]
    rows: NDArray[np.int_]
    out: NDArray[np.int_]


class _System:
    """``A X = right``, and the derivative of ``A X - right`` by the unknowns at fixed ``X``."""

    def __init__(self, template: Template, unknowns: Array) -> None:
        self.unknowns = unknowns
        self.matrix = template.matrix.copy()
        self.by_unknown = template.by_unknown.copy()
        self.right = template.constant - template.by_unknown @ unknowns


FELT = 1e-9
"""A load that answers to a free unknown (kilograms, or moments with arms of metres) by less than this does not answer:
what is left is the rounding of the solution, and must never be taken for information."""


def _inverse(matrix: Array) -> Array:
    """The inverse, rows and columns scaled first: stiffness and geometry stand side by side in it."""
    size = np.sqrt(np.abs(np.diag(matrix)))
    size = np.where(size > 0.0, size, 1.0)
    scaled = matrix / size[:, None] / size[None, :]
    rest = np.abs(scaled).max(axis=1, initial=0.0)
    rest = np.where(rest > 0.0, rest, 1.0)
    return np.linalg.inv(scaled / rest[:, None]) / rest[None, :] / size[:, None] / size[None, :]


class Increments:
    """The joint system of some stances of one rig."""

    def __init__(self, rig: Rig, stances: Sequence[Stance]) -> None:
        self.rig = rig
        self.layout = Layout(rig, stances)
        self._free = np.flatnonzero(np.isnan(rig.unknowns.priors()))
        self._templates: dict[tuple[tuple[str, frozenset[str]], ...], Template] = {}

    def solve(self, unknowns: Array, lifts: Mapping[str, Lift]) -> StanceLoads:
        """Loads of every stance and their derivatives.

        Parameters
        ----------
        unknowns: shape (unknowns,).
        lifts: what is off the ground, by state.
        """
        template = self._template(lifts)
        system = _System(template, unknowns)
        standing = self._standing(unknowns, lifts)
        self._scale(system, template)
        self._cargo(system, template)
        for part in standing:
            self._spring(system, part)
        inverse = _inverse(system.matrix)
        found = inverse @ system.right
        self._differentiate_scaled(system, template, found)
        made = [self._differentiate(system, part, found) for part in standing]
        by_unknown = -inverse @ system.by_unknown
        values = np.zeros(self.layout.outputs)
        jacobian = np.zeros((self.layout.outputs, len(unknowns)))
        for part, (loads, by_own) in zip(standing, made, strict=True):
            self._wheel_outputs(system, part, loads, by_own, by_unknown, values, jacobian)
        self._joint_outputs(system, found, by_unknown, values, jacobian)
        felt = jacobian[:, self._free]
        jacobian[:, self._free] = np.where(np.abs(felt) < FELT, 0.0, felt)
        return StanceLoads(values, jacobian)

    def guessed(self, unknowns: Array) -> StanceLoads:
        """Reference wheel loads in every stance, without derivatives: good enough for what grows with load.

        ``unknowns`` has shape (unknowns,).
        """
        values = np.zeros(self.layout.outputs)
        for wheels in self.layout.wheels_out:
            for name, out in wheels.items():
                values[out] = unknowns[self.rig.reference_at[name]]
        return StanceLoads(values, np.zeros((self.layout.outputs, 0)))

    def _template(self, lifts: Mapping[str, Lift]) -> Template:
        key = tuple((name, lift.stands) for name, lift in lifts.items() if lift.stands)
        if key not in self._templates:
            self._templates[key] = Template(self.layout, dict(lifts))
        return self._templates[key]

    def _standing(self, unknowns: Array, lifts: Mapping[str, Lift]) -> list[_Standing]:
        """Bodies at the present geometry and stiffness, each with the stances in which it stands on the same wheels."""
        layout = self.layout
        where: dict[tuple[str, frozenset[int]], list[int]] = {}
        for index, stance in enumerate(layout.stances):
            for name in layout.body_at[index]:
                off = (
                    lifts[stance.state].wheels.get(name, frozenset[int]())
                    if stance.state in lifts
                    else frozenset[int]()
                )
                where.setdefault((name, off), []).append(index)
        plain = {name: self.rig.body(name, unknowns) for name in self.rig.layouts}
        standing: list[_Standing] = []
        for (name, off), stances in where.items():
            first_rows = np.array([layout.body_at[index][name] for index in stances])
            first_outs = np.array([layout.wheels_out[index][name].start for index in stances])
            rows = first_rows[:, None] + np.arange(3)
            out = first_outs[:, None] + np.arange(plain[name].layout.wheels)
            standing.append(_Standing(name, plain[name].lifted(off), tuple(stances), rows, out))
        return standing

    # -- filling ----------------------------------------------------------------------------------------------------

    def _scale(self, system: _System, template: Template) -> None:
        """Coefficients that are the place of a coupling or the stiffness of a tie."""
        for part, quantity in ((template.places, self.rig.coupling_x), (template.ties, self.rig.tie)):
            if part.rows:
                quantities = {joint: quantity(joint, system.unknowns) for joint in dict.fromkeys(part.joints)}
                rows, columns, values = template.scale(part, quantities)
                np.add.at(system.matrix, (rows, columns), values)

    def _cargo(self, system: _System, template: Template) -> None:
        made = {id(load): load for _, _, load in template.cargo}
        loads = {key: (load.at(system.unknowns), load.gradients(system.unknowns)) for key, load in made.items()}
        for row, sign, load in template.cargo:
            value, gradients = loads[id(load)]
            system.right[row : row + 3] += sign * value
            for at, gradient in gradients:
                system.by_unknown[row : row + 3, at] -= sign * gradient

    def _spring(self, system: _System, part: _Standing) -> None:
        """Springs, supports, what lifted wheels give back, and slope."""
        body, rig = part.body, self.rig
        system.matrix[part.rows[:, :, None], part.rows[:, None, :]] += body.ground_stiffness
        if body.kept is not None:
            at = rig.reference_at[part.vehicle]
            given = body.travel.T @ (body.kept - np.eye(body.layout.wheels))
            system.right[part.rows] -= given @ system.unknowns[at]
            for rows in part.rows:
                system.by_unknown[rows[0] : rows[0] + 3, at] += given
        for place, index in enumerate(part.stances):
            stance, rows = self.layout.stances[index], part.rows[place]
            if stance.pads:
                system.right[rows] -= body.travel_stiffness @ rig.supports(stance, part.vehicle, system.unknowns)
                for at_height, raised in rig.support_gradients(stance, part.vehicle):
                    system.by_unknown[rows, at_height] += body.travel_stiffness @ raised
            if stance.sloped:
                for offset, moment, gradients in rig.slope_moments(part.vehicle, stance, system.unknowns):
                    system.right[rows[offset]] += moment
                    for at_slope, gradient in gradients:
                        system.by_unknown[rows[offset], at_slope] -= gradient

    # -- derivatives ------------------------------------------------------------------------------------------------

    def _differentiate_scaled(self, system: _System, template: Template, found: Array) -> None:
        """What the place of each coupling and the (logarithm of the) stiffness of each roll tie do."""
        places, ties = template.places, template.ties
        for row, column, factor, joint in zip(places.rows, places.columns, places.factors, places.joints, strict=True):
            at = self.rig.coupling_x_at(joint)
            if at is not None:
                system.by_unknown[row, at] += factor * found[column]
        for row, column, factor, joint in zip(ties.rows, ties.columns, ties.factors, ties.joints, strict=True):
            at = self.rig.tie_at(joint)
            if at is not None:
                system.by_unknown[row, at] += factor * self.rig.tie(joint, system.unknowns) * found[column]

    def _differentiate(self, system: _System, part: _Standing, found: Array) -> tuple[Array, Array]:
        """Add what geometry and stiffness do to the balance at the motion ``found``.

        Returns
        -------
        Wheel loads that springs make, shape (stances, wheels), and their derivative at fixed motion by the vehicle's
        own unknown parameters, shape (stances, parameters, wheels).
        """
        body, rig = part.body, self.rig
        used, at = rig.own_used[part.vehicle], rig.own_at[part.vehicle]
        motion = found[part.rows]
        travel = motion @ body.travel.T
        for place, index in enumerate(part.stances):
            stance = self.layout.stances[index]
            if stance.pads:
                travel[place] += rig.supports(stance, part.vehicle, system.unknowns)
        made = travel @ body.stiffness
        d_travel, d_stiffness = body.d_travel[used], body.d_stiffness[used]
        by_own = (d_stiffness @ travel.T).transpose(2, 0, 1)
        by_own = by_own + (d_travel @ motion.T).transpose(2, 0, 1) @ body.stiffness
        carried = made
        if body.kept is not None:
            reference = system.unknowns[rig.reference_at[part.vehicle]]
            carried = made + body.kept @ reference - reference
            if body.d_kept is not None:
                by_own = by_own + body.d_kept[used] @ reference
        balance = np.tensordot(carried, d_travel, (1, 1)) + by_own @ body.travel
        system.by_unknown[part.rows[:, :, None], at[None, None, :]] += balance.transpose(0, 2, 1)
        return made, by_own

    # -- outputs ----------------------------------------------------------------------------------------------------

    def _wheel_outputs(
        self,
        system: _System,
        part: _Standing,
        made: Array,
        by_own: Array,
        by_unknown: Array,
        values: Array,
        jacobian: Array,
    ) -> None:
        body, rig = part.body, self.rig
        reference = rig.reference_at[part.vehicle]
        kept = np.eye(body.layout.wheels) if body.kept is None else body.kept
        values[part.out] = made + kept @ system.unknowns[reference]
        block = body.travel_stiffness.T @ by_unknown[part.rows]
        block[:, :, reference] += kept
        block[:, :, rig.own_at[part.vehicle]] += by_own.transpose(0, 2, 1)
        for place, index in enumerate(part.stances):
            for at, raised in rig.support_gradients(self.layout.stances[index], part.vehicle):
                block[place, :, at] += body.stiffness @ raised
        jacobian[part.out] = block

    def _joint_outputs(self, system: _System, found: Array, by_unknown: Array, values: Array, jacobian: Array) -> None:
        layout = self.layout
        for index, stance in enumerate(layout.stances):
            for trailer, out in layout.coupling_out[index].items():
                row = layout.joint_at[index][trailer]
                values[out] = found[row]
                jacobian[out] = by_unknown[row]
            for joint in self.rig.joints[stance.state]:
                if joint.towing is not None:
                    self._couple_output(system, found, by_unknown, index, joint, values, jacobian)
                    self._tie_output(system, found, by_unknown, index, joint, values, jacobian)

    def _couple_output(
        self, system: _System, found: Array, by_unknown: Array, index: int, joint: Joint, values: Array, jacobian: Array
    ) -> None:
        layout = self.layout
        root = self.rig.couple_root(layout.stances[index].state, joint.trailer)
        if root is None:
            return
        out = layout.couple_out[index][joint.trailer]
        term = self.rig.couples[root, joint.trailer]
        values[out] = term.at(system.unknowns)
        if term.index is not None:
            jacobian[out, term.index] = 1.0
        for at, sign in ((index, 1.0), (layout.level[root], -1.0)) if joint.bars else ():
            trailer, towing = layout.ends(at, joint)
            values[out] -= sign * joint.bars * (found[trailer + 1] - found[towing + 1])
            jacobian[out] -= sign * joint.bars * (by_unknown[trailer + 1] - by_unknown[towing + 1])

    def _tie_output(
        self, system: _System, found: Array, by_unknown: Array, index: int, joint: Joint, values: Array, jacobian: Array
    ) -> None:
        if not joint.tie:
            return
        out, latched, at = self.layout.tie_out[index][joint.trailer], self.rig.latched(joint), self.rig.tie_at(joint)
        trailer, towing = self.layout.ends(index, joint)
        rate, roll = self.rig.tie(joint, system.unknowns), found[trailer + 2] - found[towing + 2]
        values[out] = system.unknowns[latched] + rate * roll
        jacobian[out] = rate * (by_unknown[trailer + 2] - by_unknown[towing + 2])
        jacobian[out, latched] += 1.0
        if at is not None:
            jacobian[out, at] += rate * roll
