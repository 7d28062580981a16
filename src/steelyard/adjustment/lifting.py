"""Supports that would have to pull leave the ground, one after the other, until all that is left pushes."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.increments import Increments, StanceLoads
from steelyard.adjustment.rig import Rig
from steelyard.adjustment.solve import Array, Solution
from steelyard.statics import Lift, Response, TipsOverError, next_lift


def lift_once(
    increments: Increments, lifts: dict[str, Lift], tipped: list[str], solution: Solution, loads: StanceLoads
) -> bool:
    """Lift the support that would have to pull hardest in any state that is not a vehicle's reference; False: none.

    ``lifts`` and ``tipped`` are brought up to date; loads are in kg.
    """
    layout, rig = increments.layout, increments.rig
    known = solution.determined(loads.jacobian)
    for name in rig.day.states:
        if name in tipped:
            continue
        index = layout.level[name]
        lift = lifts.get(name, Lift())
        wheels: dict[str, Array] = {}
        for vehicle, out in layout.wheels_out[index].items():
            free = rig.reference[vehicle] == name or not known[out].all()
            wheels[vehicle] = np.abs(loads.values[out]) if free else loads.values[out]
        stands = {
            joint.trailer: float(loads.values[layout.coupling_out[index][joint.trailer]])
            for joint in rig.joints[name]
            if joint.towing is None
            and rig.reference[joint.trailer] != name
            and known[layout.coupling_out[index][joint.trailer]]
        }
        bodies = {vehicle: rig.plain[vehicle] for vehicle in wheels}
        more = next_lift(bodies, Response(wheels, {}, {}), stands, lift, tolerance=1e-6)
        if more is None:
            continue
        if _holds(rig, name, more):
            lifts[name] = more
        else:
            lifts.pop(name, None)
            tipped.append(name)
        return True
    return False


def _holds(rig: Rig, state: str, lift: Lift) -> bool:
    """Whether the rig still stands with these supports gone."""
    operator = rig.operators[state]
    bodies = {name: body.lifted(lift.wheels.get(name, ())) for name, body in operator.bodies.items()}
    joints = [joint for joint in operator.joints if joint.trailer not in lift.stands]
    try:
        type(operator)(bodies, joints)
    except TipsOverError:
        return False
    return True
