"""Holds cargo that changes by itself against the times of the drafts: without them nothing tells how much is left."""

from __future__ import annotations

from collections.abc import Iterable

from steelyard.dayfile.fault import listed
from steelyard.dayfile.sheet import Sheet
from steelyard.model import Cargo, Draft, State, drift_hours


def check_drifts(sheet: Sheet, drafts: Iterable[Draft]) -> None:
    """Enter a fault for each cargo with a rate whose drafts have no times, or mixed ones, or that runs out.

    A draft that is still to be read has no time yet either; it is asked for once the readings are there.
    """
    drafts = [draft for draft in drafts if draft.state in sheet.states and not _waits(sheet, draft)]
    for name, cargo in sheet.cargo.items():
        if not cargo.drifts or sheet.is_ghost("contents", name):
            continue
        told = _complaint(sheet, cargo, [draft for draft in drafts if name in sheet.states[draft.state].cargo])
        if told is not None:
            sheet.fault(("cargo", name, "rate"), told)


def _waits(sheet: Sheet, draft: Draft) -> bool:
    return draft.at is None and sheet.is_ghost("readings", str(draft.number - 1))


def _complaint(sheet: Sheet, cargo: Cargo, drafts: list[Draft]) -> str | None:
    missing = [str(draft.number) for draft in drafts if draft.at is None]
    if missing:
        one = len(missing) == 1
        what = f"draft {missing[0]} has no at" if one else f"drafts {listed(missing[:5])} have no at"
        return f"needs the time of every draft with {cargo.id!r} aboard; {what}, as in at = 2026-05-14T09:12:00Z"
    if len({draft.at.tzinfo is None for draft in drafts if draft.at is not None}) > 1:
        return (
            f"needs times that can be compared; of the drafts with {cargo.id!r} some have an offset and some have none"
        )
    hours = drift_hours(sheet.cargo, sheet.states, drafts)
    for draft in drafts:
        left = _left(cargo, sheet.states[draft.state], hours.get((draft.number, cargo.id), 0.0))
        if left < 0.0:
            return f"takes more out of {cargo.id!r} than is in it, by draft {draft.number}; check rate and times"
    return None


def _left(cargo: Cargo, state: State, hours: float) -> float:
    """Rest of the stated amount at the stated rate: kg, or m3 of a tank; an unknown amount is not checked."""
    now = cargo.changed(state.change.get(cargo.id, {}))
    if cargo.volume_rate is not None and now.volume is not None:
        level = 1.0 if now.level is None else now.level.value
        return now.volume.value * level + 3600.0 * hours * cargo.volume_rate.value
    if cargo.rate is not None and now.mass_known:
        return now.mass_value().value + 3600.0 * hours * cargo.rate.value
    return 0.0
