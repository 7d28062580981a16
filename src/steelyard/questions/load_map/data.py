"""The load map as data: the grid as the CSV has it, and colours, lines and letters for whoever draws it elsewhere."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray

from steelyard.loading import Item, LoadMap
from steelyard.model import WeighDay
from steelyard.questions.load_map.contours import Point, framed, loops, open_stretches
from steelyard.questions.load_map.ramp import scale_colour
from steelyard.questions.load_map.regions import ENDLESS, filled, in_order, round_levels, widest
from steelyard.units import Dimension, at_most

Array = NDArray[np.float64]


def load_map_to_data(
    day: WeighDay, made: LoadMap, *, file: str, state: str, vehicle: str, item: Item | None = None
) -> dict[str, Any]:
    """The published shape, ready for JSON, in the day's units.

    Parameters
    ----------
    made: the map. file: the name to print. item: the one thing that it was made for, as there.
    """
    mass, length = day.units.factor(Dimension.MASS), day.units.factor(Dimension.LENGTH)
    letters = {place: chr(ord("A") + number) for number, place in enumerate(in_order(made))}
    fits = made.fits
    return {
        "format": 1,
        "file": file,
        "title": day.title,
        "units": {"mass": day.units.mass, "length": day.units.length},
        "state": state,
        "vehicle": vehicle,
        "assumed_floor": not day.vehicles[vehicle].load_floor,
        "outline": _points(made.outline, length),
        "x": [_place(x / length) for x in made.x],
        "y": [_place(y / length) for y in made.y],
        "max_mass": [[_mass(value, mass) for value in row] for row in made.most],
        "limit": [
            [int(limit) if inside else -1 for limit, inside in zip(*pair, strict=True)]
            for pair in zip(made.limit, made.within, strict=True)
        ],
        "limits": [
            {"id": name, "label": label, "letter": letters.get(place)}
            for place, (name, label) in enumerate(zip(made.ids, made.labels, strict=True))
        ],
        "missed": list(made.missed),
        "not_judged": list(made.not_judged),
        "contested": bool(made.contested),
        "fits": None if item is None or fits is None else [[bool(fit) for fit in row] for row in fits],
        **_drawn(made, letters, mass, length),
    }


def _drawn(made: LoadMap, letters: dict[int, str], mass: float, length: float) -> dict[str, Any]:
    """Bands from the least on, each to be laid over the one before it; lines; borders; letters."""
    x, y, most = framed(made.x, made.y, filled(np.where(np.isinf(made.most), ENDLESS, made.most)))
    shown = most / mass
    levels = round_levels(shown)
    bands: list[dict[str, Any]] = [{"from": _number(levels[0]), "colour": scale_colour(levels, 0), "loops": None}]
    lines: list[dict[str, Any]] = []
    for place, level in enumerate(levels[1:-1], start=1):
        found = loops(x, y, shown, level)
        around = [_points(loop, length) for loop in found]
        bands.append({"from": _number(level), "colour": scale_colour(levels, place), "loops": around})
        stretches = [stretch for loop in found for stretch in open_stretches(loop, x, y)]
        lines.append({"at": _number(level), "stretches": [_points(stretch, length) for stretch in stretches]})
    tags: list[dict[str, Any]] = []
    for place, letter in letters.items():
        row, column = widest(made.limit == place)
        tags.append({"letter": letter, "at": _point((float(made.x[column]), float(made.y[row])), length)})
    return {
        "most": _number(levels[-1]),
        "bands": bands,
        "lines": lines,
        "borders": _borders(made, length),
        "tags": tags,
    }


def _borders(made: LoadMap, length: float) -> list[list[list[float]]]:
    """Where one limit gives way to another."""
    if len(made.binding) < 2 or set(made.missed) & set(made.ids):
        return []
    each = np.minimum(made.each, ENDLESS)
    found: list[list[list[float]]] = []
    for place in range(len(made.binding)):
        others = np.delete(each, place, axis=0).min(axis=0)
        x, y, lead = framed(made.x, made.y, filled(others - each[place]))
        for loop in loops(x, y, lead, 0.0):
            found += [_points(stretch, length) for stretch in open_stretches(loop, x, y)]
    return found


def _points(points: tuple[Point, ...] | list[Point], length: float) -> list[list[float]]:
    """Points without those that lie on the line between their neighbours."""
    kept = list(points[:1])
    for before, point in pairwise(points[1:]):
        if not _straight(kept[-1], before, point):
            kept.append(before)
    kept += points[-1:] if len(points) > 1 else []
    return [_point(point, length) for point in kept]


def _straight(a: Point, b: Point, c: Point) -> bool:
    across = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return abs(across) < 1e-5 * max(abs(c[0] - a[0]) + abs(c[1] - a[1]), 1e-9)


def _point(point: Point, length: float) -> list[float]:
    return [round(point[0] / length, 2), round(point[1] / length, 2)]


def _place(value: float) -> float:
    """Fine enough that what a place allows is kept at the place as it is told."""
    return float(f"{value:.9g}") + 0.0


def _number(value: float) -> float:
    return float(f"{value:.7g}") + 0.0


def _mass(value: float, mass: float) -> float | None:
    return at_most(value / mass) if np.isfinite(value) else None
