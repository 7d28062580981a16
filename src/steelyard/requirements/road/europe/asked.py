"""The class of a vehicle and the figures of its papers, which every European form asks for first."""

from __future__ import annotations

from collections.abc import Collection, Iterator

from steelyard.classes import dataclass
from steelyard.model import CouplingType, Link, Role, Vehicle
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit

ROUNDED = 1e-9
"""Part of a figure by which sums of converted figures may differ from it and still be the same figure."""

SEMI_TRAILERS = (CouplingType.FIFTH_WHEEL, CouplingType.GOOSENECK)
"""Couplings of semi-trailers; the others draw centre-axle trailers, and trailers with a rigid drawbar."""


@dataclass(frozen=True, slots=True)
class PaperFigure:
    """A value that a rule needs: the key of the file that states it, and the value; None: the file does not."""

    key: str
    value: float | None


def rating(vehicle: Vehicle, key: str) -> PaperFigure:
    """A rating of a vehicle [kg], as ``gvwr``: in Europe its technically permissible laden mass."""
    return PaperFigure(f"vehicles.{vehicle.id}.ratings.{key}", getattr(vehicle.ratings, key))


def axle_rating(vehicle: Vehicle, number: int) -> PaperFigure:
    """The rating of an axle, counted from 1 [kg]: its technically permissible mass."""
    return PaperFigure(f"vehicles.{vehicle.id}.axles[{number}].rating", vehicle.axles[number - 1].rating)


def paper(vehicle: Vehicle, key: str) -> PaperFigure:
    """A figure of the papers of a vehicle [kg, m, or a number]."""
    value = getattr(vehicle.papers, key)
    return PaperFigure(f"vehicles.{vehicle.id}.papers.{key}", None if value is None else float(value))


def absent(*figures: PaperFigure) -> tuple[str, ...]:
    """The keys of those that the file does not state."""
    return tuple(figure.key for figure in figures if figure.value is None)


def known(figure: PaperFigure) -> float:
    """The value of a figure that is not absent.

    Raises
    ------
    ValueError: it is.
    """
    if figure.value is None:
        raise ValueError(f"{figure.key} is not stated")
    return figure.value


def not_of_class(asked: AskedRule, vehicle: Vehicle, classes: Collection[str]) -> Ruling | None:
    """The ruling on a vehicle whose class is not said, or is none of those that the rule knows; None: it knows it.

    Without ``classes`` a rule knows every vehicle.
    """
    if not classes or vehicle.papers.category in classes:
        return None
    if not vehicle.papers.category:
        return asked.missing(vehicle.id, f"vehicles.{vehicle.id}.class", subject=vehicle.title)
    note = f"class {vehicle.papers.category}: the rule is for {', '.join(classes)}"
    return asked.silent(vehicle.id, subject=vehicle.title, note=note)


def classes_of(asked: AskedRule) -> tuple[str, ...]:
    """The classes that a rule names; none where it is for every vehicle."""
    return asked.values.get("classes", ())


def motor_vehicles(asked: AskedRule) -> Iterator[tuple[RoadUnit, Vehicle]]:
    """The motor vehicles of the state with the unit that each is in."""
    for unit in asked.train.units:
        if unit.towing is not None:
            yield unit, unit.towing


def trailers(asked: AskedRule) -> Iterator[tuple[RoadUnit, Vehicle, Link | None]]:
    """The trailers of the state with the unit that each is in and the link by which it hangs, if it does."""
    for unit in asked.train.units:
        for vehicle in unit.vehicles:
            if vehicle.role is Role.TRAILER:
                yield unit, vehicle, asked.train.state.link_of_trailer(vehicle.id)


def one_trailer(asked: AskedRule, unit: RoadUnit, towing: Vehicle) -> Vehicle | Ruling:
    """The one trailer behind a motor vehicle, or why there is nothing to say."""
    behind = list(unit.vehicles)[1:]
    if not behind:
        return asked.silent(towing.id, subject=towing.title, note="it tows nothing here")
    if len(behind) > 1:
        return asked.silent(towing.id, subject=towing.title, note="the rule speaks of one trailer")
    return behind[0]


def at_most(value: float, bound: float) -> bool:
    """Whether a figure is not over a bound, which rounding of a conversion does not change."""
    return value <= bound + ROUNDED * abs(bound)


def not_said(asked: AskedRule, vehicle: Vehicle, needs: tuple[str, ...], least: float) -> Ruling:
    """The ruling where the file does not say which of several limits holds, the least of them ``least`` [kg].

    A vehicle whose permissible mass is no greater is under every one of them all the same.
    """
    mass = vehicle.ratings.gvwr
    if mass is not None and at_most(mass, least):
        note = "its permissible mass is under every limit of the rule"
        return asked.silent(vehicle.id, subject=vehicle.title, note=note)
    return asked.missing(vehicle.id, *needs, subject=vehicle.title)
