"""Contested findings: their mark, and the competing answers side by side."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from steelyard.findings import Finding, Findings
from steelyard.model import Role, State, Vehicle, axle_load, axles_load, coupling_quantity, gross_load
from steelyard.report.tables.verdicts import letter
from steelyard.report.words.grid import Cell, Figures, Grid, listed, rule, wrapped
from steelyard.report.words.names import CONTESTED, shown_value

LEAST = "the least of the answers, whichever of them is right"
"""Figure that answers "how much" on a day with a contradiction."""

_FEW = 2
"""Largest number of possible faults named in a drawing."""

_ACROSS = 5
"""Answers that stand beside one another; a line has room for no more."""


def contested_count(findings: Findings) -> int:
    """How many findings are contested."""
    return sum(finding.contested for finding in findings.findings)


def contested_mark(findings: Findings) -> str:
    """``of 120 findings 34 are contested``, for the sentence at the head; empty where none is."""
    count = contested_count(findings)
    if not count:
        return ""
    return f"of {len(findings.findings)} findings {count} {'is' if count == 1 else 'are'} contested, marked {CONTESTED}"


def contested_legend(findings: Findings) -> list[str]:
    """Meaning of the mark; empty where no finding is contested."""
    if not contested_count(findings):
        return []
    return wrapped(
        f"A figure marked {CONTESTED} is contested: readings contradict one another, and which is wrong decides it. "
        "The figure is that of all readings together; its interval spans the answers of all explanations."
    )


def explained(wrong: Sequence[str]) -> str:
    """The possible faults in a sentence, for the head of an answer to any question; empty on a sound day."""
    if not wrong:
        return ""
    return (
        "Contested: the readings of this day contradict one another. "
        f"What may be wrong: {_first(wrong, _ACROSS)}. The answer hangs on "
        "which; take the draft that 'findings' names, or correct the reading, before anybody acts on it."
    )


def contested_note(wrong: Sequence[str]) -> str:
    """The mark in a drawing of an answer about how much; empty on a day without trouble."""
    if not wrong:
        return ""
    said = _first(wrong, _FEW)
    return f"{CONTESTED} Contested: the readings contradict one another ({said}). Shown is {LEAST}."


def _first(wrong: Sequence[str], most: int) -> str:
    """The first few things that may be wrong, and how many more there are."""
    more = len(wrong) - most
    return "; ".join([*wrong[:most], *([f"and {more} more"] if more > 0 else [])])


def contested_lines(wrong: Sequence[str]) -> list[str]:
    """The same as lines of a table's text."""
    said = explained(wrong)
    return wrapped(said, first=f"{CONTESTED} ") if said else []


def contested_section(findings: Findings) -> list[str]:
    """The answers of every state side by side, by what is taken to be wrong; empty where nothing is contested."""
    words = _competing(findings.findings)
    if not words:
        return []
    lines = [rule("contested", contested_mark(findings)), "", *wrapped("The answers, by what is taken to be wrong:")]
    for number, word in enumerate(words[:_ACROSS]):
        lines += wrapped(word, first=f"  {letter(number)}  ")
    if len(words) > _ACROSS:
        lines += wrapped(f"and {len(words) - _ACROSS} more, which stand in the JSON.", first="  ")
    for state in findings.day.states.values():
        lines += _state_lines(findings, state, words[:_ACROSS])
    return lines


def contested_sentences(findings: Findings) -> list[str]:
    """The same in sentences, for print: what may be wrong, then a line for each state; empty where nothing is."""
    words = _competing(findings.findings)[:_ACROSS]
    if not words:
        return []
    named = "; ".join(f"{letter(number)} {word}" for number, word in enumerate(words))
    lines = [f"The answers, by what is taken to be wrong: {named}."]
    for state in findings.day.states.values():
        parts = [
            f"{label} {_beside(findings, finding, words)}"
            for label, finding in _rows(findings, state)
            if finding is not None and finding.contested
        ]
        lines += [f"{state.id.replace('_', ' ')}: {'; '.join(parts)}."] if parts else []
    return lines


def _beside(findings: Findings, finding: Finding, words: Sequence[str]) -> str:
    """``11,790 (a), 14,940 (b)``."""
    cells = zip(words, _cells(findings, finding, words), strict=True)
    said = [
        f"{cell if isinstance(cell, str) else cell.parts[0]} ({letter(number)})"
        for number, (_, cell) in enumerate(cells)
        if cell
    ]
    return ", ".join(said)


def _competing(findings: Iterable[Finding]) -> list[str]:
    """The explanations of the answers, each once, in order of appearance: that of all readings comes first."""
    return list(dict.fromkeys(answer.without for finding in findings for answer in finding.answers))


def _state_lines(findings: Findings, state: State, words: Sequence[str]) -> list[str]:
    grid = Grid((f"{state.id}, {findings.day.units.mass}", *map(letter, range(len(words)))))
    for label, finding in _rows(findings, state):
        if finding is not None and finding.contested:
            grid.add(f"  {label}", *_cells(findings, finding, words))
    return ["", *grid.render()] if grid.lines else []


def _rows(findings: Findings, state: State) -> Iterable[tuple[str, Finding | None]]:
    """Axles and gross of each vehicle, and the couplings."""
    for name in state.vehicles:
        vehicle = findings.day.vehicles[name]
        for number in range(1, len(vehicle.axles) + 1):
            yield f"{name} axle {number}", findings.get(axle_load(name, number).at(state.id))
        if vehicle.role is Role.TRAILER:
            yield f"{name} on its axles", findings.get(axles_load(name).at(state.id))
        yield f"{name} gross", findings.get(gross_load(name).at(state.id))
    yield "coupling load", findings.get(coupling_quantity(1, "load").at(state.id))
    for number in range(2, len(state.vehicles) + 1):
        yield f"coupling {number} load", findings.get(coupling_quantity(number, "load").at(state.id))


def _cells(findings: Findings, finding: Finding, words: Sequence[str]) -> list[Cell]:
    """One answer a column; an explanation that does not move the finding leaves its column empty."""
    by_word = {answer.without: answer for answer in finding.answers}
    cells: list[Cell] = []
    for word in words:
        answer = by_word.get(word)
        if answer is None:
            cells.append("")
        elif answer.value is None:
            cells.append("open")
        else:
            cells.append(Figures((shown_value(answer.value, finding, findings.day.units),)))
    return cells


def suspects_titled(findings: Findings) -> str:
    """The same for a picture, on which a vehicle goes by its title: ``draft 1, Bread truck 2L``."""
    vehicles = findings.day.vehicles
    named = sorted((item.draft, item.place) for item in findings.consistency.suspects)
    return listed(f"draft {draft}, {_titled(place, vehicles)}" for draft, place in named)


def _titled(place: str, vehicles: Mapping[str, Vehicle]) -> str:
    """A place with the title of each vehicle in it: ``truck/2L+truck/2R`` is ``Bread truck 2L + Bread truck 2R``."""
    said: list[str] = []
    for part in place.split("+"):
        name, _, where = part.strip().partition("/")
        said.append(f"{vehicles[name].title} {where}".strip() if name in vehicles else part.strip())
    return " + ".join(said)


def suspects_named(findings: Findings) -> str:
    """``draft 1, tow/2L and draft 2, tow/2L``: where to look, for a short mark."""
    named = sorted((item.draft, item.place) for item in findings.consistency.suspects)
    return listed(f"draft {draft}, {place}" for draft, place in named)
