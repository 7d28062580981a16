"""Reads ``[states.*]``: vehicles, couplings made, cargo aboard, weight distribution."""

from __future__ import annotations

from typing import Any

from steelyard.classes import dataclass
from steelyard.dayfile.cargo import read_change
from steelyard.dayfile.fault import KeyPath, listed, suggest
from steelyard.dayfile.parts import read_lifted
from steelyard.dayfile.sheet import Sheet, repeated
from steelyard.dayfile.tables import MOST_NAMED, Key, named_tables, read_table, unknown_key, whole
from steelyard.dayfile.values import Bound, as_list, as_table, quantity, text
from steelyard.model import Distribution, DistributionKind, Link, Role, State
from steelyard.units import Dimension, Quantity

_EXAMPLE = 'couple = { towing = "tow", at = "ball", trailer = "stock" }'
_COUPLE = quantity(Dimension.COUPLE, Bound.NOT_NEGATIVE)

_KEYS = {
    "vehicles": Key(whole, '["tow"]'),
    "couple": Key(whole),
    "cargo": Key(whole),
    "change": Key(whole),
    "lifted": Key(whole),
}
_LINK_KEYS = {
    "towing": Key(text, '"tow"'),
    "at": Key(text, '"ball"'),
    "trailer": Key(text, '"stock"'),
    "weight_distribution": Key(whole),
    "weight_distribution_rate": Key(quantity(Dimension.ROLL_RATE, Bound.NOT_NEGATIVE)),
    "height_change": Key(quantity(Dimension.LENGTH, most=1.0)),
}


@dataclass(frozen=True, slots=True)
class _Made:
    """A coupling of a state with the place where it stands in the file."""

    path: KeyPath
    link: Link


def read_states(sheet: Sheet, raw: Any) -> None:
    """Read all states onto the sheet; vehicles and cargo must be there."""
    made: dict[str, list[_Made]] = {}
    for key, table in named_tables(sheet, ("states",), raw, what="each state"):
        path = ("states", key)
        values = read_table(sheet, path, table, _KEYS, what="a state")
        vehicles = _read_vehicles(sheet, path, key, values)
        made[key] = _read_couple(sheet, (*path, "couple"), values["couple"], vehicles) if "couple" in values else []
        aboard = _read_aboard(sheet, path, key, values, vehicles)
        change = read_change(sheet, (*path, "change"), values["change"], aboard) if "change" in values else {}
        up = read_lifted(sheet, (*path, "lifted"), values["lifted"], vehicles) if "lifted" in values else {}
        sheet.states[key] = State(key, vehicles, tuple(item.link for item in made[key]), aboard, change, up)
    _check_distributions(sheet, made)


def _read_names(sheet: Sheet, path: KeyPath, raw: Any, *, section: str, word: str) -> tuple[str, ...] | None:
    """A list of names that exist in ``section``, each once; None where there is no list at all."""
    items = as_list(raw)
    if items is None:
        sheet.fault(
            path,
            f'is not a list; write the names in brackets, as in ["{"tow" if word == "vehicle" else "driver"}"]',
            raw,
        )
        return None
    known = sheet.vehicles if section == "vehicles" else sheet.cargo
    names: dict[str, None] = {}
    for index, item in enumerate(items):
        place = (*path, index)
        if not isinstance(item, str):
            sheet.fault(place, f"is not a name of a {word}; write it in quotes", item)
        elif item in names:
            sheet.fault(place, f"stands twice in the list; name each {word} once", item)
        elif sheet.knows(section, item, place, known):
            names[item] = None
    return tuple(names)


def _read_vehicles(sheet: Sheet, path: KeyPath, key: str, values: dict[str, Any]) -> tuple[str, ...]:
    if "vehicles" not in values:
        sheet.ghost("states", key)
        return ()
    place = (*path, "vehicles")
    names = _read_names(sheet, place, values["vehicles"], section="vehicles", word="vehicle")
    written = as_list(values["vehicles"])
    if written is not None and not written:
        sheet.fault(place, 'is empty; a state has at least one vehicle, as in ["tow"]', written)
    if not names or len(names) < len(written or ()):
        # what is missing from the list must not be held against those who count on it
        sheet.ghost("states", key)
    return () if names is None else names


def _read_aboard(
    sheet: Sheet, path: KeyPath, key: str, values: dict[str, Any], vehicles: tuple[str, ...]
) -> tuple[str, ...]:
    if "cargo" not in values:
        return ()
    names = _read_names(sheet, (*path, "cargo"), values["cargo"], section="cargo", word="cargo")
    if names is None or sheet.is_ghost("states", key):
        return names or ()
    for index, item in enumerate(as_list(values["cargo"]) or ()):
        if not isinstance(item, str) or item not in sheet.cargo or sheet.is_ghost("cargo", item):
            continue
        on = sheet.cargo[item].on
        if on not in vehicles:
            message = f"is on {on!r}, which is not in this state; it has {listed(vehicles)}"
            sheet.fault((*path, "cargo", index), message, item)
    return names


