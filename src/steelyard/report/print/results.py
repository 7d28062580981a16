"""Results for the ticket: findings by state, what moved, verdicts, and whether the readings agree."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence

from steelyard.conformity import Outcome, Verdict
from steelyard.findings import Findings
from steelyard.model import (
    FindingId,
    Measurand,
    axle_load,
    combination_gross,
    coupling_quantity,
    gross_load,
    side_load,
    wheel_load,
)
from steelyard.report.drawings.sheet.type import fitted
from steelyard.report.print.record import other_id
from steelyard.report.tables.agreement import global_test, how_rare, p_words
from steelyard.report.tables.contested import contested_mark
from steelyard.report.tables.gaps import drawn_together
from steelyard.report.tables.moves import pairs
from steelyard.report.tables.verdicts import NO_ROOM, chance, has_room, rule_id
from steelyard.report.words.grid import listed
from steelyard.report.words.names import CONTESTED, UNKNOWN, figure, half_width, shown, with_unit
from steelyard.ties import smallest
from steelyard.units import Dimension, format_number, round_to_uncertainty

ACROSS = 4
"""How many states stand beside one another in a table."""

_MOVES_ACROSS = 3
_TYPE = 7.0  # pt, of the tables
_SUBJECT, _GROUP = 106.0, 460.0  # pt, the room of a name
_PAIR, _STATE, _LINES = 88.0, 60.0, 3  # pt, the room of a state over its columns, and how many lines it may take


def finding_tables(findings: Findings) -> list[dict[str, object]]:
    """The findings of every state with their 95 % intervals, some states across, the vehicles down."""
    measured = findings.day.measured_states()
    tables: list[dict[str, object]] = []
    told = {FindingId.parse(item.id).states for item in findings.findings}
    states = [name for name in findings.day.states if (name,) in told]
    for start in range(0, len(states), ACROSS):
        chosen = states[start : start + ACROSS]
        heads = [{"name": head(findings.day.state_title(name)), "measured": name in measured} for name in chosen]
        groups = [group for group in _groups(findings, chosen) if group["rows"]]
        tables.append({"states": heads, "groups": groups})
    return tables


def cargo_lines(findings: Findings) -> list[str]:
    """Cargo whose mass or place was unknown, a line for each."""
    lines: list[str] = []
    for finding in findings.findings:
        where = FindingId.parse(finding.id)
        if where.of_cargo:
            figures = shown(finding, findings.day.units)
            name = findings.day.cargo[where.owner].title if where.owner in findings.day.cargo else where.owner
            what = {"mass": "mass", "x": "x", "y": "y"}.get(where.kind, where.kind)
            said = UNKNOWN if figures is None else f"{figures.value} {figures.unit} ({figures.low} to {figures.high})"
            said += f" {CONTESTED}" if figures is not None and figures.contested else ""
            lines.append(f"{name}, {what}: {said}")
    return lines


def move_tables(findings: Findings) -> list[dict[str, object]]:
    """Changes between the pairs of states worth reading: axles, gross and coupling."""
    chosen = [pair for pair in pairs(findings.day) if _moved(findings, pair)]
    tables: list[dict[str, object]] = []
    for start in range(0, len(chosen), _MOVES_ACROSS):
        part = chosen[start : start + _MOVES_ACROSS]
        rows: list[dict[str, object]] = []
        for name, load in _move_rows(findings):
            cells = [_cell(findings, load.between(before, after), signed=True) for before, after in part]
            if any(cell is not None for cell in cells):
                rows.append({"name": fitted(name, _TYPE, _SUBJECT), "cells": cells})
        heads = [
            {"before": head(findings.day.state_title(before)), "after": head(findings.day.state_title(after))}
            for before, after in part
        ]
        tables.append({"pairs": heads, "rows": rows})
    return tables


def verdict_tables(findings: Findings) -> list[dict[str, object]]:
    """Every requirement with its verdict in every state, some states across.

    The two ends of a window share a row; what is said of a change stands under the state that it leads to. Rules of
    the road have a section of their own.
    """
    rows: dict[tuple[object, ...], list[Verdict]] = {}
    verdicts = _ratings(findings)
    for verdict in verdicts:
        where = FindingId.parse(verdict.finding)
        key = (where.measurand, _name(verdict), verdict.source, where.states[:-1])
        rows.setdefault(key, []).append(verdict)
    present = {FindingId.parse(verdict.finding).state for verdict in verdicts}
    states = [name for name in findings.day.states if name in present]
    return [
        {
            "columns": [head(findings.day.state_title(name), _STATE) for name in states[start : start + ACROSS]],
            "rows": list(_verdict_rows(findings, rows.values(), states[start : start + ACROSS])),
        }
        for start in range(0, len(states), ACROSS)
    ]


def verdict_sources(findings: Findings) -> list[str]:
    """Sources of the limits in the table, each once."""
    return list(dict.fromkeys(verdict.source for verdict in _ratings(findings)))


def _ratings(findings: Findings) -> list[Verdict]:
    """The verdicts on ratings and on rules of thumb."""
    return [verdict for verdict in findings.verdicts if not rule_id(verdict, findings.day)]


def troubles(findings: Findings) -> list[dict[str, object]]:
    """The verdicts that ask for something: outside first, then undecided."""
    found: list[dict[str, object]] = []
    for outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED):
        for verdict in findings.verdicts:
            if verdict.outcome is outcome:
                states = " to ".join(map(findings.day.state_title, FindingId.parse(verdict.finding).states))
                found.append({"outcome": str(outcome), "where": states, "text": _trouble(findings, verdict)})
    return found


def tally(findings: Findings, *, by_papers: int = 0) -> list[dict[str, object]]:
    """How many verdicts there are of each kind; ``by_papers``: how many rules of the road the papers do not keep."""
    kinds = [(str(outcome), outcome) for outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED, Outcome.WITHIN)]
    counts = [(name, sum(verdict.outcome is kind for verdict in findings.verdicts)) for name, kind in kinds]
    counts.append(("not judged", sum(verdict.outcome is None for verdict in findings.verdicts)))
    told = [(name, count) for name, count in counts if count or name in ("outside", "undecided")]
    told[1:1] = [("outside by papers", by_papers)] if by_papers else []
    return [{"name": name, "count": count} for name, count in told]


def agreement(findings: Findings) -> dict[str, object]:
    """Whether the readings agree, in a sentence; a warning for the head if they do not; and those that do not fit."""
    result, units = findings.consistency, findings.day.units
    if result.p is None:
        words = "Nothing checks these readings: each is needed. A repeated draft would check them."
    else:
        test = f"{global_test(result)}, p {' '.join(p_words(result.p))}"
        agree = f"The readings {'agree' if result.consistent else 'do not agree'} within their stated doubt"
        words = f"{agree} ({test}). {how_rare(result.p)}"
    places = listed(f"draft {item.draft}, {item.place}" for item in result.suspects)
    where = f"Look at {places} before anybody acts" if places else "No single reading stands out; do not act"
    suspects = [
        {
            "what": f"draft {item.draft}, {item.place} on {item.instrument}",
            "reading": with_unit(item.reading, Dimension.MASS, units),
            "off": format_number(abs(item.normalised_residual), 1),
            "explanations": list(item.explanations),
        }
        for item in result.suspects
    ]
    marked = contested_mark(findings)
    hangs = f" {marked[:1].upper()}{marked[1:]}: which reading is wrong decides them." if marked else ""
    warning = f"The readings do not all fit together. {where} on these figures.{hangs}"
    return {"words": words, "warning": warning, "consistent": result.consistent, "suspects": suspects}


def gaps(findings: Findings) -> list[str]:
    """Findings that are not determined, and the drafts that would determine them."""
    grouped: dict[tuple[tuple[str, ...], tuple[str, ...]], list[str]] = {}
    for finding in findings.findings:
        where = FindingId.parse(finding.id)
        if not finding.determined and not where.change:
            needs = tuple(f"in {findings.day.state_title(need.state)}: {listed(need.places)}" for need in finding.needs)
            grouped.setdefault((where.states, needs), []).append(finding.id)
    lines: list[str] = []
    for (states, needs), members in grouped.items():
        names = "; ".join(drawn_together([FindingId.parse(member) for member in members]))
        state = "".join(f"{findings.day.state_title(name)}: " for name in states)
        tell = (
            f"read at the same time {'; then '.join(needs)}" if needs else "no draft with these instruments would tell"
        )
        lines.append(f"{state}{names}: {tell}.")
    return lines


def _groups(findings: Findings, states: Sequence[str]) -> Iterator[dict[str, object]]:
    for vehicle in findings.day.vehicles.values():
        rows = list(_vehicle_rows(len(vehicle.axles), vehicle.id))
        yield {
            "name": fitted(vehicle.title, _TYPE, _GROUP, bold=True),
            "id": other_id(vehicle),
            "rows": _rows(findings, states, rows),
        }
    rows = [("gross, all wheels", combination_gross())]
    for number in range(1, len(findings.day.vehicles) + 1):
        name = "coupling" if number == 1 else f"coupling {number}"
        rows += [
            (f"{name} load", coupling_quantity(number, "load")),
            (f"{name} share of trailer", coupling_quantity(number, "share")),
            (f"weight-distributing couple{'' if number == 1 else f' {number}'}", coupling_quantity(number, "couple")),
            (f"front axle load restored{'' if number == 1 else f' {number}'}", coupling_quantity(number, "restored")),
        ]
    yield {"name": "Combination", "id": "", "rows": _rows(findings, states, rows)}


def head(state: str, room: float = _PAIR) -> str:
    """A state's name for the head of a column of ``room`` points: no word is wider, and all takes a few lines."""
    whole = " ".join(fitted(word, _TYPE, room, bold=True) for word in state.split())
    return fitted(whole, _TYPE, _LINES * room, bold=True)


