"""Simulated days with one axle raised, from the definitions alone: points turned in a plane, moments, springs.

Nothing of the product's is used. A truck is two wheel pairs, a body on springs and the axles below it; raising a pair
turns the line of the wheel centres, the springs give until they balance, and every load is read off moments about a
wheel centre, for wheels carry where they stand. Pounds and inches.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

Rng = np.random.Generator


@dataclass(frozen=True)
class Truck:
    """What is true: wheelbase, wheel radii front and rear, body and axles, the spring rates of both pairs."""

    base: float
    radii: tuple[float, float]
    body: tuple[float, float, float]  # mass, place behind the front axle, height
    axles: tuple[float, float]  # masses at the wheel centres
    rates: tuple[float, float]  # lb/in of each pair

    @property
    def mass(self) -> float:
        return self.body[0] + sum(self.axles)

    @property
    def height(self) -> float:
        """Of the centre of gravity of everything."""
        low = sum(mass * radius for mass, radius in zip(self.axles, self.radii, strict=True))
        return (self.body[0] * self.body[2] + low) / self.mass

    def front_load(self, rise: float, *, blocked: bool) -> float:
        """Load of the front pair with the rear wheel centres risen by ``rise`` against the front ones."""
        still = math.atan2(self.radii[1] - self.radii[0], self.base)
        length = math.hypot(self.base, self.radii[1] - self.radii[0])
        turn = math.asin((self.radii[1] - self.radii[0] + rise) / length) - still
        level = self._front(0.0, 0.0)
        give, load = 0.0, level
        for _ in range(200):
            load = self._front(turn, 0.0 if blocked else give)
            more = load - level
            give = 0.7 * give + 0.3 * (more / self.rates[0] + more / self.rates[1]) / self.base
        return load

    def _front(self, turn: float, give: float) -> float:
        """Moments about the rear wheel centres; the body has turned by ``give`` more than the axles, about mid-base."""
        front, rear = np.array([0.0, self.radii[0]]), np.array([self.base, self.radii[1]])
        body = np.array(self.body[1:])
        middle = (front + rear) / 2.0
        body = middle + _turned(body - middle, give)
        points = [_turned(point - front, turn) for point in (front, rear, body)]
        weights = (self.axles[0], self.axles[1], self.body[0])
        moment = sum(weight * (points[1][0] - point[0]) for weight, point in zip(weights, points, strict=True))
        return float(moment / (points[1][0] - points[0][0]))


def _turned(point: np.ndarray, angle: float) -> np.ndarray:
    """A point turned so that what lies rearward rises."""
    cosine, sine = math.cos(angle), math.sin(angle)
    return np.array([point[0] * cosine - point[1] * sine, point[0] * sine + point[1] * cosine])


def draw_day(rng: Rng, rises: tuple[float, ...], *, blocked: bool, division: float = 10.0) -> tuple[str, float]:
    """The text of a weigh day and the true height [in]: level twice, then the rear raised by each of ``rises`` [in]."""
    base, radius, rate = 150.0 + 20.0 * rng.random(), 15.0, (760.0, 840.0)
    true = Truck(
        base + 0.25 * rng.standard_normal(),
        (radius + 0.2 * rng.standard_normal(), radius + 0.2 * rng.standard_normal()),
        (5200.0 + 800.0 * rng.random(), 0.42 * base, 30.0 + 12.0 * rng.random()),
        (450.0, 550.0),
        (rate[0] * math.exp(0.1 * rng.standard_normal()), rate[1] * math.exp(0.1 * rng.standard_normal())),
    )
    span = 1.0 + 0.002 * rng.standard_normal(4)
    level = true.front_load(0.0, blocked=True)
    left = 0.46 + 0.08 * rng.random()

    def show(load: float, pad: int) -> float:
        return division * round((span[pad] * load + 3.0 * rng.standard_normal()) / division)

    lines = [_head(base, radius, rate, division)]
    for _ in range(2):
        loads = [load * share for load in (level, true.mass - level) for share in (left, 1.0 - left)]
        wheels = ("1L", "1R", "2L", "2R")
        read = ", ".join(f'"tow/{wheels[pad]}" = ["p{pad + 1}", {show(load, pad):g}]' for pad, load in enumerate(loads))
        lines.append(f'[[drafts]]\nstate = "solo"\nreadings = {{ {read} }}')
    for rise in rises:
        load = true.front_load(rise + 0.25 * rng.standard_normal(), blocked=blocked)
        read = ", ".join(
            f'"tow/1{side}" = ["p{pad + 1}", {show(load * (left, 1.0 - left)[pad], pad):g}]'
            for pad, side in enumerate("LR")
        )
        block = 'suspension = "blocked"\n' if blocked else ""
        lines.append(f'[[drafts]]\nstate = "solo"\n{block}raised = {{ "tow/2" = {rise:g} }}\nreadings = {{ {read} }}')
    return "\n".join(lines) + "\n", true.height


def _head(base: float, radius: float, rates: tuple[float, float], division: float) -> str:
    pads = "\n".join(
        f'[instruments.p{pad}]\nkind = "pad"\ncapacity = 20000\ndivision = {division:g}\nrepeatability = 3\n'
        'span_uncertainty = "0.2 %"'
        for pad in range(1, 5)
    )
    axles = "\n".join(
        f'[[vehicles.tow.axles]]\nx = {x:.12g}\ntrack = 68\nride_rate = "{rate / 2:g} lb/in"\n'
        f'loaded_radius = "{radius:g} in +/- 0.2 in"'
        for x, rate in zip((0.0, base), rates, strict=True)
    )
    return (
        f'format = 1\n[site]\nunevenness = "0.01 in"\n{pads}\n[vehicles.tow]\nrole = "towing"\n{axles}\n'
        '[states.solo]\nvehicles = ["tow"]'
    )
