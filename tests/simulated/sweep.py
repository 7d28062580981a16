"""A sweep that never was: a truck of four springs, load put on it, pads that round, flicker and are a little off.

Written from the balance of a rigid body on springs; nothing here comes from the product.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

DAY = """\
format = 1
title = "A truck that never was"
units = {{ mass = "lb", length = "in" }}
{pads}
[vehicles.truck]
role = "towing"
[[vehicles.truck.axles]]
x = "0 in"
track = "68 in"
[[vehicles.truck.axles]]
x = "170 in"
track = "66 in"
[vehicles.truck.couplings.ball]
type = "ball"
x = "222 in"
[states.solo]
vehicles = ["truck"]
[[drafts]]
state = "solo"
readings = {{ "truck/1L" = ["p1", 0], "truck/1R" = ["p2", 0], "truck/2L" = ["p3", 0], "truck/2R" = ["p4", 0] }}
"""
_PAD = """
[instruments.p{number}]
kind = "pad"
capacity = "20000 lb"
division = "{division:g} lb"
span_uncertainty = "0.1 %"
{repeatability}"""
TAPE = 0.25


@dataclass(frozen=True)
class Plan:
    """How a sweep is run [lb, in].

    ``way`` is ``slow``, ``there and back``, ``steps`` or ``on and off``; ``flicker`` scatters every sample,
    ``settling`` each plateau anew; ``declared`` is what the file says of both, None nothing. ``behind`` and ``aside``
    are the ranges of the place of the load: behind the rear axle, and left of the centreline.
    """

    way: str
    samples: int
    division: float
    flicker: float
    declared: float | None
    settling: float = 0.0
    total: float = 1000.0
    heights: float = 0.0
    behind: tuple[float, float] = (30.0, 60.0)
    aside: tuple[float, float] = (-8.0, 8.0)


@dataclass(frozen=True)
class Run:
    """A log, and what is true of the truck that it was taken of.

    ``still`` holds the ids of ratios to something that did not move at all, which no sweep can tell.
    """

    log: str
    truth: dict[str, float]
    still: frozenset[str]


def day_text(plan: Plan) -> str:
    """The weigh day of it."""
    said = "" if plan.declared is None else f'repeatability = "{plan.declared:g} lb"\n'
    pads = [_PAD.format(number=number, division=plan.division, repeatability=said) for number in (1, 2, 3, 4)]
    return DAY.format(pads="".join(pads))


def loads_of(plan: Plan, rng: np.random.Generator) -> Array:
    """The load at each sample, shape (samples,)."""
    total = plan.total * rng.uniform(0.8, 1.2)
    if plan.way == "slow":
        return np.linspace(0.0, total, plan.samples)
    if plan.way == "there and back":
        return total * (1.0 - np.abs(np.linspace(-1.0, 1.0, plan.samples)))
    if plan.way == "on and off":
        return np.tile(np.repeat([0.0, total], plan.samples // 20), 10)
    steps = np.concatenate([[0.0], np.cumsum(rng.uniform(0.5, 1.5, 8))])
    return np.repeat(steps, plan.samples // 9) / steps[-1] * total


def run(plan: Plan, rng: np.random.Generator) -> Run:
    """One sweep."""
    base, x, y = 170.0 + TAPE * rng.normal(), rng.uniform(*plan.behind), rng.uniform(*plan.aside)
    x += base
    tracks = np.array([68.0, 66.0]) + TAPE * rng.normal(size=2)
    travel = np.array(
        [[1.0, at, side * track / 2.0] for at, track in zip((0.0, base), tracks, strict=True) for side in (1.0, -1.0)]
    )
    rates = np.repeat(rng.uniform(400.0, 900.0, 2), 2)
    motion = np.linalg.solve(travel.T @ (rates[:, None] * travel), np.array([1.0, x, y]))
    sinks = travel @ motion
    gains = rates * sinks
    loads = loads_of(plan, rng)
    weights = rng.uniform(1500.0, 2600.0, 4) + np.outer(loads, gains)
    if plan.settling:
        plateau = np.concatenate([[0], np.cumsum(np.diff(loads) != 0.0)])
        weights = weights + plan.settling * rng.normal(size=(int(plateau[-1]) + 1, 4))[plateau]
    weights = weights * (1.0 + 0.001 * rng.normal(size=4)) + plan.flicker * rng.normal(size=weights.shape)
    shown = np.round(weights / plan.division) * plan.division
    names = ["t", "truck/1L", "truck/1R", "truck/2L", "truck/2R"]
    table = np.column_stack([np.arange(len(shown)) * 0.5, shown])
    if plan.heights:
        high = (
            rng.uniform(30.0, 36.0, 2)
            - np.outer(loads, sinks[2:])
            + 0.3 * plan.heights * rng.normal(size=(len(loads), 2))
        )
        table = np.column_stack([table, np.round(high / plan.heights) * plan.heights])
        names += ["truck/2L height", "truck/2R height"]
    rows = "\n".join(",".join(f"{value:.10g}" for value in row) for row in table.tolist())
    return Run(",".join(names) + "\n" + rows + "\n", *_truth(gains, rates, tracks, x, y))


def _truth(gains: Array, rates: Array, tracks: Array, x: float, y: float) -> tuple[dict[str, float], frozenset[str]]:
    """What every finding of a sweep should be, and the ids of those that have nothing below them."""
    names = ["1L", "1R", "2L", "2R"]
    wheels = dict(zip(names, gains.tolist(), strict=True))
    axles = {"1": float(gains[:2].sum()), "2": float(gains[2:].sum())}
    moves = wheels | axles
    pairs = [(a, b) for level in (wheels, axles) for a, b in combinations(level, 2)]
    ratios = {f"slope/truck/{a}/per/truck/{b}": (moves[a], moves[b]) for a, b in pairs}
    ratios |= {f"slope/truck/{name}/per/added": (move, float(gains.sum())) for name, move in moves.items()}
    ratios |= {f"left_share/truck/{axle}": (wheels[f"{axle}L"], whole) for axle, whole in axles.items()}
    couples = {axle: (wheels[f"{axle}L"] - wheels[f"{axle}R"]) * tracks[int(axle) - 1] / 2.0 for axle in axles}
    ratios |= {f"roll_share/truck/{axle}": (couple, sum(couples.values())) for axle, couple in couples.items()}
    moved = {name: (above, below) for name, (above, below) in ratios.items() if abs(below) > 1e-9}
    truth = {f"solo/{name}": 100.0 * above / below for name, (above, below) in moved.items()}
    places = {"solo/load/x": x, "solo/load/y": y, "solo/ride_rate/truck/2": float(rates[2])}
    return truth | places, frozenset(f"solo/{name}" for name in ratios.keys() - moved.keys())