def _read_couple(sheet: Sheet, path: KeyPath, raw: Any, vehicles: tuple[str, ...]) -> list[_Made]:
    tables = as_list(raw)
    if tables is None and as_table(raw) is None:
        sheet.ghost("links", str(path[1]))
        sheet.fault(path, f"is not a coupling; write {_EXAMPLE}, or a list of these", raw)
        return []
    most = MOST_NAMED if sheet.is_ghost("states", str(path[1])) else len(vehicles)
    if tables is not None and len(tables) > most:
        vehicle_count = f"{len(vehicles)} vehicle{'' if len(vehicles) == 1 else 's'}"
        sheet.fault(path, f"has {len(tables)} couplings for {vehicle_count}; each but the foremost hangs on one")
        sheet.ghost("links", str(path[1]))
        return []
    rows = [(path, raw)] if tables is None else [((*path, index), table) for index, table in enumerate(tables)]
    made: list[_Made] = []
    for place, table in rows:
        values = read_table(sheet, place, table, _LINK_KEYS, what="a coupling of vehicles")
        if _check_ends(sheet, place, values, vehicles):
            made.append(_Made(place, _link(sheet, place, values, as_table(table) or {})))
        else:
            sheet.ghost("links", str(path[1]))
            _distribution(sheet, place, values, as_table(table) or {})
    _check_together(sheet, made)
    return made


def _link(sheet: Sheet, path: KeyPath, values: dict[str, Any], table: dict[str, Any]) -> Link:
    return Link(
        towing=values["towing"],
        at=values["at"],
        trailer=values["trailer"],
        distribution=_distribution(sheet, path, values, table),
        height_change=values.get("height_change"),
    )


def _check_ends(sheet: Sheet, path: KeyPath, values: dict[str, Any], vehicles: tuple[str, ...]) -> bool:
    """Whether the coupling joins a coupling of one vehicle of the state to another vehicle, a trailer."""
    towing = _end(sheet, path, "towing", values, vehicles)
    trailer = _end(sheet, path, "trailer", values, vehicles)
    sound = towing is not None and trailer is not None
    if towing is not None and towing == trailer:
        sheet.fault((*path, "trailer"), "is coupled to itself; name the vehicle behind it", trailer)
        sound = False
    elif trailer is not None and _cannot_hang(sheet, trailer):
        sheet.fault((*path, "trailer"), "is a towing vehicle; only a trailer hangs on a coupling", trailer)
        sound = False
    at = values.get("at")
    if at is None:
        return False
    if towing is None or sheet.is_ghost("vehicles", towing):
        return sound
    known = sheet.vehicles[towing].couplings
    if at not in known:
        hint = suggest(at, known, f"it has {listed(known)}" if known else "it has none; describe one under couplings")
        sheet.fault((*path, "at"), f"is not a coupling of {towing!r}; {hint}", at)
        return False
    return sound


def _cannot_hang(sheet: Sheet, vehicle: str) -> bool:
    return not sheet.is_ghost("vehicles", vehicle) and sheet.vehicles[vehicle].role is not Role.TRAILER


def _end(sheet: Sheet, path: KeyPath, key: str, values: dict[str, Any], vehicles: tuple[str, ...]) -> str | None:
    """The vehicle at one end of a coupling, or None with a fault entered."""
    name: str | None = values.get(key)
    if name is None:
        return None
    head, slash, _ = name.partition("/")
    if slash and head in sheet.vehicles:
        message = f"is a part of {head!r}; a coupling ties whole vehicles, never axles or wheels: {_EXAMPLE}"
        sheet.fault((*path, key), message, name)
        return None
    if not sheet.knows("vehicles", name, (*path, key), sheet.vehicles):
        return None
    if name not in vehicles and not sheet.is_ghost("states", str(path[1])):
        message = f"is not in this state; it has {listed(vehicles)}; add {name!r} to its vehicles"
        sheet.fault((*path, key), message, name)
        return None
    return name


def _check_together(sheet: Sheet, made: list[_Made]) -> None:
    """No trailer twice, no coupling twice, no ring, front to rear, one combination."""
    links = [item.link for item in made]
    for index in repeated(link.trailer for link in links):
        sheet.fault(
            (*made[index].path, "trailer"), "is coupled twice; a trailer hangs on one coupling", links[index].trailer
        )
    for index in repeated(f"{link.towing}/{link.at}" for link in links):
        link = links[index]
        message = f"carries two trailers; coupling {link.at!r} of {link.towing!r} takes one"
        sheet.fault((*made[index].path, "at"), message, link.at)
    front = {link.trailer: link.towing for link in reversed(links)}
    for index, link in enumerate(links):
        later = [item.trailer for item in links[index + 1 :]]
        place = (*made[index].path, "towing")
        if _runs_in_a_ring(link.trailer, front):
            sheet.fault(
                place, "closes a ring of couplings; each trailer hangs on the vehicle in front of it", link.towing
            )
            return
        if link.towing in later:
            sheet.fault(place, "is itself coupled further down; list the couplings front to rear", link.towing)
            return
        if _foremost(link.towing, front) != _foremost(links[0].towing, front):
            message = "belongs to another combination; a state has one combination, give the other its own state"
            sheet.fault(place, message, link.towing)


