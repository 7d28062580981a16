"""The class of a vehicle and the figures of its papers, which every European form asks for first."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from steelyard.model import Vehicle, WeighDay
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.units import Dimension, format_number

ROUNDED = 1e-9
"""Part of a figure by which sums of converted figures may differ from it and still be the same figure."""


@dataclass(frozen=True, slots=True)
class PaperFigure:
    """A value that a rule needs: the key of the file that states it, and the value; None: the file does not."""

    key: str
    value: float | None


def rating(vehicle: Vehicle, key: str) -> PaperFigure:
    """A rating of a vehicle [kg], as ``gvwr``: in Europe its technically permissible laden mass."""
    return PaperFigure(f"vehicles.{vehicle.id}.ratings.{key}", getattr(vehicle.ratings, key))


def paper(vehicle: Vehicle, key: str) -> PaperFigure:
    """A figure of the papers of a vehicle [kg, m, or a number]."""
    value = getattr(vehicle.papers, key)
    return PaperFigure(f"vehicles.{vehicle.id}.papers.{key}", None if value is None else float(value))


def absent(*needs: PaperFigure) -> tuple[str, ...]:
    """The keys of those that the file does not state."""
    return tuple(need.key for need in needs if need.value is None)


def not_of_class(asked: AskedRule, vehicle: Vehicle, classes: Collection[str], why: str = "") -> Ruling | None:
    """The ruling on a vehicle whose class is not said, or is none of those that the rule knows; None: it knows it.

    Without ``classes`` a rule knows every vehicle.
    """
    if not classes or vehicle.papers.category in classes:
        return None
    if not vehicle.papers.category:
        return asked.missing(vehicle.id, f"vehicles.{vehicle.id}.class", subject=vehicle.title)
    known = ", ".join(classes)
    note = f"class {vehicle.papers.category}: the rule is for {known}{why}"
    return asked.silent(vehicle.id, subject=vehicle.title, note=note)


def at_most(value: float, bound: float) -> bool:
    """Whether a figure is not over a bound, which rounding of a conversion does not change."""
    return value <= bound * (1.0 + ROUNDED)


def mass_text(day: WeighDay, value: float) -> str:
    """A mass [kg] in the unit of the day, as ``3,500 kg``."""
    return f"{format_number(day.units.show(value, Dimension.MASS), 0)} {day.units.symbol(Dimension.MASS)}"
