"""How the rig, the instruments and the blocks stand after each placement, and what bringing them there takes.

What a plan costs and the steps that carry it out are read off the same changes, so they cannot differ. Whatever is
known of how things stand is a set of bits: where each instrument stands, under which wheels blocks lie, which couplings
are made and under whose tension, what is aboard. What concerns a vehicle that is not weighed stays as it was left.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from enum import StrEnum
from itertools import combinations
from typing import cast

from steelyard.classes import dataclass
from steelyard.model import DistributionKind, Draft, State, WeighDay, WheelRef, parse_place
from steelyard.planning.kit import Costs
from steelyard.planning.offers import Offer, Placing


class Deed(StrEnum):
    """The kinds of handling."""

    COUPLE = "couple"
    BARS = "bars"
    CARGO = "cargo"
    PAD = "pad"
    BLOCK = "block"


MADE, OFF = "made", ""
"""Values of what is there and of what is not."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One known fact about the rig, its pads and its blocks.

    ``about`` is what it concerns, ``value`` how that is: a coupling (towing vehicle, coupling, trailer) is ``made`` or
    not, its bars are under the tension of a state or slack, a thing of cargo is aboard as a text says or not at all.
    An instrument stands at a place; a block lies under a wheel.
    """

    deed: Deed
    about: tuple[str, ...]
    value: str


@dataclass(frozen=True, slots=True)
class ThingMoved:
    """Change of one thing: its state before and after, and the cost. None: not known, or nowhere."""

    before: Fact | None
    after: Fact | None
    cost: float

    @property
    def _either(self) -> Fact:
        fact = self.before if self.after is None else self.after
        if fact is None:
            raise ValueError("a change of nothing")
        return fact

    @property
    def deed(self) -> Deed:
        """The kind of handling."""
        return self._either.deed

    @property
    def about(self) -> tuple[str, ...]:
        """The thing that is handled."""
        return self._either.about

    @property
    def made(self) -> bool:
        """Whether it is there afterwards."""
        return self.after is not None and self.after.value != OFF


class Handling:
    """Cost of placements in the order in which they are taken, from the state after the last draft of the day.

    It is a course for ``planning.orders``. Bringing an instrument to a place costs a carry and laying a block a block;
    taking either away is free. A vehicle that is seen for the first time comes as its state wants it, free.

    Parameters
    ----------
    placings: the placements on offer. blocks: how many blocks there are; None: as many as are wanted.
    """

    def __init__(self, day: WeighDay, placings: Sequence[Placing], costs: Costs, blocks: int | None = None) -> None:
        self.day, self.placings, self.costs, self._blocks = day, placings, costs, blocks
        self._bits: dict[Fact, int] = {}
        self._of: list[Fact] = []
        self._mask = dict.fromkeys(Deed, 0)
        self._about: dict[tuple[Deed, tuple[str, ...]], int] = {}
        last = self.last = _last_placement(day)
        names = dict.fromkeys([*(offer.state for one in placings for offer in one), *(draft.state for draft in last)])
        self._states = [day.states[name] for name in names if name in day.states]
        self._wanted = {state.id: self._bits_of_all(self._facts(state)) for state in self._states}
        self._cares = {state.id: self._others(self._wanted[state.id]) for state in self._states}
        needs = [self._bits_of_all(_placed(placing)) for placing in placings]
        began = self._bits_of_all(_left(day, last))
        self._need = needs
        self._clear = [self._cleared(placing, need) for placing, need in zip(placings, needs, strict=True)]
        self._weights = [
            (self._mask[Deed.COUPLE], costs.hitch),
            (self._mask[Deed.BARS], costs.bars),
            (self._mask[Deed.CARGO], costs.load),
        ]
        start = 0
        for draft in last:
            if draft.state in self._wanted:
                start = self._in_state(start, draft.state)
        self.began = start | began
        self.start: Hashable = self.began
        self.states = [state.id for state in self._states]
        self.began_in = last[-1].state if last and last[-1].state in self._wanted else None

    # -- facts as bits ----------------------------------------------------------------------------------------------

    def _bit(self, fact: Fact) -> int:
        if fact not in self._bits:
            bit = self._bits[fact] = 1 << len(self._of)
            self._of.append(fact)
            self._mask[fact.deed] |= bit
            about = (fact.deed, fact.about)
            self._about[about] = self._about.get(about, 0) | bit
        return self._bits[fact]

    def _bits_of_all(self, facts: Iterator[Fact]) -> int:
        found = 0
        for fact in facts:
            found |= self._bit(fact)
        return found

    def facts(self, bits: int) -> list[Fact]:
        """The facts that some bits stand for."""
        return [fact for at, fact in enumerate(self._of) if bits >> at & 1]

    def _others(self, wanted: int) -> int:
        """Other values of what ``wanted`` says something about."""
        found = 0
        for fact in self.facts(wanted):
            found |= self._about[fact.deed, fact.about]
        return found & ~wanted

    def _facts(self, state: State) -> Iterator[Fact]:
        """How a state wants couplings, bars and cargo of its vehicles."""
        own = {(link.towing, link.at, link.trailer): link for link in state.links}
        for about in dict.fromkeys(_coupled(self._states)):
            if about[0] in state.vehicles or about[2] in state.vehicles:
                link = own.get(about)
                yield Fact(Deed.COUPLE, about, MADE if link is not None else OFF)
                tensioned = link is not None and link.distribution.kind is not DistributionKind.NONE
                yield Fact(Deed.BARS, about, (link.distribution.state or state.id) if link and tensioned else OFF)
        for name, cargo in self.day.cargo.items():
            if cargo.on in state.vehicles:
                changed = str(sorted(state.change.get(name, {}).items(), key=lambda item: item[0]))
                yield Fact(Deed.CARGO, (name,), changed if name in state.cargo else OFF)

    def _cleared(self, placing: Placing, need: int) -> int:
        """Things that a placement moves: its own instruments from elsewhere, and the things that its vehicles lack."""
        names = {name for offer in placing for _, name in offer.placements}
        there = {name for offer in placing for name in self.day.states[offer.state].vehicles}
        found = 0
        for at in range(len(self._of)):
            fact = self._of[at]
            if (fact.deed is Deed.PAD and (fact.about[0] in names or _vehicles(self.day, fact.value) & there)) or (
                fact.deed is Deed.BLOCK and fact.value.partition("/")[0] in there
            ):
                found |= 1 << at
        return found & ~need

    # -- the course -------------------------------------------------------------------------------------------------

    def _in_state(self, stands: int, state: str) -> int:
        return (stands & ~self._cares[state]) | self._wanted[state]

    def _paid(self, stands: int, state: str) -> float:
        """Cost of bringing the rig into a state: for all that is known to be otherwise."""
        gone = stands & self._cares[state]
        if not gone:
            return 0.0
        return sum(weight * (gone & mask).bit_count() for mask, weight in self._weights)

    def go(self, stands: Hashable, candidate: int) -> Sequence[tuple[float, int]]:
        """Cost of a placement and the state after it, for each choice of blocks that are taken for it."""
        old, placing, need = cast("int", stands), self.placings[candidate], self._need[candidate]
        laid = need & ~old
        costs = self.costs
        cost = costs.move + costs.carry * (laid & self._mask[Deed.PAD]).bit_count()
        cost += costs.block * (laid & self._mask[Deed.BLOCK]).bit_count()
        now = (old & ~self._clear[candidate]) | need
        for offer in placing:
            cost += self._paid(now, offer.state)
            now = self._in_state(now, offer.state)
        return [(cost, now & ~taken) for taken in self._taken(now, need)]

    def _taken(self, now: int, need: int) -> Iterator[int]:
        """Which blocks that lie where nobody is weighed are taken, where there are too few others."""
        lying = now & self._mask[Deed.BLOCK]
        over = 0 if self._blocks is None else lying.bit_count() - self._blocks
        if over <= 0:
            yield 0
            return
        spare = [bit for fact in self.facts(lying & ~need) if (bit := self._bits[fact])]
        for chosen in combinations(spare, min(over, len(spare))):
            yield sum(chosen)

    def regret(self, one: Hashable, other: Hashable) -> float:
        """Largest saving that state ``one`` may bring later over state ``other``."""
        better = cast("int", one) & ~cast("int", other)
        worse = cast("int", other) & ~cast("int", one)
        found = self.costs.carry * (better & self._mask[Deed.PAD]).bit_count()
        found += self.costs.block * (better & self._mask[Deed.BLOCK]).bit_count()
        either = better | worse
        return found + sum(weight * (either & mask).bit_count() for mask, weight in self._weights)

    # -- the same in words ------------------------------------------------------------------------------------------

    def changes(self, stands: int, candidate: int, after: int) -> list[list[ThingMoved]]:
        """Changes of a placement, for each of its drafts, from the state ``stands`` to the state ``after``.

        The costs of all changes, and the move, add up to what ``go`` says.
        """
        placing, need = self.placings[candidate], self._need[candidate]
        gone = (stands & self._clear[candidate]) | (stands & self._mask[Deed.BLOCK] & ~after & ~need)
        moved = [*self._moved(gone, need & ~stands)]
        now = (stands & ~gone) | need
        found: list[list[ThingMoved]] = []
        for at, offer in enumerate(placing):
            cares, wanted = self._cares[offer.state], self._wanted[offer.state]
            found.append([*self._became(now & cares, wanted & ~now), *([] if at else moved)])
            now = self._in_state(now, offer.state)
        return found

    def _became(self, gone: int, come: int) -> Iterator[ThingMoved]:
        weights = {Deed.COUPLE: self.costs.hitch, Deed.BARS: self.costs.bars, Deed.CARGO: self.costs.load}
        before = {(fact.deed, fact.about): fact for fact in self.facts(gone)}
        for fact in self.facts(come):
            old = before.get((fact.deed, fact.about))
            yield ThingMoved(old, fact, 0.0 if old is None else weights[fact.deed])

    def _moved(self, gone: int, come: int) -> Iterator[ThingMoved]:
        costs = {Deed.PAD: self.costs.carry, Deed.BLOCK: self.costs.block}
        before = {(fact.deed, fact.about): fact for fact in self.facts(gone)}
        for fact in self.facts(come):
            yield ThingMoved(before.pop((fact.deed, fact.about), None), fact, costs[fact.deed])
        for fact in before.values():
            yield ThingMoved(fact, None, 0.0)

    def wanted(self, state: str) -> list[Fact]:
        """How a state wants what it says something about."""
        return self.facts(self._wanted[state])

    def standing(self, stands: int, deed: Deed) -> list[Fact]:
        """The known facts of one kind."""
        return self.facts(stands & self._mask[deed])


def _coupled(states: Sequence[State]) -> Iterator[tuple[str, str, str]]:
    for state in states:
        for link in state.links:
            yield link.towing, link.at, link.trailer


def _vehicles(day: WeighDay, place: str) -> set[str]:
    """The vehicles that a place is under."""
    parsed = parse_place(place, day.vehicles)
    return {wheel.vehicle for wheel in parsed.wheels} | set(parsed.couplings)


def _placed(placing: Placing) -> Iterator[Fact]:
    """The places of a placement's instruments and blocks."""
    for place, name in dict.fromkeys(item for offer in placing for item in offer.placements):
        yield Fact(Deed.PAD, (name,), place)
    for wheel in dict.fromkeys(wheel for offer in placing for wheel in offer.blocks):
        yield Fact(Deed.BLOCK, (str(wheel),), str(wheel))


