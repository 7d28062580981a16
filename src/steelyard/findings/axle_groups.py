"""Entries that only chosen rules of the road ask for: loads of neighbouring axles and the distances between axles."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from steelyard.adjustment import Adjustment, Term
from steelyard.findings.coupling_forces import force_entries
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.result import Basis
from steelyard.model import COMBINATION, FindingId, State
from steelyard.requirements import RoadAxle, RoadUnit, Train, road_requirements
from steelyard.units import Dimension

_KINDS = ("axles", "spread")


def rule_entries(adjustment: Adjustment, state: State, basis: Basis) -> Iterator[CatalogueEntry]:
    """The axle groups that the chosen rules limit in ``state``, the distances that these need, forces of couplings."""
    day = adjustment.rig.day
    if not day.rules.sets:
        return
    wanted = sorted((FindingId.parse(name) for name in _named(adjustment, state)), key=_axles_of)
    train = Train(day, state)
    for kind in _KINDS:
        for name in wanted:
            span = _span(train, name) if name.kind == kind and name.place else None
            if span is not None:
                yield _entry(adjustment, name, span, basis)
    yield from force_entries(adjustment, wanted, basis)


def _named(adjustment: Adjustment, state: State) -> Iterable[str]:
    """The findings that the rules limit, and those that a limit depends on, each once."""
    requirements = road_requirements(adjustment.rig.day, state.id)
    limited = [item.finding for item in requirements]
    return dict.fromkeys([*limited, *(item.curve.finding for item in requirements if item.curve is not None)])


def _axles_of(name: FindingId) -> tuple[int, ...]:
    """The axles of a group, front to rear; groups of the combination and of a vehicle stay together."""
    return tuple(int(part) for part in name.place.split("-")) if name.kind in _KINDS and name.place else ()


def _span(train: Train, name: FindingId) -> tuple[RoadUnit, tuple[RoadAxle, ...]] | None:
    """The axles of a name such as ``hitched/combination/axles/2-5``, and what they are counted through."""
    unit = next((one for one in train.units if one.owner == name.owner), None) or _alone(train, name.owner)
    if unit is None:
        return None
    first, _, last = name.place.partition("-")
    return unit, tuple(axle for axle in unit.axles if int(first) <= axle.place <= int(last))


def _alone(train: Train, vehicle: str) -> RoadUnit | None:
    """One vehicle by itself, though something is coupled to it."""
    return train.alone(vehicle) if vehicle in train.state.vehicles else None


def _entry(
    adjustment: Adjustment, name: FindingId, span: tuple[RoadUnit, tuple[RoadAxle, ...]], basis: Basis
) -> CatalogueEntry:
    unit, axles = span
    state = name.state
    first, last = name.place.split("-")
    owner = "the combination" if unit.owner == COMBINATION else unit.title
    label = f"{state}: axles {first} to {last} of {owner}"
    if name.kind == "axles":
        out = adjustment.layout.wheels_out[adjustment.layout.level[state]]
        starts = [out[axle.vehicle.id].start + 2 * (axle.number - 1) for axle in axles]
        terms = {start + end: 1.0 for start in starts for end in (0, 1)}
        return CatalogueEntry(str(name), label, Dimension.MASS, basis, state, terms)
    apart: dict[Term, float] = {}
    for axle, factor in ((axles[-1], 1.0), (axles[0], -1.0)):
        for term in _place(adjustment, unit, axle):
            apart[term] = apart.get(term, 0.0) + factor
    known = tuple((term, factor) for term, factor in apart.items() if factor)
    return CatalogueEntry(str(name), f"{label}, outer centres apart", Dimension.LENGTH, basis, state, known=known)


def _place(adjustment: Adjustment, unit: RoadUnit, axle: RoadAxle) -> Iterator[Term]:
    """The taped numbers that add up to the place of an axle behind the origin of the first vehicle."""
    index, day = adjustment.rig.unknowns.index, adjustment.rig.day
    ahead = {vehicle.id for vehicle in unit.vehicles[: unit.vehicles.index(axle.vehicle)]}
    for link in unit.links:
        if link.towing in ahead:
            taped = day.vehicles[link.towing].couplings[link.at].x.value
            yield Term(taped, index.get(("coupling_x", link.towing, link.at)))
    yield Term(axle.axle.x.value, index.get(("x", axle.vehicle.id, axle.number)))
