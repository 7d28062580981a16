"""The shape of a rig: all that the list of its findings depends on, and nothing that a reading or a tape changes.

The list is made from a shape alone (``recipes.py``). Days of one shape therefore share it, and a day of another shape
cannot be given it by mistake: what is not in the shape cannot have entered the list.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from steelyard.adjustment import Adjustment
from steelyard.model import Cargo, Role, State
from steelyard.requirements import restorations, steering_changes

EVERY_PAIR = 20
"""Up to so many states, the change between every two of them is told. Beyond, only changes between neighbours and those
that are asked for: the number of pairs grows with the square of the states, and nobody reads them all."""


class VehicleShape(NamedTuple):
    """A vehicle. ``places``, ``tracks``: for each axle the index of the unknown, None where the number is exact.

    ``payload`` and ``unladen``: whether a payload is rated, and whether what it counts from is known.
    """

    id: str
    title: str
    wheels: tuple[str, ...]
    towing: bool
    payload: bool
    unladen: bool
    places: tuple[int | None, ...]
    tracks: tuple[int | None, ...]


class JointShape(NamedTuple):
    """A coupling, or a stand where ``towing`` is None; where its load, couple and roll tie are among the outputs.

    ``place`` is the index of the coupling's place among the unknowns, None where that is exact. ``distributes``:
    whether a weight-distributing couple acts there.
    """

    trailer: str
    towing: str | None
    load: int
    couple: int | None
    tie: int | None
    place: int | None
    distributes: bool


class StateShape(NamedTuple):
    """A state; ``wheels`` is the first output of each vehicle's wheels, ``coupled`` the vehicles in its links."""

    id: str
    measured: bool
    vehicles: tuple[str, ...]
    wheels: tuple[int, ...]
    joints: tuple[JointShape, ...]
    coupled: frozenset[str]


class CargoShape(NamedTuple):
    """An item of cargo of which something is unknown.

    ``mass``: the index of its mass among the unknowns; None: it is stated, or the cargo is in no state. ``places``: for
    x and y whether the place is exact, the index of what tells it, and that of what this is to be divided by.
    """

    id: str
    title: str
    mass_known: bool
    mass: int | None
    places: tuple[tuple[bool, int | None, int | None], ...]


class RestoredShape(NamedTuple):
    """A coupling that distributes weight, counted from 1, and the states that it is compared with."""

    state: str
    without: str
    alone: str
    towing: str
    number: int


class ListShape(NamedTuple):
    """All that the findings of some states are made from.

    ``states`` are all whose loads are needed, in the order of the file but for those that only ``steering`` needs;
    ``told`` those that have findings of their own; ``pairs`` those between which changes are told; ``steering`` the
    pairs of states, each with its vehicle, between which a steering axle may lose load.
    """

    vehicles: tuple[VehicleShape, ...]
    states: tuple[StateShape, ...]
    told: tuple[str, ...]
    pairs: tuple[tuple[str, str], ...]
    steering: tuple[tuple[str, str, str], ...]
    restored: tuple[RestoredShape, ...]
    cargo: tuple[CargoShape, ...]


def shape_of(
    adjustment: Adjustment, only: tuple[str, ...] | None, about: str | None, changes: Collection[tuple[str, str]]
) -> ListShape:
    """The shape of a day's findings; see ``Catalogue.entries`` for what may be asked."""
    day, tipped = adjustment.rig.day, adjustment.tipped
    wanted = day.states if only is None else only
    states = {state.id: state for state in day.states.values() if state.id in wanted and state.id not in tipped}
    pairs = tuple(pair for pair in _pairs(adjustment, tuple(states), changes) if about in (None, pair[1]))
    steering: list[tuple[str, str, str]] = []
    for before, after, vehicle in steering_changes(day, about):
        more = about is not None or only is None or before in only
        if after in states and (before in states or (more and before not in tipped)):
            states.setdefault(before, day.states[before])
            steering.append((before, after, vehicle))
    measured = day.measured_states()
    return ListShape(
        tuple(_vehicle(adjustment, name) for name in day.vehicles if name in adjustment.rig.layouts),
        tuple(_state(adjustment, state, measured=state.id in measured) for state in states.values()),
        tuple(name for name in states if name in wanted and about in (None, name)),
        pairs,
        tuple(steering),
        tuple(_restored(adjustment, states if about is None else (about,), states)),
        tuple(_cargo(adjustment)) if only is None else (),
    )


