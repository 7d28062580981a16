"""The form ``front_share``: the least part of a motor vehicle's mass that its steered front axles carry.

The rules of approval ask it of a vehicle that is laden to its permissible mass. One that is lighter is asked for the
same part of what it weighs, which is the softer question; at the permissible mass both are one.
"""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import LimitCurve, Sense
from steelyard.model import Vehicle, gross_load
from steelyard.requirements.road.europe.asked import absent, known, motor_vehicles, not_of_class, rating
from steelyard.requirements.road.europe.axles import steered_axles
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit


def front_share(asked: AskedRule) -> Iterator[Ruling]:
    """``shares`` by class; ``coupled`` says whether only a vehicle that tows is asked, or only one that does not."""
    for unit, vehicle in motor_vehicles(asked):
        yield _ruling(asked, unit, vehicle)


def _ruling(asked: AskedRule, unit: RoadUnit, vehicle: Vehicle) -> Ruling:
    coupled = asked.values.get("coupled")
    if coupled is not None and coupled is not bool(unit.links):
        note = "it tows nothing here" if coupled else "the rule is for a vehicle that tows nothing"
        return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    shares = asked.values["shares"]
    refused = not_of_class(asked, vehicle, tuple(shares))
    if refused is not None:
        return refused
    steered = steered_axles(vehicle)
    mass = rating(vehicle, "gvwr")
    needs = (*absent(mass), *steered.needs)
    if needs:
        return asked.missing(vehicle.id, *needs, subject=vehicle.title)
    share = shares[vehicle.papers.category]
    least = share * known(mass)
    gross = str(gross_load(vehicle.id).at(asked.train.state.id))
    curve = LimitCurve(gross, (known(mass),), ((0.0, share), (least, 0.0)), (False,))
    last = len(steered.numbers)
    subject = f"{vehicle.title} {unit.axles_text(1, last)}"
    return asked.limit(unit.load(1, last), least, subject=subject, sense=Sense.MIN, remedy=" on the front", curve=curve)
