"""How long cargo that changes by itself had been changing when a draft was taken."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping

from steelyard.model.cargo import Cargo
from steelyard.model.draft import Draft
from steelyard.model.state import State
from steelyard.units import Quantity

_Amount = tuple[str, Quantity | None, Quantity | None, Quantity | None, Quantity | None]


def _amount(cargo: Cargo) -> _Amount:
    """The quantities that say how much there is of a cargo; moving it leaves them as they are."""
    return cargo.id, cargo.mass, cargo.volume, cargo.density, cargo.level


def drift_hours(
    cargo: Mapping[str, Cargo], states: Mapping[str, State], drafts: Iterable[Draft]
) -> dict[tuple[int, str], float]:
    """Hours since the stated amount held, by number of draft and cargo; where it is zero it is left out.

    The amount that the file states, or a state changes it to, holds at the first draft with that very amount aboard.
    """
    drifting = [item for item in cargo.values() if item.drifts]
    if not drifting:
        return {}
    timed = [(draft, draft.at) for draft in drafts if draft.at is not None and draft.state in states]
    start: dict[_Amount, datetime.datetime] = {}
    aboard: list[tuple[Draft, datetime.datetime, _Amount]] = []
    for draft, at in timed:
        state = states[draft.state]
        for item in drifting:
            if item.id in state.cargo:
                now = _amount(item.changed(state.change.get(item.id, {})))
                start[now] = min(start.get(now, at), at)
                aboard.append((draft, at, now))
    hours = {(draft.number, now[0]): (at - start[now]).total_seconds() / 3600.0 for draft, at, now in aboard}
    return {key: value for key, value in hours.items() if value != 0.0}
