"""The form ``towing_allowance``: by how much a vehicle that tows may exceed a permissible mass of its own."""

from __future__ import annotations

import math
from collections.abc import Iterator

from steelyard.model import Vehicle, axle_load, gross_load
from steelyard.requirements.road.europe.asked import (
    PaperFigure,
    absent,
    axle_rating,
    classes_of,
    known,
    motor_vehicles,
    not_of_class,
    one_trailer,
    rating,
)
from steelyard.requirements.road.ruling import AskedRule, Ruling


def towing_allowance(asked: AskedRule) -> Iterator[Ruling]:
    """``over`` is a part of the permissible mass, at most ``most`` [kg]; ``of`` is ``gross`` or ``rear_axles``."""
    for unit, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        towed = one_trailer(asked, unit, vehicle)
        if refused is not None:
            yield refused
        elif isinstance(towed, Ruling):
            yield towed
        elif asked.values["of"] == "gross":
            figure = rating(vehicle, "gvwr")
            if figure.value is None:
                yield asked.missing(vehicle.id, *absent(figure), subject=vehicle.title)
            else:
                yield asked.limit(gross_load(vehicle.id), _raised(asked, figure), subject=vehicle.title)
        else:
            yield from _rear_axles(asked, vehicle)


def _rear_axles(asked: AskedRule, vehicle: Vehicle) -> Iterator[Ruling]:
    for number in range(2, len(vehicle.axles) + 1):
        subject = f"{vehicle.title} axle {number}"
        figure = axle_rating(vehicle, number)
        if figure.value is None:
            yield asked.missing(str(axle_load(vehicle.id, number)), *absent(figure), subject=subject)
        else:
            load = axle_load(vehicle.id, number)
            yield asked.limit(load, _raised(asked, figure), subject=subject, remedy=" on this axle")


def _raised(asked: AskedRule, figure: PaperFigure) -> float:
    base = known(figure)
    return base + min(asked.values["over"] * base, asked.values.get("most", math.inf))
