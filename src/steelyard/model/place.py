"""Places, where an instrument stands: ``tow/1L``, ``tow/1``, ``tow``, ``stock/coupling``, some joined by ``+``."""

from __future__ import annotations

import re
from collections.abc import Mapping

from steelyard.classes import dataclass
from steelyard.model.vehicle import Role, Vehicle

_PART = re.compile(r"^(?P<vehicle>[A-Za-z0-9_-]+)(?:/(?P<what>[A-Za-z0-9_-]+))?$")
_WHEEL = re.compile(r"^(?P<axle>[1-9][0-9]?)(?P<side>[LR])?$")


class PlaceError(ValueError):
    """A text that is no place on the vehicles of the day; the message says what would be right."""


@dataclass(frozen=True, slots=True, order=True)
class WheelRef:
    """A wheel end: vehicle, axle number from the front, side ``L`` or ``R``."""

    vehicle: str
    axle: int
    side: str

    @property
    def id(self) -> str:
        """``1L`` and so on, within its vehicle."""
        return f"{self.axle}{self.side}"

    def __str__(self) -> str:
        return f"{self.vehicle}/{self.axle}{self.side}"


@dataclass(frozen=True, slots=True)
class Place:
    """The supports that one reading weighs: wheel ends, and trailers whose coupling point rests on the instrument."""

    text: str
    wheels: tuple[WheelRef, ...]
    couplings: tuple[str, ...] = ()

    @property
    def vehicles(self) -> frozenset[str]:
        """The vehicles that have a wheel or their coupling point on the instrument."""
        return frozenset(wheel.vehicle for wheel in self.wheels) | frozenset(self.couplings)


def parse_place(text: str, vehicles: Mapping[str, Vehicle]) -> Place:
    """Read a place against the vehicles of the day.

    Raises
    ------
    PlaceError: a vehicle, axle or wheel that does not exist, a coupling point of a towing vehicle, a wheel named twice.
    """
    wheels: list[WheelRef] = []
    couplings: list[str] = []
    for part in text.split("+"):
        match = _PART.match(part.strip())
        if match is None:
            raise PlaceError(
                f"{part.strip()!r} is not a place; write vehicle/1L, vehicle/1, vehicle or trailer/coupling"
            )
        vehicle = vehicles.get(match["vehicle"])
        if vehicle is None:
            raise PlaceError(f"there is no vehicle {match['vehicle']!r}; the day has {_listed(vehicles)}")
        if match["what"] == "coupling":
            if vehicle.role is not Role.TRAILER:
                raise PlaceError(f"{vehicle.id!r} is a towing vehicle; only a trailer rests on its coupling point")
            couplings.append(vehicle.id)
        else:
            wheels.extend(_wheels(vehicle, match["what"]))
    if len(set(wheels)) < len(wheels) or len(set(couplings)) < len(couplings):
        raise PlaceError("names a wheel twice")
    return Place(text, tuple(wheels), tuple(couplings))


def _listed(names: Mapping[str, object]) -> str:
    return ", ".join(sorted(names)) or "none"


def _wheels(vehicle: Vehicle, what: str | None) -> list[WheelRef]:
    count = len(vehicle.axles)
    if what is None:
        return [WheelRef(vehicle.id, axle, side) for axle in range(1, count + 1) for side in "LR"]
    match = _WHEEL.match(what)
    if match is None or not 1 <= int(match["axle"]) <= count:
        raise PlaceError(f"{vehicle.id!r} has no wheel {what!r}; its wheels are {', '.join(vehicle.wheels)}")
    sides = match["side"] or "LR"
    return [WheelRef(vehicle.id, int(match["axle"]), side) for side in sides]
