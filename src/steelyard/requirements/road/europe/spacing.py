"""The forms ``axle_spacing`` and ``axle_single``: axle loads by the distance to the next axle of the same vehicle.

The distance is taped and has a doubt, so that near an edge of the rule two limits are possible; the curve of a limit
carries both.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from steelyard.classes import dataclass
from steelyard.conformity import LimitCurve
from steelyard.model import Measurand, Role, Vehicle, axle_spread
from steelyard.requirements.road.europe.asked import ROUNDED, at_most, classes_of, not_of_class, not_said
from steelyard.requirements.road.europe.axles import Softer, driven_axles, softer_axles
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadAxle, RoadUnit
from steelyard.statics import TAPE

REACH = 6.0
"""Standard uncertainties of a taped distance within which it may lie on the other side of an edge."""

LIKELY = 1.6449
"""Standard uncertainties beyond an edge with 95 % of the normal law on that side.

From there on a rule that ends at the edge is kept whatever the load is, and its limit would only mislead.
"""


@dataclass(frozen=True, slots=True)
class _Vehicle:
    """A vehicle of a unit with its axles; ``first`` is the number of its first axle through the unit."""

    unit: RoadUnit
    vehicle: Vehicle
    first: int
    axles: tuple[RoadAxle, ...]

    @property
    def gaps(self) -> list[float]:
        """The distance from each axle to the next [m]."""
        return [after.x - before.x for before, after in pairwise(self.axles)]

    def doubt(self, place: int) -> float:
        """Standard uncertainty of the distance behind the axle at a place from 0 [m].

        The first axle of a towing vehicle is where its places are counted from, and has none.
        """
        ends = (axle for axle in self.axles[place : place + 2] if not self.is_origin(axle))
        return math.hypot(*(axle.axle.x.u_or(TAPE) for axle in ends))

    def is_origin(self, axle: RoadAxle) -> bool:
        """Whether the places of the vehicle are counted from this axle."""
        return axle.number == 1 and self.vehicle.role is Role.TOWING

    def spread(self, place: int) -> Measurand:
        """The distance between the axle at a place from 0 and the next."""
        return axle_spread(self.unit.owner, self.first + place, self.first + place + 1)


def axle_single(asked: AskedRule) -> Iterator[Ruling]:
    """``driving`` and ``other`` [kg]: what an axle carries that has no other within ``apart`` [m]; ``classes``."""
    for mine in _vehicles(asked, ""):
        yield from _refused(asked, mine) or _singles(asked, mine)


def _singles(asked: AskedRule, mine: _Vehicle) -> Iterator[Ruling]:
    apart = asked.values["apart"]
    alone = [(place, near) for place, near in _nearest(mine) if near is None or _may_be_over(mine, near, apart)]
    driven = driven_axles(mine.vehicle)
    if alone and driven.needs:
        yield not_said(asked, mine.vehicle, driven.needs, min(asked.values["driving"], asked.values["other"]))
        return
    for place, near in alone:
        axle = mine.axles[place]
        limit = asked.values["driving" if axle.number in driven.numbers else "other"]
        curve = None
        if near is not None and mine.gaps[near] - REACH * mine.doubt(near) < apart:
            curve = LimitCurve(_name(asked, mine.spread(near)), (apart,), ((math.inf, 0.0), (limit, 0.0)), (True,))
        number = mine.first + place
        subject = f"{mine.vehicle.title} axle {axle.number}"
        yield asked.limit(mine.unit.load(number, number), limit, subject=subject, remedy=" on this axle", curve=curve)


def _nearest(mine: _Vehicle) -> Iterator[tuple[int, int | None]]:
    """The place of each axle from 0, and the smaller of its distances to a neighbour; None: it has no neighbour."""
    gaps = mine.gaps
    for place in range(len(mine.axles)):
        beside = [at for at in (place - 1, place) if 0 <= at < len(gaps)]
        yield place, min(beside, key=lambda at: gaps[at], default=None)


def _may_be_over(mine: _Vehicle, place: int, edge: float) -> bool:
    """Whether a distance is likely enough to be over an edge that the rule from there on could be broken."""
    return at_most(edge, mine.gaps[place] + LIKELY * mine.doubt(place))


def axle_spacing(asked: AskedRule) -> Iterator[Ruling]:
    """A limit on ``axles`` neighbouring axles of one vehicle, by ``steps`` of the distance between two of them.

    Each step has an edge, ``below`` (the edge itself belongs to the next step) or ``up_to``, and a ``limit`` [kg];
    after the last edge the rule says nothing, a step without an edge reaches on. ``softer`` is the limit of a step
    where the driving axles have twin tyres and air suspension, or where no axle is rated over ``softer_axle`` [kg].
    ``on`` is ``motor``, ``trailer`` or left out. All neighbours of a group are within the last edge; of three
    axles the smaller distance counts. ``not_in_three``: no pair of three axles that are within so much [m].
    """
    for mine in _vehicles(asked, asked.values.get("on", "")):
        groups = [place for place in range(len(mine.axles)) if _is_group(asked, mine, place)]
        if not groups:
            continue
        yield from _refused(asked, mine) or _groups(asked, mine, groups)


def _groups(asked: AskedRule, mine: _Vehicle, groups: list[int]) -> Iterator[Ruling]:
    count = asked.values["axles"]
    for place in groups:
        first, last = mine.first + place, mine.first + place + count - 1
        subject = f"{mine.unit.title} {mine.unit.axles_text(first, last)}"
        axles = mine.axles[place : place + count]
        softer = _softer(asked, mine, axles)
        if softer.needs:
            yield not_said(asked, mine.vehicle, softer.needs, min(step["limit"] for step in asked.values["steps"]))
            continue
        gaps = mine.gaps[place : place + count - 1]
        near = place + gaps.index(min(gaps))
        curve = _steps(asked, mine.spread(near), yes=softer.yes)
        limit = curve.limit(min(gaps))
        if math.isinf(limit):
            limit = next(constant for constant, _ in reversed(curve.pieces) if math.isfinite(constant))
        yield asked.limit(mine.unit.load(first, last), limit, subject=subject, remedy=" on these axles", curve=curve)


def _softer(asked: AskedRule, mine: _Vehicle, axles: tuple[RoadAxle, ...]) -> Softer:
    if all("softer" not in step for step in asked.values["steps"]):
        return Softer()
    driven = driven_axles(mine.vehicle)
    if driven.needs:
        return Softer(needs=driven.needs)
    return softer_axles(axles, driven.numbers, asked.values.get("softer_axle", 0.0))


def _is_group(asked: AskedRule, mine: _Vehicle, place: int) -> bool:
    count = asked.values["axles"]
    if place + count > len(mine.axles):
        return False
    last = asked.values["steps"][-1]
    if not all(_may_be_within(mine, at, last) for at in range(place, place + count - 1)):
        return False
    three = asked.values.get("not_in_three")
    return three is None or not _in_three(mine, place, three)


def _may_be_within(mine: _Vehicle, place: int, step: Mapping[str, Any]) -> bool:
    """Whether a distance is likely enough to lie within the edge of a step that its rule could be broken."""
    least = mine.gaps[place] - LIKELY * mine.doubt(place)
    return least < step["below"] * (1.0 - ROUNDED) if "below" in step else at_most(least, _edge(step))


def _in_three(mine: _Vehicle, place: int, apart: float) -> bool:
    """Whether a pair belongs to three axles with no two neighbours further apart."""
    gaps = mine.gaps
    return any(
        before >= 0 and after < len(gaps) and at_most(max(gaps[before], gaps[after]), apart)
        for before, after in ((place - 1, place), (place, place + 1))
    )


def _steps(asked: AskedRule, spread: Measurand, *, yes: bool) -> LimitCurve:
    steps: tuple[Mapping[str, Any], ...] = asked.values["steps"]
    limits = [step.get("softer", step["limit"]) if yes else step["limit"] for step in steps]
    edges = [_edge(step) for step in steps]
    if math.isfinite(edges[-1]):
        limits.append(math.inf)
    else:
        edges.pop()
    upper = tuple("below" in step for step in steps[: len(edges)])
    return LimitCurve(_name(asked, spread), tuple(edges), tuple((limit, 0.0) for limit in limits), upper)


def _edge(step: Mapping[str, Any]) -> float:
    return step.get("below", step.get("up_to", math.inf))


def _name(asked: AskedRule, measurand: Measurand) -> str:
    return str(measurand.at(asked.train.state.id))


def _vehicles(asked: AskedRule, on: str) -> Iterator[_Vehicle]:
    for unit in asked.train.units:
        first = 1
        for vehicle in unit.vehicles:
            count = len(vehicle.axles)
            if not on or (on == "trailer") is (vehicle.role is Role.TRAILER):
                yield _Vehicle(unit, vehicle, first, unit.axles[first - 1 : first - 1 + count])
            first += count


def _refused(asked: AskedRule, mine: _Vehicle) -> list[Ruling]:
    refused = not_of_class(asked, mine.vehicle, classes_of(asked))
    return [] if refused is None else [refused]
