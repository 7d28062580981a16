"""The true day: one draw of everything that a declared day leaves uncertain, and the readings that pads show of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.simulated.describe import FREE, Day, Draft, Vehicle, pairs_of_equalised, parameters, trailers
from tests.simulated.rig import Loads, Response, deck_forces, decks, drift_forces, gravity, respond, slope_forces, solve

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]

FRICTION = 0.01  # of the side's load, where a group says nothing (format, section 4)


@dataclass(frozen=True)
class Drawn:
    """A true day: values of all parameters, loads of all states, and one list of indications for each draft [lb]."""

    values: Mapping[str, float]
    loads: Mapping[str, Loads]
    indications: list[list[float]]


def draw_values(day: Day, free: Mapping[str, float], rng: np.random.Generator) -> dict[str, float]:
    """Draw each parameter about its declared value; what is free is taken from `free`."""
    return {
        p.name: free[p.name] if p.u == FREE else p.value + p.u * float(rng.standard_normal()) for p in parameters(day)
    }


def rows_of(place: str, rows: list[tuple[str, str]]) -> Array:
    """Which loads a place adds up, as a row of ones and zeros.

    Raises ValueError where the state has nothing there.
    """
    return _rows_of(place, tuple(rows))


@lru_cache(maxsize=4096)
def _rows_of(place: str, rows: tuple[tuple[str, str], ...]) -> Array:
    chosen = np.zeros(len(rows))
    for part in place.split("+"):
        vehicle, _, rest = part.partition("/")
        for index, (owner, name) in enumerate(rows):
            if owner == vehicle and (name == rest or name[:-1] == rest or (rest == "" and name != "coupling")):
                chosen[index] = 1.0
    if not chosen.any():
        message = f"nothing stands at {place}"
        raise ValueError(message)
    chosen.flags.writeable = False
    return chosen


def gain(day: Day, instrument: str, values: Mapping[str, float]) -> float:
    """Indication per load: span, span of the set, and gravity here against gravity where the pad was verified."""
    made = day.instruments[instrument]
    factor = 1 + values[f"span.{instrument}"] + (values[f"set.{made.set}"] if made.set is not None else 0.0)
    if made.verified_latitude is not None and day.site.latitude is not None:
        here = gravity(day.site.latitude, day.site.elevation or 0.0)
        factor *= here / gravity(made.verified_latitude, made.verified_elevation or 0.0)
    return factor


def support_heights(draft: Draft, rows: list[tuple[str, str]], values: Mapping[str, float]) -> Array:
    """Heights of the supports that a draft means every wheel to stand at [in]."""
    count, places = _wheels_under(tuple(draft.readings), tuple(rows))
    heights = np.full(count, math.nan)
    for under, height in places:
        heights[under] = values.get(height, 0.0)
    padded = heights[~np.isnan(heights)]
    elsewhere = 0.0 if draft.ground or padded.size == 0 else float(padded.mean())
    return np.where(np.isnan(heights), elsewhere, heights)


@lru_cache(maxsize=4096)
def _wheels_under(
    readings: tuple[tuple[str, str], ...], rows: tuple[tuple[str, str], ...]
) -> tuple[int, list[tuple[NDArray[np.bool_], str]]]:
    """How many wheels there are; for each reading under wheels, which these are and what its height is called."""
    count = sum(name != "coupling" for _, name in rows)
    places = [(place, name) for place, name in readings if not place.endswith("/coupling")]
    return count, [(_rows_of(place, rows)[:count] > 0, f"height.{name}") for place, name in places]


def stacked(day: Day, state: str, loads: Loads) -> Array:
    """Loads of one state in the order of a response's rows."""
    wheels = [loads.wheels[name] for name in day.states[state].vehicles]
    return np.concatenate([*wheels, [loads.coupling[name] for name in trailers(day, state)]])


