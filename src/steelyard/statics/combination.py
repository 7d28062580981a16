"""The operator: bodies on springs, tied by couplings and stands. Loads and supports in, wheel and coupling loads out.

    [K  G'] [u]   [f - B' S e - B' g]
    [G  0 ] [V] = [h                ]      wheel loads  w = S (B u + e) + g

Everything here is a change against a reference, for free lengths of springs are never known. A coupling is one row,
trailer minus towing; its multiplier is the load down on the towing vehicle. A stand is the same row with the ground in
place of the towing vehicle.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property

import numpy as np

from steelyard.classes import dataclass
from steelyard.statics.body import Array, Body

ALIKE = 1e-6
"""Supports whose loads differ by less than this share pull equally hard."""

STIFF = 1e-9
"""A combination whose scaled operator has a singular value under this share of the largest is a mechanism."""


class TipsOverError(ValueError):
    """The supports left do not hold the combination up."""


@dataclass(frozen=True, slots=True)
class Joint:
    """A trailer's coupling point: on a coupling of ``towing`` at ``x`` [m], or on a stand where ``towing`` is None.

    ``tie`` [kg*m/rad] ties roll (fifth wheel); ``bars`` [kg*m/rad] is the pitch stiffness of weight-distributing bars.
    """

    trailer: str
    towing: str | None = None
    x: float = 0.0
    tie: float = 0.0
    bars: float = 0.0


@dataclass(frozen=True, slots=True)
class Change:
    """A change of masses, heights or couples, in SI units with loads in mass units.

    Attributes
    ----------
    loads: generalised load (mass, pitch moment, roll moment) [kg, kg*m, kg*m] by vehicle.
    couples: weight-distributing couple [kg*m] by trailer; positive loads the front axle and the trailer's axles.
    supports: heights [m] by vehicle, shape (wheels,).
    gaps: rise of the coupling point [m] by trailer: up is positive.
    """

    loads: Mapping[str, Sequence[float]] = field(default_factory=dict[str, Sequence[float]])
    couples: Mapping[str, float] = field(default_factory=dict[str, float])
    supports: Mapping[str, Array] = field(default_factory=dict[str, Array])
    gaps: Mapping[str, float] = field(default_factory=dict[str, float])


@dataclass(frozen=True)
class Response:
    """Changes of wheel loads [kg] by vehicle (shape (wheels,)), of coupling loads [kg] by trailer, and the motion."""

    wheels: dict[str, Array]
    couplings: dict[str, float]
    motion: dict[str, Array]


@dataclass(frozen=True, slots=True)
class Lift:
    """The supports that are off the ground: wheel indices by vehicle, and trailers whose stand carries nothing."""

    wheels: Mapping[str, frozenset[int]] = field(default_factory=dict[str, frozenset[int]])
    stands: frozenset[str] = frozenset()

    @property
    def any(self) -> bool:
        """Whether anything is lifted at all."""
        return bool(self.stands) or any(self.wheels.values())


def mass_at(mass: float, *, x: float, y: float) -> tuple[float, float, float]:
    """The generalised load of a mass [kg] at a place [m]: ``m (1, x, y)``."""
    return (mass, mass * x, mass * y)


class Combination:
    """The vehicles of one state, standing on their wheels.

    Parameters
    ----------
    bodies: by vehicle id, in the order of the state.
    joints: one a trailer, front to rear.

    Raises
    ------
    TipsOverError: fewer than three supports, or supports in one line.
    """

    def __init__(self, bodies: Mapping[str, Body], joints: Sequence[Joint]) -> None:
        self.bodies = dict(bodies)
        self.joints = tuple(joints)
        self.start = {name: 3 * index for index, name in enumerate(self.bodies)}
        self.motions = 3 * len(self.bodies)
        self.matrix = self._assemble()
        self.inverse = _invert(self.matrix, self.motions)
        self._wheel_start: dict[str, int] = {}
        count = 0
        for name, body in self.bodies.items():
            self._wheel_start[name] = count
            count += body.layout.wheels
        self.wheel_count = count

    def wheel_slice(self, vehicle: str) -> slice:
        """Positions of the wheels of ``vehicle`` in a vector of all wheels of the combination."""
        start = self._wheel_start[vehicle]
        return slice(start, start + self.bodies[vehicle].layout.wheels)

    def _assemble(self) -> Array:
        size = self.motions + len(self.joints)
        matrix = np.zeros((size, size))
        for name, body in self.bodies.items():
            at = slice(self.start[name], self.start[name] + 3)
            matrix[at, at] = body.ground_stiffness
        for index, joint in enumerate(self.joints):
            row = self.coupling_row(joint)
            matrix[self.motions + index, : self.motions] = row
            matrix[: self.motions, self.motions + index] = row
            if joint.towing is None:
                continue
            for offset, rate in ((2, joint.tie), (1, joint.bars)):
                near, far = self.start[joint.trailer] + offset, self.start[joint.towing] + offset
                matrix[near, near] += rate
                matrix[far, far] += rate
                matrix[near, far] -= rate
                matrix[far, near] -= rate
        return matrix

    def coupling_row(self, joint: Joint) -> Array:
        """The row ``G`` of one joint over all body motions, shape (3 x vehicles,)."""
        row = np.zeros(self.motions)
        row[self.start[joint.trailer]] = 1.0
        if joint.towing is not None:
            at = self.start[joint.towing]
            row[at] -= 1.0
            row[at + 1] -= joint.x
        return row

    def solve(self, change: Change) -> Response:
        """Loads and motion that ``change`` brings about, no wheel lifting."""
        right = np.zeros(len(self.matrix))
        for name, load in change.loads.items():
            right[self.start[name] : self.start[name] + 3] += np.asarray(load, dtype=float)
        for index, joint in enumerate(self.joints):
            couple = change.couples.get(joint.trailer, 0.0)
            right[self.start[joint.trailer] + 1] += couple
            if joint.towing is not None:
                right[self.start[joint.towing] + 1] -= couple
            right[self.motions + index] -= change.gaps.get(joint.trailer, 0.0)
        for name, heights in change.supports.items():
            at = self.start[name]
            right[at : at + 3] -= self.bodies[name].travel_stiffness @ heights
        found = self.inverse @ right
        motion = {name: found[self.start[name] : self.start[name] + 3] for name in self.bodies}
        wheels: dict[str, Array] = {}
        for name, body in self.bodies.items():
            travel = body.travel @ motion[name]
            if name in change.supports:
                travel = travel + change.supports[name]
            wheels[name] = body.stiffness @ travel
        couplings = {joint.trailer: float(found[self.motions + index]) for index, joint in enumerate(self.joints)}
        return Response(wheels, couplings, motion)

    def place_influence(self, vehicle: str, *, x: float, y: float) -> Response:
        """Change of every load for one kilogram put on ``vehicle`` at a place [m]: the influence coefficients."""
        return self.solve(Change(loads={vehicle: mass_at(1.0, x=x, y=y)}))

    @cached_property
    def stiffness(self) -> Array:
        """``S`` of all wheels, vehicle after vehicle [kg/m], shape (wheels, wheels)."""
        stiffness = np.zeros((self.wheel_count, self.wheel_count))
        for name, body in self.bodies.items():
            rows = self.wheel_slice(name)
            stiffness[rows, rows] = body.stiffness
        return stiffness

    def release(self) -> tuple[Array, Array]:
        """Response to loads that springs do not make (``g``), in balance through the operator.

        Returns
        -------
        wheel loads, shape (wheels, wheels): ``I - S B P B'``; coupling loads, shape (joints, wheels).
        """
        travel = np.zeros((self.wheel_count, self.motions))
        for name, body in self.bodies.items():
            travel[self.wheel_slice(name), self.start[name] : self.start[name] + 3] = body.travel
        motion = -self.inverse[:, : self.motions] @ travel.T
        wheels = np.eye(self.wheel_count) + self.stiffness @ travel @ motion[: self.motions]
        return wheels, motion[self.motions :]

    def support_influence(self) -> tuple[Array, Array]:
        """Change of every load for one metre under each support.

        Returns
        -------
        wheel loads [kg/m], shape (wheels, wheels); coupling loads [kg/m], shape (joints, wheels).
        """
        wheels, couplings = self.release()
        return wheels @ self.stiffness, couplings @ self.stiffness

    def settle(
        self, change: Change, reference: Mapping[str, Array], stands: Mapping[str, float]
    ) -> tuple[Response, Lift]:
        """Loads after ``change`` from ``reference`` wheel loads, wheels lifting where they would have to pull.

        Parameters
        ----------
        reference: wheel loads [kg] before, by vehicle, shape (wheels,).
        stands: load on each stand [kg] before, by trailer.

        Returns
        -------
        The loads themselves (not changes) and what is off the ground.

        Raises
        ------
        TipsOverError: what is left on the ground does not hold the combination up.
        """
        lift = Lift()
        while True:
            loads = self._with_lift(change, reference, stands, lift)
            more = next_lift(self.bodies, loads, self._stand_loads(loads), lift)
            if more is None:
                return loads, lift
            lift = more

    def _stand_loads(self, loads: Response) -> dict[str, float]:
        standing = [joint.trailer for joint in self.joints if joint.towing is None]
        return {trailer: loads.couplings[trailer] for trailer in standing if trailer in loads.couplings}

    def _with_lift(
        self, change: Change, reference: Mapping[str, Array], stands: Mapping[str, float], lift: Lift
    ) -> Response:
        bodies = {name: body.lifted(lift.wheels.get(name, ())) for name, body in self.bodies.items()}
        joints = [joint for joint in self.joints if joint.trailer not in lift.stands]
        rig = Combination(bodies, joints) if lift.any else self
        loads = {name: np.array(change.loads.get(name, (0.0, 0.0, 0.0)), dtype=float) for name in bodies}
        left: dict[str, Array] = {}
        for name, body in bodies.items():
            left[name] = reference[name] if body.kept is None else body.kept @ reference[name]
            loads[name] += body.travel.T @ (reference[name] - left[name])
        for trailer in lift.stands:
            loads[trailer][0] += stands[trailer]
        moved = rig.solve(replace(change, loads={name: tuple(load) for name, load in loads.items()}))
        wheels = {name: left[name] + moved.wheels[name] for name in bodies}
        couplings = {joint.trailer: moved.couplings[joint.trailer] + stands.get(joint.trailer, 0.0) for joint in joints}
        return Response(wheels, couplings, moved.motion)


def next_lift(
    bodies: Mapping[str, Body], loads: Response, stands: Mapping[str, float], lift: Lift, tolerance: float = 1e-9
) -> Lift | None:
    """The next support to leave the ground: the one that pulls hardest, an equalised side as a whole; None: all push.

    Supports that pull equally hard leave together, so that left and right, front and rear are treated alike.
    ``tolerance`` is in kg.
    """
    pulls: list[tuple[float, str, frozenset[int]]] = []
    for name, body in bodies.items():
        off = lift.wheels.get(name, frozenset[int]())
        shared = {wheel for side in body.layout.equalised_sides() for wheel in side}
        alone = [(wheel,) for wheel in range(body.layout.wheels) if wheel not in shared]
        down = [side for side in (*alone, *body.layout.equalised_sides()) if off.isdisjoint(side)]
        pulls.extend((float(np.mean(loads.wheels[name][list(side)])), name, frozenset(side)) for side in down)
    free = {trailer: load for trailer, load in stands.items() if trailer not in lift.stands}
    worst = min([load for load, _, _ in pulls] + list(free.values()), default=0.0)
    if not worst < -tolerance:
        return None
    limit = worst * (1.0 - ALIKE)
    wheels = dict(lift.wheels)
    for load, name, side in pulls:
        if load <= limit:
            wheels[name] = wheels.get(name, frozenset[int]()) | side
    return Lift(wheels, lift.stands | {trailer for trailer, load in free.items() if load <= limit})


def _invert(matrix: Array, motions: int) -> Array:
    """The inverse of the operator, scaled first so that masses and metres do not decide what is singular."""
    scale = np.ones(len(matrix))
    diagonal = np.abs(np.diag(matrix)[:motions])
    scale[:motions] = np.where(diagonal > 0.0, 1.0 / np.sqrt(np.maximum(diagonal, 1e-300)), 1.0)
    for row in range(motions, len(matrix)):
        norm = float(np.linalg.norm(matrix[row] * scale))
        scale[row] = 1.0 / norm if norm > 0.0 else 1.0
    scaled = matrix * scale[:, None] * scale[None, :]
    singular = np.linalg.svd(scaled, compute_uv=False)
    if singular[-1] < STIFF * singular[0]:
        raise TipsOverError("what is on the ground does not hold the combination up")
    return np.linalg.inv(scaled) * scale[:, None] * scale[None, :]
