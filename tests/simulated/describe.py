"""A declared weigh day: what its owner writes down, each quantity with the standard uncertainty it is written with."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from collections.abc import Mapping

FREE = float("inf")  # the prior standard deviation of what nothing is known about

TAPED = 0.25  # [in] what a taped length is good for when its owner says nothing (format, section 4)
RATE = 0.10  # what a given spring or roll rate is good for when its owner says nothing (same)


@dataclass(frozen=True)
class Given:
    """A declared quantity: value and standard uncertainty in `unit`; `said`: the file states the latter."""

    value: float
    u: float
    unit: str
    said: bool = True


def taped(value: float, u: float | None = None) -> Given:
    """A length [in]; without `u` the format's 0.25 in holds and the file says nothing."""
    return Given(value, TAPED if u is None else u, "in", said=u is not None)


def rate(value: float, unit: str = "lb/in") -> Given:
    """A spring or roll rate, good to 10 % without saying so."""
    return Given(value, RATE * value, unit, said=False)


def exact(value: float, unit: str) -> Given:
    """A quantity without doubt."""
    return Given(value, 0.0, unit, said=False)


@dataclass(frozen=True, kw_only=True)
class Axle:
    """An axle: place x [in], track [in], ride rate per wheel end [lb/in], roll rate [lb*in/rad]."""

    x: Given
    track: Given
    ride: Given
    roll: Given
    group: str | None = None
    sharing: Literal["equalised", "independent"] | None = None
    friction: float | None = None  # of the side's load; None: not written, 1 % holds


@dataclass(frozen=True, kw_only=True)
class Coupling:
    """A coupling on its vehicle: place x [in] and, for a fifth wheel, its roll rate [lb*in/rad]."""

    type: str
    x: Given
    roll: Given | None = None


@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """A vehicle."""

    role: Literal["towing", "trailer"]
    axles: tuple[Axle, ...]
    couplings: Mapping[str, Coupling] = field(default_factory=dict)
    cg_height: Given | None = None

    @property
    def wheels(self) -> list[str]:
        """Wheel names, front to back, left before right."""
        return [f"{number}{side}" for number in range(1, len(self.axles) + 1) for side in "LR"]


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """A pad or platform: division, repeatability, capacity [lb], relative span uncertainties, height [in]."""

    kind: Literal["pad", "platform"] = "pad"
    capacity: float = 20000.0
    division: float = 20.0
    repeatability: float = 6.0
    span_u: float = 0.001
    height: Given | None = None
    set: str | None = None
    set_u: float = 0.0
    verified_latitude: float | None = None  # [deg]
    verified_elevation: float | None = None  # [m]
    mass: Given | None = None  # [lb] of itself, felt where it stands on a vehicle


@dataclass(frozen=True, kw_only=True)
class Cargo:
    """A thing aboard: a mass [lb] at (x, y) [in], or a tank; mass None, or x and y None, is unknown."""

    on: str
    mass: Given | None = None
    x: Given | None = None
    y: Given | None = None
    tank: tuple[Given, Given, Given] | None = None  # volume [gal], density [lb/gal], level [%]
    rate: Given | None = None  # [lb/h] by which it changes by itself, from the first draft with it aboard


@dataclass(frozen=True, kw_only=True)
class Couple:
    """How two vehicles are coupled; weight distribution [lb*in]: none, unknown (True), given, or another state's."""

    towing: str
    at: str
    trailer: str
    distribution: Given | str | Literal[True] | None = None
    height_change: Given | None = None


@dataclass(frozen=True, kw_only=True)
class State:
    """One loading condition; `changes` overrides keys of cargo, by cargo and key."""

    vehicles: tuple[str, ...]
    couples: tuple[Couple, ...] = ()
    cargo: tuple[str, ...] = ()
    changes: Mapping[tuple[str, str], Given] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True)
class Draft:
    """One simultaneous set of readings: places with their instruments."""

    state: str
    readings: tuple[tuple[str, str], ...]
    placement: str | None = None
    reversed: bool = False  # the rig faced the other way: slopes have the other sign
    hours: float | None = None  # since eight in the morning; None: no time is written
    ground: bool = False  # unsupported wheels stand on the ground instead of at the mean height of the pads


@dataclass(frozen=True, kw_only=True)
class Site:
    """The place: unevenness [in], slopes [deg], latitude [deg], elevation [m]."""

    unevenness: float = 0.04
    slope_long: Given | None = None
    slope_lat: Given | None = None
    latitude: float | None = None
    elevation: float | None = None


@dataclass(frozen=True, kw_only=True)
class Day:
    """A declared weigh day, without the readings."""

    title: str
    instruments: Mapping[str, Instrument]
    vehicles: Mapping[str, Vehicle]
    states: Mapping[str, State]
    drafts: tuple[Draft, ...]
    cargo: Mapping[str, Cargo] = field(default_factory=dict)
    site: Site = field(default_factory=Site)
    latch_u: float = 1500.0  # [lb*in] what a fifth wheel is latched with
    hidden: Mapping[str, float] = field(default_factory=dict)  # true values of what the file does not say


def reference_state(day: Day, vehicle: str) -> str:
    """The first state, in file order, with a draft that shows the vehicle; else the first that names it."""
    shown = {draft.state for draft in day.drafts for place, _ in draft.readings if vehicle in vehicles_of(place)}
    named = [name for name, state in day.states.items() if vehicle in state.vehicles]
    return next((name for name in named if name in shown), named[0])


def vehicles_of(place: str) -> set[str]:
    """The vehicles that a place speaks of."""
    return {part.split("/")[0] for part in place.split("+")}


def couple_of(state: State, trailer: str) -> Couple | None:
    """The couple by which a trailer hangs in a state; None when it is parked."""
    return next((couple for couple in state.couples if couple.trailer == trailer), None)


