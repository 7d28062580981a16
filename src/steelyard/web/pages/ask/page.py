"""Ask the rig, as data: where the vehicles of a state stand as drawn, and what the script needs to ask about a day."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from steelyard.findings import STANDING
from steelyard.loading import ScenarioError, floor_of
from steelyard.model import DistributionKind, Role, State, WeighDay
from steelyard.questions.distribution import distributed
from steelyard.report import pieces
from steelyard.statics import TAPE
from steelyard.units import Dimension
from steelyard.web.pages.pads.page import said
from steelyard.web.pages.shell.contracts import AskPage, PageLink


def ask_page(day_id: str, day: WeighDay, state: str, influence: Mapping[str, Any], *, may_weigh: bool) -> AskPage:
    """The page of a day as it stands.

    Parameters
    ----------
    state: the one to begin with. influence: how it answers to loads, as the interface gives it.
    """
    base = f"/api/v1/days/{day_id}"
    states = [item for item in day.states.values() if item.vehicles]
    data = {
        "day": day_id,
        "unit": day.units.mass,
        "length": day.units.length,
        "mayWeigh": may_weigh,
        "state": state,
        "influence": influence,
        "standing": list(STANDING),
        "tape": _length(day, TAPE),
        "step": {"in": 1, "ft": 0.1, "mm": 25, "cm": 2.5, "m": 0.025}.get(day.units.length, 1),
        "links": {
            name: f"{base}/{name}"
            for name in ("whatif", "influence", "loadmap", "trailer", "rebalance", "distribute", "ledger")
        },
        "states": {item.id: _state(day, item) for item in states},
        "trailers": {
            name: vehicle.title
            for name, vehicle in day.vehicles.items()
            if vehicle.role is Role.TRAILER and day.reference_state(name) is not None
        },
        "couplings": [
            {"towing": name, "at": at, "title": f"{vehicle.title}, {at}"}
            for name, vehicle in day.vehicles.items()
            for at in vehicle.couplings
        ],
        "cargo": list(day.cargo),
        "couple": day.units.symbol(Dimension.COUPLE),
        "titles": {name: vehicle.title for name, vehicle in day.vehicles.items()},
    }
    alone = tuple(
        PageLink(f"{item.id}/{name}/{at}", f"{vehicle.title} at its {at}, alone in {item.id}")
        for item in states
        for name, vehicle in day.vehicles.items()
        if name in item.vehicles and not any(link.towing == name for link in item.links)
        for at in vehicle.couplings
    )
    measured = day.measured_states()
    tabs = tuple(PageLink(item.id, item.id, "weighed" if item.id in measured else "predicted") for item in states)
    return AskPage(
        day_id,
        day.title or "Weigh day",
        day.units.mass,
        day.units.length,
        tabs,
        state,
        alone,
        distributed(day),
        STANDING,
        data,
    )


def first_state(day: WeighDay) -> str | None:
    """The state to begin with: the last one weighed of those with most vehicles; None where nothing was."""
    weighed = [item for item in day.states.values() if item.id in day.measured_states()]
    return max(weighed, key=lambda item: len(item.vehicles)).id if weighed else None


def _state(day: WeighDay, state: State) -> dict[str, Any]:
    return {
        "said": said(day, state),
        "vehicles": list(state.vehicles),
        "hitched": [link.trailer for link in state.links],
        "taken": [f"{link.towing}/{link.at}" for link in state.links],
        "bars": [link.trailer for link in state.links if link.distribution.kind is not DistributionKind.NONE],
        "weighed": state.id in day.measured_states(),
    }


def plan_data(day: WeighDay, state: State) -> dict[str, Any]:
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


def _length(day: WeighDay, metres: float) -> float:
    return float(f"{metres / day.units.factor(Dimension.LENGTH):.10g}")
