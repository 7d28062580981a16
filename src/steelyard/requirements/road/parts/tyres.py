"""The forms ``tyre_load`` and ``tyre_pressure``: what tyres carry against what is marked on them, wheel by wheel."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.conformity import Sense
from steelyard.model import LabelType, Role, Tyre, TyreKind, Vehicle, WeighDay, axle_load, wheel_load
from steelyard.requirements.road.ruling import AskedRule, Paper, Ruling
from steelyard.requirements.road.train import RoadAxle
from steelyard.units import Dimension, format_number

_SAME = 1e-9  # part of a pressure within which two are the same


def _axles(asked: AskedRule) -> Iterator[tuple[Vehicle, list[RoadAxle]]]:
    """The vehicles of the state, each with its axles."""
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            yield vehicle, [axle for axle in unit.axles if axle.vehicle is vehicle]


def tyre_load(asked: AskedRule) -> Iterator[Ruling]:
    """The load marked on the tyres limits each wheel end; twice that of a dual tyre where it has two.

    With ``divisor`` [1] the rule is for passenger-car tyres alone, on vehicles other than passenger cars: their load
    counts divided by it.
    """
    divisor: float | None = asked.values.get("divisor")
    for vehicle, axles in _axles(asked):
        why, needs = ("", ()) if divisor is None else _of_passenger(vehicle, axles)
        if why:
            yield asked.silent(vehicle.id, subject=vehicle.title, note=why)
            continue
        needs = [*needs]
        for axle in axles:
            tyre = axle.axle.tyre or Tyre()
            if divisor is not None and tyre.kind is None:
                continue  # named by the needs already
            if divisor is not None and tyre.kind is not TyreKind.PASSENGER:
                continue
            marked = tyre.end(dual=axle.axle.dual)
            if marked is None:
                needs.append(f"{axle.path}.tyre.{'dual_load' if axle.axle.dual else 'load'}")
            elif not needs or divisor is None:
                yield from _limits(asked, axle, marked, divisor)
        if needs:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)


def _of_passenger(vehicle: Vehicle, axles: list[RoadAxle]) -> tuple[str, tuple[str, ...]]:
    """Why the rule on passenger-car tyres says nothing of a vehicle, else the values that it misses."""
    kinds = [None if axle.axle.tyre is None else axle.axle.tyre.kind for axle in axles]
    needs = tuple(f"{axle.path}.tyre.kind" for axle, kind in zip(axles, kinds, strict=True) if kind is None)
    if not needs and TyreKind.PASSENGER not in kinds:
        return "it has no passenger-car tyres", ()
    if vehicle.role is Role.TOWING and vehicle.papers.type is None:
        return "", (*needs, f"vehicles.{vehicle.id}.papers.type")
    if vehicle.papers.type is LabelType.PASSENGER_CAR:
        return "it is a passenger car", ()
    return "", needs


def _limits(asked: AskedRule, axle: RoadAxle, marked: float, divisor: float | None) -> Iterator[Ruling]:
    limit = marked if divisor is None else marked / divisor
    words = f"marked {_mass(asked.day, marked)}" + (" for both tyres of a wheel end" if axle.axle.dual else "")
    if divisor is not None:
        words += f", divided by {divisor:.2f}"
    for side in "LR":
        wheel = f"{axle.number}{side}"
        subject = f"{axle.vehicle.title} wheel {wheel}"
        load = wheel_load(axle.vehicle.id, wheel)
        yield asked.limit(load, limit, subject=subject, remedy=" on this wheel", note=words)


def tyre_pressure(asked: AskedRule) -> Iterator[Ruling]:
    """The cold pressure of each axle's tyres against the pressure that was specified for the load they carry.

    Of one measured hot, the build-up is taken off: ``light`` [Pa] of tyres rated at ``split`` [kg] or less, ``heavy``
    above. No pressure comes from a table.
    """
    for vehicle, axles in _axles(asked):
        needs: list[str] = []
        for axle in axles:
            tyre = axle.axle.tyre or Tyre()
            rated = tyre.single if tyre.single is not None else tyre.beside
            wanted = {"pressure": tyre.pressure, "measured": tyre.measured}
            if tyre.hot:
                wanted["load"] = rated
            absent = [f"{axle.path}.tyre.{key}" for key, value in wanted.items() if value is None]
            needs.extend(absent)
            if not absent:
                yield _pressure(asked, axle, tyre, rated)
        if needs:
            yield asked.missing(vehicle.id, *needs, subject=vehicle.title)


def _pressure(asked: AskedRule, axle: RoadAxle, tyre: Tyre, rated: float | None) -> Ruling:
    measured, specified = tyre.measured or 0.0, tyre.pressure or 0.0
    off, note = 0.0, ""
    if tyre.hot:
        small = rated is not None and rated <= asked.values["split"] * (1.0 + _SAME)
        off = asked.values["light" if small else "heavy"]
        note = f"measured {_pressed(asked.day, measured)} hot, less {_pressed(asked.day, off)} of build-up"
    cold = measured - off
    met = cold >= specified * (1.0 - _SAME)
    paper = Paper(cold, specified, Sense.MIN, Dimension.PRESSURE, met)
    subject = f"{axle.vehicle.title} axle {axle.number}"
    return asked.compare(str(axle_load(axle.vehicle.id, axle.number)), paper, subject=subject, note=note)


def _mass(day: WeighDay, value: float) -> str:
    return f"{format_number(day.units.show(value, Dimension.MASS))} {day.units.symbol(Dimension.MASS)}"


def _pressed(day: WeighDay, value: float) -> str:
    unit = day.units.symbol(Dimension.PRESSURE)
    return f"{format_number(day.units.show(value, Dimension.PRESSURE), 0 if unit == 'psi' else 2)} {unit}"
