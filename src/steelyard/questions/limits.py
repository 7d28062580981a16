"""The limits of a state in the form that the searches of ``loading`` take, from the same equations as the verdicts."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Propagation, extend, student_quantile
from steelyard.conformity import CONFIDENT, Requirement
from steelyard.findings import Catalogue, Quantities, Room, Weighed
from steelyard.loading import Limits, Predicted, Scenario, applied, predicted, together
from steelyard.model import Cargo, FindingId, WeighDay
from steelyard.requirements import requirements_of
from steelyard.statics import TAPE
from steelyard.units import Quantity

PROBE = 1.0
"""Mass of the probe [kg] and its arm [m]: the equations are linear in it, so its size does not matter."""

_PLACES = {"_probe_m": (0.0, 0.0), "_probe_x": (PROBE, 0.0), "_probe_y": (0.0, PROBE)}


def limits_of(weighed: Weighed, state: str, vehicle: str) -> Limits:
    """The determined limits of ``state`` and of changes towards it, with what a load on ``vehicle`` does to them.

    The place of a load is taken to be taped, as one that ``whatif`` puts on.

    Raises
    ------
    ScenarioError: there is no such state, its supports do not hold, or the vehicle is not in it.
    """
    return limits_from(weighed, state, vehicle)


def limits_from(
    weighed: Weighed, state: str, vehicle: str, more: tuple[Requirement, ...] = (), alone: tuple[str, ...] = ()
) -> Limits:
    """The same with ``more`` requirements, on findings of ``state``, or on what the front axle of ``vehicle`` loses.

    Parameters
    ----------
    alone: the states in which the vehicle tows nothing, against which the loss counts.

    Raises
    ------
    ScenarioError: there is no such state, its supports do not hold, or the vehicle is not in it.
    """
    return together(limits_under(weighed, state, vehicle, more, alone), wrong_words(weighed))


def limits_under(
    weighed: Weighed, state: str, vehicle: str, more: tuple[Requirement, ...] = (), alone: tuple[str, ...] = ()
) -> list[Limits]:
    """The same by all readings as they are, then under each explanation of what contradicts itself in them.

    Raises
    ------
    ScenarioError: as above.
    """
    weighed.refuse_fallen(state)
    day = weighed.adjustment.rig.day
    asked = extend(weighed.adjustment, _probed(day, state, vehicle))
    ends = (state, *_PLACES)
    catalogue = Catalogue(asked)
    entries = [entry for entry in catalogue.entries() if entry.state in ends]
    standing = [name for name in ends if name not in asked.tipped]
    upright = [before for before in alone if before not in asked.tipped]
    lost = [catalogue.steering_change(before, end, vehicle) for before in upright for end in standing]
    plain = Quantities(asked, [*entries, *lost])
    wanted = (*requirements_of(day, state), *more)
    requirements = [item for item in wanted if FindingId.parse(item.finding).state == state]
    others = ((plain.under(one), asked.under(one).propagation) for one in asked.explanations)
    told = ((plain, asked.propagation), *others)
    return [_limits(quantities, requirements, ends, propagation) for quantities, propagation in told]


def wrong_words(weighed: Weighed) -> tuple[str, ...]:
    """Possible errors where readings contradict one another, in words, the likeliest first."""
    return tuple(one.words for one in weighed.adjustment.explanations)


def predict_many(weighed: Weighed, state: str, vehicle: str, loads: NDArray[np.float64]) -> Predicted:
    """Every limit of ``state`` under each of many loads on ``vehicle``, all in one matrix product.

    Parameters
    ----------
    loads: what each what-if puts on, summed: mass and moments ``(m, m x, m y)`` [kg, kg*m, kg*m], shape (k, 3). What is
        taken off counts negative; a move is both.

    Raises
    ------
    ScenarioError: there is no such state, or the vehicle is not in it.
    ValueError: ``loads`` is not of shape (k, 3), or not finite.
    """
    if loads.ndim != 2 or loads.shape[1] != 3 or not np.isfinite(loads).all():
        raise ValueError(f"loads are finite and of shape (k, 3): mass and two moments each, not {loads.shape}")
    return predicted(limits_of(weighed, state, vehicle), loads)


def _limits(
    quantities: Quantities, requirements: list[Requirement], ends: tuple[str, ...], propagation: Propagation
) -> Limits:
    found: list[tuple[Requirement, list[Room]]] = []
    requirements = [item for item in requirements if quantities.holds(item)]
    for requirement in requirements:
        rooms = rooms_at(quantities, requirement, ends)
        if rooms is not None:
            found.append((requirement, rooms))
    judged = {requirement.id for requirement, _ in found}
    room = np.array([[part.value for part in rooms] for _, rooms in found]).reshape(len(found), 4)
    width = propagation.solution.root.shape[1]
    root = np.array([[part.root for part in rooms] for _, rooms in found]).reshape(len(found), 4, width)
    rate = np.stack([root[:, 1] - root[:, 0], root[:, 2] - root[:, 1], root[:, 3] - root[:, 1]], axis=1) / PROBE
    return Limits(
        tuple(requirement.id for requirement, _ in found),
        tuple(requirement.label for requirement, _ in found),
        room[:, 0],
        root[:, 0],
        np.stack([room[:, 1] - room[:, 0], room[:, 2] - room[:, 1], room[:, 3] - room[:, 1]], axis=1) / PROBE,
        rate,
        student_quantile(np.array([rooms[0].dof for _, rooms in found]), CONFIDENT),
        propagation.learned(np.concatenate([root[:, :1], rate], axis=1)),
        propagation.learned_dof,
        TAPE,
        not_judged=tuple(requirement.id for requirement in requirements if requirement.id not in judged),
    )


def rooms_at(quantities: Quantities, requirement: Requirement, states: Sequence[str]) -> list[Room] | None:
    """The room under a limit in each of several states; None where that of one is not determined.

    A limit that depends on another finding is replaced by a straight one, the same in all states, which is never less
    strict than the verdict: over a distance between axles the steps that may hold within its doubt bind, those beyond
    its 95 % interval by a wider guard band. See ``findings/straight.py``. The room under a limit on a force is told as
    the mass that takes it where it counts most; a force of couplings curves so that this never promises too much.
    """
    limit = quantities.straight(requirement)
    if limit is None:
        return None
    rooms = [quantities.room(limit, at_state(limit.requirement.finding, name)) for name in states]
    part = quantities.per_mass(at_state(limit.requirement.finding, states[0]))
    known = [room if part == 1.0 else room.over(part) for room in rooms if room is not None]
    return known if len(known) == len(rooms) else None


@lru_cache(maxsize=1 << 14)
def at_state(finding: str, state: str) -> str:
    """The same finding of another state."""
    return str(FindingId.parse(finding).at(state))


def _probed(day: WeighDay, state: str, vehicle: str) -> WeighDay:
    for name, (x, y) in _PLACES.items():
        cargo = Cargo(name, vehicle, mass=Quantity(PROBE), x=Quantity(x, 0.0), y=Quantity(y, 0.0))
        day = applied(day, Scenario(state, add=(cargo,)), name)
    return day
