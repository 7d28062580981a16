"""The load floor of a vehicle, and places that are plainly off it."""

from __future__ import annotations

from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from steelyard.loading.scenario import Scenario, ScenarioError
from steelyard.model import Role, Vehicle, WeighDay
from steelyard.units import Dimension, format_number

Array = NDArray[np.float64]
Outline = tuple[tuple[float, float], ...]

OVERHANG = 0.5
"""How far a vehicle may reach beyond its axles and couplings at either end, as a part of the length between these."""

LEAST_OVERHANG = 1.5
"""The same, at least [m]."""

BESIDE = 0.6
"""How far beyond the middle of its outermost wheel end a vehicle may reach to a side [m]."""


def refuse_off_vehicle(day: WeighDay, scenario: Scenario) -> None:
    """See that everything that the scenario puts down stands on its vehicle.

    A vehicle reaches from its first axle, coupling or corner of its load floor to its last, half that length further
    at either end (at least 1.5 m), and 0.6 m beyond the middle of its outermost wheel ends. The numbers are this
    program's own: wide enough for any overhang, and too narrow for a slip of a unit.

    Raises
    ------
    ScenarioError: something would stand off it.
    """
    placed = [(item.id, item.on, item.x, item.y) for item in scenario.add]
    for name, values in scenario.change.items():
        if name in day.cargo:
            placed.append((name, day.cargo[name].on, values.get("x"), values.get("y")))
    for name, on, x, y in placed:
        if on not in day.vehicles:
            continue
        along, across = reach(day.vehicles[on])
        length = day.units.length
        for quantity, (low, high), words in ((x, along, "along"), (y, across, "across")):
            if quantity is not None and not low <= quantity.value <= high:
                shown = [day.units.show(value, Dimension.LENGTH) for value in (low, high, quantity.value)]
                low_text, high_text, at = (format_number(value) for value in shown)
                raise ScenarioError(
                    f"{name!r} would stand off {on!r}: {at} {length} {words} it, which reaches from {low_text} to "
                    f"{high_text} {length} at most"
                )


def reach(vehicle: Vehicle) -> tuple[tuple[float, float], tuple[float, float]]:
    """How far a vehicle may reach along and across [m]."""
    along = [axle.x.value for axle in vehicle.axles] + [item.x.value for item in vehicle.couplings.values()]
    along += [x for x, _ in vehicle.load_floor] + ([0.0] if vehicle.role is Role.TRAILER else [])
    half = max([axle.track.value / 2 for axle in vehicle.axles] + [abs(y) for _, y in vehicle.load_floor])
    over = max(OVERHANG * (max(along) - min(along)), LEAST_OVERHANG)
    return (min(along) - over, max(along) + over), (-half - BESIDE, half + BESIDE)


def floor_of(vehicle: Vehicle) -> Outline:
    """The outline of the load floor [m]: as the file has it, else the rectangle of axles and tracks.

    The rectangle of a trailer begins at its coupling point, for its axles alone span little or nothing.

    Raises
    ------
    ScenarioError: the outline crosses itself, or encloses nothing.
    """
    outline = vehicle.load_floor or _rectangle(vehicle)
    edges = list(zip(outline, (*outline[1:], outline[0]), strict=True))
    for (one, first), (other, second) in combinations(enumerate(edges), 2):
        if other - one not in (1, len(edges) - 1) and _cross(first, second):
            raise ScenarioError(
                f"the load floor of {vehicle.id!r} crosses itself: the edge from corner {one + 1} meets the one from "
                f"corner {other + 1}; list the corners in order around it"
            )
    if abs(_area(outline)) < 1e-6:
        raise ScenarioError(f"the load floor of {vehicle.id!r} encloses nothing; give it a length and a width")
    return outline


def _rectangle(vehicle: Vehicle) -> Outline:
    places = [axle.x.value for axle in vehicle.axles] + ([0.0] if vehicle.role is Role.TRAILER else [])
    half = max(axle.track.value for axle in vehicle.axles) / 2
    front, rear = min(places), max(places)
    return ((front, -half), (rear, -half), (rear, half), (front, half))


Edge = tuple[tuple[float, float], tuple[float, float]]


def _cross(first: Edge, second: Edge) -> bool:
    """Whether two edges have a point in common."""
    (a, b), (c, d) = first, second
    turns = (_turn(a, b, c), _turn(a, b, d), _turn(c, d, a), _turn(c, d, b))
    if turns[0] * turns[1] < 0 and turns[2] * turns[3] < 0:
        return True
    ends = ((a, b, c), (a, b, d), (c, d, a), (c, d, b))
    return any(turn == 0 and _between(*points) for turn, points in zip(turns, ends, strict=True))


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> int:
    """Whether the way over three points turns left (1), right (-1) or not at all."""
    area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return 0 if abs(area) < 1e-12 else (1 if area > 0 else -1)


def _between(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return min(a[0], b[0]) <= c[0] <= max(a[0], b[0]) and min(a[1], b[1]) <= c[1] <= max(a[1], b[1])


def _area(outline: Outline) -> float:
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def inside(outline: Outline, x: Array, y: Array) -> NDArray[np.bool_]:
    """Which places [m], both of shape (n,), lie within an outline: an even-odd count of the edges to their right."""
    within = np.zeros(len(x), dtype=bool)
    for (ax, ay), (bx, by) in zip(outline, (*outline[1:], outline[0]), strict=True):
        if ay == by:
            continue
        spans = (y < ay) != (y < by)
        within ^= spans & (x < ax + (y - ay) * (bx - ax) / (by - ay))
    return within
