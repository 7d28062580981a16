"""A scenario: what is put on, taken off, moved, filled or hitched, before anyone lifts anything: one more state."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import TypeVar

from steelyard.model import Cargo, Distribution, DistributionKind, Link, Role, State, WeighDay
from steelyard.names import meant
from steelyard.units import Dimension, Quantity, format_number

_Thing = TypeVar("_Thing")

LOOSE = Distribution()
"""No weight distribution."""


MOST_MASS, MOST_COUPLE = 1e6, 1e6
"""The most [kg, kg*m] that a load or a couple is asked for, as in the file. Common practice, no source."""

LEAST_MASS = 0.001
"""The least [kg] that is put on: less would be shown as nothing."""

_NAME = re.compile(r"[A-Za-z0-9_-]+")
_RESERVED = ("combination", "coupling", "cargo")


class ScenarioError(ValueError):
    """A scenario that the day cannot make; the message names the value and what would be right."""


@dataclass(frozen=True, slots=True)
class Hitching:
    """Hitch ``trailer`` to the coupling ``at``; ``towing`` names the vehicle in front where two have such a one."""

    at: str
    trailer: str
    towing: str | None = None
    distribution: Distribution = LOOSE
    height_change: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Scenario:
    """Changes against the state ``base``.

    Attributes
    ----------
    add: cargo put on that the day does not know. put_on: cargo of the day that comes aboard too. remove: cargo taken
        off. change: quantities of cargo aboard that change (place [m], level [1]).
    hitch, unhitch: trailers. distribution: couple of the trailers that stay hitched, by trailer.
    shift: how far the coupling that holds a trailer goes rearward [m], by trailer.
    """

    base: str
    add: tuple[Cargo, ...] = ()
    put_on: tuple[str, ...] = ()
    remove: tuple[str, ...] = ()
    change: Mapping[str, Mapping[str, Quantity]] = field(default_factory=dict[str, Mapping[str, Quantity]])
    hitch: tuple[Hitching, ...] = ()
    unhitch: tuple[str, ...] = ()
    distribution: Mapping[str, Distribution] = field(default_factory=dict[str, Distribution])
    shift: Mapping[str, float] = field(default_factory=dict[str, float])


def applied(day: WeighDay, scenario: Scenario, name: str = "what_if") -> WeighDay:
    """``day`` with the scenario as one more state, called ``name``.

    Raises
    ------
    ScenarioError: an unknown state, cargo, vehicle or coupling, cargo that is not aboard, a vehicle in two places, a
    mass under zero, or a name that is taken.
    """
    base = _known(day.states, scenario.base, "state")
    if not _NAME.fullmatch(name):
        raise ScenarioError(f"{name!r} is not a name of a state; it is made of letters, digits, _ and -")
    if name in _RESERVED:
        raise ScenarioError(f"{name!r} is reserved; give the new state another name")
    if name in day.states:
        raise ScenarioError(f"there is a state {name!r} already; give the new one another name")
    links = _links(day, base, scenario)
    _refuse_couples(day, links)
    if scenario.shift:
        day, links = _shifted(day, links, scenario.shift, name)
    vehicles = _vehicles(base, links, scenario)
    _refuse_loose_ends(links, vehicles)
    cargo = [item for item in base.cargo if day.cargo[item].on in vehicles]
    coming, left = _coming_aboard(day, base, vehicles, scenario)
    cargo.extend(item for item in coming if item not in cargo)
    cargo.extend(_known_cargo(day, item, cargo, vehicles) for item in scenario.put_on)
    for item in scenario.remove:
        if item not in left:
            _aboard(day, cargo, item)
            cargo.remove(item)
    added = {item.id: _checked(day, item, vehicles) for item in scenario.add}
    change = {item: dict(values) for item, values in base.change.items() if item in cargo}
    for item, values in scenario.change.items():
        _aboard(day, cargo, item)
        if "mass" in values and not values["mass"].value <= MOST_MASS:
            raise ScenarioError(
                f"{item!r} weighs more than {_shown(day, MOST_MASS, Dimension.MASS)}, which no rig carries"
            )
        change.setdefault(item, {}).update(values)
    lifted = {vehicle: axles for vehicle, axles in base.lifted.items() if vehicle in vehicles}
    state = State(name, vehicles, links, (*cargo, *added), change, lifted)
    return replace(day, cargo={**day.cargo, **added}, states={**day.states, name: state})


def changes_nothing(day: WeighDay, scenario: Scenario, name: str = "what_if") -> bool:
    """Whether the new state would be the base: nothing is changed, or what is done is undone.

    Raises
    ------
    ScenarioError: the day cannot make the scenario; see ``applied``.
    """
    if scenario == Scenario(scenario.base):
        return True
    if scenario.add or scenario.change or scenario.shift:
        return False
    made, base = applied(day, scenario, name).states[name], day.states[scenario.base]
    same = (set(made.vehicles), set(made.cargo)) == (set(base.vehicles), set(base.cargo))
    return same and set(made.links) == {_as_in(base, link) for link in base.links}


def _known(things: Mapping[str, _Thing], name: str, what: str) -> _Thing:
    if name not in things:
        raise ScenarioError(f"there is no {what} {name!r}; {meant(name, things)}")
    return things[name]


def _links(day: WeighDay, base: State, scenario: Scenario) -> tuple[Link, ...]:
    """The couplings of the new state: those that stay, then those made."""
    for trailer in scenario.unhitch:
        if base.link_of_trailer(trailer) is None:
            raise ScenarioError(f"{trailer!r} is not hitched in state {base.id!r}")
    links = [_as_in(base, link) for link in base.links if link.trailer not in scenario.unhitch]
    for trailer, distribution in scenario.distribution.items():
        if not any(link.trailer == trailer for link in links):
            raise ScenarioError(f"{trailer!r} is not hitched in state {base.id!r}, so no couple acts on it")
        links = [replace(link, distribution=distribution) if link.trailer == trailer else link for link in links]
    for hitching in scenario.hitch:
        trailer = _known(day.vehicles, hitching.trailer, "vehicle")
        if trailer.role is not Role.TRAILER:
            raise ScenarioError(f"{trailer.id!r} is a towing vehicle; only a trailer can be hitched")
        if any(link.trailer == trailer.id for link in links):
            raise ScenarioError(f"{trailer.id!r} is hitched already in state {base.id!r}")
        present = [*base.vehicles, *(link.trailer for link in links)]
        towing = _holder(day, present, hitching)
        if any((link.towing, link.at) == (towing, hitching.at) for link in links):
            raise ScenarioError(f"coupling {hitching.at!r} of {towing!r} is taken already in state {base.id!r}")
        links.append(Link(towing, hitching.at, trailer.id, hitching.distribution, hitching.height_change))
    return tuple(links)


def _shifted(
    day: WeighDay, links: tuple[Link, ...], shift: Mapping[str, float], name: str
) -> tuple[WeighDay, tuple[Link, ...]]:
    """A twin of each shifted coupling, at its new place, and the links that hang on the twins."""
    vehicles = dict(day.vehicles)
    made: list[Link] = []
    for link in links:
        if link.trailer not in shift:
            made.append(link)
            continue
        towing = vehicles[link.towing]
        coupling = towing.couplings[link.at]
        twin = f"{link.at}_{name}"
        x = replace(coupling.x, value=coupling.x.value + shift[link.trailer])
        moved = replace(coupling, id=twin, x=x)
        vehicles[link.towing] = replace(towing, couplings={**towing.couplings, twin: moved})
        made.append(replace(link, at=twin))
    return replace(day, vehicles=vehicles), tuple(made)


def _as_in(base: State, link: Link) -> Link:
    """The link as it stays: an unknown couple, or a height stated with its doubt, is the base's, not another one."""
    if link.height_change is not None:
        link = replace(link, height_as=base.id)
    if link.distribution.kind is not DistributionKind.UNKNOWN:
        return link
    same = replace(link.distribution, kind=DistributionKind.SAME, state=base.id)
    return replace(link, distribution=same)


