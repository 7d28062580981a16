"""A state's rig on the ground plan: wheels, couplings and outlines in metres from the first vehicle's front axle.

Wheels and couplings stand where the file says. Tyres and bodies have no sizes in the file: the outlines are drawn by
rule of thumb (common practice, no source), to tell a pickup's end from a trailer's, and nothing is read off them.
"""

from __future__ import annotations

from itertools import pairwise

from steelyard.classes import dataclass
from steelyard.model import Axle, Coupling, CouplingType, Distribution, DistributionKind, Role, State, Vehicle, WeighDay

TYRE = 0.76
"""Length of a tyre's outline from above [m]."""
TREAD = 0.24
"""Width of a tyre's outline [m]."""
SKIRT = 0.06
"""How far a body reaches beyond the outermost tyre [m]."""
_DUAL = 0.31  # m, between the middles of a dual pair's tyres
_OVERHANG = 0.95  # m, ahead of a towing vehicle's first axle
_TAIL = 1.15  # m, behind the last axle
_BUMPER = 0.16  # m, from the end of the body to a coupling behind it
_APART = 1.2  # m, between vehicles that are not coupled
_OVER = (CouplingType.GOOSENECK, CouplingType.FIFTH_WHEEL)


@dataclass(frozen=True, slots=True)
class PlacedAxle:
    """One axle: its number on its vehicle and its place in the rig [m]."""

    number: int
    x: float
    axle: Axle

    @property
    def half(self) -> float:
        """From the centreline to the middle of a wheel end [m]."""
        return self.axle.track.value / 2

    @property
    def tyres(self) -> tuple[float, ...]:
        """Offsets of the tyres of one end, outward from the wheel end's middle [m]."""
        return (-_DUAL / 2, _DUAL / 2) if self.axle.dual else (0.0,)

    @property
    def outer(self) -> float:
        """From the centreline to the outer edge of the outermost tyre [m]."""
        return self.half + max(self.tyres) + TREAD / 2


@dataclass(frozen=True, slots=True)
class PlacedVehicle:
    """One vehicle: its origin, axles and outline in the rig [m].

    ``neck`` is where a nose that reaches over the towing vehicle ends; None without one.
    """

    vehicle: Vehicle
    origin: float
    axles: tuple[PlacedAxle, ...]
    front: float
    rear: float
    neck: float | None

    @property
    def half_width(self) -> float:
        """Half the width of the body [m]."""
        return max(axle.outer for axle in self.axles) + SKIRT

    @property
    def tip(self) -> float:
        """Its foremost point, the drawbar's end on a trailer [m]."""
        return min(self.front, self.origin) if self.towed else self.front

    @property
    def towed(self) -> bool:
        """Whether it is a trailer."""
        return self.vehicle.role is Role.TRAILER


@dataclass(frozen=True, slots=True)
class PlacedCoupling:
    """One coupling made, or the stand under a parked trailer (``towing`` None). ``number`` counts from 1."""

    number: int
    x: float
    towing: str | None
    trailer: str
    coupling: Coupling | None
    distribution: Distribution

    @property
    def distributing(self) -> bool:
        """Whether weight distribution is on."""
        return self.distribution.kind is not DistributionKind.NONE


@dataclass(frozen=True, slots=True)
class DrawnRig:
    """Everything that one state puts on the ground."""

    vehicles: tuple[PlacedVehicle, ...]
    couplings: tuple[PlacedCoupling, ...]

    @property
    def front(self) -> float:
        """The foremost point [m]."""
        return min(placed.tip for placed in self.vehicles)

    @property
    def rear(self) -> float:
        """The rearmost point [m]."""
        ends = [placed.rear for placed in self.vehicles] + [coupling.x + _BUMPER for coupling in self.couplings]
        return max(ends)

    @property
    def half_width(self) -> float:
        """Half the width of the widest vehicle [m]."""
        return max(placed.half_width for placed in self.vehicles)

    def level(self, vehicle: str) -> int:
        """How many vehicles bear this one at a coupling, one on the other: 0 for one on its own wheels only."""
        ahead = next((item.towing for item in self.couplings if item.trailer == vehicle), None)
        return 0 if ahead is None else 1 + self.level(ahead)

    @property
    def pitch(self) -> float:
        """The least distance between two axles in the rig [m]; without two, a long one."""
        places = sorted(axle.x for placed in self.vehicles for axle in placed.axles)
        return min((after - before for before, after in pairwise(places)), default=10.0)


