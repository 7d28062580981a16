"""Where the vehicles of a state stand, drawn from above, as data for scripts."""

from __future__ import annotations

from typing import Any

from steelyard.loading import ScenarioError, floor_of
from steelyard.model import Role, State, WeighDay
from steelyard.report import pieces
from steelyard.units import Dimension


def above_data(day: WeighDay, state: State) -> dict[str, Any]:
    """Where the vehicles of a state stand from above, along the rig from its front, in the day's unit of length."""
    rig = pieces.rig_of(day, state)
    factor = day.units.factor(Dimension.LENGTH)

    def at(place: float) -> float:
        return round((place - rig.front) / factor, 2)

    vehicles = [
        {
            "id": placed.vehicle.id,
            "title": placed.vehicle.title,
            "towing": placed.vehicle.role is Role.TOWING,
            "origin": at(placed.origin),
            "front": at(placed.front),
            "rear": at(placed.rear),
            "neck": None if placed.neck is None else at(placed.neck),
            "half": round(placed.half_width / factor, 2),
            "floor": _floor(day, placed.vehicle.id),
            "axles": [
                {
                    "number": axle.number,
                    "at": at(axle.x),
                    "half": round(axle.half / factor, 2),
                    "outer": round(axle.outer / factor, 2),
                    "tyres": [round(tyre / factor, 2) for tyre in axle.tyres],
                }
                for axle in placed.axles
            ],
            "couplings": [at(placed.origin + coupling.x.value) for coupling in placed.vehicle.couplings.values()],
        }
        for placed in rig.vehicles
    ]
    return {
        "length": at(rig.rear),
        "half": round(rig.half_width / factor, 2),
        "tyre": round(min(pieces.TYRE, 0.86 * rig.pitch) / factor, 2),
        "tread": round(pieces.TREAD / factor, 2),
        "vehicles": vehicles,
        "couplings": [
            {"number": item.number, "at": at(item.x), "trailer": item.trailer, "hitched": item.towing is not None}
            for item in rig.couplings
        ],
    }


def _floor(day: WeighDay, vehicle: str) -> list[list[float]]:
    """Corners of the load floor, along and across; empty where it has none."""
    try:
        outline = floor_of(day.vehicles[vehicle])
    except ScenarioError:
        return []
    factor = day.units.factor(Dimension.LENGTH)
    return [[round(x / factor, 2), round(y / factor, 2)] for x, y in outline]