def _vehicle_rows(axles: int, vehicle: str) -> Iterator[tuple[str, Measurand]]:
    for number in range(1, axles + 1):
        for side in "LR":
            yield f"wheel {number}{side}", wheel_load(vehicle, f"{number}{side}")
        yield f"axle {number}", axle_load(vehicle, number)
    yield "left side", side_load(vehicle, "L")
    yield "right side", side_load(vehicle, "R")
    yield "gross", gross_load(vehicle)


def _rows(findings: Findings, states: Sequence[str], rows: Sequence[tuple[str, Measurand]]) -> list[dict[str, object]]:
    """The rows that have a finding in any of the states."""
    found: list[dict[str, object]] = []
    for name, measurand in rows:
        cells = [_cell(findings, measurand.at(state)) for state in states]
        if any(cell is not None for cell in cells):
            unit = next((f", {cell['unit']}" for cell in cells if cell and cell["unit"]), "")
            found.append({"name": name + unit, "strong": not name.startswith("wheel"), "cells": cells})
    return found


def _cell(findings: Findings, name: FindingId, *, signed: bool = False) -> dict[str, str] | None:
    """Value and interval of a finding; None where the day has none of that name."""
    finding = findings.get(name)
    if finding is None:
        return None
    figures = shown(finding, findings.day.units, signed=signed)
    if figures is None:
        return {"value": "", "low": "", "high": "", "unit": "", "half": "", "mark": ""}
    unit = "" if finding.dimension is Dimension.MASS else figures.unit.replace("*", "·")
    mark = CONTESTED if figures.contested else ""
    return {
        "value": figures.value,
        "low": figures.low,
        "high": figures.high,
        "unit": unit,
        "half": figures.half or mark,
        "mark": mark,
    }