def level_free_loads(day: Day, draft: Draft, loads: Loads, response: Response, values: Mapping[str, float]) -> Array:
    """Loads during a draft but for chance: true loads, with slope, and with supports at the heights meant."""
    facing = -1.0 if draft.reversed else 1.0
    tilted = response.forces @ slope_forces(day, draft.state, loads, values, facing)
    tilted = tilted + response.forces @ (drift_forces(day, draft, values) + deck_forces(day, draft, values))
    under = decks(day, draft)
    raised_by = [values.get(f"height.{under.get(name)}", 0.0) for name in trailers(day, draft.state)]
    tilted = tilted + response.gaps @ np.array(raised_by)
    raised = response.heights @ support_heights(draft, response.rows, values)
    return stacked(day, draft.state, loads) + tilted + raised


def friction_modes(day: Day, state: str, loads: Loads) -> list[Array]:
    """One standard deviation of self-balanced wheel loads [lb] for each side of each equalised pair."""
    modes: list[Array] = []
    offset = 0
    count = sum(len(day.vehicles[name].wheels) for name in day.states[state].vehicles)
    for name in day.states[state].vehicles:
        vehicle: Vehicle = day.vehicles[name]
        for _, axles in pairs_of_equalised(vehicle):
            if len(axles) != 2:
                message = "friction is described for pairs only"
                raise NotImplementedError(message)
            share = vehicle.axles[axles[0]].friction
            for side in (0, 1):
                carried = sum(loads.wheels[name][2 * axle + side] for axle in axles)
                mode = np.zeros(count)
                split = (FRICTION if share is None else share) * carried
                mode[[offset + 2 * axles[0] + side, offset + 2 * axles[1] + side]] = [split, -split]
                modes.append(mode)
        offset += len(vehicle.wheels)
    return modes


def placements(day: Day) -> list[str]:
    """The placement that each draft belongs to: shared by name within one state, else its own."""
    return [
        f"{draft.state}:{draft.placement}" if draft.placement is not None else f"draft {number}"
        for number, draft in enumerate(day.drafts)
    ]


class LiftedWheelError(ValueError):
    """A draw in which a wheel would hang in the air: not a day of this kind."""


def draw(
    day: Day, free: Mapping[str, float], rng: np.random.Generator, *, slip: Mapping[tuple[int, int], float]
) -> Drawn:
    """Draw a true day and read it. `slip` adds pounds to the reading (draft, reading), counted from 0.

    Raises LiftedWheelError where a support or a stand would have to pull.
    """
    values = {**draw_values(day, free, rng), **day.hidden}
    loads = solve(day, values)
    responses = {state: respond(day, state, values) for state in {draft.state for draft in day.drafts}}
    chance: dict[str, Array] = {}
    indications: list[list[float]] = []
    for number, (draft, placement) in enumerate(zip(day.drafts, placements(day), strict=True)):
        response, state = responses[draft.state], loads[draft.state]
        if placement not in chance:
            uneven = day.site.unevenness * rng.standard_normal(response.heights.shape[1])
            shift = response.heights @ uneven
            for mode in friction_modes(day, draft.state, state):
                shift = shift + response.friction @ mode * rng.standard_normal()
            chance[placement] = shift
        carried = level_free_loads(day, draft, state, response, values) + chance[placement]
        _refuse_pulling(carried, response.rows)
        shown: list[float] = []
        for index, (place, name) in enumerate(draft.readings):
            pad = day.instruments[name]
            heard = gain(day, name, values) * float(rows_of(place, response.rows) @ carried)
            heard += pad.repeatability * float(rng.standard_normal()) + slip.get((number, index), 0.0)
            shown.append(pad.division * round(heard / pad.division))
        indications.append(shown)
    for name, state in loads.items():
        for vehicle, wheels in state.wheels.items():
            _refuse_pulling(wheels, [(vehicle, f"wheel in {name}")] * len(wheels))
    return Drawn(values, loads, indications)


def _refuse_pulling(carried: Array, rows: list[tuple[str, str]]) -> None:
    """A load below 100 lb is too near to lifting for a day that says nothing of it."""
    for load, (vehicle, name) in zip(carried, rows, strict=True):
        if load < 100.0:
            message = f"{vehicle}/{name} would carry {load:.0f} lb"
            raise LiftedWheelError(message)
