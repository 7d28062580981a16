"""A sweep as data: its published shape, and what of it becomes part of a vehicle."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from steelyard.findings import STANDING
from steelyard.model import Vehicle
from steelyard.questions.shape import FORMAT
from steelyard.questions.sweep.learned import Learned, SweepAnswer, learned_id
from steelyard.statics import TAPE
from steelyard.units import Dimension, Quantity, UnitSystem, round_to_uncertainty


def sweep_to_data(answer: SweepAnswer, *, file: str) -> dict[str, Any]:
    """The published shape of what a sweep teaches, ready for JSON, in the file's units.

    Parameters
    ----------
    file: the name of the day to print; the log has its own.
    """
    units, load = answer.day.units, answer.load
    return {
        "format": FORMAT,
        "file": file,
        "log": answer.file,
        "title": answer.day.title,
        "units": {"mass": units.mass, "length": units.length},
        "state": answer.state,
        "vehicle": answer.vehicle,
        "samples": answer.samples,
        "plateaus": len(answer.sweep.doubt.points.counts),
        "load": None
        if load is None
        else {
            "x": _number(units.show(load.x.value, Dimension.LENGTH)),
            "y": _number(units.show(load.y.value, Dimension.LENGTH)),
            "coupling": load.coupling or None,
            "given": answer.given,
        },
        "places": _places(answer),
        "learned": [_learned(item, units) for item in answer.learned],
        "cautions": [*answer.cautions, *STANDING],
    }


def _places(answer: SweepAnswer) -> list[dict[str, Any]]:
    channels, doubt, units = answer.sweep.channels, answer.sweep.doubt, answer.day.units
    found: list[dict[str, Any]] = []
    for at, name in enumerate(channels.names):
        is_load = bool(channels.loads[at])
        factor = units.factor(Dimension.MASS if is_load else Dimension.LENGTH)
        values = channels.values[:, at] / factor
        found.append(
            {
                "place": name,
                "what": "load" if is_load else "height",
                "unit": units.mass if is_load else units.length,
                "low": _number(float(values.min())),
                "high": _number(float(values.max())),
                "flicker": _number(float(np.sqrt(doubt.flicker[at])) / factor),
            }
        )
    return found


def _learned(item: Learned, units: UnitSystem) -> dict[str, Any]:
    factor = units.factor(item.dimension)
    expected = item.expected
    return {
        "id": item.id,
        "kind": item.kind,
        "label": item.label,
        "of": item.of,
        "per": item.per or None,
        "value": _shown(item.value, factor),
        "u": _shown(item.u, factor),
        "low": _shown(item.low, factor),
        "high": _shown(item.high, factor),
        "unit": units.symbol(item.dimension),
        "determined": item.determined,
        "reason": item.reason or None,
        "expected": None
        if expected is None
        else {key: _shown(getattr(expected, key), factor) for key in ("value", "u", "low", "high")},
    }


def _number(value: float) -> float:
    return float(f"{value:.10g}") + 0.0


def _shown(value: float | None, factor: float) -> float | None:
    return None if value is None else _number(value / factor)


@cache
def sweep_schema() -> dict[str, Any]:
    """The JSON Schema of that shape."""
    return json.loads(files("steelyard.findings").joinpath("sweep.schema.json").read_text(encoding="utf-8"))


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


def lesson(answer: SweepAnswer) -> dict[str, Any]:
    """What was learned, as JSON values that stand beside a vehicle in the yard: by id, determined ones only."""
    units = answer.day.units
    rows = {item.id: _learned(item, units) for item in answer.learned if item.determined}
    keys = ("value", "u", "low", "high", "unit")
    return {
        "log": answer.file,
        "samples": answer.samples,
        "learned": {name: {key: row[key] for key in keys} for name, row in rows.items()},
    }
