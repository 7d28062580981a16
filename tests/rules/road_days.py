"""Weigh days that are nothing but vehicles on the road, for rules that ask for places and ratings alone."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from steelyard.model import (
    Axle,
    ChosenRules,
    Coupling,
    CouplingType,
    Link,
    Ratings,
    Role,
    RuleSet,
    State,
    Use,
    Vehicle,
    WeighDay,
)
from steelyard.units import Quantity

INCH = 0.0254
POUND = 0.45359237
TRACK = Quantity(1.8, 0.0)


def road_day(
    *vehicles: Sequence[float],
    sets: Sequence[RuleSet],
    ratings: Sequence[Ratings] = (),
    use: Use | None = Use.COMMERCE,
    licence: tuple[str, ...] | None = None,
) -> WeighDay:
    """Vehicles coupled front to rear; of each the places of its axles along the whole combination [in].

    Each trailer hangs 10 in before its first axle. Without ``ratings`` no vehicle has any.
    """
    built: dict[str, Vehicle] = {}
    hitches = [0.0, *(axles[0] - 10.0 for axles in vehicles[1:])]
    for number, axles in enumerate(vehicles):
        origin, name = hitches[number], f"v{number}"
        couplings = {}
        if number + 1 < len(vehicles):
            x = Quantity((hitches[number + 1] - origin) * INCH, 0.0)
            couplings = {"ball": Coupling("ball", CouplingType.BALL, x)}
        placed = tuple(Axle(Quantity((place - origin) * INCH, 0.0), TRACK) for place in axles)
        of = ratings[number] if ratings else Ratings()
        built[name] = Vehicle(name, Role.TRAILER if number else Role.TOWING, placed, couplings, ratings=of)
    links = tuple(Link(front, "ball", rear) for front, rear in pairwise(built))
    return WeighDay(
        vehicles=built,
        states={"road": State("road", tuple(built), links)},
        rules=ChosenRules(sets=tuple(sets), use=use, licence=licence),
    )
