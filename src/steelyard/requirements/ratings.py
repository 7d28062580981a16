"""The owner's ratings off the labels, windows and rules of thumb, as requirements of a weigh day."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Requirement, Sense
from steelyard.model import (
    FindingId,
    Link,
    Measurand,
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


def ratings_of(day: WeighDay, only: str | None = None) -> tuple[Requirement, ...]:
    """The ratings and rules of thumb of the day or of the state ``only``, in file order, then those on changes."""
    found: list[Requirement] = []
    for state in day.states.values():
        if only is not None and state.id != only:
            continue
        for name in state.vehicles:
            found.extend(_of_vehicle(day.vehicles[name], state))
        found.extend(_of_combination(day, state))
    found.extend(_of_changes(day, only))
    return tuple(found)


def _load(
    finding: FindingId, name: str, label: str, limit: float, remedy: str = "", source: str = LABEL
) -> Requirement:
    limited = str(finding)
    return Requirement(VerdictId.named(limited, name), limited, label, limit, Sense.MAX, source, Dimension.MASS, remedy)


def _of_vehicle(vehicle: Vehicle, state: State) -> Iterator[Requirement]:
    if vehicle.ratings.gvwr is not None:
        yield _load(gross_load(vehicle.id).at(state.id), "gvwr", f"{vehicle.title}: GVWR", vehicle.ratings.gvwr)
    if vehicle.ratings.payload is not None:
        payload = Measurand(vehicle.id, "payload").at(state.id)
        yield _load(payload, "payload", f"{vehicle.title}: payload", vehicle.ratings.payload)
    for number, axle in enumerate(vehicle.axles, start=1):
        if axle.rating is not None:
            label = f"{vehicle.title}: axle {number} rating"
            finding = axle_load(vehicle.id, number).at(state.id)
            yield _load(finding, "rating", label, axle.rating, " on this axle")
        if axle.wheel_rating is not None:
            for side in "LR":
                label = f"{vehicle.title}: wheel {number}{side} rating"
                finding = wheel_load(vehicle.id, f"{number}{side}").at(state.id)
                yield _load(finding, "wheel_rating", label, axle.wheel_rating, " on this wheel")
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


def _of_combination(day: WeighDay, state: State) -> Iterator[Requirement]:
    for link in _front_first(day, state):
        towing = day.vehicles[link.towing]
        if towing.ratings.gcwr is not None:
            label = f"{towing.title}: GCWR"
            yield _load(combination_gross().at(state.id), "gcwr", label, towing.ratings.gcwr)
        break
    for place, link in enumerate(state.links, start=1):
        yield from _of_link(day, state, link, place)


def _front_first(day: WeighDay, state: State) -> list[Link]:
    return [link for link in state.links if day.vehicles[link.towing].role is Role.TOWING]


def _of_link(day: WeighDay, state: State, link: Link, number: int) -> Iterator[Requirement]:
    towing, trailer = day.vehicles[link.towing], day.vehicles[link.trailer]
    coupling = towing.couplings[link.at]
    name = coupling.type.value.replace("_", " ")
    if coupling.vertical is not None:
        load = coupling_quantity(number, "load").at(state.id)
        yield _load(load, "vertical", f"{towing.title}: {name} vertical rating", coupling.vertical)
    gross = gross_load(trailer.id).at(state.id)
    if coupling.gross is not None:
        yield _load(gross, "coupling_gross", f"{towing.title}: {name} gross rating", coupling.gross)
    if towing.ratings.towed is not None:
        yield _load(gross, "towed", f"{towing.title}: heaviest trailer", towing.ratings.towed)
    window = practice().coupling_share[coupling.type.value]
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


def _of_changes(day: WeighDay, only: str | None) -> Iterator[Requirement]:
    rule = practice().steering_loss
    for before, after, name in steering_changes(day, only):
        finding = Measurand(name, "front_change").between(before, after)
        if rule.low is not None:
            label = f"{day.vehicles[name].title}: front axle may lose {-rule.low * 100:.0f} % when hitched"
            identity = str(VerdictId(finding, "steering_loss"))
            yield Requirement(identity, str(finding), label, rule.low, Sense.MIN, rule.source, Dimension.SHARE)
