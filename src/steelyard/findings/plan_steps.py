"""A plan as a list of steps that a person can follow one by one."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from steelyard.model import DistributionKind, State, WeighDay
from steelyard.planning import Offer


class Action(StrEnum):
    """What a step asks to be done."""

    UNHITCH = "unhitch"
    HITCH = "hitch"
    BARS = "bars"
    LOAD = "load"
    CARRY = "carry"
    BLOCK = "block"
    READ = "read"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, for the draft of this number in the plan, counted from 1."""

    draft: int
    action: Action
    text: str


def steps_of(day: WeighDay, offers: Sequence[Offer]) -> tuple[Step, ...]:
    """What to do for each draft of a plan, beginning where the day's last draft left the rig and the pads."""
    last = day.drafts[-1] if day.drafts else None
    state = None if last is None else day.states.get(last.state)
    stands = {} if last is None else {reading.instrument: reading.place.text for reading in last.readings}
    blocked: frozenset[str] = frozenset()
    steps: list[Step] = []
    for number, offer in enumerate(offers, start=1):
        now = day.states[offer.state]
        steps += [Step(number, action, text) for action, text in _changes(day, state, now)]
        for place, name in offer.placements:
            if stands.get(name) != place:
                before = f" from {stands[name]}" if name in stands else ""
                steps.append(Step(number, Action.CARRY, f"carry {name}{before} to {place}"))
                stands = {pad: where for pad, where in stands.items() if where != place} | {name: place}
        blocks = frozenset(str(wheel) for wheel in offer.blocks)
        fresh = sorted(blocks - blocked)
        if fresh:
            steps.append(Step(number, Action.BLOCK, f"put a block as high as the pads under {', '.join(fresh)}"))
        if blocked - blocks:
            steps.append(Step(number, Action.BLOCK, f"take the block away from {', '.join(sorted(blocked - blocks))}"))
        places = ", ".join(f"{name} under {place}" for place, name in offer.placements)
        again = number > 1 and offer == offers[number - 2]
        lead = "drive off and on again" if again else "drive on"
        steps.append(Step(number, Action.READ, f"{lead}, chock, release the brakes, and read {places}"))
        state, blocked = now, blocks
    return tuple(steps)


def _changes(day: WeighDay, before: State | None, after: State) -> Iterator[tuple[Action, str]]:
    """What to unhitch, hitch, tension and load to come from one state into another."""
    if before is None or before.id == after.id:
        if before is None:
            yield Action.LOAD, f"begin in state {after.id}: {_standing(day, after)}"
        return
    old = {(link.towing, link.at, link.trailer): link for link in before.links}
    new = {(link.towing, link.at, link.trailer): link for link in after.links}
    for towing, at, trailer in old.keys() - new.keys():
        yield Action.UNHITCH, f"unhitch {trailer} from {towing} at {at}"
    for towing, at, trailer in new.keys() - old.keys():
        yield Action.HITCH, f"hitch {trailer} to {towing} at {at}"
    for key, link in new.items():
        was = old[key].distribution.kind if key in old else DistributionKind.NONE
        tension = link.distribution.kind is not DistributionKind.NONE
        if tension and (was is DistributionKind.NONE or key not in old):
            yield Action.BARS, f"tension the weight-distributing bars of {link.trailer}"
        elif tension and link.distribution != old[key].distribution:
            yield Action.BARS, f"set the weight-distributing bars of {link.trailer} as in state {after.id}"
        elif not tension and was is not DistributionKind.NONE:
            yield Action.BARS, f"slacken the weight-distributing bars of {link.trailer}"
    yield from _cargo(day, before, after)


def _cargo(day: WeighDay, before: State, after: State) -> Iterator[tuple[Action, str]]:
    shared = set(before.vehicles) & set(after.vehicles)
    for name in after.cargo:
        if name not in before.cargo and (day.cargo[name].on in shared or not before.cargo):
            yield Action.LOAD, f"put {name} aboard {day.cargo[name].on}"
        elif before.change.get(name, {}) != after.change.get(name, {}) and name in before.cargo:
            yield Action.LOAD, f"bring {name} to what state {after.id} says"
    for name in before.cargo:
        if name not in after.cargo and day.cargo[name].on in shared:
            yield Action.LOAD, f"take {name} off {day.cargo[name].on}"


def _standing(day: WeighDay, state: State) -> str:
    links = [f"{link.trailer} on {link.towing}" for link in state.links]
    hung = {link.trailer for link in state.links}
    alone = [
        name for name in state.vehicles if name not in hung and not any(link.towing == name for link in state.links)
    ]
    aboard = f", with {', '.join(state.cargo)} aboard" if state.cargo else ""
    del day
    return f"{' and '.join([*links, *(f'{name} alone' for name in alone)])}{aboard}"
