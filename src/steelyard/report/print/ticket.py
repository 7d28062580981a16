"""The ticket: the printed record of a weigh day, as a PDF that is archival, accessible and the same every time."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import cast

from steelyard import __version__
from steelyard.findings import STANDING, Findings
from steelyard.report.drawings.above.paper import PRINTED
from steelyard.report.drawings.above.values import state_words
from steelyard.report.drawings.above.view import draw
from steelyard.report.drawings.sheet.picture import own_faces
from steelyard.report.drawings.sheet.type import REPLACEMENT, printable
from steelyard.report.print import record as ticket_record
from steelyard.report.print import results as ticket_results
from steelyard.report.print.digest import digest_of
from steelyard.report.print.left import left_tables
from steelyard.report.tables.contested import contested_sentences

PAPERS = {"letter": "us-letter", "a4": "a4"}
"""The papers that a ticket can be printed on, and what the typesetter calls them."""

METHOD = (
    """All readings of the day are solved together by least squares on rigid vehicles that stand on springs; the doubt
    of rounding, span, placement, taped lengths and springs is carried along.""",
    """A figure is the load on level ground with all supports in one plane; the small figures are the ends of its 95 %
    coverage interval (Student's t). It is not what a pad would read next.""",
    """Within: the requirement is met with a probability of at least 95 %; outside: of at most 5 %; undecided: between
    (JCGM 106). A predicted state has no draft of its own.""",
)
"""The method in three lines."""

_UNPRINTABLE = f"Some characters cannot be printed here; {REPLACEMENT} stands for each."
_USUAL = 2
_NARROWER = ("0.86", "0.72", "0.6", "0.5")
"""Shares of the full width to which the drawing is made smaller where that saves a third page."""

_COUNT = re.compile(rb"/Type\s*/Pages\s*/Count (\d+)")
_TEMPLATE = Path(__file__).parent / "ticket.typ"


def ticket_pdf(findings: Findings, *, paper: str = "letter", state: str | None = None) -> bytes:
    """The ticket of a weigh day.

    PDF/UA-1, and PDF/A-2a where the day has a date (which PDF/A asks for). The only time in it is the day's own.

    Parameters
    ----------
    findings: of the weigh day.
    paper: ``letter`` or ``a4``.
    state: which state is drawn; None draws the last measured one with the most vehicles.

    Returns
    -------
    A PDF of one or two pages for a usual day, of more where there is more to say.

    Raises
    ------
    ValueError: the paper is neither of the two.
    KeyError: the day has no such state to draw.
    """
    if paper not in PAPERS:
        raise ValueError(f"a ticket is printed on {' or '.join(PAPERS)}, not on {paper!r}")
    drawn = _state_to_draw(findings) if state is None else state
    content = _printable(ticket_content(findings, drawn))
    date = ticket_record.date_of(findings.day)
    inputs = {
        "paper": PAPERS[paper],
        "width": "1",
        "content": json.dumps(content, ensure_ascii=False, sort_keys=True),
        "drawing": "" if drawn is None else draw(findings, drawn, against=None, sheet=PRINTED),
    }
    made = _typeset(inputs, archival=date is not None)
    if drawn is not None and _pages(made) == _USUAL + 1:
        for width in _NARROWER:
            smaller = _typeset({**inputs, "width": width}, archival=date is not None)
            if _pages(smaller) == _USUAL:
                return smaller
    return made


def _typeset(inputs: dict[str, str], *, archival: bool) -> bytes:
    import typst

    return typst.compile(
        _TEMPLATE.read_bytes(),
        font_paths=own_faces(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs=inputs,
        pdf_standards=["a-2a", "ua-1"] if archival else ["ua-1"],
    )


def _pages(pdf: bytes) -> int:
    """How many pages a file of the typesetter's has; 0 where it does not say."""
    return max(map(int, _COUNT.findall(pdf)), default=0)


def ticket_content(findings: Findings, drawn: str | None) -> dict[str, object]:
    """Everything that the ticket says, as the words and figures that are printed."""
    day, date = findings.day, ticket_record.date_of(findings.day)
    suspects = {(item.draft, item.place) for item in findings.consistency.suspects}
    return {
        "title": day.title or "Weigh day",
        "date": None if date is None else [date.year, date.month, date.day],
        "version": __version__,
        "mass": day.units.mass,
        "length": day.units.length,
        "occasion": ticket_record.occasion(day),
        "note": day.record.note,
        "vehicles": ticket_record.vehicles(day),
        "drawn": None if drawn is None else _drawn(findings, drawn),
        "tally": ticket_results.tally(findings),
        "troubles": ticket_results.troubles(findings),
        "left": left_tables(findings),
        "verdicts": ticket_results.verdict_tables(findings),
        "sources": ticket_results.verdict_sources(findings),
        "findings": ticket_results.finding_tables(findings),
        "cargo": ticket_results.cargo_lines(findings),
        "moves": ticket_results.move_tables(findings),
        "contested": contested_sentences(findings),
        "gaps": ticket_results.gaps(findings),
        "agreement": ticket_results.agreement(findings),
        "drafts": ticket_record.drafts(day, suspects),
        "instruments": ticket_record.instruments(day),
        "method": [" ".join(line.split()) for line in METHOD],
        "cautions": list(findings.cautions),
        "standing": list(STANDING),
        "digest": digest_of(day),
    }


def _printable(content: dict[str, object]) -> dict[str, object]:
    """The words as far as the shipped faces have them, and a line that says so where they have not."""
    replaced = False

    def told(value: object) -> object:
        nonlocal replaced
        if isinstance(value, str):
            text = printable(value)
            replaced |= REPLACEMENT in text
            return text
        if isinstance(value, dict):
            return {name: told(item) for name, item in cast("dict[str, object]", value).items()}
        if isinstance(value, list):
            return [told(item) for item in cast("list[object]", value)]
        return value

    printed = {name: told(item) for name, item in content.items()}
    return {**printed, "unprintable": _UNPRINTABLE if replaced else ""}


def _state_to_draw(findings: Findings) -> str | None:
    """The last measured state with the most vehicles; without one, the last state."""
    states = [state for state in findings.day.states.values() if state.vehicles]
    measured = findings.day.measured_states()
    chosen = [state for state in states if state.id in measured] or states[-1:]
    return max(reversed(chosen), key=lambda state: len(state.vehicles)).id if chosen else None


def _drawn(findings: Findings, state: str) -> dict[str, str]:
    basis = "measured" if state in findings.day.measured_states() else "predicted"
    axles = [
        f"{name} axle {number}"
        for name in findings.day.states[state].vehicles
        for number in range(1, len(findings.day.vehicles[name].axles) + 1)
    ]
    return {
        "name": state_words(state),
        "basis": basis,
        "said": f"The rig from above in the state {state_words(state)}, {basis}, with the load of every wheel of "
        f"{', '.join(axles)}; the same figures stand in the table of findings.",
    }
