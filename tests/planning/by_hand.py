"""What carrying out a plan takes, done once by hand: a yard with its pads and blocks, and the steps as they read.

It knows nothing of the program's own reckoning. ``cheapest`` tries every choice that whoever carries the blocks has.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import combinations

from steelyard.model import Draft, WeighDay
from steelyard.planning import Costs, Offer
from steelyard.questions.plan import Action, DayPlan


@dataclass
class Yard:
    """Where every pad stands and every block lies; which couplings, bars and things aboard are as which state says."""

    pads: dict[str, str] = field(default_factory=dict[str, str])
    blocks: frozenset[str] = frozenset()
    rig: dict[tuple[str, ...], str] = field(default_factory=dict[tuple[str, ...], str])


def ends(day: WeighDay, vehicles: Sequence[str]) -> set[str]:
    """The wheels of some vehicles."""
    return {f"{name}/{wheel}" for name in vehicles for wheel in day.vehicles[name].wheels}


def under(day: WeighDay, place: str) -> set[str]:
    """The wheels that a place is under; a coupling point is named itself."""
    name, _, what = place.partition("/")
    if what == "coupling":
        return {place}
    return {end for end in ends(day, [name]) if end.split("/")[1].startswith(what)}


def wants(day: WeighDay, state: str) -> dict[tuple[str, ...], str]:
    """How a state wants couplings, bars and cargo of its vehicles."""
    now, found = day.states[state], dict[tuple[str, ...], str]()
    every = {(link.towing, link.at, link.trailer) for one in day.states.values() for link in one.links}
    for hitch in every:
        if hitch[0] in now.vehicles or hitch[2] in now.vehicles:
            link = next((one for one in now.links if (one.towing, one.at, one.trailer) == hitch), None)
            found["hitch", *hitch] = "no" if link is None else "yes"
            loose = link is None or link.distribution.kind.value == "none"
            found["bars", *hitch] = "loose" if loose or link is None else (link.distribution.state or state)
    for name, item in day.cargo.items():
        if item.on in now.vehicles:
            found["load", name] = "off" if name not in now.cargo else str(now.change.get(name))
    return found


def stood(day: WeighDay, draft: Draft) -> set[str]:
    """The wheels of a draft that stand on blocks."""
    read = {str(wheel) for reading in draft.readings for wheel in reading.place.wheels}
    if draft.on_ground:
        return {str(wheel) for wheel in draft.blocks}
    high = any(day.instruments[reading.instrument].height.value > 0.0 for reading in draft.readings)
    return ends(day, day.states[draft.state].vehicles) - read if high else set()


def left(day: WeighDay) -> Yard:
    """The yard as the last draft left it; the test days have no placement of several drafts."""
    yard = Yard()
    for draft in day.drafts[-1:]:
        yard.pads = {reading.instrument: reading.place.text for reading in draft.readings}
        yard.blocks = frozenset(stood(day, draft))
        yard.rig = wants(day, draft.state)
    return yard


def cheapest(day: WeighDay, placings: Sequence[Sequence[Offer]], costs: Costs, blocks: int | None, yard: Yard) -> float:
    """What placements cost at least in this order, whatever blocks are taken where there are not enough."""
    if not placings:
        return 0.0
    first = placings[0]
    here = ends(day, [name for offer in first for name in day.states[offer.state].vehicles])
    pads = {name: place for offer in first for place, name in offer.placements}
    wanted = frozenset(str(wheel) for offer in first for wheel in offer.blocks)
    cost = costs.move + costs.carry * sum(yard.pads.get(name) != place for name, place in pads.items())
    cost += costs.block * len(wanted - yard.blocks)
    points = {f"{end.split('/')[0]}/coupling" for end in here}
    stay = {name: at for name, at in yard.pads.items() if name not in pads and not under(day, at) & (here | points)}
    rig = dict(yard.rig)
    for offer in first:
        weight = {"hitch": costs.hitch, "bars": costs.bars, "load": costs.load}
        for what, how in wants(day, offer.state).items():
            cost += weight[what[0]] * (rig.get(what, how) != how)
            rig[what] = how
    spare = yard.blocks - here
    room = len(spare) if blocks is None else max(min(len(spare), blocks - len(wanted)), 0)
    kept = [spare] if room == len(spare) else [frozenset(some) for some in combinations(sorted(spare), room)]
    rest = placings[1:]
    return cost + min(cheapest(day, rest, costs, blocks, Yard(stay | pads, wanted | some, rig)) for some in kept)


def carried_out(plan: DayPlan) -> float:
    """What a plan costs by its steps alone; fails where a draft does not find the pads and blocks that it rests on."""
    day, costs, yard = plan.day, plan.costs, left(plan.day)
    pads, blocks, cost = dict(yard.pads), set(yard.blocks), 0.0
    for step in plan.steps:
        cost += _step(step.action, step.text, costs, pads, blocks)
        if step.action is not Action.READ:
            continue
        draft, offer = plan.drafts[step.draft - 1], plan.offers[step.draft - 1]
        cost += 0.0 if offer.stays else costs.move
        here = ends(day, day.states[offer.state].vehicles)
        on = {name: place for name, place in pads.items() if under(day, place) & here}
        assert on == {name: place for place, name in offer.placements if under(day, place) & here}, step
        assert blocks & here == stood(day, draft), step
        assert pads.items() >= {(name, place) for place, name in offer.placements}, step
        assert plan.kit.blocks is None or len(blocks) <= max(plan.kit.blocks, len(yard.blocks)), step
    return cost


def _step(action: Action, text: str, costs: Costs, pads: dict[str, str], blocks: set[str]) -> float:
    """Do one step; what it costs."""
    match action:
        case Action.CARRY:
            name, start, place = _groups(r"carry (\S+)(?: from (\S+))? to (\S+)", text)
            assert pads.get(name, "") == start
            pads[name] = place
            return costs.carry
        case Action.ASIDE:
            name, start = _groups(r"take (\S+) away from (\S+)", text)
            assert pads.pop(name) == start
        case Action.BLOCK if text.startswith("put a block as high as the pads under "):
            wheels = set(text.partition(" under ")[2].split(", "))
            assert not wheels & blocks
            blocks |= wheels
            return costs.block * len(wheels)
        case Action.BLOCK if text.startswith("take the block away from "):
            wheels = set(text.partition(" from ")[2].split(", "))
            assert wheels <= blocks
            blocks -= wheels
        case Action.BLOCK:
            assert set(re.findall(r"[\w-]+/\d+[LR]", text)) <= blocks
        case Action.HITCH:
            return costs.hitch * text.startswith("hitch ")
        case Action.UNHITCH:
            return costs.hitch
        case Action.BARS:
            return costs.bars
        case Action.LOAD:
            return costs.load * (not re.match(r"begin|bring \S+ with", text))
        case _:
            pass
    return 0.0


def _groups(pattern: str, text: str) -> tuple[str, ...]:
    match = re.fullmatch(pattern, text)
    assert match is not None, text
    return tuple(part or "" for part in match.groups())
