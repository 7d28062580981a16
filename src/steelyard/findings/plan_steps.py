"""A plan as a list of steps that a person can follow one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from steelyard.model import DistributionKind, Draft, Link, State, WeighDay, WheelRef
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


_Said = Iterator[tuple[Action, str]]


def steps_of(day: WeighDay, offers: Sequence[Offer]) -> tuple[Step, ...]:
    """What to do for each draft of a plan, beginning where the day's last draft left the rig and the pads."""
    last = day.drafts[-1] if day.drafts else None
    state = None if last is None else day.states.get(last.state)
    stands = {} if last is None else {reading.instrument: reading.place.text for reading in last.readings}
    blocked = frozenset[str]() if last is None else _left_on_blocks(day, last)
    steps: list[Step] = []
    for number, offer in enumerate(offers, start=1):
        now = day.states[offer.state]
        said = list(_changes(day, state, now, stays=offer.stays))
        if not offer.stays:
            said += [(Action.CARRY, text) for text in _carried(stands, offer)]
            stands = {pad: at for pad, at in stands.items() if at not in dict(offer.placements)}
            stands |= {pad: at for at, pad in offer.placements}
            blocks = frozenset(str(wheel) for wheel in offer.blocks)
            said += [(Action.BLOCK, text) for text in _blocked(blocked, blocks)]
            blocked = blocks
        said.append((Action.READ, f"{_lead(day, offers, number)}, and read {_read(offer)}"))
        steps += [Step(number, action, text) for action, text in said]
        state = now
    return tuple(steps)


def _left_on_blocks(day: WeighDay, draft: Draft) -> frozenset[str]:
    """The wheels that stand as high as the pads without one, as a draft left them."""
    if draft.on_ground:
        return frozenset(str(wheel) for wheel in draft.blocks)
    if not any(day.instruments[reading.instrument].height.value > 0.0 for reading in draft.readings):
        return frozenset()
    vehicles = day.states[draft.state].vehicles if draft.state in day.states else ()
    every = {str(WheelRef(name, int(end[:-1]), end[-1])) for name in vehicles for end in day.vehicles[name].wheels}
    return frozenset(every - {str(wheel) for reading in draft.readings for wheel in reading.place.wheels})


def _carried(stands: Mapping[str, str], offer: Offer) -> Iterator[str]:
    for place, name in offer.placements:
        if stands.get(name) != place:
            before = f" from {stands[name]}" if name in stands else ""
            yield f"carry {name}{before} to {place}"


def _blocked(before: frozenset[str], after: frozenset[str]) -> Iterator[str]:
    if after - before:
        yield f"put a block as high as the pads under {', '.join(sorted(after - before))}"
    if before - after:
        yield f"take the block away from {', '.join(sorted(before - after))}"


def _read(offer: Offer) -> str:
    return ", ".join(f"{name} under {place}" for place, name in offer.placements)


def _lead(day: WeighDay, offers: Sequence[Offer], number: int) -> str:
    """How the rig comes to stand as it is to be read."""
    offer = offers[number - 1]
    if offer.stays:
        return "leave the wheels and the pads as they stand"
    again = number > 1 and offer == offers[number - 2]
    raised = ""
    for one, other in zip(offers[number - 1 :], offers[number:], strict=False):
        if not other.stays:
            break
        now, then = day.states[one.state], day.states[other.state]
        hitched = [link for key, link in _links(then).items() if key not in _links(now)]
        raised += "".join(
            f", {link.towing} backed under the coupling of {link.trailer}, which is jacked up clear of it"
            for link in hitched
            if link.towing in now.vehicles and not raised
        )
    return f"drive {'off and on again' if again else 'on'}{raised}, chock, release the brakes"


def _links(state: State) -> dict[tuple[str, str, str], Link]:
    return {(link.towing, link.at, link.trailer): link for link in state.links}


def _tensioned(link: Link | None) -> bool:
    return link is not None and link.distribution.kind is not DistributionKind.NONE


def _changes(day: WeighDay, before: State | None, after: State, *, stays: bool) -> _Said:
    """What to unhitch, hitch, tension and load to come from one state into another."""
    if before is None:
        yield Action.LOAD, f"begin in state {after.id}: {_standing(after)}"
        return
    if before.id == after.id:
        return
    old, new = _links(before), _links(after)
    how = (
        (": jack its coupling up clear, no wheel rolls", ": lower its coupling on, no wheel rolls")
        if stays
        else ("", "")
    )
    for (towing, at, trailer), link in reversed(old.items()):
        if _tensioned(link) and not _tensioned(new.get((towing, at, trailer))):
            yield Action.BARS, f"slacken the weight-distributing bars of {trailer}"
        if (towing, at, trailer) not in new:
            yield Action.UNHITCH, f"unhitch {trailer} from {towing} at {at}{how[0]}"
    for (towing, at, trailer), link in new.items():
        was = old.get((towing, at, trailer))
        if was is None:
            yield Action.HITCH, f"hitch {trailer} to {towing} at {at}{how[1]}"
        if _tensioned(link) and not _tensioned(was):
            yield Action.BARS, f"tension the weight-distributing bars of {trailer}"
        elif _tensioned(link) and was is not None and _set_by(before, was) != _set_by(after, link):
            yield Action.BARS, f"set the weight-distributing bars of {trailer} as in state {after.id}"
    yield from _cargo(day, before, after)


def _set_by(state: State, link: Link) -> str:
    """The state whose tension bars are under."""
    return link.distribution.state or state.id


def _cargo(day: WeighDay, before: State, after: State) -> _Said:
    shared = set(before.vehicles) & set(after.vehicles)
    for name in after.cargo:
        if name not in before.cargo and (day.cargo[name].on in shared or not before.cargo):
            yield Action.LOAD, f"put {name} aboard {day.cargo[name].on}"
        elif before.change.get(name, {}) != after.change.get(name, {}) and name in before.cargo:
            yield Action.LOAD, f"bring {name} to what state {after.id} says"
    for name in before.cargo:
        if name not in after.cargo and day.cargo[name].on in shared:
            yield Action.LOAD, f"take {name} off {day.cargo[name].on}"


def _standing(state: State) -> str:
    links = [
        f"{link.trailer} on {link.towing}{', weight-distributing bars tensioned' if _tensioned(link) else ''}"
        for link in state.links
    ]
    hung = {name for link in state.links for name in (link.trailer, link.towing)}
    alone = [f"{name} alone" for name in state.vehicles if name not in hung]
    aboard = f", with {', '.join(state.cargo)} aboard" if state.cargo else ""
    return f"{' and '.join([*links, *alone])}{aboard}"
