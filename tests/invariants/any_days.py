"""Weigh days of every kind, made from a number: rigs, states, couplings, cargo, pads and drafts as they come.

Readings come from the day's own equations at loads that are drawn first, with noise and rounding: what is tested on
these days is what must not matter, not whether the numbers are right. All invented.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import replace
from itertools import pairwise

import numpy as np

from steelyard.adjustment import expected_loads, prospect
from steelyard.model import (
    Axle,
    Cargo,
    Coupling,
    CouplingType,
    Distribution,
    DistributionKind,
    Draft,
    Instrument,
    InstrumentKind,
    Link,
    Role,
    Sharing,
    Site,
    State,
    Vehicle,
    WeighDay,
    WrittenReading,
    parse_place,
)
from steelyard.units import Quantity

Rng = np.random.Generator
PADS = 6


def any_day(seed: int) -> WeighDay:
    """The day that belongs to a number, in kilograms and metres; the same on every computer."""
    rng = np.random.default_rng(seed)
    vehicles = _vehicles(rng)
    cargo = _cargo(rng, list(vehicles), heavy=_chance(rng, 0.2))
    states = _states(rng, vehicles, cargo)
    instruments = _instruments(rng)
    day = WeighDay(
        title=f"day {seed}",
        site=_site(rng),
        instruments=instruments,
        vehicles=vehicles,
        cargo=cargo,
        states=states,
    )
    return _read(rng, replace(day, drafts=_drafts(rng, day)))


def _chance(rng: Rng, share: float) -> bool:
    return bool(rng.random() < share)


def _site(rng: Rng) -> Site:
    sloped = _chance(rng, 0.3)
    return Site(
        slope_long=Quantity(float(rng.normal(0.0, 0.01)), 1e-3) if sloped else None,
        slope_lat=Quantity(float(rng.normal(0.0, 0.01)), 1e-3) if sloped else None,
        unevenness=float(rng.choice([0.001, 0.002, 0.004])),
        pad_sink=Quantity(0.003, 0.001) if _chance(rng, 0.3) else None,
    )


def _axles(rng: Rng, first: float, steps: list[float], group: str | None) -> tuple[Axle, ...]:
    sharing = Sharing.EQUALISED if group is not None and _chance(rng, 0.5) else Sharing.INDEPENDENT
    return tuple(
        Axle(
            x=Quantity(first + sum(steps[:number])),
            track=Quantity(float(rng.uniform(1.5, 2.1))),
            ride_rate=Quantity(float(rng.uniform(5e3, 2e4))),
            roll_rate=Quantity(float(rng.choice([0.0, 4e3, 1e4]))),
            rating=float(rng.choice([1600.0, 2200.0])),
            group=group,
            sharing=sharing,
        )
        for number in range(len(steps) + 1)
    )


def _coupling(rng: Rng, name: str, x: float) -> dict[str, Coupling]:
    kind = CouplingType(str(rng.choice(["ball", "ball", "gooseneck", "fifth_wheel"])))
    tie = Quantity(float(rng.uniform(5e3, 2e4))) if kind is CouplingType.FIFTH_WHEEL else None
    return {name: Coupling(name, kind, Quantity(x), roll_rate=tie)}


def _vehicles(rng: Rng) -> dict[str, Vehicle]:
    def height(share: float) -> Quantity | None:
        return Quantity(float(rng.uniform(0.7, 1.4)), 0.05) if _chance(rng, share) else None

    base = float(rng.uniform(3.2, 4.6))
    hooks = _coupling(rng, "hook", base + float(rng.uniform(-0.3, 1.4)))
    if _chance(rng, 0.2):
        hooks |= _coupling(rng, "other", base + float(rng.uniform(-0.3, 1.4)))
    found = {"tow": Vehicle("tow", Role.TOWING, _axles(rng, 0.0, [base], None), hooks, cg_height=height(0.4))}
    for name in ("cart", "boat")[: int(rng.choice([0, 1, 1, 1, 2]))]:
        first, count = float(rng.uniform(3.5, 6.0)), int(rng.integers(0, 3))
        rear = _coupling(rng, "rear", first + 0.9 * count + 1.5)
        axles = _axles(rng, first, [0.9] * count, "rear" if count else None)
        found[name] = Vehicle(name, Role.TRAILER, axles, rear, cg_height=height(0.3))
    return found


def _cargo(rng: Rng, vehicles: list[str], *, heavy: bool) -> dict[str, Cargo]:
    """Things that are aboard now and then; ``heavy`` ones lift a wheel or a stand on the other side."""
    found: dict[str, Cargo] = {}
    for number in range(int(rng.integers(0, 4))):
        name, most = f"c{number}", 3500.0 if heavy else 400.0
        x, y = Quantity(float(rng.uniform(0.5, 7.0)), 0.01), Quantity(float(rng.uniform(-0.8, 0.8)), 0.01)
        mass = None if _chance(rng, 0.2) else Quantity(float(rng.uniform(20, most)), float(rng.choice([0.0, 3.0])))
        cargo = Cargo(name, str(rng.choice(vehicles)), mass=mass, x=x, y=y)
        if _chance(rng, 0.3):
            level = Quantity(float(rng.uniform(0, 1)), 0.02)
            cargo = replace(cargo, mass=None, volume=Quantity(0.2), density=Quantity(1e3), level=level)
        found[name] = cargo
    return found


def _states(rng: Rng, vehicles: dict[str, Vehicle], cargo: dict[str, Cargo]) -> dict[str, State]:
    trailers = [name for name in vehicles if name != "tow"]
    shapes: list[tuple[str, ...]] = [("tow",)]
    if trailers:
        shapes += [("cart",), ("tow", "cart"), ("tow", "cart")]
    if len(trailers) == 2:
        shapes += [("boat",), ("cart", "boat"), ("tow", "cart", "boat")]
    found: dict[str, State] = {}
    for number in range(int(rng.integers(2, 5))):
        shape = shapes[int(rng.integers(0, len(shapes)))]
        aboard = tuple(name for name, item in cargo.items() if item.on in shape and _chance(rng, 0.6))
        links = tuple(_link(rng, vehicles, *pair) for pair in pairwise(shape))
        name = f"s{number}"
        found[name] = State(name, shape, links, aboard)
    return found


def _link(rng: Rng, vehicles: dict[str, Vehicle], towing: str, trailer: str) -> Link:
    at = str(rng.choice(list(vehicles[towing].couplings)))
    height = Quantity(float(rng.normal(0.0, 0.05)), 0.005) if _chance(rng, 0.4) else None
    couple = Distribution()
    if vehicles[towing].couplings[at].type is CouplingType.BALL and _chance(rng, 0.3):
        rate = Quantity(float(rng.choice([0.0, 3e3])))
        stated = Distribution(DistributionKind.STATED, Quantity(300.0, 30.0), rate=rate)
        couple = stated if _chance(rng, 0.5) else Distribution(DistributionKind.UNKNOWN, rate=rate)
    return Link(towing, at, trailer, couple, height)


def _instruments(rng: Rng) -> dict[str, Instrument]:
    high = _chance(rng, 0.3)
    found = {
        f"p{number}": Instrument(
            f"p{number}",
            InstrumentKind.PAD,
            capacity=9000.0,
            division=5.0,
            height=Quantity(float(rng.choice([0.04, 0.06])) if high else 0.05, 0.001 if high else 0.0),
            span_uncertainty=0.001,
            repeatability=float(rng.uniform(1.0, 4.0)),
            set="case" if number < 4 else None,
            set_uncertainty=5e-4 if number < 4 else 0.0,
        )
        for number in range(1, PADS + 1)
    }
    bed = Instrument("bed", InstrumentKind.PLATFORM, capacity=3000.0, division=2.0, span_uncertainty=0.001)
    return {**found, "bed": bed}


def _drafts(rng: Rng, day: WeighDay) -> tuple[Draft, ...]:
    found: list[Draft] = []
    for name, state in day.states.items():
        wheels = [f"{vehicle}/{wheel}" for vehicle in state.vehicles for wheel in day.vehicles[vehicle].wheels]
        for _ in range(int(rng.choice([0, 1, 2, 2]))):
            order = list(rng.permutation(wheels)) if _chance(rng, 0.2) else wheels
            fours = [[str(wheel) for wheel in order[first : first + 4]] for first in range(0, len(order), 4)]
            found.extend(_draft(rng, day, name, four) for four in fours)
    return tuple(replace(draft, number=number) for number, draft in enumerate(found, 1))


def _draft(rng: Rng, day: WeighDay, state: str, places: list[str]) -> Draft:
    pads = [f"p{number + 1}" for number in rng.permutation(PADS)[: len(places)]]
    told = list(zip(places, pads, strict=True))
    parked = [name for name in day.states[state].vehicles if name != "tow"]
    if parked and parked[0] == day.states[state].vehicles[0] and _chance(rng, 0.6):
        told.append((f"{parked[0]}/coupling", "bed"))
    readings = tuple(WrittenReading(parse_place(place, day.vehicles), pad, 500.0) for place, pad in told)
    return Draft(0, state, readings, on_ground=_chance(rng, 0.2), reversed=_chance(rng, 0.1))


def _read(rng: Rng, day: WeighDay) -> WeighDay:
    """The day with readings of loads that are drawn first; states in which something pulls stay without a draft."""
    base = prospect(day)
    drawn: dict[Hashable, float] = {}
    for name in base.rig.reference:
        wheels = day.vehicles[name].wheels
        each = 750.0 if name == "tow" else 1700.0 / len(wheels)
        drawn |= {("wheel", name, wheel): float(rng.normal(each, 0.06 * each)) for wheel in wheels}
        drawn["coupling", name] = float(rng.normal(180.0, 20.0))
    loads = expected_loads(base, drawn)
    starts = base.rig.unknowns.starts()
    for key, value in drawn.items():
        if key in base.rig.unknowns.index:
            starts[base.rig.unknowns.index[key]] = value
    shown, _ = base.observations.predict(loads, starts)
    noise = rng.normal(0.0, 3.0, len(shown))
    pulls = {
        stance.state
        for stance, wheels in zip(base.layout.stances, base.layout.wheels_out, strict=True)
        if any((loads.values[out] < 20.0).any() for out in wheels.values())
    }
    told: dict[tuple[int, str], float] = {}
    for item, value, error in zip(base.observations.items, shown, noise, strict=True):
        division = item.instrument.division
        told[item.draft.number, item.reading.place.text] = max(0.0, round((value + error) / division) * division)
    drafts = tuple(
        replace(
            draft,
            readings=tuple(
                replace(item, value=told.get((draft.number, item.place.text), 500.0)) for item in draft.readings
            ),
        )
        for draft in day.drafts
        if draft.state not in pulls
    )
    return replace(day, drafts=tuple(replace(draft, number=number) for number, draft in enumerate(drafts, 1)))
