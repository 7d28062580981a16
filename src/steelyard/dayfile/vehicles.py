"""Reads ``[vehicles.*]``: axles, groups, couplings, ratings."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from typing import Any

from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.papers import papers_of, read_class, read_papers
from steelyard.dayfile.parts import check_kind, read_marked, read_tyre
from steelyard.dayfile.sheet import Sheet, one_serial_each
from steelyard.dayfile.tables import Key, listed_tables, named_tables, nested, read_table, whole
from steelyard.dayfile.values import Bound, amount, as_list, as_table, choice, flag, name, quantity, text
from steelyard.model import Axle, Coupling, CouplingType, Marked, Ratings, Role, Sharing, Unloaded, Vehicle
from steelyard.units import Dimension, Quantity

_MASS = amount(Dimension.MASS, Bound.POSITIVE)
_LENGTH = amount(Dimension.LENGTH)
_PLACE = quantity(Dimension.LENGTH)
_NOWHERE = Quantity(0.0)
_MOST_AXLES = 4
_ANY_AXLE = 99  # a place names an axle with two digits at most
_STEERED = (
    "a trailer with a steered front axle of its own is not calculated: such a trailer carries itself and rests on no "
    "coupling point, which every trailer here does"
)

_AXLE_KEYS = {
    "x": Key(quantity(Dimension.LENGTH), '"176 in"'),
    "track": Key(quantity(Dimension.LENGTH, Bound.POSITIVE, most=4.0), '"68 in"'),
    "rating": Key(_MASS),
    "wheel_rating": Key(_MASS),
    "ride_rate": Key(quantity(Dimension.RATE, Bound.POSITIVE)),
    "roll_rate": Key(quantity(Dimension.ROLL_RATE, Bound.NOT_NEGATIVE)),
    "group": Key(name),
    "sharing": Key(choice(Sharing)),
    "friction": Key(amount(Dimension.SHARE, Bound.SHARE)),
    "dual": Key(flag),
    "loaded_radius": Key(quantity(Dimension.LENGTH, Bound.POSITIVE, most=1.5)),
    "driven": Key(flag),
    "steered": Key(flag),
    "air": Key(flag),
    "tyre": Key(read_tyre),
}
_COUPLING_KEYS = {
    "type": Key(choice(CouplingType), '"ball"'),
    "x": Key(quantity(Dimension.LENGTH), '"224 in"'),
    "rating": Key(nested({"vertical": Key(_MASS), "gross": Key(_MASS)}, what="the rating of a coupling")),
    "roll_rate": Key(quantity(Dimension.ROLL_RATE, Bound.NOT_NEGATIVE)),
    "marked": Key(read_marked),
}
_UNLOADED_KEYS = {
    "mass": Key(quantity(Dimension.MASS, Bound.POSITIVE), '"7200 lb +/- 50 lb"'),
    "x": Key(_PLACE),
    "y": Key(_PLACE),
}
_RATING_KEYS = {key: Key(_MASS) for key in ("gvwr", "gcwr", "towed", "payload")}


def read_vehicles(sheet: Sheet, raw: Any) -> None:
    """Read all vehicles onto the sheet."""
    for key, table in named_tables(sheet, ("vehicles",), raw, what="each vehicle"):
        sheet.vehicles[key] = _read_vehicle(sheet, ("vehicles", key), key, table)
    serials = {key: vehicle.serial for key, vehicle in sheet.vehicles.items()}
    one_serial_each(sheet, "vehicles", as_table(raw) or {}, serials)


def _read_vehicle(sheet: Sheet, path: KeyPath, key: str, raw: Any) -> Vehicle:
    values = read_table(sheet, path, raw, _KEYS, what="a vehicle")
    role: Role | None = values.get("role")
    axles = _read_axles(sheet, (*path, "axles"), values["axles"], role) if "axles" in values else None
    if role is None or axles is None or ("couplings" in (as_table(raw) or {}) and "couplings" not in values):
        sheet.ghost("vehicles", key)
    return Vehicle(
        id=key,
        role=Role.TRAILER if role is None else role,
        axles=_unknown_axles() if axles is None else axles,
        couplings=values.get("couplings", {}),
        name=values.get("name", ""),
        ratings=Ratings(**values.get("ratings", {})),
        cg_height=values.get("cg_height"),
        coupling_height=_coupling_height(sheet, path, raw, values, role),
        load_floor=values.get("load_floor", ()),
        unloaded=values.get("unloaded"),
        serial=values.get("serial", ""),
        plate=values.get("plate", ""),
        papers=papers_of(sheet, path, values.get("class", ""), values.get("papers", {}), role),
        marked=_own_plates(sheet, path, raw, values, role),
    )


def _coupling_height(
    sheet: Sheet, path: KeyPath, raw: Any, values: dict[str, Any], role: Role | None
) -> Quantity | None:
    height: Quantity | None = values.get("coupling_height")
    if height is not None and role is Role.TOWING:
        message = "is only for a trailer: it is the height of the point by which it hangs; leave it out here"
        sheet.fault((*path, "coupling_height"), message, (as_table(raw) or {})["coupling_height"])
    return height


def _own_plates(sheet: Sheet, path: KeyPath, raw: Any, values: dict[str, Any], role: Role | None) -> tuple[Marked, ...]:
    if "marked" in values and role is Role.TOWING:
        message = "is only for a trailer: it is on the plates of its own coupling point; write it at a coupling here"
        sheet.fault((*path, "marked"), message, (as_table(raw) or {})["marked"])
    return values.get("marked", ())


def _unknown_axles() -> tuple[Axle, ...]:
    """As many axles as a place can name, for a vehicle whose own list cannot be read."""
    return (Axle(_NOWHERE, _NOWHERE),) * _ANY_AXLE


def _read_axles(sheet: Sheet, path: KeyPath, raw: Any, role: Role | None) -> tuple[Axle, ...] | None:
    tables = as_list(raw)
    if tables is not None and not 1 <= len(tables) <= _MOST_AXLES:
        sheet.fault(path, f"has {len(tables)} axles; a vehicle has one to four axles here", raw)
        return None
    rows = [
        (as_table(table) or {}, read_table(sheet, (*path, index), table, _AXLE_KEYS, what="an axle"))
        for index, table in listed_tables(sheet, path, raw, example="[[" + ".".join(map(str, path)) + "]]")
    ]
    if tables is None:
        return None
    if role is Role.TOWING and len(rows) == 1:
        message = "a towing vehicle of one axle is not calculated: it cannot stand on its own; list its other axles too"
        sheet.fault(path, message)
    _check_order(sheet, path, rows, role)
    _check_steering(sheet, path, rows, role)
    _check_groups(sheet, path, rows)
    axles = tuple(_axle(values) for _, values in rows)
    return _without_lone_groups(axles)


_Rows = list[tuple[dict[str, Any], dict[str, Any]]]
"""The axles of a vehicle: as they stand in the file, and what could be read of them."""


def _axle(values: dict[str, Any]) -> Axle:
    known: dict[str, Any] = {"x": _NOWHERE, "track": _NOWHERE} | values
    return Axle(**known)


def _check_order(sheet: Sheet, path: KeyPath, rows: _Rows, role: Role | None) -> None:
    before: float | None = None
    for index, (raw, values) in enumerate(rows):
        x: Quantity | None = values.get("x")
        if x is None:
            continue
        place = (*path, index, "x")
        if role is Role.TOWING and index == 0 and abs(x.value) > 1e-9:
            message = (
                "is not 0; x of a towing vehicle is measured rearward from its front axle, so axle 1 stands at x = 0"
            )
            sheet.fault(place, message, raw["x"])
        elif before is not None and x.value <= before:
            sheet.fault(place, "is not behind the axle before it; list the axles front to back", raw["x"])
        before = x.value if before is None else max(before, x.value)


def _check_steering(sheet: Sheet, path: KeyPath, rows: _Rows, role: Role | None) -> None:
    if role is not Role.TRAILER:
        return
    for index, (raw, values) in enumerate(rows):
        x: Quantity | None = values.get("x")
        if values.get("steered"):
            sheet.fault((*path, index, "steered"), _STEERED, raw["steered"])
        elif x is not None and x.value <= 0.0:
            message = f"is not behind the coupling point, from where x of a trailer is measured; {_STEERED}"
            sheet.fault((*path, index, "x"), message, raw["x"])


def _check_groups(sheet: Sheet, path: KeyPath, rows: _Rows) -> None:
    members: dict[str, list[int]] = {}
    for index, (raw, values) in enumerate(rows):
        group = values.get("group")
        if group is not None:
            members.setdefault(group, []).append(index)
        elif values.get("sharing") is Sharing.EQUALISED and "group" not in raw:
            message = 'needs a group; name the axles that share load, for example group = "rear"'
            sheet.fault((*path, index, "sharing"), message, raw["sharing"])
        if "friction" in raw and _sharing((raw, values)) is Sharing.INDEPENDENT:
            message = 'is only for axles that share load; write sharing = "equalised" or leave friction out'
            sheet.fault((*path, index, "friction"), message, raw["friction"])
    for group, indices in members.items():
        _check_group(sheet, path, rows, group, indices)


def _check_group(sheet: Sheet, path: KeyPath, rows: _Rows, group: str, indices: list[int]) -> None:
    first = indices[0]
    for before, index in pairwise(indices):
        raw = rows[index][0]
        if index != before + 1:
            message = (
                f"is interrupted: axle {before + 2} between does not belong to it; a group has axles next to each other"
            )
            sheet.fault((*path, index, "group"), message, group)
        one, other = (_sharing(rows[number]) for number in (first, index))
        if one is not None and other is not None and one is not other:
            key = "sharing" if "sharing" in raw else "group"
            pair = f"axle {first + 1} is {one}, axle {index + 1} {other}"
            message = f"mixes sharing in group {group!r}: {pair}; write the same at both"
            sheet.fault((*path, index, key), message, raw[key])
        one, other = (rows[number][1].get("friction") for number in (first, index))
        if one is not None and other is not None and one != other:
            message = f"differs from that of axle {first + 1} in group {group!r}; a group has one friction"
            sheet.fault((*path, index, "friction"), message, raw["friction"])


def _sharing(row: tuple[dict[str, Any], dict[str, Any]]) -> Sharing | None:
    """How an axle shares load; None where that could not be read."""
    raw, values = row
    if "sharing" in raw:
        return values.get("sharing")
    return Sharing.INDEPENDENT


def _without_lone_groups(axles: tuple[Axle, ...]) -> tuple[Axle, ...]:
    """An equalised group of one axle has nobody to share with: its axle is independent."""
    counts: dict[str, int] = {}
    for axle in axles:
        if axle.group is not None:
            counts[axle.group] = counts.get(axle.group, 0) + 1
    return tuple(
        replace(axle, sharing=Sharing.INDEPENDENT, friction=None)
        if axle.sharing is Sharing.EQUALISED and axle.group is not None and counts[axle.group] == 1
        else axle
        for axle in axles
    )


def _read_couplings(sheet: Sheet, path: KeyPath, raw: Any) -> dict[str, Coupling] | None:
    if as_table(raw) is None:
        sheet.fault(path, f"is not a table; give each coupling a name, as in [{'.'.join(map(str, path))}.ball]", raw)
        return None
    couplings: dict[str, Coupling] = {}
    for key, table in named_tables(sheet, path, raw, what="each coupling"):
        place = (*path, key)
        values = read_table(sheet, place, table, _COUPLING_KEYS, what="a coupling")
        kind: CouplingType | None = values.get("type")
        if "roll_rate" in values and kind is not None and kind is not CouplingType.FIFTH_WHEEL:
            message = f"is only for a fifth wheel, which ties roll; a {kind} does not, leave roll_rate out"
            sheet.fault((*place, "roll_rate"), message, table["roll_rate"])
        if "marked" in values and kind is not None:
            check_kind(sheet, (*place, "marked"), table["marked"], kind)
        rating = values.get("rating", {})
        couplings[key] = Coupling(
            id=key,
            type=CouplingType.BALL if kind is None else kind,
            x=values.get("x", _NOWHERE),
            vertical=rating.get("vertical"),
            gross=rating.get("gross"),
            roll_rate=values.get("roll_rate"),
            marked=values.get("marked", ()),
        )
    return couplings


def _read_floor(sheet: Sheet, path: KeyPath, raw: Any) -> tuple[tuple[float, float], ...] | None:
    corners = as_list(raw)
    if corners is None or len(corners) < 3:
        message = 'is not an outline; write three corners or more, each [x, y], as in [["120 in", "-30 in"], ...]'
        sheet.fault(path, message, raw)
        return None
    outline: list[tuple[float, float]] = []
    for index, corner in enumerate(corners):
        pair = as_list(corner)
        if pair is None or len(pair) != 2:
            sheet.fault((*path, index), 'is not a corner; write [x, y], as in ["120 in", "-30 in"]', corner)
            continue
        x, y = (_LENGTH(sheet, (*path, index, place), item) for place, item in enumerate(pair))
        if x is not None and y is not None:
            outline.append((x, y))
    return tuple(outline)


def _read_unloaded(sheet: Sheet, path: KeyPath, raw: Any) -> Unloaded | None:
    values = read_table(sheet, path, raw, _UNLOADED_KEYS, what="the unloaded mass")
    return Unloaded(**values) if "mass" in values else None


_read_ratings: Callable[[Sheet, KeyPath, Any], dict[str, Any]] = nested(_RATING_KEYS, what="the table of ratings")

_KEYS = {
    "role": Key(choice(Role), '"towing"'),
    "name": Key(text),
    "ratings": Key(_read_ratings),
    "cg_height": Key(quantity(Dimension.LENGTH, Bound.POSITIVE, most=5.0)),
    "coupling_height": Key(quantity(Dimension.LENGTH, Bound.POSITIVE, most=3.0)),
    "load_floor": Key(_read_floor),
    "unloaded": Key(_read_unloaded),
    "axles": Key(whole, '[{ x = "0 in", track = "68 in" }]'),
    "couplings": Key(_read_couplings),
    "serial": Key(text),
    "plate": Key(text),
    "class": Key(read_class),
    "papers": Key(read_papers),
    "marked": Key(read_marked),
}
