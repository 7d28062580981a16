"""Why the readings leave a quantity open: which loads trade off against one another without any reading noticing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Adjustment
from steelyard.findings.entry import CatalogueEntry
from steelyard.findings.result import TradeOff
from steelyard.ties import ranked

Array = NDArray[np.float64]

SMALL = 0.08
"""A load that moves by less than this share of the largest is not named."""

NAMED = 4
"""Loads that are named at most."""


def trade_off(adjustment: Adjustment, entry: CatalogueEntry, gradient: Array) -> TradeOff | None:
    """Why ``entry`` is not determined; None where it is.

    Parameters
    ----------
    gradient: derivative of the entry by the unknowns, shape (unknowns,).
    """
    solution = adjustment.solution
    scaled = gradient[solution.free] / solution.scale
    if not solution.null.shape[1]:
        return None
    direction = solution.null @ (solution.null.T @ scaled)
    size = float(scaled @ direction)
    if size <= 1e-12 * float(scaled @ scaled) or size <= 0.0:
        return None
    moved = np.zeros(len(gradient))
    moved[solution.free] = direction / solution.scale / size
    if not entry.state or entry.state not in adjustment.layout.level:
        return TradeOff(entry.state, ())
    change = adjustment.loads.jacobian @ moved
    loads = _in_state(adjustment, entry.state, change)
    largest = max((abs(amount) for _, amount in loads), default=0.0)
    kept = [(place, amount) for place, amount in loads if abs(amount) >= SMALL * largest and largest > 0.0]
    kept = ranked(kept, lambda one: abs(one[1]))
    named = {place.partition("/")[0] for place, _ in kept}
    unread = tuple(name for name in _unread(adjustment, entry.state) if name in named)
    return TradeOff(entry.state, tuple(kept[:NAMED]), unread)


def _in_state(adjustment: Adjustment, state: str, change: Array) -> list[tuple[str, float]]:
    """Changes of loads of one state by place: of an axle as a whole where both ends change alike."""
    layout, day = adjustment.layout, adjustment.rig.day
    index = layout.level[state]
    found: list[tuple[str, float]] = []
    for name, out in layout.wheels_out[index].items():
        for axle in range(len(day.vehicles[name].axles)):
            left, right = (float(change[out.start + 2 * axle + end]) for end in (0, 1))
            if abs(left - right) <= 0.02 * max(abs(left), abs(right)):
                found.append((f"{name}/{axle + 1}", left + right))
            else:
                found += [(f"{name}/{axle + 1}L", left), (f"{name}/{axle + 1}R", right)]
    found += [(f"{name}/coupling", float(change[out])) for name, out in layout.coupling_out[index].items()]
    return found


def _unread(adjustment: Adjustment, state: str) -> tuple[str, ...]:
    """The vehicles of a state under which nothing was read, in any state."""
    day = adjustment.rig.day
    if state not in day.states:
        return ()
    read = {
        name
        for draft in day.drafts
        for reading in day.counted(draft)
        for name in (*(wheel.vehicle for wheel in reading.place.wheels), *reading.place.couplings)
    }
    return tuple(name for name in day.states[state].vehicles if name not in read)
