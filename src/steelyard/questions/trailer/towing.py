"""The limits on a trailer that nobody has weighed yet, from the towing vehicle alone as it was weighed."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import LATCHED_ROLL, Adjustment, student_quantile
from steelyard.conformity import CONFIDENT, Requirement, Sense
from steelyard.findings import Weighed
from steelyard.loading import Limits, ScenarioError, TowLimits, together, without
from steelyard.model import (
    Coupling,
    CouplingType,
    Measurand,
    Role,
    VerdictId,
    WeighDay,
    combination_gross,
    coupling_quantity,
    gross_load,
)
from steelyard.questions.limits import limits_under, wrong_words
from steelyard.questions.trailer.road import NAME, RoadOfTrailer, SureLimit, road_of
from steelyard.requirements import ON_PAPER, practice, states_alone
from steelyard.statics import TAPE
from steelyard.units import Dimension

Array = NDArray[np.float64]


def towing_vehicle(day: WeighDay, state: str, at: str | None) -> tuple[str, str]:
    """The vehicle that would tow in ``state``, and its coupling.

    Raises
    ------
    ScenarioError: there is no such state or coupling, several could be meant, or a trailer hangs there already.
    """
    if state not in day.states:
        raise ScenarioError(f"there is no state {state!r}; there are {', '.join(day.states) or 'none'}")
    here = [day.vehicles[name] for name in day.states[state].vehicles]
    having = [
        (vehicle, name)
        for vehicle in here
        for name in vehicle.couplings
        if (vehicle.role is Role.TOWING if at is None else name == at)
    ]
    names = [f"{vehicle.id}/{name}" for vehicle in here for name in vehicle.couplings]
    if len(having) != 1:
        what = "no coupling" if not having else "several couplings"
        asked = "" if at is None else f" {at!r}"
        raise ScenarioError(f"state {state!r} has {what}{asked} to hitch to; there are {', '.join(names) or 'none'}")
    vehicle, name = having[0]
    if any(link.towing == vehicle.id for link in day.states[state].links):
        raise ScenarioError(f"a trailer hangs on {vehicle.id!r} in state {state!r}; name a state where it stands alone")
    return vehicle.id, name


def tow_limits(weighed: Weighed, state: str, vehicle: str, at: str, *, moved: float = 0.0) -> TowLimits:
    """Every determined limit on a trailer at coupling ``at`` of ``vehicle``, which tows nothing in ``state``.

    They are those of the vehicle, and of what it hangs on, as they would be with the trailer, whether its load moves
    them or not. What the front axle may lose is judged against every state in which the vehicle tows nothing. The roll
    couple latched into a fifth wheel counts as if all of it came through, for how much a trailer gives way is unknown.

    Parameters
    ----------
    moved: how far rearward the coupling is thought to be moved [m].

    Raises
    ------
    ScenarioError: the readings determine no limit on the towing vehicle itself.
    """
    day = weighed.adjustment.rig.day
    alone = states_alone(day, vehicle) if day.vehicles[vehicle].role is Role.TOWING else ()
    alone = tuple(name for name in alone if name not in weighed.adjustment.tipped)
    road = road_of(day, state, vehicle, at)
    own = (*_own(day, state, vehicle, alone), *road.own)
    parts = [without(part, road.solo) for part in limits_under(weighed, state, vehicle, own, alone)]
    others = [weighed.adjustment.under(one) for one in weighed.adjustment.explanations]
    found = [
        _tow_limits(adjustment, part, state, (vehicle, at), moved, road)
        for adjustment, part in zip((weighed.adjustment, *others), parts, strict=True)
    ]
    if not parts[0].ids and day.vehicles[vehicle].role is Role.TOWING:  # even its front axle alone is open
        raise ScenarioError(f"no limit on {vehicle!r} is determined in {state!r}, so how much it tows cannot be told")
    return together(found, wrong_words(weighed))


def _tow_limits(
    adjustment: Adjustment, body: Limits, state: str, hitch: tuple[str, str], moved: float, road: RoadOfTrailer
) -> TowLimits:
    """The limits out of those on the towing vehicle's body; ``hitch``: the vehicle and its coupling."""
    day, (vehicle, at) = adjustment.rig.day, hitch
    coupling = day.vehicles[vehicle].couplings[at]
    mine = _of_train(day, state, vehicle, (*body.ids, *body.not_judged))
    body = without(body, frozenset(body.ids) - mine)
    renamed = tuple(_renamed(name, road.of_all) for name in body.ids)
    place, place_root, extra = _place(adjustment, vehicle, coupling, body.root.shape[1])
    root = np.pad(body.root, ((0, 0), (0, extra)))
    rates = np.pad(body.rate_root, ((0, 0), (0, 0), (0, extra)))
    by_load = body.rate[:, 0] + (place + moved) * body.rate[:, 1]
    load_root = rates[:, 0] + (place + moved) * rates[:, 1] + body.rate[:, [1]] * place_root
    by_gross = np.zeros(len(renamed))
    for index, name in enumerate(body.ids):
        # all of the trailer stands on the combination's wheels, wherever its load goes
        if VerdictId.parse(name).requirement in road.of_all:
            by_load[index], by_gross[index], load_root[index] = 0.0, -1.0, 0.0
    sure = [*_sure(day, vehicle, coupling), *road.sure]
    count = len(sure)
    kind = coupling.type
    window = practice().coupling_share[kind.value]
    latched = LATCHED_ROLL * body.rate[:, 2] if kind is CouplingType.FIFTH_WHEEL else np.zeros(len(renamed))
    learned = adjustment.propagation.learned(np.stack([root, load_root], axis=1))
    return TowLimits(
        (*renamed, *(row.name for row in sure)),
        (*body.labels, *(row.label for row in sure)),
        np.concatenate([body.room, [row.room for row in sure]]),
        np.pad(root, ((0, count), (0, 0))),
        np.concatenate([by_load, [row.by_load for row in sure]]),
        np.pad(load_root, ((0, count), (0, 0))),
        np.concatenate([by_gross, [row.by_gross for row in sure]]),
        np.concatenate([body.quantile, np.full(count, student_quantile(np.array([np.inf]), CONFIDENT)[0])]),
        np.pad(learned, ((0, count), (0, 0), (0, 0), (0, 0))),
        np.pad(latched, (0, count)),
        window.low,
        window.high,
        window.source,
        body.dof,
        not_judged=(*(_renamed(name, road.of_all) for name in body.not_judged if name in mine), *road.not_judged),
    )


