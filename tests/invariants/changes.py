"""Changes to a weigh day that must change no finding, or only in the way that they say themselves."""

from __future__ import annotations

import random
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import TypeVar

from steelyard.findings import Findings
from steelyard.model import (
    Axle,
    Cargo,
    Coupling,
    Distribution,
    Draft,
    Instrument,
    Link,
    Place,
    Site,
    State,
    Vehicle,
    WeighDay,
    WheelRef,
    WrittenReading,
)
from steelyard.units import Quantity

Known = Mapping[str, tuple[float, float, float, float] | None]
NOTHING = 1e-6
"""What differs by less [kg, m, 1] is the same: the change of a load between two states that are alike has no doubt."""

_T = TypeVar("_T")


def numbers(findings: Findings) -> Known:
    """Value, u, low and high by id; None where a finding is not determined."""
    found: dict[str, tuple[float, float, float, float] | None] = {}
    for item in findings.findings:
        told = (item.value, item.u, item.low, item.high)
        found[item.id] = None if item.value is None else tuple(float(part) for part in told if part is not None)  # type: ignore[assignment]
    return found


def apart(one: Known, other: Known) -> tuple[float, str]:
    """The largest difference of two sets of findings, as a share of the half width of the interval, and where it is.

    Infinite where only one side has a finding or knows it.
    """
    worst, where = 0.0, ""
    for key in sorted(one.keys() | other.keys()):
        a, b = one.get(key, ()), other.get(key, ())
        if not a or not b:
            share = 0.0 if a == b else float("inf")
        else:
            off = max(abs(p - q) for p, q in zip(a, b, strict=True))
            share = 0.0 if off < NOTHING else off / max((a[3] - a[2]) / 2.0, 1e-9)
        if share > worst:
            worst, where = share, f"{key}: {a} {b}"
    return worst, where


def both_forward(one: Known, other: Known) -> tuple[Known, Known]:
    """The findings that do not depend on which state comes first: changes from one state to another count forward, so
    only those are kept that both sides count the same way.
    """
    kept = {key for key in one.keys() | other.keys() if ">" not in key or (key in one and key in other)}
    return {k: v for k, v in one.items() if k in kept}, {k: v for k, v in other.items() if k in kept}


# -- order ----------------------------------------------------------------------------------------------------------


def shuffled(day: WeighDay, seed: int, *, drafts_too: bool = True) -> WeighDay:
    """States, readings, vehicles, instruments and cargo in another order, and drafts if asked.

    Drafts without a time are taken to follow one another as in the file, so what may have changed between two of them,
    as an explanation of readings that contradict one another, does depend on their order.
    """
    rng = random.Random(seed)

    def mixed(things: Mapping[str, _T]) -> dict[str, _T]:
        return {name: things[name] for name in _any_order(rng, things)}

    states = {
        name: replace(state, vehicles=tuple(_any_order(rng, state.vehicles)), cargo=tuple(_any_order(rng, state.cargo)))
        for name, state in day.states.items()
    }
    drafts = [replace(draft, readings=tuple(_any_order(rng, draft.readings))) for draft in day.drafts]
    numbered = enumerate(_any_order(rng, drafts) if drafts_too else drafts, 1)
    return replace(
        day,
        states=mixed(states),
        vehicles=mixed(day.vehicles),
        instruments=mixed(day.instruments),
        cargo=mixed(day.cargo),
        drafts=tuple(replace(draft, number=number) for number, draft in numbered),
    )


def _any_order(rng: random.Random, things: Mapping[str, object] | tuple[_T, ...] | list[_T]) -> list[_T]:
    listed: list[_T] = list(things)  # type: ignore[arg-type]
    rng.shuffle(listed)
    return listed


def split(day: WeighDay) -> WeighDay:
    """Every draft in two of the same placement: as if the pads had been read by two people."""
    drafts: list[Draft] = []
    for draft in day.drafts:
        named = draft if draft.placement is not None else replace(draft, placement=f"split-{draft.number}")
        half = (len(draft.readings) + 1) // 2
        drafts += [replace(named, readings=part) for part in (draft.readings[:half], draft.readings[half:]) if part]
    return replace(day, drafts=tuple(replace(draft, number=number) for number, draft in enumerate(drafts, 1)))


# -- left and right -------------------------------------------------------------------------------------------------


def _other(quantity: Quantity | None) -> Quantity | None:
    return None if quantity is None else Quantity(-quantity.value, quantity.u)


