"""Where a reading can stand in each state of a day: wheels, axles, groups, vehicles, a trailer's stand or coupling."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated, Literal

from steelyard.model import DistributionKind, Role, State, Vehicle, WeighDay

_Kind = Literal["wheel", "axle", "group", "vehicle", "coupling"]


@dataclass(frozen=True, slots=True)
class PlaceShape:
    """A place that a draft may read."""

    place: Annotated[str, "As a reading names it; several may be joined by `+`."]
    kind: _Kind
    vehicle: str
    covers: Annotated[tuple[str, ...], "The wheels that it carries."]


def places_of(day: WeighDay) -> dict[str, tuple[PlaceShape, ...]]:
    """By state every place that a draft may read, with the wheels that it covers; pads go under those of one wheel."""
    return {state.id: tuple(_of_state(day, state)) for state in day.states.values()}


def _of_state(day: WeighDay, state: State) -> Iterator[PlaceShape]:
    barred = {link.trailer for link in state.links if link.distribution.kind is not DistributionKind.NONE}
    for name in state.vehicles:
        vehicle = day.vehicles[name]
        yield from _of_vehicle(vehicle, state.lifted.get(name, frozenset()))
        if vehicle.role is Role.TRAILER and name not in barred:
            yield _place("coupling", name, f"{name}/coupling", ())


def _of_vehicle(vehicle: Vehicle, up: frozenset[int]) -> Iterator[PlaceShape]:
    count, name = len(vehicle.axles), vehicle.id
    for axle in range(1, count + 1):
        if axle in up:
            continue
        for side in "LR":
            yield _place("wheel", name, f"{name}/{axle}{side}", (axle,), side)
        yield _place("axle", name, f"{name}/{axle}", (axle,))
    groups: dict[str, list[int]] = {}
    for axle, item in enumerate(vehicle.axles, 1):
        if item.group is not None:
            groups.setdefault(item.group, []).extend(() if axle in up else (axle,))
    for axles in groups.values():
        if 1 < len(axles) < count:
            yield _place("group", name, "+".join(f"{name}/{axle}" for axle in axles), tuple(axles))
    yield _place("vehicle", name, name, tuple(axle for axle in range(1, count + 1) if axle not in up))


def _place(kind: _Kind, vehicle: str, text: str, axles: tuple[int, ...], sides: str = "LR") -> PlaceShape:
    return PlaceShape(text, kind, vehicle, tuple(f"{vehicle}/{axle}{side}" for axle in axles for side in sides))