def trailers(day: Day, state: str) -> list[str]:
    """The trailers of a state: coupled ones in the order of their couplings, then parked ones."""
    coupled = [couple.trailer for couple in day.states[state].couples]
    return coupled + [v for v in day.states[state].vehicles if day.vehicles[v].role == "trailer" and v not in coupled]


def pairs_of_equalised(vehicle: Vehicle) -> list[tuple[str, list[int]]]:
    """Equalised groups, each with the indices of its axles, front to back."""
    groups: dict[str, list[int]] = {}
    for index, axle in enumerate(vehicle.axles):
        if axle.group is not None and axle.sharing == "equalised":
            groups.setdefault(axle.group, []).append(index)
    return list(groups.items())


@dataclass(frozen=True)
class Parameter:
    """One uncertain number of a day: its name, declared value and standard deviation (FREE: nothing is known)."""

    name: str
    value: float
    u: float


def _lengths_and_rates(day: Day) -> list[Parameter]:
    """Taped geometry and given rates of every vehicle."""
    found: list[Parameter] = []
    for name, vehicle in day.vehicles.items():
        for number, axle in enumerate(vehicle.axles, start=1):
            for key in ("x", "track", "ride", "roll"):
                given: Given = getattr(axle, key)
                found.append(Parameter(f"{name}.{number}.{key}", given.value, given.u))
        for key, coupling in vehicle.couplings.items():
            found.append(Parameter(f"{name}.{key}.x", coupling.x.value, coupling.x.u))
            if coupling.roll is not None:
                found.append(Parameter(f"{name}.{key}.roll", coupling.roll.value, coupling.roll.u))
        if vehicle.cg_height is not None:
            found.append(Parameter(f"{name}.cg_height", vehicle.cg_height.value, vehicle.cg_height.u))
    return found


def _reference_loads(day: Day) -> list[Parameter]:
    """Loads of each vehicle in its reference state: free."""
    found: list[Parameter] = []
    for name, vehicle in day.vehicles.items():
        found += [Parameter(f"ref.{name}.{wheel}", 0.0, FREE) for wheel in vehicle.wheels]
        if vehicle.role == "trailer":
            found.append(Parameter(f"ref.{name}.coupling", 0.0, FREE))
    return found


def _cargo(day: Day) -> list[Parameter]:
    """Masses and places of cargo; an unknown place is carried as its moments, which loads are linear in."""
    found: list[Parameter] = []
    for name, cargo in day.cargo.items():
        if cargo.tank is not None:
            for key, given in zip(("volume", "density", "level"), cargo.tank, strict=True):
                found.append(Parameter(f"cargo.{name}.{key}", given.value, given.u))
        elif cargo.mass is not None:
            found.append(Parameter(f"cargo.{name}.mass", cargo.mass.value, cargo.mass.u))
        else:
            found.append(Parameter(f"cargo.{name}.mass", 0.0, FREE))
        if cargo.rate is not None:
            found.append(Parameter(f"cargo.{name}.rate", cargo.rate.value, cargo.rate.u))
        for key, place in (("x", cargo.x), ("y", cargo.y)):
            if place is not None:
                found.append(Parameter(f"cargo.{name}.{key}", place.value, place.u))
            else:
                found.append(Parameter(f"cargo.{name}.m{key}", 0.0, FREE))
    for state_name, state in day.states.items():
        for (name, key), given in state.changes.items():
            found.append(Parameter(f"cargo.{name}.{key}@{state_name}", given.value, given.u))
    return found


def _couplings(day: Day) -> list[Parameter]:
    """Couples of weight distribution, roll latched into fifth wheels, and changes made at a hitch."""
    found: list[Parameter] = []
    latched: set[str] = set()
    for state_name, state in day.states.items():
        for couple in state.couples:
            key = f"{state_name}.{couple.trailer}"
            if couple.distribution is True:
                found.append(Parameter(f"wd.{key}", 0.0, FREE))
            elif isinstance(couple.distribution, Given):
                found.append(Parameter(f"wd.{key}", couple.distribution.value, couple.distribution.u))
            if couple.height_change is not None:
                found.append(Parameter(f"hitch.{key}", couple.height_change.value, couple.height_change.u))
            rolls = day.vehicles[couple.towing].couplings[couple.at].type == "fifth_wheel"
            if rolls and couple.trailer not in latched:
                latched.add(couple.trailer)
                found.append(Parameter(f"latch.{couple.trailer}", 0.0, day.latch_u))
    return found


def _instruments_and_site(day: Day) -> list[Parameter]:
    """Spans, spans common to a set, heights of pads, slopes."""
    found: list[Parameter] = []
    for name, instrument in day.instruments.items():
        found.append(Parameter(f"span.{name}", 0.0, instrument.span_u))
        if instrument.height is not None:
            found.append(Parameter(f"height.{name}", instrument.height.value, instrument.height.u))
        if instrument.mass is not None:
            found.append(Parameter(f"mass.{name}", instrument.mass.value, instrument.mass.u))
    for name, u in {i.set: i.set_u for i in day.instruments.values() if i.set is not None}.items():
        found.append(Parameter(f"set.{name}", 0.0, u))
    for key in ("slope_long", "slope_lat"):
        given: Given | None = getattr(day.site, key)
        if given is not None:
            found.append(Parameter(f"site.{key}", given.value, given.u))
    return found


def parameters(day: Day) -> list[Parameter]:
    """Every number of a day that the loads or the readings depend on, except what each placement draws anew."""
    return [
        *_reference_loads(day),
        *_cargo(day),
        *_couplings(day),
        *_lengths_and_rates(day),
        *_instruments_and_site(day),
    ]
