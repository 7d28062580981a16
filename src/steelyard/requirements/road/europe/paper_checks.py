"""Forms that compare figures of the papers with one another: no reading enters, and there is no doubt.

``coupling_capability``, ``combination_papers``, ``trailer_sum``, ``running_order`` and ``class_mass``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.model import Role, Vehicle
from steelyard.requirements.road.europe.asked import (
    ROUNDED,
    PaperFigure,
    absent,
    at_most,
    axle_rating,
    classes_of,
    known,
    motor_vehicles,
    not_of_class,
    paper,
    rating,
    trailers,
)
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.units import Dimension


def coupling_capability(asked: AskedRule) -> Iterator[Ruling]:
    """The coupling load that a vehicle must be rated for: ``share`` of its towable mass, at least ``least`` [kg]."""
    for _, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        if refused is not None:
            yield refused
            continue
        mine, towable = paper(vehicle, "coupling"), _towable(vehicle)
        if not vehicle.couplings and mine.value is None:
            yield asked.silent(vehicle.id, subject=vehicle.title, note="it has no coupling")
            continue
        needs = absent(mine, towable)
        if needs:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
        else:
            limit = max(asked.values["share"] * known(towable), asked.values["least"])
            yield _least(asked, vehicle, known(mine), limit)


def _towable(vehicle: Vehicle) -> PaperFigure:
    """The heaviest trailer in the papers, with brakes or without."""
    braked, unbraked = paper(vehicle, "braked"), paper(vehicle, "unbraked")
    if braked.value is None or unbraked.value is None:
        return unbraked if braked.value is None and unbraked.value is not None else braked
    return max(braked, unbraked, key=known)


def combination_papers(asked: AskedRule) -> Iterator[Ruling]:
    """The permissible mass of the combination is at most that of the vehicle and its towable mass together."""
    for _, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        combination, mass, towable = rating(vehicle, "gcwr"), rating(vehicle, "gvwr"), _towable(vehicle)
        needs = absent(combination, mass, towable)
        if refused is not None:
            yield refused
        elif needs:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
        else:
            yield _most(asked, vehicle, known(combination), known(mass) + known(towable))


def trailer_sum(asked: AskedRule) -> Iterator[Ruling]:
    """The permissible mass of a trailer is at most what its coupling and its axles may carry together."""
    for _, trailer, _ in trailers(asked):
        refused = not_of_class(asked, trailer, classes_of(asked))
        mass, front = rating(trailer, "gvwr"), paper(trailer, "coupling")
        axles = [axle_rating(trailer, number) for number in range(1, len(trailer.axles) + 1)]
        needs = absent(mass, front, *axles)
        if refused is not None:
            yield refused
        elif needs:
            yield asked.missing(trailer.id, *needs, subject=trailer.title)
        else:
            rear = sum(coupling.vertical or 0.0 for coupling in trailer.couplings.values())
            yield _most(asked, trailer, known(mass), known(front) + sum(known(axle) for axle in axles) + rear)


def running_order(asked: AskedRule) -> Iterator[Ruling]:
    """The mass in running order, as the papers say, is at most the permissible mass."""
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            refused = not_of_class(asked, vehicle, classes_of(asked))
            mine, mass = paper(vehicle, "running_order"), rating(vehicle, "gvwr")
            needs = absent(mine, mass)
            if refused is not None:
                yield refused
            elif needs:
                yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            else:
                yield _most(asked, vehicle, known(mine), known(mass))


def class_mass(asked: AskedRule) -> Iterator[Ruling]:
    """The bounds of the permissible mass of a class, ``over`` and ``up_to`` [kg]; a trailer's without its coupling."""
    ranges = asked.values["ranges"]
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            refused = not_of_class(asked, vehicle, tuple(ranges))
            mass, coupling = rating(vehicle, "gvwr"), paper(vehicle, "coupling")
            trailer = vehicle.role is Role.TRAILER
            needs = absent(mass, coupling) if trailer else absent(mass)
            if refused is not None:
                yield refused
            elif needs:
                yield asked.missing(vehicle.id, *needs, subject=vehicle.title)
            else:
                value = known(mass) - (known(coupling) if trailer else 0.0)
                yield _in_class(asked, vehicle, value, ranges[vehicle.papers.category])


def _in_class(asked: AskedRule, vehicle: Vehicle, value: float, bounds: dict[str, float]) -> Ruling:
    over, most = bounds.get("over", 0.0), bounds.get("up_to", math.inf)
    note = f"class {vehicle.papers.category}"
    if value <= over * (1.0 + ROUNDED):
        result = Paper(value, over, Sense.MIN, Dimension.MASS, met=False)
    elif most < math.inf:
        result = Paper(value, most, Sense.MAX, Dimension.MASS, at_most(value, most))
    else:
        result = Paper(value, over, Sense.MIN, Dimension.MASS, met=True)
    return asked.compare(vehicle.id, result, subject=vehicle.title, note=note)


def _most(asked: AskedRule, vehicle: Vehicle, value: float, limit: float) -> Ruling:
    result = Paper(value, limit, Sense.MAX, Dimension.MASS, at_most(value, limit))
    return asked.compare(vehicle.id, result, subject=vehicle.title)


def _least(asked: AskedRule, vehicle: Vehicle, value: float, limit: float) -> Ruling:
    result = Paper(value, limit, Sense.MIN, Dimension.MASS, at_most(limit, value))
    return asked.compare(vehicle.id, result, subject=vehicle.title)
