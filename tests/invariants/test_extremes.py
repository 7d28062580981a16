"""Days at the bounds of what a file may say: axles a hair apart, springs of steel or of wool, loads of 1,000 tons,
readings of nothing and of nonsense. Whatever comes, findings are finite, and no arithmetic gives up.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from steelyard.findings import weigh
from steelyard.model import Axle, Draft, Vehicle, WeighDay
from steelyard.units import Quantity
from tests.invariants.any_days import any_day

Rng = np.random.Generator


def _axles(vehicle: Vehicle, change: Callable[[int, Axle], Axle]) -> Vehicle:
    return replace(vehicle, axles=tuple(change(place, axle) for place, axle in enumerate(vehicle.axles)))


def _vehicle(rng: Rng, vehicle: Vehicle) -> Vehicle:
    """A vehicle of the same sort with some of its numbers at what no rig has."""
    first = vehicle.axles[0].x.value
    apart, track, ride, roll = 10.0 ** rng.uniform([-4, -4, -3, 0], [-1, 0, 8, 9])
    changes: list[tuple[float, Callable[[int, Axle], Axle]]] = [
        (0.25, lambda place, axle: replace(axle, x=Quantity(first + place * float(apart)))),
        (0.25, lambda _, axle: replace(axle, track=Quantity(float(track)))),
        (0.25, lambda place, axle: replace(axle, ride_rate=Quantity(float(ride)) if place else axle.ride_rate)),
        (0.15, lambda _, axle: replace(axle, roll_rate=Quantity(float(roll)))),
        (0.15, lambda _, axle: replace(axle, ride_rate=Quantity(8000.0, 80_000.0))),
        (0.15, lambda _, axle: replace(axle, ride_rate=None, roll_rate=None, rating=None)),
        (0.15, lambda _, axle: replace(axle, friction=float(rng.choice([0.0, 0.99])))),
    ]
    for share, change in changes:
        if rng.random() < share:
            vehicle = _axles(vehicle, change)
    if rng.random() < 0.15:
        x = Quantity(float(rng.choice([0.0, vehicle.axles[-1].x.value, 59.0, -59.0])))
        couplings = {name: replace(item, x=x) for name, item in vehicle.couplings.items()}
        vehicle = replace(vehicle, couplings=couplings)
    return vehicle


def _drafts(rng: Rng, drafts: tuple[Draft, ...]) -> tuple[Draft, ...]:
    """The drafts with readings of nothing, of nonsense, or as they are."""
    what = rng.random()
    low, high = (-np.inf, -np.inf) if what < 0.15 else (-2.0, 2.0) if what < 0.3 else (0.0, 0.0)

    def value(plain: float) -> float:
        return 0.0 if np.isinf(low) else plain * float(10.0 ** rng.uniform(low, high))

    return tuple(
        replace(draft, readings=tuple(replace(item, value=value(item.value)) for item in draft.readings))
        for draft in drafts
    )


def extreme_day(seed: int) -> WeighDay:
    """The day that belongs to a number, driven to the bounds."""
    day, rng = any_day(seed), np.random.default_rng([seed, 99])
    vehicles = {name: _vehicle(rng, vehicle) for name, vehicle in day.vehicles.items()}
    instruments = dict(day.instruments)
    if rng.random() < 0.3:
        division = float(10.0 ** rng.uniform(-6, 3))
        told = {"division": division, "repeatability": None if rng.random() < 0.3 else 0.0, "span_uncertainty": 0.0}
        instruments = {name: replace(item, **told) for name, item in instruments.items()}  # type: ignore[arg-type]
    cargo = {
        name: replace(item, mass=Quantity(float(10.0 ** rng.uniform(3, 6))))
        if item.mass and rng.random() < 0.2
        else item
        for name, item in day.cargo.items()
    }
    site = replace(day.site, unevenness=float(rng.choice([0.0, 0.2]))) if rng.random() < 0.2 else day.site
    drafts = _drafts(rng, day.drafts)
    return replace(day, vehicles=vehicles, cargo=cargo, instruments=instruments, site=site, drafts=drafts)


def test_findings_at_the_bounds_are_finite() -> None:
    determined = 0
    for seed in range(30):
        found = weigh(extreme_day(seed))
        assert np.isfinite(found.consistency.chi2), seed
        for item in found.findings:
            if item.value is not None:
                determined += 1
                told = [item.value, item.u or 0.0, item.low or 0.0, item.high or 0.0]
                assert np.isfinite(told).all(), (seed, item.id)
    assert determined > 1000
