"""Where the vehicles of a state stand from above, along the rig from its front, to a hundredth of the length unit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from steelyard.loading import ScenarioError, floor_of
from steelyard.model import Role, State, WeighDay
from steelyard.questions.above import TREAD, TYRE, PlacedAxle, PlacedVehicle, rig_of
from steelyard.units import Dimension


@dataclass(frozen=True, slots=True)
class StandingAxleShape:
    """One axle as it is drawn."""

    number: Annotated[int, "On its vehicle, from 1."]
    at: float
    half: Annotated[float, "From the centreline to the middle of a wheel end."]
    outer: Annotated[float, "From the centreline to the outermost edge of a tyre."]
    tyres: Annotated[tuple[float, ...], "Middles of the tyres of one side, from the centreline."]


@dataclass(frozen=True, slots=True)
class StandingVehicleShape:
    """One vehicle as it is drawn."""

    id: str
    title: str
    towing: Annotated[bool, "Whether it is a towing vehicle."]
    origin: Annotated[float, "Where its own places are measured from."]
    front: float
    rear: float
    neck: Annotated[float | None, "Where the neck of a trailer ends; null where it has none."]
    half: Annotated[float, "Half its width."]
    floor: Annotated[tuple[tuple[float, float], ...], "Corners of its load floor, from its origin; empty without one."]
    axles: tuple[StandingAxleShape, ...]
    couplings: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class StandingCouplingShape:
    """One coupling point as it is drawn."""

    number: int
    at: float
    trailer: str
    hitched: bool


@dataclass(frozen=True, slots=True)
class StandingRigShape:
    """The rig from above."""

    length: float
    half: Annotated[float, "Half its width."]
    tyre: Annotated[float, "Length of a tyre."]
    tread: Annotated[float, "Width of a tyre."]
    vehicles: tuple[StandingVehicleShape, ...]
    couplings: tuple[StandingCouplingShape, ...]


def standing_shape(day: WeighDay, state: State) -> StandingRigShape:
    """The rig of a state, in the day's unit of length."""
    rig = rig_of(day, state)
    length = day.units.factor(Dimension.LENGTH)
    couplings = (
        StandingCouplingShape(
            item.number, round((item.x - rig.front) / length, 2), item.trailer, item.towing is not None
        )
        for item in rig.couplings
    )
    return StandingRigShape(
        length=round((rig.rear - rig.front) / length, 2),
        half=round(rig.half_width / length, 2),
        tyre=round(min(TYRE, 0.86 * rig.pitch) / length, 2),
        tread=round(TREAD / length, 2),
        vehicles=tuple(_vehicle(day, placed, rig.front, length) for placed in rig.vehicles),
        couplings=tuple(couplings),
    )


def _vehicle(day: WeighDay, placed: PlacedVehicle, front: float, length: float) -> StandingVehicleShape:
    def at(place: float) -> float:
        return round((place - front) / length, 2)

    vehicle = placed.vehicle
    return StandingVehicleShape(
        id=vehicle.id,
        title=vehicle.title,
        towing=vehicle.role is Role.TOWING,
        origin=at(placed.origin),
        front=at(placed.front),
        rear=at(placed.rear),
        neck=None if placed.neck is None else at(placed.neck),
        half=round(placed.half_width / length, 2),
        floor=_floor(day, vehicle.id, length),
        axles=tuple(_axle(axle, at(axle.x), length) for axle in placed.axles),
        couplings=tuple(at(placed.origin + coupling.x.value) for coupling in vehicle.couplings.values()),
    )


def _axle(axle: PlacedAxle, at: float, length: float) -> StandingAxleShape:
    half, outer = (round(part / length, 2) for part in (axle.half, axle.outer))
    return StandingAxleShape(axle.number, at, half, outer, tuple(round(tyre / length, 2) for tyre in axle.tyres))


def _floor(day: WeighDay, vehicle: str, length: float) -> tuple[tuple[float, float], ...]:
    """Corners of the load floor, along and across; empty where it has none."""
    try:
        outline = floor_of(day.vehicles[vehicle])
    except ScenarioError:
        return ()
    return tuple((round(x / length, 2), round(y / length, 2)) for x, y in outline)
