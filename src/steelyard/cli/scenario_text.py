"""The small texts that say what would be changed: ``850 lb on tow at 224 in, 0 in`` and its like."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import TypeVar

import click

from steelyard.dayfile import doubt_complaint, size_complaint
from steelyard.loading import LEAST_MASS, Hitching, Scenario
from steelyard.model import Cargo, Distribution, DistributionKind, State, WeighDay
from steelyard.units import Dimension, Quantity, QuantityError, pair_of, parse_quantity

_T = TypeVar("_T")

ADD = '"850 lb on tow at 224 in, 0 in"'
MOVE = '"bale to 150 in, -10 in"'
SET = '"water.level=100 %"'

_ADD = re.compile(r"^(?:(?P<name>[\w-]+)\s*:)?(?P<mass>.+?)\son\s+(?P<on>[\w-]+)\s+at\s(?P<place>.+)$", re.DOTALL)
_MOVE = re.compile(r"^\s*(?P<name>[\w-]+)\s+to\s(?P<place>.+)$", re.DOTALL)
_SET = re.compile(r"^\s*(?P<name>[\w-]+)\.(?P<key>\w+)\s*=(?P<value>.+)$", re.DOTALL)
_HITCH = re.compile(r"^\s*(?:(?P<towing>[\w-]+)/)?(?P<at>[\w-]+)\s*:\s*(?P<trailer>[\w-]+)\s*$")
_SAME = re.compile(r"^\s*same-as\s*:\s*(?P<state>[\w-]+)\s*$")

_KEYS = {
    "mass": Dimension.MASS,
    "volume": Dimension.VOLUME,
    "density": Dimension.DENSITY,
    "level": Dimension.SHARE,
    "x": Dimension.LENGTH,
    "y": Dimension.LENGTH,
    "z": Dimension.LENGTH,
}
_BARE = (Dimension.MASS, Dimension.LENGTH)
_BOUNDED = (*_BARE, Dimension.COUPLE, Dimension.SHARE)  # what these are of says how large they may be


@dataclass(frozen=True)
class Wishes:
    """What was asked for, as typed: the texts of each option."""

    add: tuple[str, ...] = ()
    remove: tuple[str, ...] = ()
    move: tuple[str, ...] = ()
    change: tuple[str, ...] = ()
    hitch: tuple[str, ...] = ()
    unhitch: tuple[str, ...] = ()
    distribution: str | None = None
    put_on: tuple[str, ...] = ()


def scenario_of(day: WeighDay, base: str, wishes: Wishes) -> Scenario:
    """The scenario that the texts mean, against the state ``base`` of the day.

    Raises
    ------
    BadParameter: a text is none of its kind; the message says what would be right.
    """
    changes: dict[str, dict[str, Quantity]] = {}
    moves = _each("--move", wishes.move, lambda text: _move(day, text))
    sets = _each("--set", wishes.change, lambda text: _set(day, base, text))
    for name, values in (*moves, *sets):
        for key, quantity in values.items():
            if key in changes.setdefault(name, {}):
                raise click.BadParameter(f"{key} of '{name}' is given twice", param_hint="'--move' / '--set'")
            changes[name][key] = quantity
    scenario = Scenario(
        base,
        add=_added(day, _each("--add", wishes.add, lambda text: read_cargo(day, text))),
        put_on=wishes.put_on,
        remove=wishes.remove,
        change=changes,
        hitch=tuple(_each("--hitch", wishes.hitch, _hitch)),
        unhitch=wishes.unhitch,
    )
    if wishes.distribution is None:
        return scenario
    made = _each("--distribution", (wishes.distribution,), lambda text: _distribution(day, text))[0]
    return _with_distribution(scenario, day.states[base], made)


def _each(option: str, texts: Iterable[str], read: Callable[[str], _T]) -> list[_T]:
    """Each text read; a fault in one names its option."""
    found: list[_T] = []
    for text in texts:
        try:
            found.append(read(text))
        except click.UsageError as error:
            raise click.BadParameter(error.message, param_hint=f"'{option}'") from None
    return found


def quantity_of(day: WeighDay, text: str, dimension: Dimension) -> Quantity:
    """A quantity in the day's units where it has none of its own.

    How large a mass, a place, a couple or a level may be is said by those who know what it is of.

    Raises
    ------
    UsageError: the text is not one, or it is larger than anything that a file may hold.
    """
    bare = day.units.symbol(dimension) if dimension in _BARE else None
    try:
        quantity = parse_quantity(text.strip(), dimension, bare)
    except QuantityError as error:
        raise click.UsageError(f"'{text.strip()}' {error}") from None
    check = doubt_complaint if dimension in _BOUNDED else size_complaint
    refuse(text, check(quantity, dimension, day.units))
    return quantity


def refuse(text: str, complaint: str | None) -> None:
    """See that there is nothing to complain of in a text.

    Raises
    ------
    UsageError: there is.
    """
    if complaint is not None:
        raise click.UsageError(f"'{text.strip()}' {complaint}")


def mass_of(day: WeighDay, text: str) -> Quantity:
    """A mass above zero.

    Raises
    ------
    UsageError: the text is not one.
    """
    mass = quantity_of(day, text, Dimension.MASS)
    if mass.value <= 0.0:
        raise click.UsageError(f"'{text.strip()}' is not above zero; what comes off is named with --remove")
    if mass.value < LEAST_MASS:
        raise click.UsageError(f"'{text.strip()}' is less than a gram, which no rig shows; check it")
    return mass


def _place(day: WeighDay, text: str) -> tuple[Quantity, Quantity]:
    parts = pair_of(text)
    if parts is None:
        raise click.UsageError(
            f"'{text.strip()}' is no place; write two lengths, rearward and to the left: 224 in, 0 in"
        )
    along, across = (quantity_of(day, part, Dimension.LENGTH) for part in parts)
    return along, across


def read_cargo(day: WeighDay, text: str) -> Cargo:
    """``[NAME:] MASS on VEHICLE at X, Y`` as cargo; its name is empty where none is given.

    Raises
    ------
    UsageError: it is none.
    """
    match = _ADD.match(text)
    if match is None:
        raise click.UsageError(f"'{text}' is no load; write for example {ADD}")
    x, y = _place(day, match["place"])
    return Cargo(match["name"] or "", match["on"], mass=mass_of(day, match["mass"]), x=x, y=y)


def _added(day: WeighDay, cargo: Iterable[Cargo]) -> tuple[Cargo, ...]:
    """The cargo with a name for each."""
    named: list[Cargo] = []
    taken = set(day.cargo)
    for item in cargo:
        name, number = item.id or "load", 1
        while not item.id and name in taken:
            number += 1
            name = f"load{number}"
        if name in taken and name not in day.cargo:
            raise click.BadParameter(f"two loads are called '{name}'; give each its own name", param_hint="'--add'")
        taken.add(name)
        named.append(replace(item, id=name))
    return tuple(named)


def _move(day: WeighDay, text: str) -> tuple[str, dict[str, Quantity]]:
    match = _MOVE.match(text)
    if match is None:
        raise click.UsageError(f"'{text}' is no move; write for example {MOVE}")
    x, y = _place(day, match["place"])
    return match["name"], {"x": x, "y": y}


def _set(day: WeighDay, base: str, text: str) -> tuple[str, dict[str, Quantity]]:
    match = _SET.match(text)
    if match is None:
        raise click.UsageError(f"'{text}' changes nothing; write for example {SET}")
    name, key = match["name"], match["key"]
    if key not in _KEYS:
        raise click.UsageError(f"cargo has no '{key}'; there are {', '.join(_KEYS)}")
    value = quantity_of(day, match["value"], _KEYS[key])
    if key == "z":
        refuse(match["value"], size_complaint(value, Dimension.LENGTH, day.units))
    cargo = day.cargo_in(day.states[base]).get(name)
    tank = cargo is not None and cargo.is_tank
    if key in ("mass", "volume", "density", "level") and value.value < 0.0:
        raise click.UsageError(f"'{match['value'].strip()}' is below zero; nothing has a {key} below zero")
    if key == "level" and value.value > 1.0:
        raise click.UsageError(f"'{match['value'].strip()}' is more than full; a level is 0 % to 100 %")
    if cargo is not None and tank != (key in ("volume", "density", "level")) and key not in ("x", "y", "z"):
        right = "a tank; set its level" if tank else "no tank; set its mass"
        raise click.UsageError(f"'{name}' is {right}")
    return name, {key: value}


def _hitch(text: str) -> Hitching:
    match = _HITCH.match(text)
    if match is None:
        raise click.UsageError(f"'{text}' hitches nothing; write for example ball:stock or tow/ball:stock")
    return Hitching(match["at"], match["trailer"], match["towing"])


def _distribution(day: WeighDay, text: str) -> Distribution:
    same = _SAME.match(text)
    if same is not None:
        if same["state"] not in day.states:
            raise click.UsageError(f"there is no state '{same['state']}'; there are {', '.join(day.states)}")
        return Distribution(DistributionKind.SAME, state=same["state"])
    if text.strip() == "none":
        return Distribution()
    try:
        return Distribution(DistributionKind.STATED, quantity_of(day, text, Dimension.COUPLE))
    except click.UsageError as error:
        raise click.UsageError(f"{error.message}, or same-as:STATE, or none") from None


def _with_distribution(scenario: Scenario, base: State, made: Distribution) -> Scenario:
    """The couple on the one trailer that it can mean: the one hitched now, else the one that stays hitched."""
    staying = [link.trailer for link in base.links if link.trailer not in scenario.unhitch]
    if len(scenario.hitch) == 1:
        return replace(scenario, hitch=(replace(scenario.hitch[0], distribution=made),))
    if len(staying) == 1 and not scenario.hitch:
        return replace(scenario, distribution={staying[0]: made})
    count = "no trailer is hitched" if not staying and not scenario.hitch else "several trailers are hitched"
    raise click.BadParameter(f"{count}, so it cannot be told which one it acts on", param_hint="'--distribution'")