def _pairs(
    adjustment: Adjustment, states: Sequence[str], asked: Collection[tuple[str, str]]
) -> Iterator[tuple[str, str]]:
    """The pairs of states whose change is told, in file order."""
    if len(states) <= EVERY_PAIR:
        yield from combinations(states, 2)
        return
    place = {state: number for number, state in enumerate(states)}
    told = [(one, other) for one, other in asked if {one, other} <= place.keys()]
    wanted = {pair for pair in adjustment.rig.day.neighbours() if {*pair} <= place.keys()}
    wanted |= {(one, other) if place[one] <= place[other] else (other, one) for one, other in told}
    yield from sorted(wanted, key=lambda pair: (place[pair[0]], place[pair[1]]))


def _vehicle(adjustment: Adjustment, name: str) -> VehicleShape:
    rig, index = adjustment.rig, adjustment.rig.unknowns.index
    vehicle = rig.day.vehicles[name]
    axles = range(1, len(vehicle.axles) + 1)
    return VehicleShape(
        name,
        vehicle.title,
        vehicle.wheels,
        vehicle.role is Role.TOWING,
        vehicle.ratings.payload is not None,
        name in rig.unladen,
        tuple(index.get(("x", name, axle)) for axle in axles),
        tuple(index.get(("track", name, axle)) for axle in axles),
    )


def _state(adjustment: Adjustment, state: State, *, measured: bool) -> StateShape:
    rig, layout = adjustment.rig, adjustment.layout
    at = layout.level[state.id]
    loads, couples, ties = layout.coupling_out[at], layout.couple_out[at], layout.tie_out[at]
    joints = tuple(
        JointShape(
            joint.trailer,
            joint.towing,
            loads[joint.trailer],
            couples.get(joint.trailer),
            ties.get(joint.trailer),
            rig.coupling_x_at(joint),
            rig.couple_root(state.id, joint.trailer) is not None,
        )
        for joint in rig.joints[state.id]
    )
    coupled = frozenset(name for link in state.links for name in (link.towing, link.trailer))
    wheels = tuple(layout.wheels_out[at][name].start for name in state.vehicles)
    return StateShape(state.id, measured, state.vehicles, wheels, joints, coupled)


def _restored(adjustment: Adjustment, within: Collection[str], states: Collection[str]) -> Iterator[RestoredShape]:
    """Where the day has the combination without the couple and its vehicle alone."""
    day = adjustment.rig.day
    for match in restorations(day, within):
        if match.without is None or match.alone is None or not {match.state, match.without, match.alone} <= {*states}:
            continue
        towing = day.vehicles[match.link.towing]
        if towing.couplings[match.link.at].x.value <= towing.axles[-1].x.value:
            continue  # hitched ahead of the rear axle, a trailer takes nothing off the front one
        yield RestoredShape(match.state, match.without, match.alone, towing.id, match.number)


def _cargo(adjustment: Adjustment) -> Iterator[CargoShape]:
    index = adjustment.rig.unknowns.index
    for name, cargo in adjustment.rig.day.cargo.items():
        if cargo.mass_known and cargo.x is not None and cargo.y is not None:
            continue
        mass = index.get(("cargo", name, "mass"))
        places: list[tuple[bool, int | None, int | None]] = []
        for key, place in _stated(cargo):
            taped = index.get(("cargo", name, key, place))
            if place is not None and taped is None:
                places.append((True, None, None))
                continue
            moment = index.get(("cargo", name, "moment", key))
            found = taped if taped is not None else index.get(("cargo", name, key))
            places.append((False, found, None) if moment is None else (False, moment, mass))
        yield CargoShape(name, cargo.title, cargo.mass_known, mass, tuple(places))


def _stated(cargo: Cargo) -> tuple[tuple[str, object], ...]:
    return ("x", cargo.x), ("y", cargo.y)
