"""Arms: with what lever each support of a rig tells where a load on one of its vehicles stands.

By the balance of each vehicle alone, so without any spring: a vehicle behind passes what it gains on at its coupling, a
vehicle in front gains only at the coupling point of the one that is loaded.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steelyard.model import CouplingType, Role, State, WeighDay
from steelyard.statics import TAPE


@dataclass(frozen=True, slots=True)
class Arm:
    """The lever of one support [m]: ``along`` and ``across`` the loaded vehicle.

    ``numbers`` names the taped lengths that it hangs on, with the derivative of (along, across) by each and its
    standard uncertainty [m].
    """

    along: float
    across: float
    numbers: tuple[tuple[str, float, float, float], ...] = ()


Support = tuple[str, str]
"""A vehicle and one of its wheels, or ``coupling`` for a trailer's coupling point on a stand."""


def arms_of(day: WeighDay, state: State, vehicle: str) -> Mapping[Support, Arm] | None:
    """The arm of every support of ``state`` for a load on ``vehicle``; None where bars with a rate shift load too."""
    if any(link.distribution.rate.value != 0.0 for link in state.links):
        return None
    arms: dict[Support, Arm] = {}
    for name in state.vehicles:
        arms.update(_own(day, name) if name == vehicle else _other(day, state, name, vehicle))
        if day.vehicles[name].role is Role.TRAILER and state.link_of_trailer(name) is None:
            arms[name, "coupling"] = Arm(0.0, 0.0)
    return arms


def _own(day: WeighDay, name: str) -> dict[Support, Arm]:
    arms: dict[Support, Arm] = {}
    vehicle = day.vehicles[name]
    for number, axle in enumerate(vehicle.axles, start=1):
        origin = vehicle.role is Role.TOWING and number == 1
        for side, sign in (("L", 0.5), ("R", -0.5)):
            numbers = (
                (f"{name}/{number}/x", 1.0, 0.0, 0.0 if origin else axle.x.u_or(TAPE)),
                (f"{name}/{number}/track", 0.0, sign, axle.track.u_or(TAPE)),
            )
            arms[name, f"{number}{side}"] = Arm(axle.x.value, sign * axle.track.value, numbers)
    return arms


def _other(day: WeighDay, state: State, name: str, loaded: str) -> dict[Support, Arm]:
    """Supports of another vehicle: behind the loaded one all act at its coupling, in front of it at its own point."""
    along, numbers, tied = 0.0, (), False
    here = name
    while (link := state.link_of_trailer(here)) is not None:
        coupling = day.vehicles[link.towing].couplings[link.at]
        if link.towing == loaded:
            along, numbers = coupling.x.value, ((f"{loaded}/{link.at}/x", 1.0, 0.0, coupling.x.u_or(TAPE)),)
            tied = coupling.type is CouplingType.FIFTH_WHEEL
            break
        here = link.towing
    arms: dict[Support, Arm] = {}
    for number, axle in enumerate(day.vehicles[name].axles, start=1):
        for side, sign in (("L", 0.5), ("R", -0.5)):
            across = sign * axle.track.value if tied or _ties(day, state, loaded) else 0.0
            arms[name, f"{number}{side}"] = Arm(along, across, numbers)
    return arms


def _ties(day: WeighDay, state: State, loaded: str) -> bool:
    """Whether the loaded trailer hands roll on to the vehicle in front of it."""
    link = state.link_of_trailer(loaded)
    return link is not None and day.vehicles[link.towing].couplings[link.at].type is CouplingType.FIFTH_WHEEL
