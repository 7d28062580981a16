"""The room left under the ratings, for the ticket: a row for each rating, some states across."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.findings import Findings
from steelyard.report.drawings.sheet.type import fitted
from steelyard.report.print.results import ACROSS, head
from steelyard.report.words.left import LeftWords, left_words
from steelyard.report.words.names import CONTESTED

_TYPE, _ROOM = 7.0, 118.0  # pt: of the table, and the room of a name
_LINES = 2  # that a name may take under its figure
_KINDS = {"axle": "axle or tyre that binds", "other": "other limit that binds first"}
"""Names of the rows of which the states may name different ratings."""


def left_tables(findings: Findings) -> list[dict[str, object]]:
    """The room left in every state that has a rating, some states across."""
    told = {name: left_words(findings, name) for name in findings.day.states}
    states = [name for name, rows in told.items() if rows]
    measured = findings.day.measured_states()
    tables: list[dict[str, object]] = []
    for start in range(0, len(states), ACROSS):
        chosen = states[start : start + ACROSS]
        heads = [{"name": head(findings.day.state_title(name)), "measured": name in measured} for name in chosen]
        tables.append({"states": heads, "rows": _rows([told[name] for name in chosen])})
    return tables


def _rows(states: Sequence[Sequence[LeftWords]]) -> list[dict[str, object]]:
    """The rows of some states: payloads first, then couplings, then what binds."""
    order = ("payload", "coupling", *_KINDS)
    named = dict.fromkeys(_row(one) for rows in states for one in rows)
    names = sorted(named, key=lambda name: order.index(name[0]))
    return [
        {
            "name": _KINDS.get(kind, name),
            "cells": [next((_cell(one) for one in rows if _row(one) == (kind, name)), None) for rows in states],
        }
        for kind, name in names
    ]


def _row(words: LeftWords) -> tuple[str, str]:
    """The row that a rating stands in: one for each payload and coupling, one for all that bind."""
    kind = str(words.kind)
    return kind, "" if kind in _KINDS else fitted(words.titled, _TYPE, _ROOM)


def _cell(words: LeftWords) -> dict[str, str]:
    figures = words.figures
    named = fitted(words.titled, _TYPE, _LINES * _ROOM) if str(words.kind) in _KINDS else ""
    if figures is None:
        return {"name": "", "room": "", "instead": words.instead, "range": "", "outcome": "", "mark": "", "note": ""}
    room = f"{words.amount} over" if words.over else words.amount
    return {
        "name": named,
        "room": f"{room} {CONTESTED}" if figures.contested else room,
        "instead": "",
        "range": words.span,
        "outcome": "" if words.outcome is None else str(words.outcome),
        "mark": words.mark,
        "note": words.note,
    }
