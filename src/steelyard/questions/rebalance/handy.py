"""An answer in figures that a person measures off: whole steps of the reader's units."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import replace

import numpy as np

from steelyard.loading import Movable, Proposal, RebalanceStep
from steelyard.units import Dimension, UnitSystem

FINE = 0.0026
"""How closely [m] a place to move something to is told."""

SLACK = 1e-6
"""Part of a step within which a figure counts as whole already."""

STEPS: Mapping[str, tuple[float, ...]] = {
    "in": (1.0,),
    "ft": (0.25, 0.1),
    "mm": (50.0, 10.0),
    "cm": (5.0, 1.0),
    "m": (0.05, 0.01),
}
"""Steps of a place that a person measures off, by unit, coarse ones first. Common practice, no source."""

PARTS: Mapping[str, float] = {"lb": 1.0, "kg": 1.0, "t": 0.001, "g": 100.0}
"""Steps of what is drained, by unit. Common practice, no source."""


def place_digits(units: UnitSystem) -> int:
    """Decimals with which a place to move something to is told: to a few millimetres, whatever the unit."""
    return max(math.ceil(-math.log10(units.show(FINE, Dimension.LENGTH))), 0)


def handy(proposal: Proposal, items: Mapping[str, Movable], units: UnitSystem) -> Iterator[Proposal]:
    """The same with rounder figures, the roundest first, each rather a little more than a little less."""
    length, mass = units.factor(Dimension.LENGTH), units.factor(Dimension.MASS)
    fine = 10.0 ** -place_digits(units)
    for step in (*STEPS.get(units.length, ()), fine):
        for further in (True, False):
            steps = (
                _measured(one, items[one.id], step * length, PARTS.get(units.mass, 1.0) * mass, further=further)
                for one in proposal.steps
            )
            yield replace(proposal, steps=tuple(one for one in steps if one is not None))


def _measured(step: RebalanceStep, item: Movable, length: float, mass: float, *, further: bool) -> RebalanceStep | None:
    """A step with its figures whole steps of ``length`` [m] and ``mass`` [kg]; None where nothing is left of it."""
    if step.to is None:
        return replace(step, mass=min(_whole(step.mass, mass, up=True), item.drainable)) if step.drained else step
    for beyond in (further, not further):
        place = tuple(
            then if then == now else _whole(then, length, up=(then > now) == beyond)
            for now, then in zip((item.x, item.y), step.to, strict=True)
        )
        if any(np.all(sides[:, :2] @ np.array(place) <= sides[:, 2] + 1e-9) for sides in item.floors):
            return None if place == (item.x, item.y) else replace(step, to=(place[0], place[1]))
    return step


def _whole(value: float, step: float, *, up: bool) -> float:
    count = math.ceil(value / step - SLACK) if up else math.floor(value / step + SLACK)
    return float(count) * step