def _holder(day: WeighDay, present: Iterable[str], hitching: Hitching) -> str:
    """The vehicle whose coupling is meant."""
    having = [name for name in dict.fromkeys(present) if hitching.at in day.vehicles[name].couplings]
    if hitching.towing is not None:
        having = [name for name in having if name == hitching.towing]
    if len(having) == 1:
        return having[0]
    if having:
        raise ScenarioError(f"{' and '.join(having)} both have a coupling {hitching.at!r}; name the vehicle in front")
    couplings = [f"{name}/{at}" for name in dict.fromkeys(present) for at in day.vehicles[name].couplings]
    raise ScenarioError(f"nothing here has a coupling {hitching.at!r}; there are {', '.join(couplings) or 'none'}")


def _vehicles(base: State, links: tuple[Link, ...], scenario: Scenario) -> tuple[str, ...]:
    gone = set(scenario.unhitch) - {link.trailer for link in links}
    return tuple(dict.fromkeys([name for name in base.vehicles if name not in gone] + [link.trailer for link in links]))


def _refuse_loose_ends(links: tuple[Link, ...], vehicles: tuple[str, ...]) -> None:
    """A trailer cannot hang on a vehicle that leaves."""
    for link in links:
        if link.towing not in vehicles:
            raise ScenarioError(
                f"{link.trailer!r} would hang on {link.towing!r}, which is unhitched and leaves; unhitch "
                f"{link.trailer!r} too, and hitch it to what stays if it is to come along"
            )


