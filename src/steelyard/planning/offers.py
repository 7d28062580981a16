"""Every draft that the instruments and the rig allow: which state, what under which wheels, which wheels on blocks.

Several may be taken in one placement: the rig and the pads stay, what is hitched, tensioned or aboard changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import field, replace
from itertools import combinations, islice, pairwise, permutations, zip_longest

from steelyard.adjustment import Adjustment, StanceLoads
from steelyard.classes import dataclass
from steelyard.model import (
    CouplingType,
    Draft,
    Sharing,
    State,
    Vehicle,
    WeighDay,
    WheelRef,
    WrittenReading,
    parse_place,
)
from steelyard.planning.kit import Kit

MOST = 600
"""Placements on offer at most; above, what is on offer is cut down, one thing after the other, and that is said."""

IN_ONE = 3
"""Drafts taken in one placement at most."""

IN_ORDER = "pads keep their order from the front of the rig to its rear"
PAIRED = "pads go in pairs under an axle"
ONLY_FIRST = f"only {MOST} placements are looked at"
"""Message where more placements exist than are offered."""


@dataclass(frozen=True, slots=True)
class _Way:
    """In what way pads are placed."""

    single: bool
    in_order: bool

    @property
    def words(self) -> tuple[str, ...]:
        """The limits that it keeps."""
        return (IN_ORDER,) if self.in_order else ()


NOT_READ = 1.0
"""Stand-in for a planned reading [kg]: only its place matters, but a zero would not count at all."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A draft that may be taken.

    ``placements`` gives the instrument at each place; ``blocks`` the wheels that want a pad-high block under them.
    ``stations`` are the axles and coupling points that it reads. ``stays``: neither the rig nor the pads move between
    the draft before and this one.
    """

    state: str
    placements: tuple[tuple[str, str], ...]
    stations: frozenset[str]
    blocks: tuple[WheelRef, ...] = ()
    on_ground: bool = False
    stays: bool = False

    def draft(self, day: WeighDay, number: int, loads: dict[str, float] | None = None) -> Draft:
        """It as a draft of a day, showing ``loads`` [kg] by place where they are given."""
        readings = tuple(
            WrittenReading(parse_place(place, day.vehicles), name, NOT_READ if loads is None else loads[place])
            for place, name in self.placements
        )
        blocks = self.blocks if self.on_ground else ()
        return Draft(number, self.state, readings, on_ground=self.on_ground, blocks=blocks)


Placing = tuple[Offer, ...]
"""Drafts taken one after the other in one placement; nearly always one."""


@dataclass(frozen=True, slots=True)
class Places:
    """Expected loads [kg] by state and place."""

    loads: dict[tuple[str, str], float]

    def of(self, state: str, place: str) -> float:
        """The load of ``place`` in ``state`` [kg]."""
        return sum(self.loads[state, part] for part in place.split("+"))


def loads_at_places(base: Adjustment, loads: StanceLoads) -> Places:
    """Expected loads of every wheel, axle and coupling point in every state."""
    found: dict[tuple[str, str], float] = {}
    for state in base.rig.day.states.values():
        index = base.layout.level[state.id]
        for name, out in base.layout.wheels_out[index].items():
            wheels = base.rig.day.vehicles[name].wheels
            for at, wheel in enumerate(wheels):
                found[state.id, f"{name}/{wheel}"] = float(loads.values[out.start + at])
            for axle in range(1, len(wheels) // 2 + 1):
                found[state.id, f"{name}/{axle}"] = sum(found[state.id, f"{name}/{axle}{side}"] for side in "LR")
        for name, at in base.layout.coupling_out[index].items():
            found[state.id, f"{name}/coupling"] = float(loads.values[at])
    return Places(found)


@dataclass()
class Offers:
    """The drafts on offer, and why others are not.

    Attributes
    ----------
    overloaded: what would carry too much: instrument, state, place, load [kg].
    split: groups of axles that were left out because there are not enough blocks, with how many it would take.
    left_out: what else is not on offer, in words, since there would be too much of it.
    """

    day: WeighDay
    kit: Kit
    places: Places
    overloaded: dict[tuple[str, str, str], float] = field(default_factory=dict[tuple[str, str, str], float])
    split: dict[str, int] = field(default_factory=dict[str, int])
    left_out: tuple[str, ...] = ()

    def all(self, tipped: Sequence[str] = ()) -> list[Placing]:
        """Every placement with its drafts, those of one draft first; none in a state that is ``tipped``.

        What is not on offer since there would be more than ``MOST`` is said in ``left_out``.
        """
        states = [state for state in self.day.states.values() if state.id not in tipped]
        found = self._of_one_draft(states)
        single: list[Placing] = [(offer,) for offer in found]
        said = self.left_out
        for most in range(IN_ONE, 1, -1):
            several = list(islice(self._in_one(found, states, most), MOST + 1 - len(single)))
            if len(single) + len(several) <= MOST:
                return [*single, *several]
            self.left_out = (*said, f"a placement serves {'one state' if most == 2 else f'{most - 1} states or fewer'}")
        return single

    def _of_one_draft(self, states: Sequence[State]) -> list[Offer]:
        """Drafts in all states, in the first way that gives no more than ``MOST``; else so many of the last way."""
        single = self.kit.single
        ways = [_Way(single, in_order=False), _Way(single, in_order=True)]
        ways += [_Way(single=False, in_order=True)] if single and self.kit.pairs else []
        for way in ways:
            self.left_out = (*way.words, *((PAIRED,) if single and not way.single else ()))
            found = list(islice((offer for state in states for offer in self._in_state(state, way)), MOST + 1))
            if len(found) <= MOST:
                return found
        self.left_out = (*self.left_out, ONLY_FIRST)
        dealt = zip_longest(*(islice(self._in_state(state, ways[-1]), MOST) for state in states))
        return list(islice((offer for offers in dealt for offer in offers if offer is not None), MOST))

    def _in_one(self, offers: Sequence[Offer], states: Sequence[State], most: int) -> Iterator[Placing]:
        """Drafts in up to ``most`` states, one after the other, that share one placement.

        The first has all the pads; a later one reads those under the vehicles that its state has.
        """
        by_place = {(offer.state, frozenset(offer.placements)): offer for offer in offers}
        by_state = {state.id: [offer for offer in offers if offer.state == state.id] for state in states}
        for count in range(2, most + 1):
            for chain in permutations(states, count):
                if all(self._stays(one, other) for one, other in pairwise(chain)):
                    made = (self._chained(offer, chain, by_place) for offer in by_state[chain[0].id])
                    yield from (taken for taken in made if taken)

    def _chained(
        self, first: Offer, chain: Sequence[State], by_place: dict[tuple[str, frozenset[tuple[str, str]]], Offer]
    ) -> Placing:
        """``first`` and the drafts after it in the other states; empty where there is one without a pad to read."""
        if any(place.endswith("/coupling") for place, _ in first.placements):
            return ()
        again = {name for state in chain[1:] for name in state.vehicles}
        if any(self._shares(place) for place, _ in first.placements if place.partition("/")[0] in again):
            return ()
        taken = [first]
        for state in chain[1:]:
            own = frozenset(item for item in first.placements if item[0].partition("/")[0] in state.vehicles)
            offer = by_place.get((state.id, own))
            if offer is None:
                return ()
            taken.append(replace(offer, stays=True))
        return tuple(taken) if self._blocks_stay(taken) else ()

    def _blocks_stay(self, placing: Sequence[Offer]) -> bool:
        """Whether the blocks of all drafts can lie there from the first on, as high as the pads of each draft."""
        lying = {wheel for offer in placing for wheel in offer.blocks}
        if self.kit.blocks is not None and len(lying) > self.kit.blocks:
            return False
        heights: set[float] = set()
        for offer in placing:
            here = {wheel for wheel in lying if wheel.vehicle in self.day.states[offer.state].vehicles}
            if here != set(offer.blocks):
                return False
            if here:
                under = [name for place, name in offer.placements if not place.endswith("/coupling")]
                heights.add(round(sum(self.day.instruments[name].height.value for name in under) / len(under), 9))
        return len(heights) <= 1

    def _shares(self, place: str) -> bool:
        """Whether a place is in a group that shares load: its friction sets anew when the load on it changes."""
        name, _, end = place.partition("/")
        axle = self.day.vehicles[name].axles[int(end.rstrip("LR")) - 1]
        return axle.group is not None and axle.sharing is Sharing.EQUALISED

    def _stays(self, before: State, after: State) -> bool:
        """Whether one state becomes the other while the wheels of what is in both stay where they stand.

        A ball or a gooseneck is jacked off and lowered on; a fifth wheel is left by driving from under the pin.
        """
        if not set(before.vehicles) & set(after.vehicles):
            return False
        old, new = ({(link.towing, link.at, link.trailer) for link in state.links} for state in (before, after))
        types = {self.day.vehicles[towing].couplings[at].type for towing, at, _ in old ^ new}
        return CouplingType.FIFTH_WHEEL not in types

    def _in_state(self, state: State, way: _Way) -> Iterator[Offer]:
        axles = [
            f"{name}/{axle}"
            for name in state.vehicles
            for axle in range(1, len(self.day.vehicles[name].axles) + 1)
            if not state.is_up(name, axle)
        ]
        points = [
            f"{name}/coupling"
            for name in state.vehicles
            if (state.id, f"{name}/coupling") in self.places.loads and state.link_of_trailer(name) is None
        ]
        for under_axles in self._under_axles(axles, way):
            for under_points in self._under_points(points, under_axles):
                offer = self._offer(state, under_axles, under_points)
                if offer is not None:
                    yield offer

    def _under_axles(self, axles: list[str], way: _Way) -> Iterator[dict[str, str]]:
        """Sets of instruments that may stand under axles at once, by place."""
        ends = [(f"{axle}L", f"{axle}R") for axle in axles]
        where = [(end,) for both in ends for end in both] if way.single else ends
        units = [(name,) for name in self.kit.pads] if way.single else list(self.kit.pairs)
        platforms = [(name,) for name in self.kit.platforms]
        for pads in self._placed(where, units, in_order=way.in_order):
            free = [(axle,) for axle, both in zip(axles, ends, strict=True) if not pads.keys() & set(both)]
            for more in self._placed(free, platforms, in_order=True):
                yield pads | more

    def _placed(
        self, where: list[tuple[str, ...]], units: list[tuple[str, ...]], *, in_order: bool
    ) -> Iterator[dict[str, str]]:
        for count in range(min(len(where), len(units)) + 1):
            chosen = combinations(units, count) if in_order else permutations(units, count)
            orders = list(chosen)
            for places in combinations(where, count):
                for order in orders:
                    yield {
                        place: name
                        for ends, names in zip(places, order, strict=True)
                        for place, name in zip(ends, names, strict=True)
                    }

    def _under_points(self, points: list[str], used: dict[str, str]) -> Iterator[dict[str, str]]:
        yield {}
        for name in self.kit.coupling:
            if name not in used.values():
                for point in points:
                    yield {point: name}

    def _offer(self, state: State, under_axles: dict[str, str], under_points: dict[str, str]) -> Offer | None:
        placements = under_axles | under_points
        if not placements or not self._holds(state, placements):
            return None
        covered = {wheel for place in under_axles for wheel in parse_place(place, self.day.vehicles).wheels}
        others = [
            WheelRef(name, int(wheel[:-1]), wheel[-1])
            for name in state.vehicles
            for wheel in self.day.vehicles[name].wheels
            if WheelRef(name, int(wheel[:-1]), wheel[-1]) not in covered and not state.is_up(name, int(wheel[:-1]))
        ]
        high = max((self.day.instruments[name].height.value for name in under_axles.values()), default=0.0)
        blocks: tuple[WheelRef, ...] = ()
        if high > 0.0:
            if self.kit.blocks is None:
                blocks = tuple(others)
            else:
                blocks = tuple(wheel for wheel in others if self._same_group(wheel, covered))
                if len(blocks) > self.kit.blocks:
                    name = f"{blocks[0].vehicle}"
                    self.split[name] = min(len(blocks), self.split.get(name, len(blocks)))
                    return None
        stations = frozenset(place.rstrip("LR") if "/coupling" not in place else place for place in placements)
        on_ground = self.kit.blocks is not None and high > 0.0
        return Offer(state.id, tuple(placements.items()), stations, blocks, on_ground)

    def _same_group(self, wheel: WheelRef, covered: set[WheelRef]) -> bool:
        """Whether an axle of the wheel's own group has a pad under it (or the wheel's own axle has)."""
        vehicle = self.day.vehicles[wheel.vehicle]
        own = _group(vehicle, wheel.axle)
        return any(other.vehicle == wheel.vehicle and _group(vehicle, other.axle) == own for other in covered)

    def _holds(self, state: State, placements: dict[str, str]) -> bool:
        """Whether no instrument carries more than it may."""
        sound = True
        for place, name in placements.items():
            load = self.places.of(state.id, place)
            if load > self.day.instruments[name].capacity:
                self.overloaded[name, state.id, place] = load
                sound = False
        return sound


def drafts_of(
    day: WeighDay, offers: Sequence[Offer], loads: Callable[[str, str], float] | None = None
) -> tuple[Draft, ...]:
    """Drafts on offer as drafts of a day, numbered behind those it has; those that share a placement name it.

    ``loads``: what a place carries in a state [kg]; without it the drafts show nothing yet.
    """
    taken = {draft.placement for draft in day.drafts}
    names = (name for at in range(1, len(offers) + len(taken) + 2) if (name := f"plan{at}") not in taken)
    found: list[Draft] = []
    for at, offer in enumerate(offers):
        shown = None if loads is None else {place: loads(offer.state, place) for place, _ in offer.placements}
        draft = offer.draft(day, len(day.drafts) + at + 1, shown)
        if offer.stays:
            draft = replace(draft, placement=found[-1].placement)
        elif at + 1 < len(offers) and offers[at + 1].stays:
            draft = replace(draft, placement=next(names))
        found.append(draft)
    return tuple(found)


def _group(vehicle: Vehicle, axle: int) -> str:
    """The group of an axle; an axle without one is a group of its own."""
    return vehicle.axles[axle - 1].group or f"/{axle}"
