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

from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.loads import changes
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import Stance
from steelyard.adjustment.system.template import Template
from steelyard.adjustment.system.unknowns import Array
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
class _Place:
    """One vehicle with the same wheels on the ground, in some stances.

    ``rows`` (stances, 3) and ``out`` (stances, wheels) say where it stands in the system and among the outputs.
    """

    vehicle: str
    off: frozenset[int]
    stances: tuple[int, ...]
    rows: NDArray[np.int_]
    out: NDArray[np.int_]
    carrying: Array  # see ``Rig.carrying``, shape (wheels,)
    turned: Array  # tangents of ``B`` by the vehicle's own unknowns, wheels first: shape (wheels, parameters x 3)

    def given_back(self, body: Body) -> Array | None:
        """The part of the reference loads that is kept here, less the part that carries in the reference state itself.

        Shape (wheels, wheels); None: all is kept, and carries. In the reference state itself the loads are in balance
        as they are, with an axle up or down.
        """
        if body.kept is None and self.carrying.all():
            return None
        kept = np.eye(len(self.carrying)) if body.kept is None else body.kept
        return kept - np.diag(self.carrying)


@dataclass(frozen=True)
class _Standing:
    """A place with the body that stands there at the present geometry and stiffness."""

    place: _Place
    body: Body


class _System:
    """``A X = right``, and the derivative of ``A X - right`` by the unknowns at fixed ``X``."""

    def __init__(self, template: Template, unknowns: Array) -> None:
        self.unknowns = unknowns
        self.matrix = template.matrix.copy()
        self.by_unknown = template.by_unknown.copy()
        self.right = template.constant - template.by_unknown @ unknowns


SINGULAR = 1e10
"""A scaled system whose inverse has larger elements leaves a motion open."""

FELT = 1e-9
"""A load that answers to a free unknown (kilograms, or moments with arms of metres) by less than this does not answer:
what is left is the rounding of the solution, and must never be taken for information."""


def _scaling(matrix: Array) -> tuple[Array, Array]:
    """Scale of a matrix in which stiffness and geometry stand side by side; its inverse is scaled alike."""
    size = np.sqrt(np.abs(np.diag(matrix)))
    size = np.where(size > 0.0, size, 1.0)
    rest = np.abs(matrix / size[:, None] / size[None, :]).max(axis=1, initial=0.0)
    left = 1.0 / (size * np.where(rest > 0.0, rest, 1.0))
    return left[:, None] / size[None, :], left[None, :] / size[:, None]