def _moved(findings: Findings, pair: tuple[str, str]) -> bool:
    return any(item.determined for item in findings.findings if FindingId.parse(item.id).states == pair)


def _move_rows(findings: Findings) -> Iterator[tuple[str, Measurand]]:
    for vehicle in findings.day.vehicles.values():
        for number in range(1, len(vehicle.axles) + 1):
            yield f"{vehicle.id}, axle {number}", axle_load(vehicle.id, number)
        yield f"{vehicle.id}, gross", gross_load(vehicle.id)
    yield "coupling load", coupling_quantity(1, "load")
    for number in range(2, len(findings.day.vehicles) + 1):
        yield f"coupling {number} load", coupling_quantity(number, "load")


def _verdict_rows(
    findings: Findings, rows: Iterable[Sequence[Verdict]], states: Sequence[str]
) -> Iterator[dict[str, object]]:
    sources = verdict_sources(findings)
    for verdicts in rows:
        own = {
            state: [item for item in verdicts if FindingId.parse(item.finding).states[-1] == state] for state in states
        }
        if not any(own.values()):
            continue
        subject, name = _subject(findings, _name(verdicts[0]))
        before = FindingId.parse(verdicts[0].finding).states[:-1] if _ambiguous(findings, verdicts[0]) else ()
        yield {
            "subject": fitted(subject, _TYPE, _SUBJECT, bold=True),
            "name": name + "".join(f", from {findings.day.state_title(state)}" for state in before),
            "limit": _limits(findings, verdicts),
            "source": sources.index(verdicts[0].source),
            "cells": [_judged(findings, smallest(items, _met)) if items else None for items in own.values()],
        }


