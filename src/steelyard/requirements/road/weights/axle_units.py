"""The form ``axle_units``: single, tandem and triple axles, told by the spread of their outermost axles.

Axle units are found vehicle by vehicle. Neighbouring axles are a unit where the file says that they are one group, or
where their spread lies within the bounds that the rule has for so many axles; the largest such unit counts. The front
axle of a motor vehicle is a unit by itself. The spread as taped decides which axles are a unit; the limit on the unit
is a function of the spread and counts its doubt.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from steelyard.model import Axle, Role
from steelyard.requirements.road.europe.asked import not_of_class
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadAxle, RoadUnit
from steelyard.requirements.road.weights.bands import SAME, Row, bounded, holds, limits
from steelyard.requirements.road.weights.by_length import articulated

_WIDTHS = ("width_from", "width_under")


def axle_units(asked: AskedRule) -> Iterator[Ruling]:
    """A limit on every axle unit.

    A row of ``steps`` has ``axles``, ``limit`` [kg], bounds of the spread (``bands.Row``), ``tyres`` (``single`` or
    ``dual``), ``place`` (``front`` or ``other``) and bounds of the tyres' width, ``width_from`` and ``width_under``
    [m]. The first row that fits a unit holds. ``by_width`` and ``front_by_width`` [kg/m] limit a unit by the sum of the
    widths of its tyres too. With ``articulated`` the rule is for a motor vehicle with a semi-trailer alone.
    """
    for unit in asked.train.units:
        if unit.towing is None:
            note = "nothing tows it here; it is judged where it is coupled"
            yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        if asked.values.get("articulated", False) and not articulated(unit):
            note = "it is not a motor vehicle with one trailer on a fifth wheel"
            yield asked.silent(unit.owner, subject=unit.title, note=note)
            continue
        for vehicle in unit.vehicles:
            refused = not_of_class(asked, vehicle, asked.values.get("classes", ()))
            if refused is not None:
                yield refused
                continue
            numbers = unit.numbers(vehicle.id)
            for first, last in found_units(unit, numbers, asked.values["steps"]):
                yield from _rulings(asked, unit, first, last)


def found_units(unit: RoadUnit, numbers: range, steps: Sequence[Row]) -> Iterator[tuple[int, int]]:
    """First and last axle of every unit among neighbouring axles of one vehicle."""
    first, end = numbers.start, numbers.stop - 1
    while first <= end:
        last = first if _front(unit.axles[first - 1]) else end
        while last > first and not _together(unit, first, last, steps):
            last -= 1
        yield first, last
        first = last + 1


def _front(axle: RoadAxle) -> bool:
    return axle.vehicle.role is Role.TOWING and axle.number == 1


def _place(axles: Sequence[RoadAxle]) -> str:
    return "front" if _front(axles[0]) else "other"


def _together(unit: RoadUnit, first: int, last: int, steps: Sequence[Row]) -> bool:
    """Whether some axles are one unit: the file says so, or a row of the rule has bounds that hold their spread."""
    groups = {axle.axle.group for axle in unit.axles[first - 1 : last]}
    if len(groups) == 1 and None not in groups:
        return True
    spread = unit.spread(first, last)
    return any(bounded(row) and row["axles"] == last - first + 1 and holds(row, spread) for row in steps)


def _rulings(asked: AskedRule, unit: RoadUnit, first: int, last: int) -> Iterator[Ruling]:
    axles = unit.axles[first - 1 : last]
    if all("place" in row and row["place"] != _place(axles) for row in asked.values["steps"]):
        return  # the rule is for front axles alone, or for all others
    load, subject = unit.load(first, last), axles_title(axles)
    dual = all(axle.axle.dual for axle in axles)
    rows = _fitting(asked.values["steps"], axles, dual=dual)
    nameless = [f"{axle.path}.tyre.width" for axle in axles if _width(axle.axle) is None]
    if nameless and any(key in row for row in rows for key in _WIDTHS):
        yield asked.missing(str(load), *nameless, subject=subject)
        return
    width = sum((_width(axle.axle) or 0.0) * (4.0 if axle.axle.dual else 2.0) for axle in axles)
    spread = unit.spread(first, last)
    rows = [row for row in rows if _of_width(row, axles)]
    if not any(holds(row, spread) for row in rows):
        what = "one axle" if first == last else f"{len(axles)} axles, {spread:.2f} m from first to last,"
        note = f"the rule has no figure for {what} with {'dual' if dual else 'single'} tyres"
        yield asked.silent(str(load), subject=subject, note=note)
        return
    rate = asked.values.get("front_by_width" if _front(axles[0]) else "by_width")
    most = math.inf if rate is None or nameless else rate * width
    if rate is not None and nameless:
        note = "the width of the tyres may give less than the figure for the axles"
        yield asked.missing(str(load), *nameless, subject=subject, note=note)
    curve = limits(str(unit.spread_finding(first, last).at(asked.train.state.id)), rows, most)
    yield asked.limit(load, curve.limit(spread), subject=subject, curve=curve if curve.breaks else None)


def _fitting(steps: Sequence[Row], axles: Sequence[RoadAxle], *, dual: bool) -> list[Row]:
    """The rows for so many axles with such tyres at such a place, whatever their spread and their tyres' width."""
    tyres, place = "dual" if dual else "single", _place(axles)
    return [
        row
        for row in steps
        if row["axles"] == len(axles) and row.get("tyres", tyres) == tyres and row.get("place", place) == place
    ]


def _of_width(row: Row, axles: Sequence[RoadAxle]) -> bool:
    if not any(key in row for key in _WIDTHS):
        return True
    width = min(_width(axle.axle) or 0.0 for axle in axles)
    return row.get("width_from", 0.0) - SAME <= width < row.get("width_under", math.inf) - SAME


def _width(axle: Axle) -> float | None:
    return None if axle.tyre is None else axle.tyre.width


def axles_title(axles: Sequence[RoadAxle]) -> str:
    """Some axles of one vehicle for people, counted from its own front."""
    front, rear = axles[0], axles[-1]
    which = f"axle {front.number}" if front is rear else f"axles {front.number} to {rear.number}"
    return f"{front.vehicle.title}, {which}"
