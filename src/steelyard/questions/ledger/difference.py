"""Weighing by difference: what was put on or taken off between two states, beyond what the file says of them."""

from __future__ import annotations

from dataclasses import replace

from steelyard.adjustment import adjust
from steelyard.findings import Catalogue, Finding, findings_of
from steelyard.loading import ScenarioError
from steelyard.model import Cargo, WeighDay, cargo_finding


def put_on_since(day: WeighDay, before: str, after: str) -> dict[str, tuple[Finding, Finding, Finding]]:
    """Mass [kg] and place [m] of an item of which nothing is known, on each vehicle that both states show.

    For each vehicle the whole day is solved anew with that item aboard in ``after`` alone, as if this vehicle only had
    changed: of two vehicles hitched to each other no readings tell both. Declared changes of cargo, coupling and couple
    are accounted for, and all readings take part.

    Returns
    -------
    mass, x and y by vehicle; not determined where the drafts cannot tell the item from something else.

    Raises
    ------
    ScenarioError: the two are one state, or no vehicle was weighed in both.
    """
    if before == after:
        raise ScenarioError(f"{after!r} is compared with itself; name another state to count from")
    shown = _shown(day, before) & _shown(day, after)
    found = {
        vehicle: _item_on(day, vehicle, before, after) for vehicle in day.states[after].vehicles if vehicle in shown
    }
    if not found:
        raise ScenarioError(f"no vehicle was weighed in both {before!r} and {after!r}, so there is no difference")
    return found


def _item_on(day: WeighDay, vehicle: str, before: str, after: str) -> tuple[Finding, Finding, Finding]:
    name = _unused(day, f"{vehicle}_since_{before}")
    state = replace(day.states[after], cargo=(*day.states[after].cargo, name))
    cargo = {**day.cargo, name: Cargo(name, vehicle)}
    adjustment = adjust(replace(day, cargo=cargo, states={**day.states, after: state}))
    names = {str(cargo_finding(name, kind)) for kind in ("mass", "x", "y")}
    entries = [entry for entry in Catalogue(adjustment).entries() if entry.id in names]
    mass, x, y = findings_of(adjustment, entries)
    return mass, x, y


def _shown(day: WeighDay, state: str) -> set[str]:
    """The vehicles with a wheel on an instrument in some draft of a state."""
    drafts = [draft for draft in day.drafts if draft.state == state]
    return {wheel.vehicle for draft in drafts for item in day.counted(draft) for wheel in item.place.wheels}


def _unused(day: WeighDay, name: str) -> str:
    while name in day.cargo:
        name += "_"
    return name
