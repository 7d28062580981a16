"""Every draft that the instruments and the rig allow: which state, what under which wheels, which wheels on blocks."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import combinations, permutations

from steelyard.adjustment import Adjustment, StanceLoads
from steelyard.model import Draft, State, Vehicle, WeighDay, WheelRef, WrittenReading, parse_place
from steelyard.planning.kit import Kit

MOST = 1500
"""Drafts on offer at most; above, pads keep their order from the front of the rig to its rear."""


@dataclass(frozen=True, slots=True)
class Offer:
    """A draft that may be taken.

    ``placements`` gives the instrument at each place; ``blocks`` the wheels that want a pad-high block under them.
    ``stations`` are the axles and coupling points that it reads.
    """

    state: str
    placements: tuple[tuple[str, str], ...]
    stations: frozenset[str]
    blocks: tuple[WheelRef, ...] = ()
    on_ground: bool = False

    def draft(self, day: WeighDay, number: int, loads: dict[str, float] | None = None) -> Draft:
        """It as a draft of a day, showing ``loads`` [kg] by place where they are given."""
        readings = tuple(
            WrittenReading(parse_place(place, day.vehicles), name, 0.0 if loads is None else loads[place])
            for place, name in self.placements
        )
        blocks = self.blocks if self.on_ground else ()
        return Draft(number, self.state, readings, on_ground=self.on_ground, blocks=blocks)


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


@dataclass
class Offers:
    """The drafts on offer, and why others are not.

    Attributes
    ----------
    overloaded: what would carry too much: instrument, state, place, load [kg].
    split: groups of axles that were left out because there are not enough blocks, with how many it would take.
    """

    day: WeighDay
    kit: Kit
    places: Places
    overloaded: dict[tuple[str, str, str], float] = field(default_factory=dict[tuple[str, str, str], float])
    split: dict[str, int] = field(default_factory=dict[str, int])

    def all(self, tipped: Sequence[str] = ()) -> list[Offer]:
        """Every draft, states in file order; none in a state that is ``tipped``."""
        states = [state for state in self.day.states.values() if state.id not in tipped]
        found = [offer for state in states for offer in self._in_state(state, in_order=False)]
        if len(found) > MOST:
            found = [offer for state in states for offer in self._in_state(state, in_order=True)]
        return found

    def _in_state(self, state: State, *, in_order: bool) -> Iterator[Offer]:
        axles = [
            f"{name}/{axle}" for name in state.vehicles for axle in range(1, len(self.day.vehicles[name].axles) + 1)
        ]
        points = [
            f"{name}/coupling"
            for name in state.vehicles
            if (state.id, f"{name}/coupling") in self.places.loads and state.link_of_trailer(name) is None
        ]
        for under_axles in self._under_axles(axles, in_order=in_order):
            for under_points in self._under_points(points, under_axles):
                offer = self._offer(state, under_axles, under_points)
                if offer is not None:
                    yield offer

    def _under_axles(self, axles: list[str], *, in_order: bool) -> Iterator[dict[str, str]]:
        """What may stand under axles at once: instruments by place."""
        if self.kit.single:
            wheels = [f"{axle}{side}" for axle in axles for side in "LR"]
            units = [(name,) for name in self.kit.pads]
            yield from self._placed([(wheel,) for wheel in wheels], units, in_order=True)
            return
        ends = [(f"{axle}L", f"{axle}R") for axle in axles]
        for pads in self._placed(ends, list(self.kit.pairs), in_order=in_order):
            free = [axle for axle in axles if f"{axle}L" not in pads]
            for more in self._placed(
                [(axle,) for axle in free], [(name,) for name in self.kit.platforms], in_order=True
            ):
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
            if WheelRef(name, int(wheel[:-1]), wheel[-1]) not in covered
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


def _group(vehicle: Vehicle, axle: int) -> str:
    """The group of an axle; an axle without one is a group of its own."""
    return vehicle.axles[axle - 1].group or f"/{axle}"
