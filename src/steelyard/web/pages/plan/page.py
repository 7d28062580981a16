"""Planning a day, as data: small drawings of the rigs, what can be chosen, and what the script needs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from steelyard.findings import STANDING
from steelyard.model import InstrumentKind, State, WeighDay
from steelyard.web.pages.pads.page import said, script_data
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.rig import SmallRig, draw_small, rig_key


@dataclass(frozen=True, slots=True)
class PlanPage:
    """Plan the day. ``data`` goes to the script as it is: see ``plan_page``; ``asked`` is what was asked last."""

    id: str
    title: str
    unit: str
    pads: tuple[str, ...]
    platforms: tuple[str, ...]
    states: tuple[tuple[str, str, str], ...]
    rigs: tuple[SmallRig, ...]
    hitched: bool
    division: str
    asked: Mapping[str, Any]
    cautions: tuple[str, ...]
    data: Mapping[str, Any]


def plan_page(
    day_id: str, day: WeighDay, kept: Mapping[str, Any] | None, *, to: To, seq: int, may_weigh: bool
) -> PlanPage:
    """The page of a day as it stands.

    Parameters
    ----------
    kept: the plan that was kept last, if any; ``seq``: of the last addition in the day; ``to`` makes its links.
    """
    states = [state for state in day.without_put_away().states.values() if state.vehicles]
    rigs: dict[str, SmallRig] = {}
    for state in states:
        if rig_key(state) not in rigs:
            rigs[rig_key(state)] = draw_small(day, state)
    script = script_data(day_id, day, (), (), to=to, seq=seq, may_weigh=may_weigh)
    data = {
        "day": day_id,
        "seq": seq,
        "unit": day.units.mass,
        "mayWeigh": may_weigh,
        "count": len(day.drafts),
        "drafts": script["drafts"],
        "links": {
            **{name: script["links"][name] for name in ("events", "history")},
            "plan": to("make_plan", id=day_id),
            "progress": to("get_progress", id=day_id),
            "enough": to("enough", id=day_id),
            "reached": to("get_reached", id=day_id),
            "pads": f"{to('pads', day=day_id)}?walk=1",
        },
        "vehicles": script["vehicles"],
        "called": script["called"],
        "states": {state.id: {"rig": rig_key(state), "hitched": bool(state.links)} for state in states},
        "kept": kept,
        "standing": list(STANDING),
    }
    named = day.instruments.items()
    pads = tuple(name for name, item in named if item.kind is InstrumentKind.PAD)
    platforms = tuple(name for name, item in named if item.kind is not InstrumentKind.PAD)
    asked: Mapping[str, Any] = {} if kept is None else kept["question"]
    return PlanPage(
        day_id,
        day.title or "Weigh day",
        day.units.mass,
        pads,
        platforms,
        tuple((state.id, day.state_title(state.id), _short(day, state)) for state in states),
        tuple(rigs.values()),
        any(state.links for state in states),
        "50" if day.units.mass == "lb" else "25",
        asked,
        STANDING,
        data,
    )


def _short(day: WeighDay, state: State) -> str:
    return said(day, state).partition("; aboard")[0]