def mirrored(day: WeighDay) -> WeighDay:
    """The day seen in a mirror: left is right."""

    def wheel(of: WheelRef) -> WheelRef:
        return WheelRef(of.vehicle, of.axle, "L" if of.side == "R" else "R")

    def place(of: Place) -> Place:
        text = re.sub(r"(\d)([LR])", lambda match: match[1] + ("L" if match[2] == "R" else "R"), of.text)
        return Place(text, tuple(wheel(one) for one in of.wheels), of.couplings)

    def draft(of: Draft) -> Draft:
        readings = tuple(WrittenReading(place(item.place), item.instrument, item.value) for item in of.readings)
        return replace(of, readings=readings, blocks=tuple(wheel(one) for one in of.blocks))

    def state(of: State) -> State:
        change = {
            name: {key: Quantity(-value.value, value.u) if key == "y" else value for key, value in keys.items()}
            for name, keys in of.change.items()
        }
        return replace(of, change=change)

    def cargo(of: Cargo) -> Cargo:
        return replace(of, y=_other(of.y))

    site: Site = replace(day.site, slope_lat=_other(day.site.slope_lat))
    return replace(
        day,
        site=site,
        cargo={name: cargo(item) for name, item in day.cargo.items()},
        states={name: state(item) for name, item in day.states.items()},
        drafts=tuple(draft(item) for item in day.drafts),
    )


def reflected(known: Known) -> Known:
    """What a mirror image of findings reads."""
    found: dict[str, tuple[float, float, float, float] | None] = {}
    for key, numbers_of in known.items():
        head, _, tail = key.rpartition("/")
        swapped = {"L": "R", "R": "L"}.get(tail[-1:], "") if "/wheel/" in key or "/side/" in key else ""
        name = f"{head}/{tail[:-1]}{swapped}" if swapped else key
        if numbers_of is None:
            found[name] = None
            continue
        value, u, low, high = numbers_of
        if tail in ("cg_y", "y"):
            value, low, high = -value, -high, -low
        if tail == "left_share":
            value, low, high = 1.0 - value, 1.0 - high, 1.0 - low
        found[name] = (value, u, low, high)
    return found


# -- size -----------------------------------------------------------------------------------------------------------


def heavier(day: WeighDay, factor: float) -> WeighDay:
    """The day with every mass ``factor`` times as large, and every stiffness and couple too: the same shape."""

    def times(quantity: Quantity | None) -> Quantity | None:
        u = None if quantity is None or quantity.u is None else quantity.u * factor
        return None if quantity is None else Quantity(quantity.value * factor, u)

    def plain(value: float | None) -> float | None:
        return None if value is None else value * factor

    def instrument(of: Instrument) -> Instrument:
        return replace(
            of,
            capacity=of.capacity * factor,
            division=of.division * factor,
            repeatability=plain(of.repeatability),
            zero_uncertainty=of.zero_uncertainty * factor,
        )

    def axle(of: Axle) -> Axle:
        rates = {"ride_rate": times(of.ride_rate), "roll_rate": times(of.roll_rate)}
        return replace(of, rating=plain(of.rating), wheel_rating=plain(of.wheel_rating), **rates)

    def coupling(of: Coupling) -> Coupling:
        return replace(of, vertical=plain(of.vertical), gross=plain(of.gross), roll_rate=times(of.roll_rate))

    def vehicle(of: Vehicle) -> Vehicle:
        couplings = {name: coupling(item) for name, item in of.couplings.items()}
        return replace(of, axles=tuple(axle(item) for item in of.axles), couplings=couplings)

    def link(of: Link) -> Link:
        told = of.distribution
        rate = times(told.rate) or told.rate
        couple: Distribution = replace(told, value=times(told.value), rate=rate)
        return replace(of, distribution=couple)

    def draft(of: Draft) -> Draft:
        return replace(of, readings=tuple(replace(item, value=item.value * factor) for item in of.readings))

    def cargo(of: Cargo) -> Cargo:
        return replace(of, mass=times(of.mass), density=times(of.density))

    return replace(
        day,
        instruments={name: instrument(item) for name, item in day.instruments.items()},
        vehicles={name: vehicle(item) for name, item in day.vehicles.items()},
        cargo={name: cargo(item) for name, item in day.cargo.items()},
        states={name: replace(item, links=tuple(map(link, item.links))) for name, item in day.states.items()},
        drafts=tuple(draft(item) for item in day.drafts),
    )


SHARES = ("cg_x", "cg_y", "x", "y", "front_share", "left_share", "share", "front_change", "restored")
"""What the ids of findings end with that are lengths or shares and stay as they are."""


def lighter(known: Known, factor: float) -> Known:
    """Findings of a day whose masses were multiplied by ``factor``, brought back."""
    return {
        key: value
        if value is None or key.rpartition("/")[2] in SHARES
        else (value[0] / factor, value[1] / factor, value[2] / factor, value[3] / factor)
        for key, value in known.items()
    }
