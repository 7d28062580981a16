"""The vehicles of a state as a rule of the road sees them: coupled front to rear, axles counted through."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from steelyard.classes import dataclass
from steelyard.model import (
    COMBINATION,
    Axle,
    Link,
    Measurand,
    Role,
    State,
    Vehicle,
    WeighDay,
    axle_group_load,
    axle_load,
    axle_spread,
    combination_gross,
    gross_load,
)


@dataclass(frozen=True, slots=True)
class RoadAxle:
    """One axle of a unit.

    Attributes
    ----------
    number: counted from 1 through its vehicle. place: counted from 1 through the unit, front to rear, as findings do.
    x: place behind the first axle of the unit [m], the hitch straight.
    """

    vehicle: Vehicle
    number: int
    axle: Axle
    place: int
    x: float

    @property
    def path(self) -> str:
        """Where it stands in the file, counted from 1 as faults of the file are: ``vehicles.tow.axles[2]``."""
        return f"vehicles.{self.vehicle.id}.axles[{self.number}]"


@dataclass(frozen=True, slots=True)
class RoadUnit:
    """The coupled vehicles of a state front to rear, or one vehicle that nothing is coupled to.

    Attributes
    ----------
    owner: of its findings: ``combination``, or the vehicle's name. axles: front to rear.
    """

    owner: str
    vehicles: tuple[Vehicle, ...]
    links: tuple[Link, ...]
    axles: tuple[RoadAxle, ...]

    @property
    def title(self) -> str:
        """Its name for people."""
        return "combination" if self.owner == COMBINATION else self.vehicles[0].title

    @property
    def towing(self) -> Vehicle | None:
        """The motor vehicle in front; None where a trailer stands alone."""
        first = self.vehicles[0]
        return first if first.role is Role.TOWING else None

    @property
    def gross(self) -> Measurand:
        """The load of all its wheels; of a trailer that stands alone, its stand too."""
        return combination_gross() if self.owner == COMBINATION else gross_load(self.owner)

    def load(self, first: int, last: int) -> Measurand:
        """The load of neighbouring axles, counted from 1."""
        axle, end = self.axles[first - 1], self.axles[last - 1]
        if first == last:
            return axle_load(axle.vehicle.id, axle.number)
        return axle_group_load(self.owner, axle.place, end.place)

    def spread_finding(self, first: int, last: int) -> Measurand:
        """The distance between two axles as a finding, which has a doubt."""
        return axle_spread(self.owner, self.axles[first - 1].place, self.axles[last - 1].place)

    def spread(self, first: int, last: int) -> float:
        """The distance between two axles [m], as taped."""
        return self.axles[last - 1].x - self.axles[first - 1].x

    def numbers(self, vehicle: str) -> range:
        """The numbers of a vehicle's axles among those of the unit, counted from 1."""
        own = [number for number, axle in enumerate(self.axles, start=1) if axle.vehicle.id == vehicle]
        return range(own[0], own[-1] + 1) if own else range(0)

    def groups(self, least: int = 1) -> Iterator[tuple[int, int]]:
        """First and last of every group of at least so many neighbouring axles, counted from 1."""
        for first in range(1, len(self.axles) + 1):
            yield from ((first, last) for last in range(first + least - 1, len(self.axles) + 1))

    def axles_text(self, first: int, last: int) -> str:
        """Some axles for people: ``axles 2 to 5``."""
        start, end = self.axles[first - 1].place, self.axles[last - 1].place
        return f"axle {start}" if start == end else f"axles {start} to {end}"

    def axles_title(self, first: int, last: int) -> str:
        """Some axles for people with whose they are: one axle by its vehicle, several as they are counted through."""
        if first == last:
            axle = self.axles[first - 1]
            return f"{axle.vehicle.title}, axle {axle.number}"
        return f"{self.title}, {self.axles_text(first, last)}"


@dataclass(frozen=True)
class Train:
    """The vehicles of one state."""

    day: WeighDay
    state: State

    @cached_property
    def units(self) -> tuple[RoadUnit, ...]:
        """The units of the state, that of the coupled vehicles first."""
        coupled = [name for link in self.state.links for name in (link.towing, link.trailer)]
        chain = tuple(dict.fromkeys(coupled))
        units = [self._unit(COMBINATION, chain, self.state.links)] if chain else []
        units.extend(self._unit(name, (name,), ()) for name in self.state.vehicles if name not in chain)
        return tuple(units)

    def alone(self, vehicle: str) -> RoadUnit:
        """One vehicle of the state by itself, whatever is coupled to it."""
        return self._unit(vehicle, (vehicle,), ())

    def _unit(self, owner: str, names: tuple[str, ...], links: tuple[Link, ...]) -> RoadUnit:
        vehicles = tuple(self.day.vehicles[name] for name in names)
        origin = {names[0]: 0.0}
        for link in links:
            at = self.day.vehicles[link.towing].couplings[link.at]
            origin[link.trailer] = origin[link.towing] + at.x.value
        standing = [(vehicle, n, axle) for vehicle in vehicles for n, axle in enumerate(vehicle.axles, start=1)]
        axles = tuple(
            RoadAxle(vehicle, number, axle, place, origin[vehicle.id] + axle.x.value)
            for place, (vehicle, number, axle) in enumerate(standing, start=1)
            if not self.state.is_up(vehicle.id, number)
        )
        return RoadUnit(owner, vehicles, links, axles)
