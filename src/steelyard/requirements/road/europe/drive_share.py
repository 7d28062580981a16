"""The form ``drive_axle_share``: the least part of the weight of the whole combination that its driving axles carry."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import LimitCurve, Sense
from steelyard.model import Vehicle
from steelyard.requirements.road.europe.asked import classes_of, motor_vehicles, not_of_class
from steelyard.requirements.road.europe.axles import driven_axles
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit


def drive_axle_share(asked: AskedRule) -> Iterator[Ruling]:
    """``share`` of the gross weight of the unit; ``classes``."""
    for unit, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        yield _ruling(asked, unit, vehicle) if refused is None else refused


def _ruling(asked: AskedRule, unit: RoadUnit, vehicle: Vehicle) -> Ruling:
    driven = driven_axles(vehicle)
    if driven.needs:
        return asked.missing(vehicle.id, *driven.needs, subject=vehicle.title)
    if not driven.numbers:
        return asked.silent(vehicle.id, subject=vehicle.title, note="no axle of it drives")
    first, last = driven.numbers[0], driven.numbers[-1]
    if len(driven.numbers) != last - first + 1:
        note = "other axles stand between those that drive, and only neighbouring axles are added up here"
        return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    share = asked.values["share"]
    curve = LimitCurve(str(unit.gross.at(asked.train.state.id)), (), ((0.0, share),), ())
    permissible = sum(one.ratings.gvwr or 0.0 for one in unit.vehicles)  # until it is known what all of it weighs
    subject = f"{vehicle.title} driving {unit.axles_text(first, last)}"
    return asked.limit(
        unit.load(first, last),
        share * permissible,
        subject=subject,
        sense=Sense.MIN,
        remedy=" on these axles",
        curve=curve,
    )
