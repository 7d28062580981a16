"""A plan as a list of steps that a person can follow one by one, with what each costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import cast

from steelyard.model import DistributionKind, Link, State, WeighDay
from steelyard.planning import Costs, Deed, Handling, Offer, ThingMoved, placings_of, walk


class Action(StrEnum):
    """The kind of work that a step asks for."""

    UNHITCH = "unhitch"
    HITCH = "hitch"
    BARS = "bars"
    LOAD = "load"
    CARRY = "carry"
    ASIDE = "aside"
    BLOCK = "block"
    READ = "read"


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do, for the draft of this number in the plan, counted from 1, and what it costs."""

    draft: int
    action: Action
    text: str
    cost: float = 0.0


_Said = Iterator[tuple[Action, str, float]]


def steps_of(
    day: WeighDay, offers: Sequence[Offer], costs: Costs | None = None, blocks: int | None = None
) -> tuple[Step, ...]:
    """The steps for each draft of a plan, beginning where the day's last draft left the rig and the pads.

    The costs of the steps add up to that of the plan. ``blocks``: how many there are; None: as many as are wanted.
    """
    costs = Costs() if costs is None else costs
    placings = placings_of(offers)
    handling = Handling(day, placings, costs, blocks)
    stands, steps = handling.began, list[Step]()
    seen = {name for draft in handling.last for name in day.states[draft.state].vehicles}
    for at, (_, after) in enumerate(walk(handling, range(len(placings)))):
        changes = handling.changes(stands, at, cast("int", after))
        for offer, own in zip(placings[at], changes, strict=True):
            number = len([step for step in steps if step.action is Action.READ]) + 1
            state = day.states[offer.state]
            said = list[tuple[Action, str, float]]()
            if not offer.stays:
                said += [*_come(day, [day.states[one.state] for one in placings[at]], seen)]
            # how the first state of a day was before is not known, and it is begun with as it is
            told = own if handling.last or number > 1 else [change for change in own if change.before is not None]
            said += [*_changed(day, state, told, stays=offer.stays)]
            if not offer.stays:
                said += [*_pads(own), *_blocks(own, handling, stands, cast("int", after), offers[number - 1 :])]
            read = f"{_lead(day, offers, number)}, and read {_read(offer)}"
            said.append((Action.READ, read, 0.0 if offer.stays else costs.move))
            steps += [Step(number, action, text, cost) for action, text, cost in said]
        stands = cast("int", after)
    return tuple(steps)


def _begin(state: State) -> str:
    return f"begin in state {state.id}: {_standing(state)}"


def _come(day: WeighDay, states: Sequence[State], seen: set[str]) -> _Said:
    """Vehicles that come for the first time, as the states of a placement want them; they are ``seen`` from then on."""
    for state in states:
        if not seen:
            yield Action.LOAD, _begin(state), 0.0
            seen |= set(state.vehicles)
        for name in state.vehicles:
            aboard = [one for one in state.cargo if day.cargo[one].on == name]
            if name not in seen and aboard:
                yield Action.LOAD, f"bring {name} with {', '.join(aboard)} aboard", 0.0
        seen |= set(state.vehicles)


def _changed(day: WeighDay, state: State, changes: Sequence[ThingMoved], *, stays: bool) -> _Said:
    """The steps that unhitch, hitch, tension and load."""
    how = (
        (": jack its coupling up clear, no wheel rolls", ": lower its coupling on, no wheel rolls")
        if stays
        else ("", "")
    )
    bars = {change.about: change for change in changes if change.deed is Deed.BARS}
    couples = [change for change in changes if change.deed is Deed.COUPLE]
    unmade = [change.about for change in couples if change.before is not None and not change.made]
    for about in [*reversed(unmade), *(about for about in bars if about not in unmade)]:
        towing, at, trailer = about
        if about in bars and bars[about].before is not None and not bars[about].made:
            yield Action.BARS, f"slacken the weight-distributing bars of {trailer}", bars.pop(about).cost
        if about in unmade:
            cost = next(change.cost for change in couples if change.about == about)
            yield Action.UNHITCH, f"unhitch {trailer} from {towing} at {at}{how[0]}", cost
    for change in couples:
        if change.made:
            towing, at, trailer = change.about
            said = "hitch {} to {} at {}" if change.before is not None else "bring {} hitched to {} at {}"
            yield Action.HITCH, f"{said.format(trailer, towing, at)}{how[1]}", change.cost
        yield from _tension(state, bars.pop(change.about, None))
    for change in bars.values():
        yield from _tension(state, change)
    yield from _cargo(day, state, changes)


