"""Everybody and everything aboard, for the ticket: a row for each cargo, some states across."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.findings import Findings
from steelyard.model import Cargo, cargo_finding
from steelyard.report.drawings.sheet.type import fitted
from steelyard.report.print.results import ACROSS, head
from steelyard.report.words.names import CONTESTED, figure, shown, with_unit
from steelyard.units import Dimension

NOBODY = "Nobody and nothing aboard is named."
"""Stands for the table where the day has no cargo."""

UNKNOWN_MASS = "aboard, mass unknown"
_TYPE, _ROOM = 7.0, 105.0  # pt: of the table, and the room of a name


def aboard_tables(findings: Findings) -> list[dict[str, object]]:
    """Cargo of every state with its mass there, and a tank's level; empty where the day has no cargo."""
    day = findings.day
    states = [state for state in day.states.values() if state.vehicles]
    if not any(state.cargo for state in states):
        return []
    measured = day.measured_states()
    tables: list[dict[str, object]] = []
    for start in range(0, len(states), ACROSS):
        chosen = states[start : start + ACROSS]
        aboard = [day.cargo_in(state) for state in chosen]
        heads = [
            {"name": head(findings.day.state_title(state.id)), "measured": state.id in measured} for state in chosen
        ]
        names = [name for name in day.cargo if any(name in items for items in aboard)]
        tables.append({"states": heads, "rows": [_row(findings, name, aboard) for name in names]})
    return tables


def _row(findings: Findings, name: str, aboard: Sequence[dict[str, Cargo]]) -> dict[str, object]:
    cargo = findings.day.cargo[name]
    return {
        "name": fitted(cargo.title, _TYPE, _ROOM),
        "on": fitted(findings.day.vehicles[cargo.on].title, _TYPE, _ROOM),
        "cells": [_cell(findings, items[name]) if name in items else None for items in aboard],
    }


def _cell(findings: Findings, cargo: Cargo) -> dict[str, str]:
    """The mass as stated or found, and a note: a tank's level, or how the mass is known."""
    units = findings.day.units
    if not cargo.mass_known:
        found = shown(findings.get(cargo_finding(cargo.id, "mass")), units)
        if found is None:
            return {"mass": "", "note": UNKNOWN_MASS}
        if found.contested:
            return {"mass": f"{found.value} {CONTESTED}", "note": f"{found.low} to {found.high}, found"}
        return {"mass": found.value, "note": f"± {found.half}, found" if found.half else "found"}
    mass = cargo.mass_value()
    notes = [_level(findings, cargo)] if cargo.is_tank else []
    notes += ["at its first draft"] if cargo.drifts else []
    return {
        "mass": figure(round(mass.value, 3), Dimension.MASS, units) or "0",
        "note": ", ".join(notes),
    }


def _level(findings: Findings, cargo: Cargo) -> str:
    """``25 % of 60 gal``."""
    units = findings.day.units
    share = 1.0 if cargo.level is None else cargo.level.value
    volume = 0.0 if cargo.volume is None else cargo.volume.value
    level = figure(round(share, 6), Dimension.SHARE, units) or "0"
    return f"{level} {units.symbol(Dimension.SHARE)} of {with_unit(volume, Dimension.VOLUME, units)}"
