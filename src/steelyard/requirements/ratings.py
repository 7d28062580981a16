"""The owner's ratings off the labels, windows and rules of thumb, as requirements of a weigh day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import NamedTuple

from steelyard.conformity import Requirement, Sense
from steelyard.model import (
    CouplingType,
    FindingId,
    Measurand,
    Ratings,
    Role,
    State,
    Vehicle,
    VerdictId,
    WeighDay,
    axle_load,
    combination_gross,
    coupling_quantity,
    gross_load,
    wheel_load,
)
from steelyard.requirements.practice import Window, practice
from steelyard.units import Dimension

LABEL = "rating on the label, as given in the file"


_KEPT = 32
"""Sets of requirements that are remembered, the latest ones: the days of a batch are of a few rigs."""

_MOST_STATES = 8
"""Those of a day of more states are made anew each time, so that what is remembered stays small."""


class RatedVehicle(NamedTuple):
    """The ratings on the labels of a vehicle [kg]; ``axles``: of each axle, and of its wheels."""

    id: str
    title: str
    towing: bool
    ratings: Ratings
    axles: tuple[tuple[float | None, float | None], ...]


class RatedLink(NamedTuple):
    """A coupling that is made, with the ratings of the coupling [kg]."""

    towing: str
    trailer: str
    kind: CouplingType
    vertical: float | None
    gross: float | None


class RatedState(NamedTuple):
    """The vehicles of a state and its couplings, front to rear."""

    id: str
    vehicles: tuple[str, ...]
    links: tuple[RatedLink, ...]


class RatedDay(NamedTuple):
    """All that the requirements of a day are made from; days that agree in it share them.

    ``changes``: states before and after, and the vehicle whose steering axle is compared.
    """

    vehicles: tuple[RatedVehicle, ...]
    states: tuple[RatedState, ...]
    changes: tuple[tuple[str, str, str], ...]


def ratings_of(day: WeighDay, only: str | None = None) -> tuple[Requirement, ...]:
    """The ratings and rules of thumb of the day or of the state ``only``, in file order, then those on changes."""
    vehicles = tuple(_vehicle(vehicle) for vehicle in day.vehicles.values())
    states = tuple(_state(day, state) for state in day.states.values() if only in (None, state.id))
    rated = RatedDay(vehicles, states, tuple(steering_changes(day, only)))
    return _remembered(rated) if len(states) <= _MOST_STATES else tuple(_requirements(rated))


def _vehicle(vehicle: Vehicle) -> RatedVehicle:
    axles = tuple((axle.rating, axle.wheel_rating) for axle in vehicle.axles)
    return RatedVehicle(vehicle.id, vehicle.title, vehicle.role is Role.TOWING, vehicle.ratings, axles)


def _state(day: WeighDay, state: State) -> RatedState:
    links: list[RatedLink] = []
    for link in state.links:
        coupling = day.vehicles[link.towing].couplings[link.at]
        links.append(RatedLink(link.towing, link.trailer, coupling.type, coupling.vertical, coupling.gross))
    return RatedState(state.id, state.vehicles, tuple(links))


def _requirements(rated: RatedDay) -> Iterator[Requirement]:
    vehicles = {vehicle.id: vehicle for vehicle in rated.vehicles}
    for state in rated.states:
        for name in state.vehicles:
            yield from _of_vehicle(vehicles[name], state)
        yield from _of_combination(vehicles, state)
    yield from _of_changes(vehicles, rated)


@lru_cache(maxsize=_KEPT)
def _remembered(rated: RatedDay) -> tuple[Requirement, ...]:
    return tuple(_requirements(rated))


def _load(
    finding: FindingId, name: str, label: str, limit: float, remedy: str = "", source: str = LABEL
) -> Requirement:
    limited = str(finding)
    return Requirement(VerdictId.named(limited, name), limited, label, limit, Sense.MAX, source, Dimension.MASS, remedy)


def _of_vehicle(vehicle: RatedVehicle, state: RatedState) -> Iterator[Requirement]:
    if vehicle.ratings.gvwr is not None:
        yield _load(gross_load(vehicle.id).at(state.id), "gvwr", f"{vehicle.title}: GVWR", vehicle.ratings.gvwr)
    if vehicle.ratings.payload is not None:
        payload = Measurand(vehicle.id, "payload").at(state.id)
        yield _load(payload, "payload", f"{vehicle.title}: payload", vehicle.ratings.payload)
    for number, (rating, wheel_rating) in enumerate(vehicle.axles, start=1):
        if rating is not None:
            label = f"{vehicle.title}: axle {number} rating"
            finding = axle_load(vehicle.id, number).at(state.id)
            yield _load(finding, "rating", label, rating, " on this axle")
        if wheel_rating is not None:
            for side in "LR":
                label = f"{vehicle.title}: wheel {number}{side} rating"
                finding = wheel_load(vehicle.id, f"{number}{side}").at(state.id)
                yield _load(finding, "wheel_rating", label, wheel_rating, " on this wheel")
    rules = practice()
    share = Measurand(vehicle.id, "left_share").at(state.id)
    yield from _window(share, "balance", f"{vehicle.title}: left side", rules.side_balance)


def _window(finding: FindingId, name: str, label: str, window: Window) -> Iterator[Requirement]:
    for end, limit, sense in (("low", window.low, Sense.MIN), ("high", window.high, Sense.MAX)):
        if limit is not None:
            bound = "at least" if sense is Sense.MIN else "at most"
            identity = str(VerdictId(finding, f"{name}_{end}"))
            text = f"{label}, {bound} {limit * 100:.0f} %"
            yield Requirement(identity, str(finding), text, limit, sense, window.source, Dimension.SHARE)


def _of_combination(vehicles: Mapping[str, RatedVehicle], state: RatedState) -> Iterator[Requirement]:
    first = next((vehicles[link.towing] for link in state.links if vehicles[link.towing].towing), None)
    if first is not None and first.ratings.gcwr is not None:
        yield _load(combination_gross().at(state.id), "gcwr", f"{first.title}: GCWR", first.ratings.gcwr)
    for place, link in enumerate(state.links, start=1):
        yield from _of_link(vehicles, state, link, place)


def _of_link(
    vehicles: Mapping[str, RatedVehicle], state: RatedState, link: RatedLink, number: int
) -> Iterator[Requirement]:
    towing, trailer = vehicles[link.towing], vehicles[link.trailer]
    name = link.kind.value.replace("_", " ")
    if link.vertical is not None:
        load = coupling_quantity(number, "load").at(state.id)
        yield _load(load, "vertical", f"{towing.title}: {name} vertical rating", link.vertical)
    gross = gross_load(trailer.id).at(state.id)
    if link.gross is not None:
        yield _load(gross, "coupling_gross", f"{towing.title}: {name} gross rating", link.gross)
    if towing.ratings.towed is not None:
        yield _load(gross, "towed", f"{towing.title}: heaviest trailer", towing.ratings.towed)
    window = practice().coupling_share[link.kind.value]
    share = coupling_quantity(number, "share").at(state.id)
    yield from _window(share, "window", f"{trailer.title}: share on the {name}", window)


MOST_ALONE = 8
"""States in which a towing vehicle stands alone that its steering axle is compared with, at most."""


def steering_changes(day: WeighDay, after: str | None = None) -> Iterator[tuple[str, str, str]]:
    """Pairs of states between which hitching may unload a steering axle: before, after, towing vehicle.

    ``before`` is every state in which the vehicle tows nothing and ``after`` every state in which it tows, or one such
    state alone; which of the two the file names first does not matter. Where a vehicle stands alone in more than
    ``MOST_ALONE`` states, only the first of them count, those that have a draft before those that have none.
    """
    for name, vehicle in day.vehicles.items():
        if vehicle.role is not Role.TOWING:
            continue
        here = [state for state in day.states.values() if name in state.vehicles]
        towing = {state.id for state in here if any(link.towing == name for link in state.links)}
        wanted = [state.id for state in here if state.id in towing and after in (None, state.id)]
        yield from ((before, state, name) for before in states_alone(day, name) for state in wanted)


def states_alone(day: WeighDay, vehicle: str) -> tuple[str, ...]:
    """The states in which a vehicle tows nothing, of which what its front axle loses is told."""
    here = [state for state in day.states.values() if vehicle in state.vehicles]
    alone = [state.id for state in here if not any(link.towing == vehicle for link in state.links)]
    if len(alone) > MOST_ALONE:
        measured = day.measured_states()
        alone = sorted(alone, key=lambda state: state not in measured)[:MOST_ALONE]
    return tuple(alone)


def _of_changes(vehicles: Mapping[str, RatedVehicle], rated: RatedDay) -> Iterator[Requirement]:
    rule = practice().steering_loss
    for before, after, name in rated.changes:
        finding = Measurand(name, "front_change").between(before, after)
        if rule.low is not None:
            label = f"{vehicles[name].title}: front axle may lose {-rule.low * 100:.0f} % when hitched"
            identity = str(VerdictId(finding, "steering_loss"))
            yield Requirement(identity, str(finding), label, rule.low, Sense.MIN, rule.source, Dimension.SHARE)
