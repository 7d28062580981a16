"""How much trailer: the whole answer for one coupling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steelyard.findings import Finding, Findings, Weighed
from steelyard.loading import (
    Hitching,
    LargestTrailer,
    Scenario,
    ScenarioError,
    TowLimits,
    largest_trailer,
    sometimes_aboard,
    without,
)
from steelyard.model import Cargo, Role, VerdictId, WeighDay, coupling_quantity, gross_load
from steelyard.questions.trailer.road import NAME
from steelyard.questions.trailer.towing import tow_limits, towing_vehicle
from steelyard.requirements import Ahead, paper_steps
from steelyard.units import Dimension

SHARES = np.arange(50, 301) / 1000.0
"""Shares on the coupling that are looked at [1]: a tenth of a per cent apart."""

STEP = {"in": 1.0, "ft": 1.0 / 12.0, "mm": 25.0, "cm": 2.5, "m": 0.025}
"""How far the coupling is thought to be moved, in each unit of length: an inch, or about one."""


@dataclass(frozen=True, slots=True)
class Moved:
    """The effect of moving the coupling.

    Attributes
    ----------
    by: rearward [m]. load: the most coupling load that the towing vehicle's own limits allow at 95 % [kg].
    most: the largest gross at 95 % [kg] at the share ``share`` [1]. binds: the id of the limit on that, empty: none.
    """

    by: float
    load: float
    share: float
    most: float
    binds: str


@dataclass(frozen=True, slots=True)
class HitchedTrailer:
    """A trailer of the day hitched as it was weighed, with its cargo: the prediction and its two numbers."""

    trailer: str
    findings: Findings
    gross: Finding
    share: Finding


@dataclass(frozen=True)
class TrailerAnswer:
    """How much trailer the towing vehicle can take at one coupling, from a state where it stands alone.

    ``papers`` are the answers of chosen rules by the permissible mass of the trailer.
    """

    day: WeighDay
    state: str
    vehicle: str
    at: str
    result: LargestTrailer
    moved: tuple[Moved, ...]
    given: tuple[HitchedTrailer, ...]
    papers: tuple[Ahead, ...] = ()


def how_much_trailer(
    weighed: Weighed,
    state: str,
    *,
    at: str | None = None,
    trailers: tuple[str, ...] | None = None,
    add: tuple[Cargo, ...] = (),
) -> TrailerAnswer:
    """The trailer that the vehicle which stands alone in ``state`` can tow.

    Parameters
    ----------
    at: the coupling, where the vehicle has several. trailers: of the day, to be set into the picture with all
        cargo that they had in any state in which they were weighed; None takes each that the readings determine.
    add: more cargo on these.

    Raises
    ------
    ScenarioError: the state, coupling or trailer is not there, or the vehicle tows something already.
    """
    weighed.refuse_fallen(state)
    day = weighed.adjustment.rig.day
    vehicle, coupling = towing_vehicle(day, state, at)
    limits = tow_limits(weighed, state, vehicle, coupling)
    if not limits.ids:
        raise ScenarioError(f"no limit on {vehicle!r} is both stated and determined in {state!r}, so nothing bounds it")
    share = _usual(limits)
    result = largest_trailer(limits, np.unique([*SHARES, share]))
    step = STEP.get(day.units.length, 1.0) * day.units.factor(Dimension.LENGTH)
    moved = tuple(_moved(weighed, state, vehicle, coupling, by, share) for by in (-step, 0.0, step))
    given = tuple(_given(weighed, state, vehicle, coupling, trailers, add))
    papers = paper_steps(day, state, vehicle, coupling, NAME)
    return TrailerAnswer(day, state, vehicle, coupling, result, moved, given, papers)


def _usual(limits: TowLimits) -> float:
    """The middle of the window of shares; 12 % where there is none."""
    return 0.12 if limits.low is None or limits.high is None else (limits.low + limits.high) / 2


def _moved(weighed: Weighed, state: str, vehicle: str, at: str, by: float, share: float) -> Moved:
    limits, here = tow_limits(weighed, state, vehicle, at, moved=by), np.array([share])
    own = _without_coupling(limits)
    load = largest_trailer(own, here).load if own.ids else np.inf
    most, place = largest_trailer(limits, here).at(share)
    return Moved(by, load, share, most, limits.ids[place] if place >= 0 else "")


def _without_coupling(limits: TowLimits) -> TowLimits:
    """The limits but the coupling's own."""
    return without(limits, frozenset(name for name in limits.ids if VerdictId.parse(name).requirement == "vertical"))


def _given(
    weighed: Weighed, state: str, vehicle: str, at: str, trailers: tuple[str, ...] | None, add: tuple[Cargo, ...]
) -> list[HitchedTrailer]:
    day = weighed.adjustment.rig.day
    known = [name for name in weighed.adjustment.rig.reference if day.vehicles[name].role is Role.TRAILER]
    found: list[HitchedTrailer] = []
    for name in known if trailers is None else trailers:
        own = tuple(item for item in add if item.on == name)
        if name in day.states[state].vehicles:
            continue
        hitching = Hitching(at, name, vehicle)
        name_of_state = _free_name(day)
        more = sometimes_aboard(day, name)  # the heaviest that it was weighed: whatever the order of the states
        asked = weighed.ask(Scenario(state, add=own, put_on=more, hitch=(hitching,)), name_of_state)
        of_it = (gross_load(name), coupling_quantity(1, "share"))
        gross, share = (asked.get(str(one.at(name_of_state))) for one in of_it)
        if gross is not None and share is not None and gross.determined and share.determined:
            found.append(HitchedTrailer(name, asked, gross, share))
        elif trailers is not None:
            raise ScenarioError(f"the readings do not determine what {name!r} weighs and puts on its coupling")
    return found


def _free_name(day: WeighDay) -> str:
    name = NAME
    while name in day.states:
        name += "_"
    return name
