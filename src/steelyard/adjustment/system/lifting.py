"""Supports that would have to pull leave the ground until all that is left pushes."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment.solve import Array, Solution
from steelyard.adjustment.system.increments import Increments, StanceLoads
from steelyard.adjustment.system.rig import Rig
from steelyard.statics import Lift, Response, TipsOverError, next_lift
from steelyard.ties import ALIKE, largest

PULLS = 1e-6
"""A support that has to pull by more than this leaves the ground [kg]."""


def lift_next(
    increments: Increments, lifts: dict[str, Lift], tipped: list[str], solution: Solution, loads: StanceLoads
) -> bool:
    """In every state at once, lift the support that would have to pull hardest; False: none pulls.

    ``lifts`` and ``tipped`` are brought up to date; loads are in kg. A vehicle in its reference state stays down, and
    in a state in which it stands just so: which of them is the reference must not matter.
    """
    if not _pulling(increments, loads):
        return False
    rig = increments.rig
    known = solution.determined(loads.jacobian)
    lifted = False
    for name in rig.day.states:
        if name in tipped:
            continue
        wheels, stands = _supports(increments, name, known, loads)
        for vehicle, carried in wheels.items():
            if _stands_as_in_reference(increments, name, vehicle, loads):
                wheels[vehicle] = np.abs(carried)
        stands = {
            trailer: load
            for trailer, load in stands.items()
            if not (
                _on_its_stand(rig, rig.reference[trailer], trailer)
                and _stands_as_in_reference(increments, name, trailer, loads)
            )
        }
        bodies = {vehicle: rig.plain[vehicle] for vehicle in wheels}
        up = {vehicle: rig.day.states[name].wheels_up(vehicle) for vehicle in wheels}
        lift = _with_axles(lifts.get(name, Lift()), up)
        more = next_lift(bodies, Response(wheels, {}, {}), stands, lift, tolerance=PULLS)
        if more is None:
            continue
        by_itself = {vehicle: off - up.get(vehicle, frozenset()) for vehicle, off in more.wheels.items()}
        more = Lift({vehicle: off for vehicle, off in by_itself.items() if off}, more.stands)
        lifted = True
        if _holds(rig, name, more) and increments.held({**lifts, name: more}):
            lifts[name] = more
        else:
            lifts.pop(name, None)
            tipped.append(name)
    return lifted


def _on_its_stand(rig: Rig, state: str, trailer: str) -> bool:
    """Whether a trailer stands alone in a state, its coupling point on a stand: hitched, no stand holds it down."""
    return any(joint.trailer == trailer and joint.towing is None for joint in rig.joints[state])


def _stands_as_in_reference(increments: Increments, state: str, vehicle: str, loads: StanceLoads) -> bool:
    """Whether the wheels of a vehicle carry in a state what they carry in its reference state."""
    layout, reference = increments.layout, increments.rig.reference[vehicle]
    here, there = (loads.values[layout.wheels_out[layout.level[name]][vehicle]] for name in (state, reference))
    return state == reference or np.allclose(here, there, rtol=ALIKE, atol=PULLS)


def _with_axles(lift: Lift, up: Mapping[str, frozenset[int]]) -> Lift:
    """The supports that are off the ground by themselves, and the wheels of axles that somebody lifted."""
    names = {*lift.wheels, *(vehicle for vehicle, wheels in up.items() if wheels)}
    nothing = frozenset[int]()
    return Lift({name: lift.wheels.get(name, nothing) | up.get(name, nothing) for name in names}, lift.stands)


def firm_references(increments: Increments, solution: Solution, loads: StanceLoads) -> dict[str, str] | None:
    """For every vehicle that would have to pull somewhere, the state in which it is held down best; None: none pulls.

    What a wheel carries before it lifts counts from a state in which it is on the ground, so such a state is taken as
    the reference: that choice must not be left to the order of the file. ``loads`` [kg] are those with nothing lifted.
    """
    if not _pulling(increments, loads):
        return None
    known = solution.determined(loads.jacobian)
    least: dict[str, dict[str, float]] = {}
    for name in increments.rig.day.states:
        wheels, stands = _supports(increments, name, known, loads)
        for vehicle, carried in wheels.items():
            down = np.delete(carried, list(increments.rig.day.states[name].wheels_up(vehicle)))
            told = [*down, *(load for trailer, load in stands.items() if trailer == vehicle)]
            if not np.isinf(told).any():
                least.setdefault(vehicle, {})[name] = min(told)
    firm = {
        vehicle: largest(states, states.__getitem__)
        for vehicle, states in least.items()
        if min(states.values()) < -PULLS
    }
    return firm or None


def _pulling(increments: Increments, loads: StanceLoads) -> bool:
    """Whether any wheel or stand carries less than nothing: only then may one lift."""
    layout = increments.layout
    places = [out for wheels in layout.wheels_out for out in wheels.values()]
    ends = [place for couplings in layout.coupling_out for place in couplings.values()]
    return bool(any((loads.values[out] < -PULLS).any() for out in places) or (loads.values[ends] < -PULLS).any())


def _supports(
    increments: Increments, state: str, known: NDArray[np.bool_], loads: StanceLoads
) -> tuple[dict[str, Array], dict[str, float]]:
    """Loads [kg] on the wheels of each vehicle in a state and on its stands; infinite where not determined."""
    layout, rig = increments.layout, increments.rig
    index = layout.level[state]
    wheels: dict[str, Array] = {}
    for vehicle, out in layout.wheels_out[index].items():
        told = bool(known[out].all())
        wheels[vehicle] = loads.values[out] if told else np.full(out.stop - out.start, np.inf)
    stands: dict[str, float] = {}
    for joint in rig.joints[state]:
        at = layout.coupling_out[index][joint.trailer]
        if joint.towing is None and known[at]:
            stands[joint.trailer] = float(loads.values[at])
    return wheels, stands


def _holds(rig: Rig, state: str, lift: Lift) -> bool:
    """Whether the rig still stands with these supports gone."""
    operator = rig.operators[state]
    axles = rig.day.states[state].wheels_up
    bodies = {
        name: rig.plain[name].lifted(axles(name) | lift.wheels.get(name, frozenset())) for name in operator.bodies
    }
    joints = [joint for joint in operator.joints if joint.trailer not in lift.stands]
    try:
        type(operator)(bodies, joints)
    except TipsOverError:
        return False
    return True