def _ambiguous(findings: Findings, verdict: Verdict) -> bool:
    """Whether the same is asked of changes from several states."""
    where = FindingId.parse(verdict.finding)
    alike = [FindingId.parse(item.finding) for item in findings.verdicts if item.label == verdict.label]
    return len({item.states[:-1] for item in alike if item.measurand == where.measurand}) > 1


def _name(verdict: Verdict) -> str:
    """The requirement; what its limit says anyhow is left out."""
    return re.sub(r", at (least|most) [\d.,]+ %$", "", verdict.label)


def _subject(findings: Findings, label: str) -> tuple[str, str]:
    """The vehicle that a label begins with, and the rest of it."""
    for vehicle in findings.day.vehicles.values():
        if label.startswith(f"{vehicle.title}: "):
            return vehicle.title, label.removeprefix(f"{vehicle.title}: ")
    return "", label


def _met(verdict: Verdict) -> float:
    return 1.0 if verdict.probability is None else verdict.probability


def _limits(findings: Findings, verdicts: Sequence[Verdict]) -> str:
    """``≤ 6,000``, or both ends of a window."""
    units = findings.day.units
    ends: dict[str, str] = {}
    for verdict in verdicts:
        shown_limit = figure(verdict.limit, verdict.dimension, units) or "0"
        unit = "" if verdict.dimension is Dimension.MASS else f" {units.symbol(verdict.dimension)}"
        ends[verdict.sense] = f"{shown_limit}{unit}"
    if len(ends) == 2:
        return f"{ends['min'].removesuffix(' %')} to {ends['max']}"
    return f"≤ {ends['max']}" if "max" in ends else f"≥ {ends['min']}"


def _judged(findings: Findings, verdict: Verdict) -> dict[str, str]:
    """A verdict in a word, with the room left (below nothing where there is none)."""
    if verdict.outcome is None or verdict.margin is None:
        return {"outcome": "", "margin": ""}
    mark = f" {CONTESTED}" if verdict.contested else ""
    return {"outcome": str(verdict.outcome), "margin": _margin(findings, verdict) + mark}


def _margin(findings: Findings, verdict: Verdict) -> str:
    if not has_room(verdict):
        return NO_ROOM
    units = findings.day.units
    factor = units.factor(verdict.dimension)
    judged = findings.get(verdict.finding)
    margin, half = (verdict.margin or 0.0) / factor, (0.0 if judged is None else half_width(judged)) / factor
    rounded, _, places = round_to_uncertainty(margin, half)
    text = format_number(rounded, places if half > 0 else 0)
    signed = f"+{text}" if margin > 0 and text.strip("0.,") else text
    return signed if verdict.dimension is Dimension.MASS else f"{signed} {units.symbol(verdict.dimension)}"


def _trouble(findings: Findings, verdict: Verdict) -> str:
    units = findings.day.units
    if verdict.contested:
        which = verdict.advice.rpartition(": ")[2].rstrip(".")
        return f"{verdict.label}: contested, met with a probability of {chance(verdict.probability)}; {which}."
    unit = f" {units.mass}" if verdict.dimension is Dimension.MASS else ""
    # an advice that says how much is over or short says it once, in its own rounding
    told = verdict.advice.startswith(("over by", "short by"))
    margin = "" if told else f"margin {_margin(findings, verdict)}{unit}, "
    said = f"{verdict.label}: {margin}met with a probability of {chance(verdict.probability)}"
    return "; ".join([said, *([verdict.advice.rstrip(".")] if verdict.advice else [])]) + "."
