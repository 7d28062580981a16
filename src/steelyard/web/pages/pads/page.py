"""At the pads, as data: the rigs of a day's states from above, and what the script needs to keep drafts of them."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable
from typing import Any

from steelyard.dayfile import Part, write_state
from steelyard.model import DistributionKind, Draft, State, WeighDay
from steelyard.report import pieces
from steelyard.units import Dimension
from steelyard.web.pages.pads.contracts import PadsPage, StateTab
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.rig import RigDrawing, draw_rig, rig_key
from steelyard.web.station.live import LiveLoads

_LISTED = 60  # drafts sent along; the bench has them all


def pads_page(day_id: str, day: WeighDay, *, to: To, seq: int, may_weigh: bool) -> PadsPage:
    """The page of a day as it stands; ``seq`` is that of the last addition in it, ``to`` makes its links."""
    states = [state for state in day.without_put_away().states.values() if state.vehicles]
    rigs: dict[str, RigDrawing] = {}
    for state in states:
        if rig_key(state) not in rigs:
            rigs[rig_key(state)] = draw_rig(day, state)
    counts = {state.id: sum(draft.state == state.id for draft in day.drafts) for state in states}
    tabs = tuple(
        StateTab(state.id, day.state_title(state.id), rig_key(state), said(day, state), counts[state.id])
        for state in states
    )
    data = script_data(day_id, day, tabs, rigs.values(), to=to, seq=seq, may_weigh=may_weigh)
    return PadsPage(day_id, day.title or "Weigh day", day.units.mass, tabs, tuple(rigs.values()), data)


def connected(live: LiveLoads, day: WeighDay) -> tuple[bool, list[str]]:
    """Whether a connected instrument has a pad of the day, and the channels that are none of its pads."""
    heard = sorted(live.channels)
    return any(name in day.instruments for name in heard), [name for name in heard if name not in day.instruments]


def script_data(
    day_id: str,
    day: WeighDay,
    tabs: tuple[StateTab, ...],
    rigs: Iterable[RigDrawing],
    *,
    to: To,
    seq: int,
    may_weigh: bool,
) -> dict[str, Any]:
    """The data of the day for the script of the page, in the day's units."""
    ratings = {item.place: item.rating for rig in rigs for item in rig.stations if item.rating is not None}
    drafts = day.drafts[-_LISTED:]
    return {
        "day": day_id,
        "seq": seq,
        "unit": day.units.mass,
        "mayWeigh": may_weigh,
        "live": False,
        "unplaced": [],
        "called": {name: day.state_title(name) for name in day.states},
        "vehicles": {vehicle.id: vehicle.title for vehicle in day.vehicles.values()},
        "links": {
            "drafts": to("add_draft", id=day_id),
            "corrections": to("add_correction", id=day_id),
            "states": to("add_state", id=day_id),
            "findings": to("get_findings", id=day_id),
            "events": to("listen", id=day_id),
            "history": to("get_history", id=day_id),
            "photographs": to("add_photograph", id=day_id),
            "believe": to("believe", name="NAME"),
            "plan": to("get_plan", id=day_id),
            "planned": to("plan", day=day_id),
            "bench": to("bench", day=day_id),
        },
        "state": _last_state(day, tabs),
        "states": {tab.id: {"rig": tab.rig, "said": tab.said, "table": _table(day, tab.id)} for tab in tabs},
        "ratings": {place: _number(day, rating) for place, rating in ratings.items()},
        "instruments": {
            name: {
                "division": _number(day, item.division),
                "capacity": _number(day, item.capacity) if math.isfinite(item.capacity) else None,
                "kind": str(item.kind),
            }
            for name, item in day.instruments.items()
        },
        "cargo": {name: {"on": item.on, "tank": item.volume is not None} for name, item in day.cargo.items()},
        "drafts": [_draft(day, draft) for draft in drafts],
    }


def _last_state(day: WeighDay, tabs: tuple[StateTab, ...]) -> str:
    """The state of the last draft of those that can be chosen, else the first of them; empty where there is none."""
    offered = [tab.id for tab in tabs]
    return next((draft.state for draft in reversed(day.drafts) if draft.state in offered), next(iter(offered), ""))


def said(day: WeighDay, state: State) -> str:
    """The description of a state, in one line."""
    parts: list[str] = []
    for link in state.links:
        bars = "" if link.distribution.kind is DistributionKind.NONE else ", bars tensioned"
        parts.append(f"{day.vehicles[link.trailer].title} on {day.vehicles[link.towing].title}{bars}")
    coupled = {name for link in state.links for name in (link.towing, link.trailer)}
    parts += [day.vehicles[name].title for name in state.vehicles if name not in coupled]
    aboard = [_aboard(state, name) for name in state.cargo]
    return "; ".join(parts) + (f"; aboard: {', '.join(aboard)}" if aboard else "; no cargo named")


def _aboard(state: State, name: str) -> str:
    level = state.change.get(name, {}).get("level")
    return name if level is None else f"{name} {level.value:.0%}"


def _table(day: WeighDay, state: str) -> dict[str, Any]:
    """A state as the file has it: the script makes new ones from it."""
    return tomllib.loads(write_state(day, day.states[state]))[Part.STATE][state]


def _draft(day: WeighDay, draft: Draft) -> dict[str, Any]:
    counted = {item.place.text: _number(day, item.value) for item in day.readings_of(draft)}
    return {
        "number": draft.number,
        "key": draft.key,
        "state": draft.state,
        "label": day.label_of(draft),
        "note": draft.note,
        "counts": counted,
        "away": None if counted or not draft.readings else _away(day, draft),
        "how": "; ".join(pieces.circumstances(day, draft)),
        "readings": {item.place.text: [item.instrument, _number(day, item.value)] for item in draft.readings},
    }


def _away(day: WeighDay, draft: Draft) -> dict[str, Any]:
    """Why a draft of which no reading counts was put away, and what counted before: that counts again once it is back.

    Readings that were set aside one by one, for reasons of their own, stay so.
    """
    made = [item for item in day.corrections if item.draft == draft.number and item.label is None]
    reason = made[-1].reason
    values: dict[str, float] = {}
    for reading in draft.readings:
        place = reading.place.text
        here = [item for item in made if item.place == place]
        if here[-1].reason == reason:
            before = next((item.value for item in reversed(here) if item.value is not None), reading.value)
            values[place] = _number(day, before)
    return {"reason": reason, "values": values}


def _number(day: WeighDay, value: float) -> float:
    return float(f"{day.units.show(value, Dimension.MASS):.10g}")