def rig_of(day: WeighDay, state: State) -> DrawnRig:
    """The rig of ``state``: coupled vehicles one on the other, those that are not behind one another with a space."""
    placed: list[PlacedVehicle] = []
    couplings: list[PlacedCoupling] = []
    for name in _in_order(state):
        vehicle, link = day.vehicles[name], state.link_of_trailer(name)
        ahead = next((item for item in placed if link is not None and item.vehicle.id == link.towing), None)
        if link is not None and ahead is not None:
            coupling = ahead.vehicle.couplings[link.at]
            origin = ahead.origin + coupling.x.value
            neck = _neck(vehicle, coupling.type, ahead.rear - origin)
            number = coupling_number(day, state, name)
            couplings.append(PlacedCoupling(number, origin, link.towing, name, coupling, link.distribution))
        else:
            neck = _neck(vehicle, _usual_coupling(day, name), 0.8)
            ends = [item.rear for item in placed]
            origin = max(ends) + _APART - _placed(vehicle, 0.0, neck).tip if ends else 0.0
            if vehicle.role is Role.TRAILER:
                number = coupling_number(day, state, name)
                couplings.append(PlacedCoupling(number, origin, None, name, None, Distribution()))
        placed.append(_placed(vehicle, origin, neck))
    return DrawnRig(tuple(placed), tuple(couplings))


def coupling_number(day: WeighDay, state: State, trailer: str) -> int:
    """The number in the findings of the coupling, or stand, of ``trailer``.

    Couplings are counted from the front of the combination; stands of parked trailers follow in the state's order.
    """
    coupled = [link.trailer for link in state.links]
    parked = [name for name in state.vehicles if day.vehicles[name].role is Role.TRAILER and name not in coupled]
    return [*coupled, *parked].index(trailer) + 1


def _in_order(state: State) -> list[str]:
    """The vehicles front to rear: a trailer comes right behind the one it hangs on."""
    trailers = {link.trailer for link in state.links}
    order: list[str] = []

    def follow(name: str) -> None:
        if name not in order:
            order.append(name)
            for link in state.links:
                if link.towing == name:
                    follow(link.trailer)

    for name in [name for name in state.vehicles if name not in trailers] + list(state.vehicles):
        follow(name)
    return order


def _usual_coupling(day: WeighDay, trailer: str) -> CouplingType:
    """The type of coupling that the trailer hangs on in other states; a ball where there is none."""
    links = [state.link_of_trailer(trailer) for state in day.states.values()]
    return next(
        (day.vehicles[link.towing].couplings[link.at].type for link in links if link is not None), CouplingType.BALL
    )


def _neck(vehicle: Vehicle, kind: CouplingType, clear: float) -> float | None:
    """Behind the coupling point, where the nose of a trailer that reaches over its towing vehicle widens [m]."""
    if kind not in _OVER:
        return None
    return min(max(clear + 0.15, 0.5), 0.8 * vehicle.axles[0].x.value)


def _placed(vehicle: Vehicle, origin: float, neck: float | None) -> PlacedVehicle:
    axles = tuple(PlacedAxle(place, origin + axle.x.value, axle) for place, axle in enumerate(vehicle.axles, 1))
    first, last = vehicle.axles[0].x.value, max(axle.x.value for axle in vehicle.axles)
    behind = [coupling.x.value for coupling in vehicle.couplings.values() if coupling.x.value > last]
    rear = max(behind) - _BUMPER if behind else last + _TAIL
    if vehicle.role is Role.TOWING:
        front = -_OVERHANG
    elif neck is not None:
        front = -0.55
    else:
        front = min(1.25, 0.42 * first)
    floor = [x for x, _ in vehicle.load_floor]
    if floor:
        front, rear = min(front, *floor) if vehicle.role is Role.TOWING else min(floor), max(rear, *floor)
    if neck is None and vehicle.role is Role.TRAILER:
        front = max(front, 0.15)
    rear = max(rear, last + TYRE / 2 + SKIRT)
    return PlacedVehicle(vehicle, origin, axles, origin + front, origin + rear, None if neck is None else origin + neck)
