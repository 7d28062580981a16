"""Changes that statics expects of a load: the operator's influences, with the doubt of tape and springs."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from steelyard.adjustment import joints_of
from steelyard.learning.channels import Array
from steelyard.model import Place, Role, State, Vehicle, WeighDay
from steelyard.statics import (
    TAPE,
    BodyLayout,
    Combination,
    Joint,
    Springs,
    ride_rate,
    roll_rate,
    springs_of,
    tie_rate,
)
from steelyard.units import Quantity

_STEP = 0.1
"""How far each number is moved to see what it does, in its standard uncertainties."""


@dataclass(frozen=True, slots=True)
class LoadPlace:
    """The place of an added load: a vehicle and a place on it [m]; ``coupling`` where that is one of its couplings."""

    vehicle: str
    x: Quantity
    y: Quantity
    coupling: str = ""


@dataclass(frozen=True)
class LoadInfluences:
    """Change of the loads at a list of places for one kilogram more.

    Attributes
    ----------
    values: change of each place's load [1], shape (k,). roots: what one standard uncertainty of each number that
        statics rests on does to it, shape (k, numbers).
    """

    values: Array
    roots: Array

    def ratio(self, above: Array, below: Array) -> tuple[float, float] | None:
        """The ratio of two sums of the places, factors of shape (k,), and its standard uncertainty; None: no ratio."""
        bottom = float(below @ self.values)
        if abs(bottom) < 1e-6:
            return None
        value = float(above @ self.values) / bottom
        return value, float(np.linalg.norm((above - value * below) @ self.roots)) / abs(bottom)


@dataclass(frozen=True)
class _Rig:
    """The numbers that the operator is made of, in one state."""

    springs: dict[str, Springs]
    joints: tuple[Joint, ...]
    x: float
    y: float


def influences(day: WeighDay, state: State, load: LoadPlace, places: list[Place]) -> LoadInfluences:
    """Effect of a load at ``load`` on ``places``, by the operator at the springs that the file states or leaves open.

    Raises
    ------
    TipsOverError: the supports of the state do not hold the rig up.
    """
    layouts = {name: BodyLayout(day.vehicles[name]) for name in state.vehicles}
    plain = _Rig(
        {name: springs_of(day.vehicles[name]) for name in state.vehicles},
        tuple(joints_of(day, state)),
        load.x.value,
        load.y.value,
    )

    def answer(rig: _Rig) -> Array:
        bodies = {name: layout.build(rig.springs[name]) for name, layout in layouts.items()}
        found = Combination(bodies, rig.joints).place_influence(load.vehicle, x=rig.x, y=rig.y)
        out = np.zeros(len(places))
        for row, place in enumerate(places):
            for wheel in place.wheels:
                out[row] += found.wheels[wheel.vehicle][2 * (wheel.axle - 1) + (wheel.side == "R")]
            out[row] += sum(found.couplings[trailer] for trailer in place.couplings)
        return out

    roots = [
        (answer(moved(plain, _STEP)) - answer(moved(plain, -_STEP))) / (2.0 * _STEP)
        for moved in _moves(day, state, load)
    ]
    return LoadInfluences(answer(plain), np.array(roots).T.reshape(len(places), -1))


_Move = Callable[[_Rig, float], _Rig]


def _moves(day: WeighDay, state: State, load: LoadPlace) -> Iterator[_Move]:
    """Each number in doubt, moved by some of its standard uncertainties."""
    yield lambda rig, by: replace(rig, x=rig.x + by * load.x.u_or(TAPE))
    yield lambda rig, by: replace(rig, y=rig.y + by * load.y.u_or(TAPE))
    for name in state.vehicles:
        yield from _own_moves(day.vehicles[name])
    for place, joint in enumerate(joints_of(day, state)):
        link = state.link_of_trailer(joint.trailer)
        if link is not None:
            coupling = day.vehicles[link.towing].couplings[link.at]
            yield _joint_move(place, coupling.x.u_or(TAPE), tie_rate(coupling).relative_u)


def _own_moves(vehicle: Vehicle) -> Iterator[_Move]:
    for index, axle in enumerate(vehicle.axles):
        if index > 0 or vehicle.role is not Role.TOWING:
            yield _spring_move(vehicle.id, "x", index, axle.x.u_or(TAPE))
        yield _spring_move(vehicle.id, "track", index, axle.track.u_or(TAPE))
        yield _spring_move(vehicle.id, "ride", index, ride_rate(axle).relative_u)
        yield _spring_move(vehicle.id, "roll", index, roll_rate(axle).relative_u)


def _spring_move(vehicle: str, what: str, index: int, u: float) -> _Move:
    def moved(rig: _Rig, by: float) -> _Rig:
        springs = rig.springs[vehicle]
        values: Array = getattr(springs, what).copy()
        if what in ("x", "track"):
            values[index] += by * u
        else:  # a rate is in doubt as a factor
            values[index] *= math.exp(by * u)
        return replace(rig, springs={**rig.springs, vehicle: replace(springs, **{what: values})})

    return moved


def _joint_move(place: int, u: float, tie_u: float) -> _Move:
    def moved(rig: _Rig, by: float) -> _Rig:
        joint = rig.joints[place]
        other = replace(joint, x=joint.x + by * u, tie=joint.tie * math.exp(by * tie_u))
        return replace(rig, joints=(*rig.joints[:place], other, *rig.joints[place + 1 :]))

    return moved
