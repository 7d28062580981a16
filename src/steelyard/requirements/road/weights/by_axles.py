"""The forms ``gross_by_axles`` and ``combination_by_axles``: limits by the number of axles."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from steelyard.conformity import LimitCurve
from steelyard.model import CouplingType, Role, Vehicle, axles_load
from steelyard.requirements.road.europe.asked import not_of_class
from steelyard.requirements.road.ruling import AskedRule, Ruling, mass_text
from steelyard.requirements.road.train import RoadUnit
from steelyard.requirements.road.weights.by_length import by_length


def gross_by_axles(asked: AskedRule) -> Iterator[Ruling]:
    """A limit on the load of all wheels of each vehicle, by its kind and its number of axles.

    A row has ``vehicle``, ``axles`` and ``limit`` [kg]; ``twin_limit`` [kg] where all driving axles have twin tyres and
    air suspension; ``by_length`` [kg/m] times the distance of the outermost axles where that is less, rounded up to the
    rule's ``rounded_up_to`` [kg].
    """
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            yield _of_vehicle(asked, unit, vehicle)


def _of_vehicle(asked: AskedRule, unit: RoadUnit, vehicle: Vehicle) -> Ruling:
    refused = not_of_class(asked, vehicle, asked.values.get("classes", ()))
    if refused is not None:
        return refused
    kind = _kind(unit, vehicle)
    if kind == "":
        return asked.silent(vehicle.id, subject=vehicle.title, note="nothing tows it here; it is judged coupled")
    numbers = unit.numbers(vehicle.id)
    count = len(numbers)
    rows = [row for row in asked.values["steps"] if row["vehicle"] == kind and row["axles"] == count]
    if not rows:
        words = f"no figure for a {kind.replace('_', ' ')} with {count} axle{'s' if count > 1 else ''}"
        return asked.silent(vehicle.id, subject=vehicle.title, note=f"the rule has {words}")
    most, note = _most(asked, vehicle, rows[0])
    load = axles_load(vehicle.id)
    rate = rows[0].get("by_length")
    first, last = numbers[0], numbers[-1]
    if rate is None or first == last:
        return asked.limit(load, most, subject=vehicle.title, note=note)
    spread = unit.spread_finding(first, last).at(asked.train.state.id)
    length = unit.spread(first, last)
    curve = by_length(spread, length, rate=rate, step=asked.values.get("rounded_up_to"), most=most)
    return asked.limit(load, curve.limit(length), subject=vehicle.title, curve=curve, note=note)


def _kind(unit: RoadUnit, vehicle: Vehicle) -> str:
    """The kind of a vehicle: a motor vehicle, or a trailer by what it hangs on; empty where it hangs on nothing."""
    if vehicle.role is Role.TOWING:
        return "motor_vehicle"
    for link in unit.links:
        if link.trailer == vehicle.id:
            towing = next(one for one in unit.vehicles if one.id == link.towing)
            semi = towing.couplings[link.at].type is CouplingType.FIFTH_WHEEL
            return "semi_trailer" if semi else "trailer"
    return ""


def _most(asked: AskedRule, vehicle: Vehicle, row: Mapping[str, Any]) -> tuple[float, str]:
    """The fixed figure of a row, and what would have to be said for the higher one."""
    twin = row.get("twin_limit")
    if twin is None:
        return row["limit"], ""
    driving = [axle for axle in vehicle.axles if axle.driven]
    if driving and all(axle.dual and axle.air for axle in driving):
        return twin, "its driving axles have twin tyres and air suspension"
    more = mass_text(asked.day, twin)
    return row["limit"], f"{more} where the file says that its driven axles are dual and have air suspension"


def combination_by_axles(asked: AskedRule) -> Iterator[Ruling]:
    """The limit on a motor vehicle with one trailer on a drawbar, by the number of all axles.

    A row has ``axles`` and ``limit`` [kg], and ``short_limit`` [kg] where the motor vehicle's last axle and the
    trailer's first are less than the rule's ``short`` [m] apart.
    """
    for unit in asked.train.units:
        kinds = [_kind(unit, vehicle) for vehicle in unit.vehicles]
        if kinds != ["motor_vehicle", "trailer"]:
            note = "it is not a motor vehicle with one trailer on a drawbar"
            yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        refused = not_of_class(asked, unit.vehicles[0], asked.values.get("classes", ()))
        yield _of_combination(asked, unit) if refused is None else refused


def _of_combination(asked: AskedRule, unit: RoadUnit) -> Ruling:
    count = len(unit.axles)
    rows = [row for row in asked.values["steps"] if row["axles"] == count]
    if not rows:
        return asked.silent(unit.owner, subject=unit.title, note=f"the rule has no figure for {count} axles in all")
    limit, short = rows[0]["limit"], rows[0].get("short_limit")
    if short is None:
        return asked.limit(unit.gross, limit, subject=unit.title)
    last = unit.numbers(unit.vehicles[0].id)[-1]
    gap = str(unit.spread_finding(last, last + 1).at(asked.train.state.id))
    curve = LimitCurve(gap, (asked.values["short"],), ((short, 0.0), (limit, 0.0)), (True,))
    return asked.limit(unit.gross, curve.limit(unit.spread(last, last + 1)), subject=unit.title, curve=curve)