def _tension(state: State, change: ThingMoved | None) -> _Said:
    """The step for weight-distributing bars that are to be under tension."""
    if change is None or not change.made:
        return
    trailer = change.about[2]
    if change.before is not None and change.before.value:
        said = f"set the weight-distributing bars of {trailer} as in state {state.id}"
    else:
        said = f"tension the weight-distributing bars of {trailer}"
    yield Action.BARS, said, change.cost


def _cargo(day: WeighDay, state: State, changes: Sequence[ThingMoved]) -> _Said:
    """The cargo to put aboard and to take off; cargo that comes with a vehicle is not named again."""
    for change in changes:
        if change.deed is not Deed.CARGO or change.before is None:
            continue
        name = change.about[0]
        if not change.made:
            said = f"take {name} off {day.cargo[name].on}"
        elif change.before.value:
            said = f"bring {name} to what state {state.id} says"
        else:
            said = f"put {name} aboard {day.cargo[name].on}"
        yield Action.LOAD, said, change.cost


def _pads(changes: Sequence[ThingMoved]) -> _Said:
    """Which instruments to carry where, and which to take away."""
    for change in changes:
        if change.deed is Deed.PAD:
            name = change.about[0]
            before = None if change.before is None else change.before.value
            if change.after is None:
                yield Action.ASIDE, f"take {name} away from {before}", change.cost
            else:
                start = "" if before is None else f" from {before}"
                yield Action.CARRY, f"carry {name}{start} to {change.after.value}", change.cost


def _blocks(
    changes: Sequence[ThingMoved], handling: Handling, before: int, after: int, offers: Sequence[Offer]
) -> _Said:
    """Where to lay blocks, where to take them away, and where those that lie there stay.

    ``before`` and ``after``: how things stand before and after the placement, whose drafts are the first of ``offers``.
    """
    own = [change for change in changes if change.deed is Deed.BLOCK]
    put = [change for change in own if change.after is not None]
    if put:
        wheels = sorted(change.about[0] for change in put)
        yield Action.BLOCK, f"put a block as high as the pads under {', '.join(wheels)}", sum(one.cost for one in put)
    away = sorted(change.about[0] for change in own if change.after is None)
    if away:
        yield Action.BLOCK, f"take the block away from {', '.join(away)}", 0.0
    lie = {fact.value for fact in handling.standing(before & after, Deed.BLOCK)}
    wanted = {str(wheel) for placing in placings_of(offers)[:1] for offer in placing for wheel in offer.blocks}
    if lie & wanted:
        yield Action.BLOCK, f"leave the block under {', '.join(sorted(lie & wanted))}", 0.0
    if lie - wanted:
        yield Action.BLOCK, f"leave what lies at {', '.join(sorted(lie - wanted))}, where nothing is weighed now", 0.0


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
    return f"drive {'off and on again' if again else 'on'}{raised}, chock, release the brakes if the ground is level"


def _links(state: State) -> dict[tuple[str, str, str], Link]:
    return {(link.towing, link.at, link.trailer): link for link in state.links}


def _tensioned(link: Link) -> bool:
    return link.distribution.kind is not DistributionKind.NONE


def _standing(state: State) -> str:
    links = [
        f"{link.trailer} on {link.towing}{', weight-distributing bars tensioned' if _tensioned(link) else ''}"
        for link in state.links
    ]
    hung = {name for link in state.links for name in (link.trailer, link.towing)}
    alone = [f"{name} alone" for name in state.vehicles if name not in hung]
    aboard = f", with {', '.join(state.cargo)} aboard" if state.cargo else ""
    return f"{' and '.join([*links, *alone])}{aboard}"
