"""The ticket: the printed record of a weigh day, as a PDF that is archival, accessible and the same every time."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import cast

from steelyard import __version__
from steelyard.findings import STANDING, Findings
from steelyard.model import digest_of
from steelyard.questions.rules import rules_of
from steelyard.report.drawings.above.paper import PRINTED
from steelyard.report.drawings.above.values import state_words
from steelyard.report.drawings.above.view import draw
from steelyard.report.drawings.sheet.picture import own_faces
from steelyard.report.drawings.sheet.type import REPLACEMENT, printable
from steelyard.report.print import record as ticket_record
from steelyard.report.print import results as ticket_results
from steelyard.report.print.aboard import NOBODY, aboard_tables
from steelyard.report.print.left import left_tables
from steelyard.report.print.photos import TicketPhoto
from steelyard.report.print.road import road_content, road_troubles
from steelyard.report.print.states import StatePicture, said_of, state_pictures
from steelyard.report.print.thumbnails import NO_THUMBNAILS, Thumbnails, thumbnail_rows
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
_NARROWER = ("0.5", "0.6", "0.72", "0.86")
"""Shares of the full width to which the drawing is made smaller where that saves a third page."""

_COUNT = re.compile(rb"/Type\s*/Pages\s*/Count (\d+)")
_TEMPLATE = Path(__file__).parent / "ticket.typ"


def ticket_pdf(
    findings: Findings,
    *,
    paper: str = "letter",
    state: str | None = None,
    pictures: bool = True,
    photos: Sequence[TicketPhoto] = (),
    small: Thumbnails = NO_THUMBNAILS,
    sign: Sequence[str] = (),
    notes: Sequence[str] = (),
) -> bytes:
    """The ticket of a weigh day.

    PDF/UA-1, and PDF/A-2a where the day has a date (which PDF/A asks for). The only time in it is the day's own.

    Parameters
    ----------
    findings: of the weigh day.
    paper: ``letter`` or ``a4``.
    state: which state is drawn large; None draws the last measured one with the most vehicles.
    pictures: whether the other states are drawn too, behind the record.
    photos: photographs to print behind the record, each as ``printable_photo`` gives it.
    small: small pictures of displays to print beside their drafts.
    sign: the words under each line to sign on. notes: what is to be said of photographs that are not printed.

    Returns
    -------
    A PDF: one or two pages of record for a usual day, of more where there is more to say; then the pictures of the
    other states, and the photographs.

    Raises
    ------
    ValueError: the paper is neither of the two.
    KeyError: the day has no such state to draw.
    """
    if paper not in PAPERS:
        raise ValueError(f"a ticket is printed on {' or '.join(PAPERS)}, not on {paper!r}")
    drawn = _state_to_draw(findings) if state is None else state
    content = {**ticket_content(findings, drawn), "sign": list(sign)}
    others = list(state_pictures(findings, but=drawn)) if pictures else []
    added = {
        "pictures": _pictures(others),
        "photos": [photo.caption for photo in photos],
        "notes": list(notes),
        "displays": thumbnail_rows(findings.day, small.pictures),
        "unshown": list(small.notes),
    }
    inputs = {"paper": PAPERS[paper], "width": "1", "drawing": ""}
    if drawn is not None:
        inputs["drawing"] = draw(findings, drawn, against=None, sheet=PRINTED)
    archival = ticket_record.date_of(findings.day) is not None
    inputs["content"] = _json({**content, **{key: [] for key in added}})
    made, inputs["width"] = _fitted_in(inputs, archival=archival, drawn=drawn is not None)
    if not (others or photos or notes or small.pictures or small.notes):
        return made
    inputs["content"] = _json({**content, **added})
    inputs |= {f"picture-{number}": picture.svg for number, picture in enumerate(others)}
    files = {f"photo-{number}": photo.data for number, photo in enumerate(photos)}
    files |= {f"small-{number}": picture.data for number, picture in enumerate(small.pictures)}
    return _typeset(inputs, archival=archival, files=files)


def _fitted_in(inputs: dict[str, str], *, archival: bool, drawn: bool) -> tuple[bytes, str]:
    """The record, and the width of its drawing: smaller where that saves a third page."""
    made, width = _typeset(inputs, archival=archival), "1"
    if not drawn or _pages(made) != _USUAL + 1:
        return made, width
    low, high = 0, len(_NARROWER)  # the widest that fits, by halves
    while low < high:
        place = (low + high) // 2
        smaller = _typeset({**inputs, "width": _NARROWER[place]}, archival=archival)
        if _pages(smaller) == _USUAL:
            made, width, low = smaller, _NARROWER[place], place + 1
        else:
            high = place
    return made, width


def _pictures(pictures: Sequence[StatePicture]) -> list[dict[str, object]]:
    """The words beside each picture, and whether it needs the whole width of the page."""
    return [
        {"name": item.name, "basis": item.basis, "said": item.said, "wide": item.wide, "input": f"picture-{number}"}
        for number, item in enumerate(pictures)
    ]


def _json(content: dict[str, object]) -> str:
    return json.dumps(_printable(content), ensure_ascii=False, sort_keys=True)


def _typeset(inputs: dict[str, str], *, archival: bool, files: Mapping[str, bytes] | None = None) -> bytes:
    import typst

    with tempfile.TemporaryDirectory() as folder:
        root = Path(folder)
        page = root / _TEMPLATE.name
        page.write_bytes(_TEMPLATE.read_bytes())
        for name, data in (files or {}).items():
            (root / name).write_bytes(data)
        return typst.compile(
            page,
            root=root,
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
    road = rules_of(findings)
    on_paper = road_troubles(road)
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
        "aboard": aboard_tables(findings),
        "nobody": NOBODY,
        "drawn": None if drawn is None else _drawn(findings, drawn),
        "judged": bool(findings.verdicts or on_paper),
        "tally": ticket_results.tally(findings, by_papers=len(on_paper)),
        "troubles": [*ticket_results.troubles(findings), *on_paper],
        "left": left_tables(findings),
        "verdicts": ticket_results.verdict_tables(findings),
        "sources": ticket_results.verdict_sources(findings),
        "road": road_content(road),
        "findings": ticket_results.finding_tables(findings),
        "cargo": ticket_results.cargo_lines(findings),
        "moves": ticket_results.move_tables(findings),
        "contested": contested_sentences(findings),
        "gaps": ticket_results.gaps(findings),
        "agreement": ticket_results.agreement(findings),
        "drafts": ticket_record.drafts(day, suspects),
        "instruments": ticket_record.instruments(day),
        "method": [" ".join(line.split()) for line in METHOD],
        "cautions": [text for text in findings.cautions if text not in road.cautions],
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
    return {"name": state_words(state), "basis": basis, "said": said_of(findings, state, basis)}
