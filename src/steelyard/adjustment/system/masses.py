"""Mass of each vehicle by itself, for the moments that slope and tilted pads put on it."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.assumed import coupling_share, laden
from steelyard.adjustment.solve import Solution
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.model import Role, WeighDay

DOUBT = 0.5
"""Relative standard uncertainty of a round figure for a mass; common practice, no source."""


def own_masses(increments: Increments, solution: Solution, loads: StanceLoads) -> dict[tuple[str, str], float]:
    """Mass of each vehicle with its cargo [kg], coupling loads taken out, by state and vehicle, where the rig stood on
    a slope or tilted. It is the mean of what the solution says and a round figure, weighted by their doubts: a mass
    that the readings hardly determine must not run away with the slope.
    """
    layout, rig = increments.layout, increments.rig
    states = dict.fromkeys(stance.state for stance in layout.stances if stance.sloped)
    wanted = [(state, vehicle) for state in states for vehicle in rig.day.states[state].vehicles]
    if not wanted:
        return {}
    sums = np.zeros((len(wanted), layout.outputs))
    for row, (state, vehicle) in enumerate(wanted):
        index = layout.level[state]
        sums[row, layout.wheels_out[index][vehicle]] = 1.0
        for joint in rig.joints[state]:
            at = layout.coupling_out[index][joint.trailer]
            sums[row, at] += float(joint.trailer == vehicle) - float(joint.towing == vehicle)
    gradients = sums @ loads.jacobian
    known = solution.determined(gradients)
    variances = ((gradients @ solution.root) ** 2).sum(axis=1)
    found: dict[tuple[str, str], float] = {}
    for key, value, told, variance in zip(wanted, sums @ loads.values, known, variances, strict=True):
        likely = likely_mass(rig.day, key[1])
        weight = 1.0 / (1.0 + (float(variance) / (DOUBT * likely) ** 2) ** 2) if told else 0.0
        found[key] = likely + weight * (float(value) - likely)
    return found


def likely_mass(day: WeighDay, vehicle: str) -> float:
    """A round figure for the mass of a vehicle [kg]."""
    found = day.vehicles[vehicle]
    on_axles = sum(laden(axle) for axle in found.axles)
    return on_axles / (1.0 - coupling_share(day, vehicle)) if found.role is Role.TRAILER else on_axles
