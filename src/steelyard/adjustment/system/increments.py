"""The loads of every stance of a day from one linear system: the reference plus the operator times what changed.

Free lengths of springs are never known, so each vehicle starts from its reference state, whose wheel loads (and, for a
trailer, whose coupling load) are unknowns. Every stance adds its equations; the couplings tie stances together where
one vehicle's reference already holds a coupling load. One factorisation gives loads and, by implicit differentiation,
their derivatives by every unknown.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from copy import copy

import numpy as np

from steelyard.adjustment.system.layout import Layout
from steelyard.adjustment.system.loads import changes
from steelyard.adjustment.system.rig import Rig
from steelyard.adjustment.system.stances import Stance
from steelyard.adjustment.system.standing import BodyPlace, StandingBody, places_of
from steelyard.adjustment.system.template import Template
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass
from steelyard.statics import Lift


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
        self._places: dict[tuple[tuple[str, str, frozenset[int]], ...], list[BodyPlace]] = {}

    def of(self, rig: Rig) -> Increments:
        """The same system for a rig of another day of the same shape; what is worked out once is in both."""
        self._scaling(self._template({}))
        other = copy(self)
        other.__dict__.update(
            rig=rig, masses={}, _templates=dict(self._templates), _places=dict(self._places)
        )  # what lifts in a day is of that day alone
        return other

    def solve(self, unknowns: Array, lifts: Mapping[str, Lift]) -> StanceLoads:
        """Loads of every stance and their derivatives.

        Parameters
        ----------
        unknowns: shape (unknowns,).
        lifts: what is off the ground, by state.
        """
        template = self._template(lifts)
        standing, system = self._assembled(template, unknowns, lifts)
        before, after = self._scaling(template)
        inverse = np.linalg.inv(system.matrix * before) * after
        found = inverse @ system.right
        if any(stance.sloped for stance in self.layout.stances):
            self._slope(system, standing, found)  # level stances do not feel it, and tell what each vehicle weighs
            found = inverse @ system.right
        self._differentiate_scaled(system, template, found)
        made = [part.differentiate(found, system.by_unknown) for part in standing]
        by_unknown = -inverse @ system.by_unknown
        values = np.zeros(self.layout.outputs)
        jacobian = np.zeros((self.layout.outputs, len(unknowns)))
        for part, (loads, by_own) in zip(standing, made, strict=True):
            part.loads(loads, by_own, by_unknown, values, jacobian)
        template.ends.put(unknowns, found, by_unknown, values, jacobian)
        felt = jacobian[:, self._free]
        felt[np.abs(felt) < FELT] = 0.0
        jacobian[:, self._free] = felt
        return StanceLoads(values, jacobian)

    def held(self, lifts: Mapping[str, Lift]) -> bool:
        """Whether the equations tell every motion with these supports gone, at the stated geometry and stiffness.

        They do not where a trailer is held only by another one behind it that was never seen hitched elsewhere.
        """
        _, system = self._assembled(self._template(lifts), self.rig.unknowns.starts(), lifts)
        before, _ = _scaling(system.matrix)
        scaled = system.matrix * before
        try:
            inverse = np.linalg.inv(scaled)
        except np.linalg.LinAlgError:
            return False
        return float(np.abs(scaled).max()) * float(np.abs(inverse).max()) < SINGULAR

    def _assembled(
        self, template: Template, unknowns: Array, lifts: Mapping[str, Lift]
    ) -> tuple[list[StandingBody], _System]:
        """The joint system with everything but slope in it."""
        system = _System(template, unknowns)
        standing = self._standing(unknowns, lifts)
        self._scale(system, template)
        template.aboard.put(unknowns, system.right, system.by_unknown)
        for part in standing:
            part.put(system.matrix, system.right, system.by_unknown)
        return standing, system

    def _scaling(self, template: Template) -> tuple[Array, Array]:
        """That of the system as the file describes it, every wheel down: estimates change it by little."""
        if template.scaling is None:
            starts = self.rig.unknowns.starts()
            system = _System(template, starts)
            self._scale(system, template)
            for part in self._standing(starts, {}):
                part.put(system.matrix, system.right, system.by_unknown)
            template.scaling = _scaling(system.matrix)
        return template.scaling

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
            self._templates[key] = Template(self.rig, self.layout, lifts)
        return self._templates[key]

    def _standing(self, unknowns: Array, lifts: Mapping[str, Lift]) -> list[StandingBody]:
        """Bodies at the present geometry and stiffness, each with the stances in which it stands on the same wheels."""
        off = tuple((state, name, wheels) for state, lift in lifts.items() for name, wheels in lift.wheels.items())
        if off not in self._places:
            lifted = {(state, name): wheels for state, name, wheels in off}
            self._places[off] = places_of(self.rig, self.layout, lifted)
        plain = {name: self.rig.body(name, unknowns) for name in self.rig.layouts}
        return [StandingBody(place, plain[place.vehicle].lifted(place.off), unknowns) for place in self._places[off]]

    # -- filling ----------------------------------------------------------------------------------------------------

    def _scale(self, system: _System, template: Template) -> None:
        """Coefficients that are the place of a coupling or the stiffness of a tie."""
        for joint, factors in template.places.items():
            system.matrix += self.rig.coupling_x(joint, system.unknowns) * factors
        for joint, factors in template.ties.items():
            system.matrix += self.rig.tie(joint, system.unknowns) * factors

    def _slope(self, system: _System, standing: Sequence[StandingBody], found: Array) -> None:
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
