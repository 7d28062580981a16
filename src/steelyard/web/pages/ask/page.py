"""Ask the rig, as data: the states, trailers and couplings of a day, and what the script needs to ask about it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from steelyard.findings import STANDING
from steelyard.model import DistributionKind, Role, State, WeighDay
from steelyard.questions.distribution import distributed
from steelyard.statics import TAPE
from steelyard.units import Dimension
from steelyard.web.api.ask import ASKED
from steelyard.web.pages.ask.contracts import AskPage
from steelyard.web.pages.pads.page import said
from steelyard.web.pages.shell.contracts import PageLink, To

_ORDER = ("rebalance", "trailer", "distribute", "ledger", "rules")
"""In which order the page shows its questions; others follow by name."""


@cache
def fragments() -> tuple[str, ...]:
    """Names of the questions that have a fragment of this page, in the order of the page.

    Raises
    ------
    ValueError: a fragment is of a question that has no address.
    """
    found = {path.stem for path in (Path(__file__).parent / "fragments").glob("*.html")}
    if strange := sorted(found - set(ASKED)):
        raise ValueError(f"the page has fragments of questions without an address: {', '.join(strange)}")
    return (*(name for name in _ORDER if name in found), *sorted(found - set(_ORDER)))


def _trailers(day: WeighDay) -> dict[str, str]:
    """The trailers that can be hitched on paper, by name: each that stands in some state."""
    return {
        name: vehicle.title
        for name, vehicle in day.vehicles.items()
        if vehicle.role is Role.TRAILER and day.reference_state(name) is not None
    }


def ask_page(
    day_id: str, day: WeighDay, state: str, influence: Mapping[str, Any], *, to: To, may_weigh: bool
) -> AskPage:
    """The page of a day as it stands.

    Parameters
    ----------
    state: the one to begin with. influence: how it answers to loads, as the interface gives it.
    to: makes its links.
    """
    states = [item for item in day.without_put_away((state,)).states.values() if item.vehicles]
    data = {
        "day": day_id,
        "unit": day.units.mass,
        "length": day.units.length,
        "mayWeigh": may_weigh,
        "state": state,
        "influence": influence,
        "standing": list(STANDING),
        "tape": _length(day, TAPE),
        "step": {"in": 1, "ft": 0.1, "mm": 25, "cm": 2.5, "m": 0.025}.get(day.units.length, 1),
        "links": {
            **{name: to(name, id=day_id) for name in ASKED},
            "keep": to("keep", id=day_id),
            "events": to("listen", id=day_id),
            "bench": to("bench", day=day_id),
        },
        "states": {item.id: _state(day, item) for item in states},
        "trailers": _trailers(day),
        "couplings": [
            {"towing": name, "at": at, "title": f"{vehicle.title}, {at}"}
            for name, vehicle in day.vehicles.items()
            for at in vehicle.couplings
        ],
        "cargo": list(day.cargo),
        "couple": day.units.symbol(Dimension.COUPLE),
        "called": {name: day.state_title(name) for name in day.states},
        "titles": {name: vehicle.title for name, vehicle in day.vehicles.items()},
    }
    alone = tuple(
        PageLink(f"{item.id}/{name}/{at}", f"{vehicle.title} at its {at}, alone in {day.state_title(item.id)}")
        for item in states
        for name, vehicle in day.vehicles.items()
        if name in item.vehicles and not any(link.towing == name for link in item.links)
        for at in vehicle.couplings
    )
    measured = day.measured_states()
    tabs = tuple(
        PageLink(item.id, day.state_title(item.id), "weighed" if item.id in measured else "predicted")
        for item in states
    )
    return AskPage(
        day_id,
        day.title or "Weigh day",
        day.units.mass,
        day.units.length,
        tabs,
        state,
        alone,
        distributed(day),
        STANDING,
        fragments(),
        data,
    )


def first_state(day: WeighDay) -> str | None:
    """The state to begin with: the last one weighed of those with most vehicles; None where nothing was."""
    weighed = [item for item in day.states.values() if item.id in day.measured_states()]
    return max(weighed, key=lambda item: len(item.vehicles)).id if weighed else None


def _state(day: WeighDay, state: State) -> dict[str, Any]:
    return {
        "said": said(day, state),
        "vehicles": list(state.vehicles),
        "hitched": [link.trailer for link in state.links],
        "taken": [f"{link.towing}/{link.at}" for link in state.links],
        "bars": [link.trailer for link in state.links if link.distribution.kind is not DistributionKind.NONE],
        "weighed": state.id in day.measured_states(),
    }


def _length(day: WeighDay, metres: float) -> float:
    return float(f"{metres / day.units.factor(Dimension.LENGTH):.10g}")