def _weighed_with(day: WeighDay, name: str) -> dict[str, list[str]]:
    """The cargo of a vehicle in each state in which it was weighed, or in each that names it where it was in none."""
    naming = [state for state in day.states.values() if name in state.vehicles]
    shown = day.shown_in(name)
    return {
        state.id: [item for item in state.cargo if day.cargo[item].on == name]
        for state in [state for state in naming if state.id in shown] or naming
    }


def sometimes_aboard(day: WeighDay, name: str) -> tuple[str, ...]:
    """The cargo that a vehicle had in some, not in all, of the states in which it was weighed."""
    aboard = _weighed_with(day, name).values()
    return tuple(item for item in day.cargo if 0 < sum(item in items for items in aboard) < len(aboard))


def _coming_aboard(
    day: WeighDay, base: State, vehicles: tuple[str, ...], scenario: Scenario
) -> tuple[list[str], set[str]]:
    """Cargo of the trailers that come in: the cargo that they had in every state in which they were weighed.

    And what they had in some of these states only, which the scenario takes off.

    What they had in some of them only must be put on or taken off by the scenario: which of the states is meant is not
    left to the order of the file. Of a trailer that was never weighed every state that names it counts.
    """
    found: list[str] = []
    left: set[str] = set()
    for name in vehicles:
        if name in base.vehicles:
            continue
        aboard = _weighed_with(day, name)
        somewhere = [item for item in day.cargo if any(item in items for items in aboard.values())]
        everywhere = [item for item in somewhere if item not in sometimes_aboard(day, name)]
        for item in somewhere:
            if item not in everywhere and item not in (*scenario.put_on, *scenario.remove):
                having = [state for state, items in aboard.items() if item in items]
                lacking = [state for state in aboard if state not in having]
                raise ScenarioError(
                    f"{name!r} was weighed with {item!r} in {', '.join(having)} and without it in "
                    f"{', '.join(lacking)}; say which is meant: put {item!r} on, or remove it"
                )
        found.extend(everywhere)
        left.update(item for item in somewhere if item not in everywhere and item in scenario.remove)
    return found, left


def _known_cargo(day: WeighDay, item: str, cargo: list[str], vehicles: tuple[str, ...]) -> str:
    known = _known(day.cargo, item, "cargo")
    if item in cargo:
        raise ScenarioError(f"cargo {item!r} is aboard already")
    if known.on not in vehicles:
        raise ScenarioError(f"cargo {item!r} goes on {known.on!r}, which is not in this state")
    return item


def _aboard(day: WeighDay, cargo: list[str], item: str) -> None:
    _known(day.cargo, item, "cargo")
    if item not in cargo:
        raise ScenarioError(f"cargo {item!r} is not aboard; aboard are {', '.join(cargo) or 'none'}")


def _checked(day: WeighDay, item: Cargo, vehicles: tuple[str, ...]) -> Cargo:
    if item.id in day.cargo:
        raise ScenarioError(f"there is a cargo {item.id!r} already; give the new one another name")
    if item.on not in vehicles:
        _known(day.vehicles, item.on, "vehicle")
        raise ScenarioError(f"{item.on!r} is not in this state; its vehicles are {', '.join(vehicles)}")
    if item.mass_known and item.mass_value().value < 0.0:
        raise ScenarioError("a mass below zero cannot be put on; take cargo off with --remove")
    if item.mass_known and 0.0 < item.mass_value().value < LEAST_MASS:
        raise ScenarioError(f"{item.id!r} weighs less than a gram, which no rig shows; check its mass")
    if item.mass_known and not item.mass_value().value <= MOST_MASS:
        raise ScenarioError(
            f"{item.id!r} weighs more than {_shown(day, MOST_MASS, Dimension.MASS)}, which no rig carries"
        )
    return item


def _refuse_couples(day: WeighDay, links: tuple[Link, ...]) -> None:
    """A stated couple that no hitch makes is a slip of the unit, or of the exponent."""
    for link in links:
        kind, value, other = link.distribution.kind, link.distribution.value, link.distribution.state
        if kind is DistributionKind.SAME and other is not None:
            there = day.states[other].link_of_trailer(link.trailer)
            if there is None or there.distribution.kind is DistributionKind.NONE:
                raise ScenarioError(
                    f"{link.trailer!r} has no weight distribution in state {other!r}, so no couple is there"
                )
        if value is not None and not abs(value.value) <= MOST_COUPLE:
            most = _shown(day, MOST_COUPLE, Dimension.COUPLE)
            raise ScenarioError(f"the couple of {link.trailer!r} is beyond {most}, which no hitch makes")


def _shown(day: WeighDay, bound: float, dimension: Dimension) -> str:
    return f"{format_number(day.units.show(bound, dimension))} {day.units.symbol(dimension)}"
