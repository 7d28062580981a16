"""The form ``pay_mass``: the mass that a caravan must be able to carry, by its places and its length."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.model import Role, Vehicle
from steelyard.requirements.road.europe.asked import (
    absent,
    at_most,
    classes_of,
    known,
    not_of_class,
    paper,
    rating,
)
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.units import Dimension


def pay_mass(asked: AskedRule) -> Iterator[Ruling]:
    """At least ``each`` [kg] for every place and every metre of the body.

    The places of a trailer are its berths, of a motor caravan its seats, whose passengers weigh ``passenger`` [kg].
    A caravan is a vehicle whose papers tell berths. Optional equipment counts against the pay mass too: the mass in
    running order must be stated with it.
    """
    wanted = Role.TOWING if "passenger" in asked.values else Role.TRAILER
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            if vehicle.role is wanted:
                yield _ruling(asked, vehicle)


def _ruling(asked: AskedRule, vehicle: Vehicle) -> Ruling:
    refused = not_of_class(asked, vehicle, classes_of(asked))
    if refused is not None:
        return refused
    if not vehicle.papers.berths:
        return asked.silent(vehicle.id, subject=vehicle.title, note="its papers tell no berths: it is no caravan")
    passenger = asked.values.get("passenger")
    places = paper(vehicle, "berths" if passenger is None else "seats")
    mass, running, length = rating(vehicle, "gvwr"), paper(vehicle, "running_order"), paper(vehicle, "length")
    needs = absent(mass, running, length, places)
    if needs:
        return asked.missing(vehicle.id, *needs, subject=vehicle.title)
    value = known(mass) - known(running)
    if passenger is not None:
        value -= passenger * max(known(places) - 1.0, 0.0)
    limit = asked.values["each"] * (known(places) + known(length))
    result = Paper(value, limit, Sense.MIN, Dimension.MASS, at_most(limit, value))
    return asked.compare(vehicle.id, result, subject=vehicle.title)
