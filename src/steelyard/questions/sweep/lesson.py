"""The figures of a sweep that become part of a vehicle, and those that are kept beside it in the yard."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from steelyard.dayfile import read_vehicle, write_vehicle
from steelyard.model import Vehicle
from steelyard.questions.shape import to_json
from steelyard.questions.sweep.learned import Learned, SweepAnswer, learned_id
from steelyard.questions.sweep.question import learned_shape
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity, round_to_uncertainty


def taught(answer: SweepAnswer, vehicle: Vehicle) -> Vehicle:
    """``vehicle`` with what the sweep knows better than it says: spring and roll rates, the place of a coupling.

    A rate is learned where its whole interval is above zero. The place of a coupling is learned where the load was put
    on it, unless it was known better or the two lie apart.
    """
    axles = list(vehicle.axles)
    for number in range(1, len(axles) + 1):
        for key, dimension in (("ride_rate", Dimension.RATE), ("roll_rate", Dimension.ROLL_RATE)):
            item = answer.get(learned_id(answer.state, key, f"{vehicle.id}/{number}"))
            if item is not None and item.value is not None and item.low is not None and item.low > 0.0:
                axles[number - 1] = replace(axles[number - 1], **{key: _rounded(item, dimension, answer)})
    return replace(vehicle, axles=tuple(axles), couplings={**vehicle.couplings, **_coupling(answer, vehicle)})


def _coupling(answer: SweepAnswer, vehicle: Vehicle) -> dict[str, Any]:
    item, load = answer.get(learned_id(answer.state, "place", "x")), answer.load
    if load is None or load.vehicle != vehicle.id or load.coupling not in vehicle.couplings:
        return {}
    if item is None or item.value is None or item.u is None:
        return {}
    coupling = vehicle.couplings[load.coupling]
    known = coupling.x.u_or(TAPE)
    if item.u >= known or abs(item.value - coupling.x.value) > 3.0 * float(np.hypot(item.u, known)):
        return {}
    return {load.coupling: replace(coupling, x=_rounded(item, Dimension.LENGTH, answer))}


def _rounded(item: Learned, dimension: Dimension, answer: SweepAnswer) -> Quantity:
    """As a person would write it: the uncertainty to two figures, the value to the same place, in the file's unit."""
    factor = answer.day.units.factor(dimension)
    value, u, _ = round_to_uncertainty((item.value or 0.0) / factor, (item.u or 0.0) / factor)
    return Quantity(value * factor, u * factor)


class AnotherVehicleError(Exception):
    """The yard has another vehicle of that name: one with so many ``axles``."""

    def __init__(self, axles: int) -> None:
        """A vehicle of the yard with ``axles``."""
        super().__init__(f"another vehicle, with {axles} axles")
        self.axles = axles


def kept_lesson(
    answer: SweepAnswer, text: str | None, before: Mapping[str, Any], **more: str
) -> tuple[str, dict[str, Any]]:
    """The vehicle as the yard should have it, on top of its last version there: its block and what was learned.

    Parameters
    ----------
    text, before: the block that is kept there, None for none, and what was learned. more: kept beside the lesson.

    Raises
    ------
    AnotherVehicleError: the yard has another vehicle of that name. DayFileError: what is kept there cannot be read.
    """
    name, units = answer.vehicle, answer.day.units
    own = vehicle = answer.day.vehicles[name]
    if text is not None:
        vehicle = read_vehicle(name, tomllib.loads(text)["vehicles"][name], units)
    if len(vehicle.axles) != len(own.axles):
        raise AnotherVehicleError(len(vehicle.axles))
    sweeps = {**before.get("sweeps", {}), answer.state: {**_lesson(answer), **more}}
    return write_vehicle(taught(answer, vehicle), units), {**before, "sweeps": sweeps}


def _lesson(answer: SweepAnswer) -> dict[str, Any]:
    """The learned quantities, as JSON values that lie beside a vehicle in the yard: by id, determined ones only."""
    units = answer.day.units
    rows: dict[str, dict[str, Any]] = {
        item.id: to_json(learned_shape(item, units)) for item in answer.learned if item.determined
    }
    keys = ("value", "u", "low", "high", "unit")
    return {
        "log": answer.file,
        "samples": answer.samples,
        "learned": {name: {key: row[key] for key in keys} for name, row in rows.items()},
    }
