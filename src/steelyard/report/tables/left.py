"""The room left under the ratings of a state, as text: payload, couplings, and the axle or tyre that binds."""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.findings import Findings
from steelyard.report.words.grid import Cell, Grid, wrapped
from steelyard.report.words.left import TITLE, LeftWords, left_words
from steelyard.report.words.names import amount, interval


def left_lines(findings: Findings, state: str) -> list[str]:
    """The rows of one state under a heading of their own; empty where no rating limits a load of it."""
    rows = left_words(findings, state)
    if not rows:
        return []
    unit = findings.day.units.mass
    grid = Grid((f"{TITLE}, {unit}", "", "95 % interval", "met with"))
    grid.add_fitted([(_name(row), _cells(row)) for row in rows], first="  ", rest="    ")
    return ["", *grid.render(), *_notes(rows)]


def _name(row: LeftWords) -> str:
    return f"{row.name}, {row.mark}" if row.mark else row.name


def _cells(row: LeftWords) -> tuple[Cell, Cell, Cell]:
    if row.figures is None:
        return row.instead, "", ""
    return amount(row.figures), interval(row.figures), row.chance


def _notes(rows: tuple[LeftWords, ...]) -> Iterator[str]:
    for row in rows:
        if row.note:
            yield from wrapped(f"{row.note}.", first="  ")
    if any(row.over for row in rows):
        yield from wrapped("Below nothing: that much too much.", first="  ")