class Increments:
    """The joint system of some stances of one rig.

    ``masses`` [kg], by state and vehicle, are what slope and tilt act on; those of vehicles not in it are taken from
    the level stances.
    """

    def __init__(self, rig: Rig, stances: Sequence[Stance]) -> None:
        self.rig = rig
        self.layout = Layout(rig, stances)
        self.masses: dict[tuple[str, str], float] = {}
        self._free = np.flatnonzero(np.isnan(rig.unknowns.priors()))
        self._templates: dict[tuple[tuple[str, frozenset[str]], ...], Template] = {}
        self._places: dict[tuple[tuple[str, str, frozenset[int]], ...], list[_Place]] = {}

    def solve(self, unknowns: Array, lifts: Mapping[str, Lift]) -> StanceLoads:
        """Loads of every stance and their derivatives.

        Parameters
        ----------
        unknowns: shape (unknowns,).
        lifts: what is off the ground, by state.
        """
        template, standing, system = self._assembled(unknowns, lifts)
        if template.scaling is None:  # estimates change it by little: once is enough
            template.scaling = _scaling(system.matrix)
        before, after = template.scaling
        inverse = np.linalg.inv(system.matrix * before) * after
        found = inverse @ system.right
        if any(stance.sloped for stance in self.layout.stances):
            self._slope(system, standing, found)  # level stances do not feel it, and tell what each vehicle weighs
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
        felt[np.abs(felt) < FELT] = 0.0
        jacobian[:, self._free] = felt
        return StanceLoads(values, jacobian)

    def held(self, lifts: Mapping[str, Lift]) -> bool:
        """Whether the equations tell every motion with these supports gone, at the stated geometry and stiffness.

        They do not where a trailer is held only by another one behind it that was never seen hitched elsewhere.
        """
        _, _, system = self._assembled(self.rig.unknowns.starts(), lifts)
        before, _ = _scaling(system.matrix)
        scaled = system.matrix * before
        try:
            inverse = np.linalg.inv(scaled)
        except np.linalg.LinAlgError:
            return False
        return float(np.abs(scaled).max()) * float(np.abs(inverse).max()) < SINGULAR

    def _assembled(self, unknowns: Array, lifts: Mapping[str, Lift]) -> tuple[Template, list[_Standing], _System]:
        """The joint system with everything but slope in it."""
        template = self._template(lifts)
        system = _System(template, unknowns)
        standing = self._standing(unknowns, lifts)
        self._scale(system, template)
        self._cargo(system, template)
        for part in standing:
            self._spring(system, part)
        return template, standing, system

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
        off = tuple((state, name, wheels) for state, lift in lifts.items() for name, wheels in lift.wheels.items())
        if off not in self._places:
            self._places[off] = self._find_places({(state, name): wheels for state, name, wheels in off})
        plain = {name: self.rig.body(name, unknowns) for name in self.rig.layouts}
        return [_Standing(place, plain[place.vehicle].lifted(place.off)) for place in self._places[off]]

    def _find_places(self, lifted: Mapping[tuple[str, str], frozenset[int]]) -> list[_Place]:
        layout = self.layout
        where: dict[tuple[str, frozenset[int]], list[int]] = {}
        for index, stance in enumerate(layout.stances):
            for name in layout.body_at[index]:
                up = self.rig.day.states[stance.state].wheels_up(name)
                off = up | lifted.get((stance.state, name), frozenset[int]())
                where.setdefault((name, off), []).append(index)
        places: list[_Place] = []
        for (name, off), stances in where.items():
            body = self.rig.layouts[name]
            rows = np.array([layout.body_at[index][name] for index in stances])[:, None] + np.arange(3)
            out = np.array([layout.wheels_out[index][name].start for index in stances])[:, None] + np.arange(
                body.wheels
            )
            turned = body.d_travel[self.rig.own_used[name]].transpose(1, 0, 2).reshape(body.wheels, -1)
            places.append(_Place(name, off, tuple(stances), rows, out, self.rig.carrying(name), turned))
        return places

    # -- filling ----------------------------------------------------------------------------------------------------

    def _scale(self, system: _System, template: Template) -> None:
        """Coefficients that are the place of a coupling or the stiffness of a tie."""
        for joint, factors in template.places.items():
            system.matrix += self.rig.coupling_x(joint, system.unknowns) * factors
        for joint, factors in template.ties.items():
            system.matrix += self.rig.tie(joint, system.unknowns) * factors

    def _cargo(self, system: _System, template: Template) -> None:
        made = {id(load): load for _, _, load in template.cargo}
        loads = {key: (load.at(system.unknowns), load.gradients(system.unknowns)) for key, load in made.items()}
        for row, sign, load in template.cargo:
            value, gradients = loads[id(load)]
            system.right[row : row + 3] += sign * value
            for at, gradient in gradients:
                system.by_unknown[row : row + 3, at] -= sign * gradient

    def _spring(self, system: _System, standing: _Standing) -> None:
        """Springs, supports, and what lifted wheels give back."""
        place, body, rig = standing.place, standing.body, self.rig
        system.matrix[place.rows[:, :, None], place.rows[:, None, :]] += body.ground_stiffness
        given_back = place.given_back(body)
        if given_back is not None:
            at = rig.reference_at[place.vehicle]
            given = body.travel.T @ given_back
            system.right[place.rows] -= given @ system.unknowns[at]
            for rows in place.rows:
                system.by_unknown[rows[0] : rows[0] + 3, at] += given
        for number, index in enumerate(place.stances):
            stance, rows = self.layout.stances[index], place.rows[number]
            if stance.pads:
                system.right[rows] -= body.travel_stiffness @ rig.supports(stance, place.vehicle, system.unknowns)
                for at_height, raised in rig.support_gradients(stance, place.vehicle):
                    system.by_unknown[rows, at_height] += body.travel_stiffness @ raised

    def _slope(self, system: _System, standing: Sequence[_Standing], found: Array) -> None:
        """Effect of slope and tilted pads on vehicles of the masses that the level stances ``found`` give."""
        masses = dict(self.masses)
        for place in (part.place for part in standing):
            for rows, index in zip(place.rows, place.stances, strict=True):
                stance = self.layout.stances[index]
                if not stance.sloped:
                    continue
                key = (stance.state, place.vehicle)
                if key not in masses:
                    masses[key] = self._own_mass(*key, system.unknowns, found)
                for offset, moment, gradients in self.rig.slope_moments(
                    place.vehicle, stance, system.unknowns, masses[key]
                ):
                    system.right[rows[offset]] += moment
                    for at_slope, gradient in gradients:
                        system.by_unknown[rows[offset], at_slope] -= gradient

    def _own_mass(self, state: str, vehicle: str, unknowns: Array, found: Array) -> float:
        """Mass of a vehicle with its cargo in a level state [kg], coupling loads taken out."""
        rig, reference = self.rig, self.rig.reference[vehicle]
        mass = float(unknowns[rig.reference_at[vehicle]] @ rig.carrying(vehicle))
        joint_at = self.layout.joint_at[self.layout.level[reference]]
        for joint in rig.joints[reference]:
            if vehicle == joint.trailer:
                mass += float(found[joint_at[joint.trailer]])
            elif vehicle == joint.towing:
                mass -= float(found[joint_at[joint.trailer]])
        return mass + sum(
            sign * float(load.at(unknowns)[0])
            for sign, load in changes(rig.aboard[state], rig.aboard[reference], vehicle)
        )

    # -- derivatives ------------------------------------------------------------------------------------------------

    def _differentiate_scaled(self, system: _System, template: Template, found: Array) -> None:
        """Effect of each coupling's place and of the (logarithm of the) stiffness of each roll tie."""
        for joint, factors in template.places.items():
            at = self.rig.coupling_x_at(joint)
            if at is not None:
                system.by_unknown[:, at] += factors @ found
        for joint, factors in template.ties.items():
            at = self.rig.tie_at(joint)
            if at is not None:
                system.by_unknown[:, at] += self.rig.tie(joint, system.unknowns) * (factors @ found)

    def _differentiate(self, system: _System, standing: _Standing, found: Array) -> tuple[Array, Array]:
        """Add what geometry and stiffness do to the balance at the motion ``found``.

        Returns
        -------
        Wheel loads that springs make, shape (stances, wheels), and their derivative at fixed motion by the vehicle's
        own unknown parameters, shape (stances, wheels, parameters).
        """
        place, body, rig = standing.place, standing.body, self.rig
        used, at = rig.own_used[place.vehicle], rig.own_at[place.vehicle]
        motion = found[place.rows]
        travel = motion @ body.travel.T
        for number, index in enumerate(place.stances):
            stance = self.layout.stances[index]
            if stance.pads:
                travel[number] += rig.supports(stance, place.vehicle, system.unknowns)
        made = travel @ body.stiffness
        stances, wheels = made.shape
        stretched = place.turned.reshape(wheels, len(used), 3) @ motion.T[None]
        by_own = (body.stiffness @ stretched.reshape(wheels, -1)).reshape(stretched.shape)
        by_own = by_own.transpose(2, 0, 1) + (body.d_stiffness[used] @ travel.T).transpose(2, 1, 0)
        carried = made
        given_back = place.given_back(body)
        if given_back is not None:
            reference = system.unknowns[rig.reference_at[place.vehicle]]
            carried = made + given_back @ reference
            if body.d_kept is not None:
                by_own = by_own + (body.d_kept[used] @ reference).T
        balance = (carried @ place.turned).reshape(stances, len(used), 3).transpose(0, 2, 1) + body.travel.T @ by_own
        system.by_unknown[place.rows[:, :, None], at] += balance
        return made, by_own

    # -- outputs ----------------------------------------------------------------------------------------------------

    def _wheel_outputs(
        self,
        system: _System,
        standing: _Standing,
        made: Array,
        by_own: Array,
        by_unknown: Array,
        values: Array,
        jacobian: Array,
    ) -> None:
        place, body, rig = standing.place, standing.body, self.rig
        at = rig.reference_at[place.vehicle]
        reference = system.unknowns[at]
        block = body.travel_stiffness.T @ by_unknown[place.rows]
        if body.kept is None:
            values[place.out] = made + reference
            block[:, np.arange(len(reference)), np.arange(at.start, at.stop)] += 1.0
        else:
            values[place.out] = made + body.kept @ reference
            block[:, :, at] += body.kept
        block[:, :, rig.own_at[place.vehicle]] += by_own
        for number, index in enumerate(place.stances):
            for at_height, raised in rig.support_gradients(self.layout.stances[index], place.vehicle):
                block[number, :, at_height] += body.stiffness @ raised
        jacobian[place.out] = block

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
        if not joint.tie or self.layout.stances[index].deck(joint.trailer) is not None:
            return
        out, latched, at = self.layout.tie_out[index][joint.trailer], self.rig.latched(joint), self.rig.tie_at(joint)
        trailer, towing = self.layout.ends(index, joint)
        mean = self.layout.level_at[self.rig.twist_of(self.layout.stances[index].state, joint)]
        rate, roll = self.rig.tie(joint, system.unknowns), found[trailer + 2] - found[towing + 2] - found[mean]
        values[out] = system.unknowns[latched] + rate * roll
        jacobian[out] = rate * (by_unknown[trailer + 2] - by_unknown[towing + 2] - by_unknown[mean])
        jacobian[out, latched] += 1.0
        if at is not None:
            jacobian[out, at] += rate * roll
