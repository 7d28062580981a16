"""Loads to plan with: what the readings say so far, and where there are none, round figures.

How much a draft tells hardly depends on the loads: they enter through spans and friction, and through the capacity of
the pads.
"""

from __future__ import annotations

from collections.abc import Hashable

from steelyard.adjustment import Adjustment, drawn_to_readings, laden
from steelyard.model import CouplingType, Role, Vehicle, WeighDay

ON_BALL = 0.12
"""Share of a trailer's gross on its coupling point, where nothing was read; common practice, no source."""

ON_PIN = 0.20
"""The same on a gooseneck or a fifth wheel; common practice, no source."""

DOUBT = 700.0
"""How far these figures may be off [kg]; what readings say outweighs them."""


def expected_of(base: Adjustment) -> dict[Hashable, float]:
    """Values [kg, kg*m] of the free unknowns by key: from the readings, else from round figures."""
    return drawn_to_readings(base, likely_loads(base), DOUBT)


def likely_loads(base: Adjustment) -> dict[Hashable, float]:
    """Round figures for the reference loads [kg] of every vehicle, by key of the unknown."""
    day, found = base.rig.day, dict[Hashable, float]()
    for name in base.rig.reference:
        vehicle = day.vehicles[name]
        for wheel in vehicle.wheels:
            found["wheel", name, wheel] = laden(vehicle.axles[int(wheel[:-1]) - 1]) / 2.0
        if vehicle.role is Role.TRAILER:
            share = _share(day, name)
            found["coupling", name] = share / (1.0 - share) * _on_axles(vehicle)
    for name, cargo in day.cargo.items():
        if not cargo.mass_known:
            found["cargo", name, "mass"] = 100.0
    return found


def _on_axles(vehicle: Vehicle) -> float:
    return sum(laden(axle) for axle in vehicle.axles)


def _share(day: WeighDay, trailer: str) -> float:
    links = [link for state in day.states.values() for link in state.links if link.trailer == trailer]
    kinds = {day.vehicles[link.towing].couplings[link.at].type for link in links}
    return ON_PIN if kinds & {CouplingType.FIFTH_WHEEL, CouplingType.GOOSENECK} else ON_BALL
