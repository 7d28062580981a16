"""Loads to plan with: what the readings say so far, and where there are none, round figures.

How much a draft tells hardly depends on the loads: they enter through spans and friction, and through the capacity of
the pads.
"""

from __future__ import annotations

from collections.abc import Hashable

from steelyard.adjustment import Adjustment, coupling_share, drawn_to_readings, laden
from steelyard.model import Role, Vehicle

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
            share = coupling_share(day, name)
            found["coupling", name] = share / (1.0 - share) * _on_axles(vehicle)
    for name, cargo in day.cargo.items():
        if not cargo.mass_known:
            found["cargo", name, "mass"] = 100.0
    return found


def _on_axles(vehicle: Vehicle) -> float:
    return sum(laden(axle) for axle in vehicle.axles)