def _last_placement(day: WeighDay) -> list[Draft]:
    """The last draft of the day, with those before it in the same placement."""
    found: list[Draft] = []
    for draft in reversed(day.drafts):
        if found and (draft.placement is None or draft.placement != found[0].placement):
            break
        found.insert(0, draft)
    return found


def _left(day: WeighDay, last: Sequence[Draft]) -> Iterator[Fact]:
    """The places where the last placement of the day left the instruments and the blocks."""
    pads: dict[str, str] = {}
    blocks: dict[str, None] = {}
    for draft in last:
        pads |= {reading.instrument: reading.place.text for reading in draft.readings}
        blocks |= dict.fromkeys(blocked_in(day, draft))
    under = {str(wheel) for place in pads.values() for wheel in parse_place(place, day.vehicles).wheels}
    for name, place in pads.items():
        yield Fact(Deed.PAD, (name,), place)
    for wheel in blocks:
        if wheel not in under:
            yield Fact(Deed.BLOCK, (wheel,), wheel)


def blocked_in(day: WeighDay, draft: Draft) -> list[str]:
    """The wheels that stand as high as the pads of a draft without one."""
    if draft.on_ground:
        return [str(wheel) for wheel in draft.blocks]
    if not any(day.instruments[reading.instrument].height.value > 0.0 for reading in draft.readings):
        return []
    vehicles = day.states[draft.state].vehicles if draft.state in day.states else ()
    every = [str(WheelRef(name, int(end[:-1]), end[-1])) for name in vehicles for end in day.vehicles[name].wheels]
    read = {str(wheel) for reading in draft.readings for wheel in reading.place.wheels}
    return [wheel for wheel in every if wheel not in read and not _is_up(day, draft.state, wheel)]


def _is_up(day: WeighDay, state: str, wheel: str) -> bool:
    """Whether a wheel, as ``tow/3L``, is up with its axle."""
    vehicle, _, end = wheel.partition("/")
    return state in day.states and day.states[state].is_up(vehicle, int(end[:-1]))


def placings_of(offers: Sequence[Offer]) -> list[Placing]:
    """Drafts one after the other, put together by placement."""
    found: list[list[Offer]] = []
    for offer in offers:
        if offer.stays and found:
            found[-1].append(offer)
        else:
            found.append([offer])
    return [tuple(placing) for placing in found]
