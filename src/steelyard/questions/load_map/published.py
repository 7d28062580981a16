"""The load map as it is published: the grid as the CSV has it, and colours, lines and letters for drawing it elsewhere.

Points of lines are given to a hundredth of the unit of length, and those between two others on a line are left out.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Annotated, Literal

import numpy as np

from steelyard.loading import Item, LoadMap
from steelyard.model import WeighDay
from steelyard.questions.load_map.contours import Point, loops, open_stretches
from steelyard.questions.load_map.ramp import scale_colour
from steelyard.questions.load_map.regions import borders, in_order, most_framed, round_levels, widest
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.units import Dimension, at_most

At = tuple[float, float]
Line = tuple[At, ...]


@dataclass(frozen=True)
class LoadMapAnswer:
    """A load map of ``vehicle`` in ``state``, and the one thing that it was made for."""

    day: WeighDay
    made: LoadMap
    state: str
    vehicle: str
    item: Item | None


@dataclass(frozen=True, slots=True)
class MapLimitShape:
    """A limit that may bind."""

    id: Annotated[str, "Verdict id."]
    label: str
    letter: Annotated[str | None, "Of the places where it binds; null where it binds nowhere."]


@dataclass(frozen=True, slots=True)
class MapBandShape:
    """The places that take more than some mass, to be laid over the band before it."""

    from_: Annotated[float, "Mass from which on."]
    colour: str
    loops: Annotated[tuple[Line, ...] | None, "Its outlines; null for the whole floor."]


@dataclass(frozen=True, slots=True)
class MapLevelShape:
    """Lines of equal mass."""

    at: Annotated[float, "The mass."]
    stretches: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class MapTagShape:
    """The letter of the limit that binds in a region, and a place inside it."""

    letter: str
    at: At


@dataclass(frozen=True, slots=True)
class LoadMapShape:
    """How much more each place of a load floor can take before the first limit binds, every limit kept at 95 %."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    state: Annotated[str, "The state that is loaded further."]
    vehicle: Annotated[str, "The vehicle whose load floor is mapped."]
    assumed_floor: Annotated[bool, "Whether the file gives no load floor, so that it is taken from axles and tracks."]
    outline: Annotated[Line, "Corners of the floor, along and across."]
    x: Annotated[tuple[float, ...], "Places along, nx of them."]
    y: Annotated[tuple[float, ...], "Places across, ny of them."]
    max_mass: Annotated[
        tuple[tuple[float | None, ...], ...], "ny by nx: what each place can take; null off the floor or unbounded."
    ]
    limit: Annotated[tuple[tuple[int, ...], ...], "ny by nx: which of `limits` binds; -1 where none does."]
    limits: tuple[MapLimitShape, ...]
    missed: Annotated[tuple[str, ...], "Verdict ids of limits that are not kept before anything is added."]
    not_judged: Annotated[tuple[str, ...], "Verdict ids of limits that the readings do not determine."]
    contested: Annotated[
        bool, "Whether readings contradict one another; the map then keeps each limit whichever is so."
    ]
    fits: Annotated[
        tuple[tuple[bool, ...], ...] | None, "ny by nx: whether the item may stand there; null without an item."
    ]
    most: Annotated[float, "Mass at which the last band ends."]
    bands: tuple[MapBandShape, ...]
    lines: tuple[MapLevelShape, ...]
    borders: Annotated[tuple[Line, ...], "Lines between the regions of two limits."]
    tags: tuple[MapTagShape, ...]


def load_map_shape(answer: LoadMapAnswer, file: str) -> LoadMapShape:
    """The published shape, in the day's units; ``file`` is the name to print."""
    day, made = answer.day, answer.made
    mass, length = day.units.factor(Dimension.MASS), day.units.factor(Dimension.LENGTH)
    letters = {place: chr(ord("A") + number) for number, place in enumerate(in_order(made))}
    fits = made.fits
    levels, bands, lines = _bands(made, mass, length)
    return LoadMapShape(
        format=FORMAT,
        file=file,
        title=day.title,
        units=units_of(day),
        state=answer.state,
        vehicle=answer.vehicle,
        assumed_floor=not day.vehicles[answer.vehicle].load_floor,
        outline=_points(made.outline, length),
        x=tuple(float(x) / length for x in made.x),
        y=tuple(float(y) / length for y in made.y),
        max_mass=tuple(tuple(_mass(value, mass) for value in row) for row in made.most),
        limit=tuple(tuple(int(limit) for limit in row) for row in np.where(made.within, made.limit, -1)),
        limits=tuple(
            MapLimitShape(name, label, letters.get(place))
            for place, (name, label) in enumerate(zip(made.ids, made.labels, strict=True))
        ),
        missed=tuple(made.missed),
        not_judged=tuple(made.not_judged),
        contested=bool(made.contested),
        fits=None if answer.item is None or fits is None else tuple(tuple(bool(fit) for fit in row) for row in fits),
        most=levels[-1],
        bands=bands,
        lines=lines,
        borders=tuple(_points(line, length) for line in borders(made)),
        tags=_tags(made, letters, length),
    )


def _bands(
    made: LoadMap, mass: float, length: float
) -> tuple[tuple[float, ...], tuple[MapBandShape, ...], tuple[MapLevelShape, ...]]:
    """The masses between the bands, the bands from the least on, and the lines between them."""
    x, y, most = most_framed(made)
    shown = most / mass
    levels = round_levels(shown)
    bands = [MapBandShape(levels[0], scale_colour(levels, 0), None)]
    lines: list[MapLevelShape] = []
    for place, level in enumerate(levels[1:-1], start=1):
        found = loops(x, y, shown, level)
        bands.append(MapBandShape(level, scale_colour(levels, place), tuple(_points(loop, length) for loop in found)))
        stretches = (stretch for loop in found for stretch in open_stretches(loop, x, y))
        lines.append(MapLevelShape(level, tuple(_points(stretch, length) for stretch in stretches)))
    return levels, tuple(bands), tuple(lines)


def _tags(made: LoadMap, letters: dict[int, str], length: float) -> tuple[MapTagShape, ...]:
    tags: list[MapTagShape] = []
    for place, letter in letters.items():
        row, column = widest(made.limit == place)
        tags.append(MapTagShape(letter, _point((float(made.x[column]), float(made.y[row])), length)))
    return tuple(tags)


def _points(points: tuple[Point, ...] | list[Point], length: float) -> Line:
    """Points without those that lie on the line between their neighbours."""
    kept = list(points[:1])
    for before, point in pairwise(points[1:]):
        if not _straight(kept[-1], before, point):
            kept.append(before)
    kept += points[-1:] if len(points) > 1 else []
    return tuple(_point(point, length) for point in kept)


def _straight(a: Point, b: Point, c: Point) -> bool:
    across = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return abs(across) < 1e-5 * max(abs(c[0] - a[0]) + abs(c[1] - a[1]), 1e-9)


def _point(point: Point, length: float) -> At:
    return round(point[0] / length, 2), round(point[1] / length, 2)


def _mass(value: float, mass: float) -> float | None:
    return at_most(value / mass) if np.isfinite(value) else None
