"""The forms ``gross_by_axle_count`` and ``gross_by_metre``: gross weight by the number of axles and by their spread."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steelyard.conformity import LimitCurve
from steelyard.model import Role, Vehicle, axle_spread, gross_load
from steelyard.requirements.road.europe.asked import SEMI_TRAILERS, classes_of, motor_vehicles, not_of_class, not_said
from steelyard.requirements.road.europe.axles import driven_axles, softer_axles, steered_axles
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit

Row = Mapping[str, Any]


def gross_by_axle_count(asked: AskedRule) -> Iterator[Ruling]:
    """The first of ``rows`` that fits limits each vehicle, and each combination; ``classes``.

    A row is ``on`` a ``motor`` vehicle, a ``trailer`` or a ``combination`` with ``axles``, from ``least`` to ``most``
    of them, or with ``motor_axles`` and ``trailer_axles``; ``limit`` [kg]; ``softer`` [kg] with twin tyres and air
    suspension on the driving axles, or no axle rated over ``softer_axle`` [kg]; ``steered``, how many axles steer.
    A semi-trailer counts with its combination alone.
    """
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            refused = not_of_class(asked, vehicle, classes_of(asked))
            yield _of_vehicle(asked, unit, vehicle) if refused is None else refused
        if unit.links and unit.towing is not None and not_of_class(asked, unit.towing, classes_of(asked)) is None:
            yield _of_combination(asked, unit)


def _of_vehicle(asked: AskedRule, unit: RoadUnit, vehicle: Vehicle) -> Ruling:
    trailer = vehicle.role is Role.TRAILER
    link = asked.train.state.link_of_trailer(vehicle.id)
    if link is not None and asked.day.vehicles[link.towing].couplings[link.at].type in SEMI_TRAILERS:
        note = "a semi-trailer is judged by its axles and with its combination"
        return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    count = len(vehicle.axles)
    row = _first(asked, "trailer" if trailer else "motor", count, None)
    if row is None:
        return asked.silent(vehicle.id, subject=vehicle.title, note=f"it tells nothing of {_axles(count)}")
    if "steered" in row:
        steered = steered_axles(vehicle)
        if steered.needs:
            return not_said(asked, vehicle, steered.needs, row["limit"])
        if len(steered.numbers) != row["steered"]:
            note = f"it tells nothing of {_axles(count)} of which {len(steered.numbers)} steer"
            return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    limit = row["limit"]
    if "softer" in row:
        driven = driven_axles(vehicle)
        mine = tuple(axle for axle in unit.axles if axle.vehicle is vehicle)
        softer = softer_axles(mine, driven.numbers, asked.values.get("softer_axle", 0.0))
        if driven.needs or softer.needs:
            return not_said(asked, vehicle, driven.needs + softer.needs, limit)
        limit = row["softer"] if softer.yes else limit
    return asked.limit(gross_load(vehicle.id), limit, subject=vehicle.title)


def _of_combination(asked: AskedRule, unit: RoadUnit) -> Ruling:
    motor = len(unit.vehicles[0].axles)
    row = _first(asked, "combination", len(unit.axles), (motor, len(unit.axles) - motor))
    if row is None:
        note = f"it tells nothing of {_axles(len(unit.axles))}, {motor} of them in front"
        return asked.silent(unit.owner, subject=unit.title, note=note)
    return asked.limit(unit.gross, row["limit"], subject=unit.title)


def _first(asked: AskedRule, on: str, count: int, shares: tuple[int, int] | None) -> Row | None:
    return next((row for row in asked.values["rows"] if row["on"] == on and _fits(row, count, shares)), None)


def _fits(row: Row, count: int, shares: tuple[int, int] | None) -> bool:
    wanted = (row.get("motor_axles"), row.get("trailer_axles"))
    fits = shares is None or all(want is None or want == have for want, have in zip(wanted, shares, strict=True))
    return fits and row.get("least", 0) <= count <= row.get("most", count) and row.get("axles", count) == count


def _axles(count: int) -> str:
    return "one axle" if count == 1 else f"{count} axles"


def gross_by_metre(asked: AskedRule) -> Iterator[Ruling]:
    """``per_metre`` [kg/m] from first to last axle, for a motor vehicle with ``axles`` of which ``steered`` steer."""
    for unit, vehicle in motor_vehicles(asked):
        refused = not_of_class(asked, vehicle, classes_of(asked))
        count, steered = len(vehicle.axles), steered_axles(vehicle)
        if refused is not None:
            yield refused
        elif count != asked.values["axles"]:
            note = f"it has {_axles(count)}; the rule is for {_axles(asked.values['axles'])}"
            yield asked.silent(vehicle.id, subject=vehicle.title, note=note)
        elif steered.needs:
            yield asked.missing(vehicle.id, *steered.needs, subject=vehicle.title)
        elif len(steered.numbers) != asked.values["steered"]:
            note = f"it steers with {_axles(len(steered.numbers))}; the rule is for {asked.values['steered']}"
            yield asked.silent(vehicle.id, subject=vehicle.title, note=note)
        else:
            rate = asked.values["per_metre"]
            spread = axle_spread(unit.owner, 1, count).at(asked.train.state.id)
            curve = LimitCurve(str(spread), (), ((0.0, rate),), ())
            limit = rate * unit.spread(1, count)
            yield asked.limit(gross_load(vehicle.id), limit, subject=vehicle.title, curve=curve)