def _foremost(vehicle: str, front: dict[str, str]) -> str:
    for _ in range(len(front)):
        vehicle = front.get(vehicle, vehicle)
    return vehicle


def _runs_in_a_ring(vehicle: str, front: dict[str, str]) -> bool:
    return _foremost(vehicle, front) in front


def _distribution(sheet: Sheet, path: KeyPath, values: dict[str, Any], table: dict[str, Any]) -> Distribution:
    """The weight-distributing couple of a coupling; unknown where its text cannot be read."""
    place = (*path, "weight_distribution")
    raw = values.get("weight_distribution")
    rate: Quantity = values.get("weight_distribution_rate", Quantity(0.0))
    if raw is None or raw is False:
        if "weight_distribution_rate" in table:
            message = "has no weight distribution to belong to; write weight_distribution = true, or leave the rate out"
            sheet.fault((*path, "weight_distribution_rate"), message, table["weight_distribution_rate"])
        return Distribution()
    if isinstance(raw, str):
        return Distribution(DistributionKind.STATED, value=_COUPLE(sheet, place, raw), rate=rate)
    other = as_table(raw)
    if other is not None and isinstance(other.get("as"), str):
        for key in other:
            if key != "as":
                unknown_key(sheet, (*place, key), other[key], {"as": None}, what="the couple of another state")
        return Distribution(DistributionKind.SAME, state=other["as"], rate=rate)
    if raw is not True:
        sheet.fault(place, 'is not a couple; write true, false, "9000 lb*in" or { as = "hitched" }', raw)
    return Distribution(DistributionKind.UNKNOWN, rate=rate)


def _check_distributions(sheet: Sheet, made: dict[str, list[_Made]]) -> None:
    """Each couple taken from another state must come from one, by the same coupling, in the end.

    Only the state that names a wrong one is told, not those that count on it; a circle is told once, at its first.
    """
    told: set[tuple[str, ...]] = set()
    for key, items in made.items():
        for item in items:
            if item.link.distribution.kind is DistributionKind.SAME:
                name = item.link.distribution.state or ""
                circle = _circle(sheet, key, item.link)
                message = _source_complaint(sheet, name, item.link) if circle is None else _circle_complaint(circle)
                if message is not None and (key, *_ends(item.link)) not in told:
                    sheet.fault((*item.path, "weight_distribution", "as"), message, name)
                told.update((state, *_ends(item.link)) for state in circle or ())


def _ends(link: Link) -> tuple[str, str, str]:
    return link.towing, link.at, link.trailer


def _circle_complaint(circle: list[str]) -> str:
    remedy = "must state its couple, or leave it unknown with true"
    if len(circle) == 1:
        return f"is this state itself; it {remedy}"
    return f"goes round in a circle: {listed(map(repr, circle))}; one of these states {remedy}"


def _circle(sheet: Sheet, state: str, link: Link) -> list[str] | None:
    """The states of the circle, from ``state`` on, where taking its couple from others leads back to it; else None."""
    circle: dict[str, None] = {}
    follow: Link | None = link
    name = state
    while follow is not None and follow.distribution.kind is DistributionKind.SAME and name not in circle:
        circle[name] = None
        name = follow.distribution.state or ""
        follow = _same_link(sheet, name, link)
    return list(circle) if name == state and circle else None


def _same_link(sheet: Sheet, state: str, link: Link) -> Link | None:
    """The coupling of another state between the same ends; None where there is no such state or coupling."""
    links = sheet.states[state].links if state in sheet.states else ()
    return next((other for other in links if _ends(other) == _ends(link)), None)


def _source_complaint(sheet: Sheet, name: str, link: Link) -> str | None:
    """The fault in taking a couple from the state ``name``, if there is one."""
    if name not in sheet.states:
        hint = suggest(name, sheet.states, f"the day has {listed(sheet.states)}")
        return f"there is no state of that name; {hint}"
    source = _same_link(sheet, name, link)
    if source is None:
        if sheet.is_ghost("states", name) or sheet.is_ghost("links", name):
            return None
        return f"has no coupling of {link.trailer!r} to {link.at!r} of {link.towing!r}; name a state that has it"
    if source.distribution.kind is DistributionKind.NONE:
        return "has no weight distribution at that coupling; name a state that has it, or write true"
    return None
