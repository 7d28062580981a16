"""What is asked of a day, read from JSON: a scenario with the words of the weigh-day file, a map, a trailer, a remedy.

Every value passes the reader of files, so that what a question takes, a file takes too; a fault names its key.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from steelyard.dayfile import (
    DayFileError,
    Fault,
    Part,
    doubt_complaint,
    quantity_complaint,
    read_cargo,
    read_state,
    size_complaint,
)
from steelyard.model import Cargo, Distribution, DistributionKind, WeighDay
from steelyard.units import Dimension, Quantity, QuantityError, parse_quantity

if TYPE_CHECKING:
    from steelyard.loading import Hitching, Scenario

ASKED = "what_if"
"""What a state is called that nobody named."""

_TRIED = "_tried"
_RESERVED = ("combination", "coupling", "cargo")
_SCENARIO = ("from", "name", "add", "put_on", "remove", "change", "hitch", "unhitch", "distribution")
_HITCH = ("towing", "at", "trailer", "distribution")


def read_scenario(day: WeighDay, data: Mapping[str, Any], *more: str) -> tuple[Scenario, str]:
    """A scenario and the name of the state that it makes. ``more`` are keys that are not its own.

    Raises
    ------
    DayFileError: it is none, or a value is none of its kind. ScenarioError: the day cannot make it.
    """
    from steelyard.loading import Scenario, applied, refuse_off_vehicle

    only(data, *_SCENARIO, *more)
    hitch, unhitch = tuple(_hitch(day, item) for item in items(data, "hitch")), names(data, "unhitch")
    distribution = {
        trailer: _distribution(day, value, f"distribution.{trailer}")
        for trailer, value in table(data, "distribution").items()
    }
    bare = Scenario(text(data, "from"), hitch=hitch, unhitch=unhitch, distribution=distribution)
    tried = applied(day, bare, _TRIED)
    put_on, remove = names(data, "put_on"), names(data, "remove")
    added = tuple(_added(tried, items(data, "add")))
    scenario = replace(bare, add=added, put_on=put_on, remove=remove, change=_changes(tried, data, put_on))
    refuse_off_vehicle(day, scenario)
    name = text(data, "name", ASKED)
    if re.fullmatch(r"[A-Za-z0-9_-]{1,200}", name) is None or name in _RESERVED:
        raise fault(
            "name", name, "is no name for a state; names are letters, digits, _ and -, and none that is reserved"
        )
    return scenario, name


def _added(day: WeighDay, asked: list[Any]) -> list[Cargo]:
    found: list[Cargo] = []
    for number, item in enumerate(asked):
        if not isinstance(item, dict):
            raise fault(f"add.{number}", item, "is no table of keys and values")
        data: dict[str, Any] = dict(item)  # pyright: ignore[reportUnknownArgumentType] - JSON has string keys
        name = data.pop("name", None)
        if name is None:
            name = _free(day)
        if not isinstance(name, str):
            raise fault(f"add.{number}.name", name, "is no name")
        try:
            cargo = read_cargo(day, name, data)
        except DayFileError as error:
            faults = tuple(replace(one, path=f"add.{number}.{one.path}") for one in error.faults)
            raise DayFileError("question", faults) from None
        if cargo.mass is None or cargo.x is None or cargo.y is None:
            raise fault(f"add.{number}", name, "needs mass, x and y")
        found.append(cargo)
        day = replace(day, cargo={**day.cargo, name: cargo})
    return found


def _free(day: WeighDay) -> str:
    name, number = "load", 1
    while name in day.cargo:
        number += 1
        name = f"load{number}"
    return name


def _changes(day: WeighDay, data: Mapping[str, Any], put_on: tuple[str, ...]) -> dict[str, dict[str, Quantity]]:
    """The quantities that change, each as the reader of files has it."""
    asked = table(data, "change")
    if not asked:
        return {}
    like = {"same": _TRIED, "with": list(put_on), "change": asked}
    try:
        state = read_state(day, f"{_TRIED}_too", like)
    except DayFileError as error:
        faults = tuple(replace(item, path=item.path.removeprefix(f"states.{_TRIED}_too.")) for item in error.faults)
        raise DayFileError("question", faults) from None
    return {name: {key: state.change[name][key] for key in table(asked, name)} for name in asked}


def _hitch(day: WeighDay, item: Any) -> Hitching:
    from steelyard.loading import Hitching

    if not isinstance(item, dict):
        raise fault("hitch", item, 'is no coupling; write for example {"at": "ball", "trailer": "stock"}')
    data: dict[str, Any] = dict(item)  # pyright: ignore[reportUnknownArgumentType] - JSON has string keys
    only(data, *_HITCH)
    distribution = _distribution(day, data.get("distribution", "none"), "hitch.distribution")
    towing = text(data, "towing", "") or None
    return Hitching(text(data, "at"), text(data, "trailer"), towing, distribution)


def _distribution(day: WeighDay, value: Any, path: str) -> Distribution:
    if value == "none":
        return Distribution()
    if isinstance(value, dict) and set(value) == {"as"}:  # pyright: ignore[reportUnknownArgumentType]
        return Distribution(DistributionKind.SAME, state=_state(day, text(as_object(value), "as")))
    if isinstance(value, str):
        return Distribution(DistributionKind.STATED, quantity(day, value, Dimension.COUPLE, path))
    raise fault(path, value, 'is no couple; write for example "9000 lb*in", {"as": "hitched"} or "none"')


def _state(day: WeighDay, name: str) -> str:
    if name not in day.states:
        raise fault("distribution.as", name, f"is no state of the day; there are {', '.join(day.states)}")
    return name


# ---- keys and values ----


def as_object(value: Any) -> dict[str, Any]:
    """A JSON object as it is; anything else as an empty one."""
    return dict(value) if isinstance(value, dict) else {}  # pyright: ignore[reportUnknownArgumentType]


def fault(path: str, value: Any, message: str) -> DayFileError:
    """One thing wrong with a question."""
    shown = str(value)[:60].encode("utf-8", "backslashreplace").decode()  # half a letter is none that can be sent
    path = path.encode("utf-8", "backslashreplace").decode()
    return DayFileError("question", (Fault(None, path, shown, message),))


def only(data: Mapping[str, Any], *keys: str) -> None:
    """Refuse keys that nobody knows.

    Raises
    ------
    DayFileError: there is one.
    """
    for key in data:
        if key not in keys:
            raise fault(str(key)[:60], "", f"is no key here; there are {', '.join(keys)}")


def text(data: Mapping[str, Any], key: str, default: str | None = None) -> str:
    """A name.

    Raises
    ------
    DayFileError: it is missing, or none.
    """
    value = data.get(key, default)
    if value is None:
        raise fault(key, "", "is missing")
    if not isinstance(value, str) or len(value) > 200:
        raise fault(key, value, "is no name")
    return value


def names(data: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """A list of names, empty where it is missing.

    Raises
    ------
    DayFileError: it is none.
    """
    found = items(data, key)
    for item in found:
        if not isinstance(item, str):
            raise fault(key, item, 'is no name; write a list of names, as in ["driver"]')
    return tuple(dict.fromkeys(found))


def table(data: Mapping[str, Any], key: str) -> dict[str, Any]:
    """An object with keys of its own, empty where it is missing.

    Raises
    ------
    DayFileError: it is none.
    """
    value = data.get(key, {})
    if not isinstance(value, dict):
        raise fault(key, value, "is no table of keys and values")
    return as_object(value)


def items(data: Mapping[str, Any], key: str) -> list[Any]:
    """A list, empty where it is missing.

    Raises
    ------
    DayFileError: it is none, or too long.
    """
    value: Any = data.get(key, [])
    if not isinstance(value, list) or len(value) > 200:  # pyright: ignore[reportUnknownArgumentType]
        raise fault(key, value, "is no list of at most 200")
    return list(value)  # pyright: ignore[reportUnknownArgumentType]


def flag(data: Mapping[str, Any], key: str) -> bool:
    """True or false, false where it is missing.

    Raises
    ------
    DayFileError: it is neither.
    """
    value = data.get(key, False)
    if not isinstance(value, bool):
        raise fault(key, value, "is neither true nor false")
    return value


def quantity(day: WeighDay, value: Any, dimension: Dimension, path: str) -> Quantity:
    """A number in the day's units, or a text with its unit.

    Raises
    ------
    DayFileError: it is none.
    """
    bare = day.units.symbol(dimension) if dimension in (Dimension.MASS, Dimension.LENGTH) else None
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        raise fault(path, value, "is no quantity")
    if not isinstance(value, str) and bare is None:
        raise fault(path, value, "needs its unit, in quotes")
    written = value if isinstance(value, str) else repr(float(value)) if abs(value) < 1e12 else "too large"
    try:
        found = parse_quantity(written, dimension, bare)
    except QuantityError as error:
        raise fault(path, value, quantity_complaint(written, error, dimension)) from None
    own = (
        Dimension.MASS,
        Dimension.LENGTH,
        Dimension.COUPLE,
        Dimension.SHARE,
    )  # what these are of says how large they may be
    complaint = (doubt_complaint if dimension in own else size_complaint)(found, dimension, day.units)
    if complaint is not None:
        raise fault(path, value, complaint)
    return found


def kept_state(day: WeighDay, scenario: Scenario, name: str) -> tuple[list[tuple[str, dict[str, Any]]], dict[str, Any]]:
    """What must be kept so that the day has the scenario as a state: new cargo, then the state, as in the file."""
    import tomllib

    from steelyard.dayfile import write_cargo, write_state
    from steelyard.loading import applied

    made = applied(day, scenario, name)
    cargo = [(item.id, as_object(tomllib.loads(write_cargo(made, item))[Part.CARGO][item.id])) for item in scenario.add]
    return cargo, as_object(tomllib.loads(write_state(made, made.states[name]))[Part.STATE][name])
