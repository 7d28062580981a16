"""About what the wheels of a made-up day carry: levers and equal springs, enough for readings that mostly agree."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

Tree = dict[str, Any]


@dataclass
class Body:
    """A vehicle: its axles (x, track, which support it belongs to) and what it weighs empty, (m, m x, m y)."""

    xs: list[float]
    tracks: list[float]
    supports: list[int]
    trailer: bool
    empty: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def loads(self, weight: np.ndarray) -> tuple[list[float], float]:
        """Wheel loads, left and right of each axle, and the load at the coupling point of a trailer."""
        mean = sum(self.xs) / len(self.xs)
        mass, pitch, roll = weight
        pin = 0.0
        if self.trailer:
            pin = mass - pitch / mean
            mass = mass - pin
            pitch = mass * mean if len(set(self.supports)) == 1 else pitch
        ends = self._shared(mass, pitch)
        twist = [2 * roll / (len(ends) * track) for track in self.tracks]
        return [load / 2 + side * d / 2 for load, d in zip(ends, twist, strict=True) for side in (1, -1)], pin

    def _shared(self, mass: float, pitch: float) -> list[float]:
        """Axle loads: supports sink as a rigid body lets them, and each shares among its axles."""
        groups = sorted(set(self.supports))
        at = np.array([np.mean([x for x, g in zip(self.xs, self.supports, strict=True) if g == one]) for one in groups])
        stiff = np.array([self.supports.count(one) for one in groups], float)
        if len(groups) == 1:
            loads = np.array([mass])
        else:
            rows = np.vstack([np.ones(len(at)), at])
            loads = stiff * (rows.T @ np.linalg.solve((rows * stiff) @ rows.T, np.array([mass, pitch])))
        return [float(loads[groups.index(g)] / self.supports.count(g)) for g in self.supports]


@dataclass
class Standing:
    """What one state's wheels and coupling points carry."""

    wheels: dict[str, float] = field(default_factory=dict)
    pins: dict[str, float] = field(default_factory=dict)


def body_of(vehicle: Tree, mass: float, lean: float) -> Body:
    """A vehicle's body with an empty ``mass`` whose centre lies ``lean`` to the left."""
    axles = vehicle["axles"]
    xs = [axle["x"].value for axle in axles]
    supports = [-1 if axle.get("sharing") == "equalised" else number for number, axle in enumerate(axles)]
    trailer = vehicle["role"] == "trailer"
    centre = 0.88 * sum(xs) / len(xs) if trailer else 0.45 * xs[-1]
    return Body(xs, [axle["track"].value for axle in axles], supports, trailer, (mass, mass * centre, mass * lean))


def standing(bodies: dict[str, Body], state: Tree, vehicles: Tree, aboard: list[tuple[str, np.ndarray]]) -> Standing:
    """The loads of a state: trailers first, each pressing on the one in front of it."""
    found = Standing()
    weights = {name: np.array(bodies[name].empty) for name in state["vehicles"]}
    for on, weight in aboard:
        weights[on] = weights[on] + weight
    links = state.get("couple", [])
    towed_by = {link["trailer"]: link for link in links}
    for name in reversed(state["vehicles"]):
        wheels, pin = bodies[name].loads(weights[name])
        for number, load in enumerate(wheels):
            found.wheels[f"{name}/{number // 2 + 1}{'LR'[number % 2]}"] = load
        if vehicles[name]["role"] == "trailer":
            found.pins[name] = pin
        if name in towed_by:
            link = towed_by[name]
            x = vehicles[link["towing"]]["couplings"][link["at"]]["x"].value
            weights[link["towing"]] = weights[link["towing"]] + pin * np.array([1.0, x, 0.0])
    return found