def _own(day: WeighDay, state: str, vehicle: str, alone: tuple[str, ...]) -> tuple[Requirement, ...]:
    """The limits that hitching brings with it, put as limits on the towing vehicle as it stands in ``state``."""
    found: list[Requirement] = []
    title = day.vehicles[vehicle].title
    gcwr, loss = day.vehicles[vehicle].ratings.gcwr, practice().steering_loss
    if gcwr is not None:
        gross = gross_load(vehicle).at(state)
        identity = str(VerdictId(gross, "gcwr"))
        found.append(Requirement(identity, str(gross), f"{title}: GCWR", gcwr, Sense.MAX, "", Dimension.MASS))
    for before in alone if loss.low is not None else ():
        change = Measurand(vehicle, "front_change").between(before, state)
        label = f"{title}: front axle may lose {-(loss.low or 0.0) * 100:.0f} % when hitched"
        identity = str(VerdictId(change, "steering_loss"))
        found.append(
            Requirement(identity, str(change), label, loss.low or 0.0, Sense.MIN, loss.source, Dimension.SHARE)
        )
    return tuple(found)


def _of_train(day: WeighDay, state: str, vehicle: str, ids: tuple[str, ...]) -> frozenset[str]:
    """The limits of a vehicle and of those that it is coupled to; others may stand there too."""
    train, links = {vehicle}, day.states[state].links
    for _ in links:
        train |= {name for link in links if train & {link.towing, link.trailer} for name in (link.towing, link.trailer)}
    others = set(day.states[state].vehicles) - train
    apart = {
        coupling_quantity(number, "").place for number, link in enumerate(links, start=1) if link.trailer in others
    }

    def is_mine(name: str) -> bool:
        finding = VerdictId.parse(name).finding
        return finding.place not in apart if finding.of_coupling else finding.owner not in others

    return frozenset(name for name in ids if is_mine(name))


def _renamed(name: str, of_all: Mapping[str, str]) -> str:
    """The id that the limit has once the trailer is hitched; ``of_all`` are the limits on all wheels together."""
    verdict = VerdictId.parse(name)
    if verdict.requirement in of_all:
        return str(VerdictId(combination_gross().at(NAME), of_all[verdict.requirement]))
    return str(verdict.at(NAME))


def _place(adjustment: Adjustment, vehicle: str, coupling: Coupling, width: int) -> tuple[float, Array, int]:
    """Where the coupling stands [m], its doubt, shape (width + extra,), and how many roots that adds."""
    known = adjustment.rig.unknowns.index.get(("coupling_x", vehicle, coupling.id))
    if known is not None:
        own = adjustment.solution.root[known]
        return float(adjustment.unknowns[known]), np.pad(own, (0, max(0, width - len(own)))), max(0, len(own) - width)
    return coupling.x.value, np.append(np.zeros(width), coupling.x.u_or(TAPE)), 1


def _sure(day: WeighDay, vehicle: str, coupling: Coupling) -> list[SureLimit]:
    """Limits on the trailer alone, free of doubt, by the ratings."""
    title, kind = day.vehicles[vehicle].title, coupling.type.value.replace("_", " ")
    load, gross = coupling_quantity(1, "load").at(NAME), gross_load(ON_PAPER).at(NAME)
    stated = [
        (VerdictId(load, "vertical"), f"{title}: {kind} vertical rating", coupling.vertical, True),
        (VerdictId(gross, "coupling_gross"), f"{title}: {kind} gross rating", coupling.gross, False),
        (VerdictId(gross, "towed"), f"{title}: heaviest trailer", day.vehicles[vehicle].ratings.towed, False),
    ]
    return [
        SureLimit(str(name), label, limit, *((-1.0, 0.0) if on_load else (0.0, -1.0)))
        for name, label, limit, on_load in stated
        if limit is not None
    ]
