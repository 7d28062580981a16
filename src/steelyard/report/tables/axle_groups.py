"""Axle groups of a state that the chosen rules limit, as text: loads, and how far apart the outer axles stand."""

from __future__ import annotations

from steelyard.findings import Findings
from steelyard.model import COMBINATION, FindingId, Measurand
from steelyard.report.words.grid import Grid
from steelyard.report.words.names import amount, interval, shown

_APART = 3


def group_lines(findings: Findings, state: str) -> list[str]:
    """One row for each group under a heading of its own; empty where no rule asks for one."""
    names = (FindingId.parse(item.id) for item in findings.findings)
    groups = dict.fromkeys(
        (name.owner, name.place)
        for name in names
        if name.states == (state,) and name.place and name.kind in ("axles", "spread")
    )
    if not groups:
        return []
    units = findings.day.units
    grid = Grid((f"For the chosen rules, {units.mass}", "", "95 % interval", f"apart, {units.length}"))
    for owner, place in groups:
        named = [Measurand(owner, kind, place).at(state) for kind in ("axles", "spread")]
        load, apart = (shown(findings.get(name), units) for name in named)
        cells = ("", "") if findings.get(named[0]) is None else (amount(load), interval(load))
        first, _, last = place.partition("-")
        whose = "" if owner == COMBINATION else f"{owner} "
        grid.add(f"  {whose}axles {first} to {last}", *cells, "" if apart is None else amount(apart))
    return ["", *grid.render(droppable=_APART)]
