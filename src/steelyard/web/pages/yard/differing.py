"""Two vehicles or instruments side by side in words: what differs, ratings that one lacks, and which look alike."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, cast

from steelyard.dayfile import write_instrument, write_vehicle
from steelyard.model import Instrument, Vehicle
from steelyard.report import pieces
from steelyard.units import UNITS, Dimension, UnitSystem
from steelyard.web.pages.yard.contracts import MissingRating, SideBySide

Thing = Vehicle | Instrument

_NEAR = 0.03  # m that two axles may be apart and look alike: a tape measure read twice
_ALIKE = 0.5  # kg that two ratings may differ: one in lb, the other in kg, both rounded
_AMOUNT = re.compile(r"(-?[0-9][0-9.]*(?:e[+-]?[0-9]+)?) ([a-z]+)(?![\w*/^])")
_WORDS = {
    "gvwr": "gross rating",
    "gcwr": "gross rating of the combination",
    "towed": "towing rating",
    "payload": "payload",
    "x": "place",
    "wheel_rating": "rating of one wheel end",
    "cg_height": "height of the centre of gravity",
    "verified_latitude": "latitude of the verification",
    "verified_elevation": "elevation of the verification",
    "role": "what it is",
}
_PARTS = {"axles": "axle", "couplings": "coupling"}


def side_by_side(one: Thing, other: Thing, units: UnitSystem) -> tuple[SideBySide, ...]:
    """The differences of two versions of a thing, in words and in the reader's units; their names are left aside."""
    left, right = (dict(_flat(_table(item, units), units)) for item in (one, other))
    return tuple(
        SideBySide(_words(path), left.get(path, ""), right.get(path, ""))
        for path in dict.fromkeys([*left, *right])
        if left.get(path) != right.get(path)
    )


def _table(item: Thing, units: UnitSystem) -> Mapping[str, Any]:
    written = (
        write_vehicle(replace(item, id="x"), units)
        if isinstance(item, Vehicle)
        else write_instrument(replace(item, id="x"), units)
    )
    return tomllib.loads(written)["vehicles" if isinstance(item, Vehicle) else "instruments"]["x"]


def _flat(value: Any, units: UnitSystem, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Each value of a block with its path, as text; places in a list are counted from 1."""
    if isinstance(value, dict):
        for key, inside in cast("dict[str, Any]", value).items():
            yield from _flat(inside, units, (*path, key))
    elif isinstance(value, list) and value and isinstance(value[0], dict):
        for number, inside in enumerate(cast("list[Any]", value), 1):
            yield from _flat(inside, units, (*path, str(number)))
    else:
        # how high a place lies is said as it was written: nobody measures that in inches
        yield path, _plain(value) if path[-1].endswith("elevation") else _said(value, units)


def _plain(value: Any) -> str:
    return str(value)


def _said(value: Any, units: UnitSystem) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(_said(item, units) for item in cast("list[Any]", value))
    said = _AMOUNT.sub(lambda found: _in_units(found, units), str(value))
    return said.replace("+/-", "with a standard uncertainty of").replace("_", " ")


def _in_units(found: re.Match[str], units: UnitSystem) -> str:
    """An amount in the reader's units, to seven figures; the writer leaves one in another unit rather than round it."""
    unit = UNITS.get(found[2])
    if unit is None or unit.dimension not in (Dimension.MASS, Dimension.LENGTH):
        return found[0]
    return f"{float(found[1]) * unit.factor / units.factor(unit.dimension):.7g} {units.symbol(unit.dimension)}"


def _words(path: tuple[str, ...]) -> str:
    """``axle 1: rating`` for ``axles``, ``1``, ``rating``."""
    parts = [_PARTS.get(part, _WORDS.get(part, part.replace("_", " "))) for part in path if part != "ratings"]
    if len(path) > 2 and path[0] in _PARTS:
        return f"{parts[0]} {path[1]}: {' '.join(parts[2:])}"
    return ": ".join(parts)


# -- ratings -----------------------------------------------------------------------------------------------------------


def ratings_of(vehicle: Vehicle) -> dict[str, tuple[str, float]]:
    """By key each rating that the labels of a vehicle give: its words, and its value [kg]."""
    found: dict[str, tuple[str, float | None]] = {
        key: (_WORDS[key], getattr(vehicle.ratings, key)) for key in ("gvwr", "gcwr", "towed", "payload")
    }
    for number, axle in enumerate(vehicle.axles, 1):
        where = _axle(number, len(vehicle.axles))
        found[f"axle-{number}"] = (f"rating of the {where} axle", axle.rating)
        found[f"wheel-{number}"] = (f"rating of one wheel end of the {where} axle", axle.wheel_rating)
    for name, coupling in vehicle.couplings.items():
        found[f"vertical-{name}"] = (f"vertical rating of the coupling {name}", coupling.vertical)
        found[f"gross-{name}"] = (f"gross rating of the coupling {name}", coupling.gross)
    return {key: (words, value) for key, (words, value) in found.items() if value is not None}


def _axle(number: int, count: int) -> str:
    names = {1: ("only",), 2: ("front", "rear")}.get(count)
    return names[number - 1] if names else {1: "first", 2: "second", 3: "third"}.get(number, f"{number}th")


def missing_ratings(kept: Thing, coming: Thing, units: UnitSystem) -> tuple[MissingRating, ...]:
    """The ratings that the one of the yard has and the other does not."""
    if not isinstance(kept, Vehicle) or not isinstance(coming, Vehicle):
        return ()
    there = ratings_of(coming)
    return tuple(
        MissingRating(key, words, pieces.with_unit(value, Dimension.MASS, units))
        for key, (words, value) in ratings_of(kept).items()
        if key not in there
    )


def with_ratings(coming: Vehicle, kept: Vehicle, keys: Iterable[str]) -> Vehicle:
    """The vehicle with ratings of ``keys`` from the other; those of an axle or a coupling that it has not are left."""
    wanted, values = set(keys), ratings_of(kept)
    own = {key: values[key][1] for key in ("gvwr", "gcwr", "towed", "payload") if key in wanted and key in values}
    axles = tuple(
        replace(
            axle,
            **_given(values, wanted, {f"axle-{number}": "rating", f"wheel-{number}": "wheel_rating"}),
        )
        for number, axle in enumerate(coming.axles, 1)
    )
    couplings = {
        name: replace(item, **_given(values, wanted, {f"vertical-{name}": "vertical", f"gross-{name}": "gross"}))
        for name, item in coming.couplings.items()
    }
    return replace(coming, ratings=replace(coming.ratings, **own), axles=axles, couplings=couplings)


def _given(values: Mapping[str, tuple[str, float]], wanted: set[str], fields: Mapping[str, str]) -> dict[str, Any]:
    return {field: values[key][1] for key, field in fields.items() if key in wanted and key in values}


# -- things that look alike --------------------------------------------------------------------------------------------


def looks_like(one: Thing, other: Thing) -> bool:
    """Whether two things of different names may be one: the same axles and ratings, or the same serial number."""
    if type(one) is type(other) and one.serial and other.serial:
        return one.serial == other.serial
    if not isinstance(one, Vehicle) or not isinstance(other, Vehicle):
        return False
    if one.role is not other.role or len(one.axles) != len(other.axles):
        return False
    near = all(abs(a.x.value - b.x.value) <= _NEAR for a, b in zip(one.axles, other.axles, strict=True))
    mine, yours = ratings_of(one), ratings_of(other)
    common = mine.keys() & yours.keys()
    return near and bool(common) and all(abs(mine[key][1] - yours[key][1]) <= _ALIKE for key in common)
