"""The ticket: the printed record of a weigh day, as a PDF that is archival, accessible and the same every time."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import cast

from steelyard import __version__
from steelyard.findings import STANDING, Findings
from steelyard.model import digest_of
from steelyard.questions.rules import rules_of
from steelyard.report.drawings.above.paper import PRINTED
from steelyard.report.drawings.above.view import draw
from steelyard.report.drawings.sheet.type import REPLACEMENT, printable
from steelyard.report.print import record as ticket_record
from steelyard.report.print import results as ticket_results
from steelyard.report.print.aboard import NOBODY, aboard_tables
from steelyard.report.print.left import left_tables
from steelyard.report.print.making import Making
from steelyard.report.print.photos import TicketPhoto
from steelyard.report.print.road import road_content, road_troubles
from steelyard.report.print.sealed import SealMismatchError, SealToPrint, attachments, seal_content
from steelyard.report.print.states import StatePicture, said_of, state_pictures
from steelyard.report.print.thumbnails import NO_THUMBNAILS, Thumbnails, thumbnail_rows
from steelyard.report.print.typeset import TicketSetting, fitted_in, pages_of, with_seal_in
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
_BEHIND = ("pictures", "photos", "notes", "displays", "unshown")
"""Parts of the content that stand behind the record."""


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
    seal: SealToPrint | None = None,
) -> bytes:
    """The ticket of a weigh day.

    PDF/UA-1, and PDF/A-2a where the day has a date (which PDF/A asks for). The only time in it is the day's own.
    With a seal it is PDF/A-3a, which may carry files; a day without a date then has that of its sealing.

    Parameters
    ----------
    findings: of the weigh day.
    paper: ``letter`` or ``a4``.
    state: which state is drawn large; None draws the last measured one with the most vehicles.
    pictures: whether the other states are drawn too, behind the record.
    photos: photographs to print behind the record, each as ``printable_photo`` gives it.
    small: small pictures of displays to print beside their drafts.
    sign: the words under each line to sign on. notes: what is to be said of photographs that are not printed.
    seal: of this day, to print and to attach; None for a ticket without one.

    Returns
    -------
    A PDF: one or two pages of record for a usual day, of more where there is more to say; then the pictures of the
    other states, and the photographs.

    Raises
    ------
    ValueError: the paper is neither of the two. SealMismatchError: the seal is that of another day.
    KeyError: the day has no such state to draw.
    """
    if paper not in PAPERS:
        raise ValueError(f"a ticket is printed on {' or '.join(PAPERS)}, not on {paper!r}")
    drawn = _state_to_draw(findings) if state is None else state
    content = {**ticket_content(findings, drawn), "sign": list(sign), **dict.fromkeys(_BEHIND, ())}
    picture = "" if drawn is None else draw(findings, drawn, against=None, sheet=PRINTED)
    inputs = {"paper": PAPERS[paper], "drawing": picture, "content": _json(content)}
    record = TicketSetting(inputs, ("ua-1",) if content["date"] is None else ("a-2a", "ua-1"), drawn is not None)
    made, width = fitted_in(record)
    others = list(state_pictures(findings, but=drawn)) if pictures else []
    behind: dict[str, object] = {
        "pictures": _pictures(others),
        "photos": [photo.caption for photo in photos],
        "notes": list(notes),
        "displays": thumbnail_rows(findings.day, small.pictures),
        "unshown": list(small.notes),
    }
    if seal is not None:
        making = Making(
            paper,
            state,
            pictures,
            captions=tuple(photo.caption for photo in photos),
            shown=tuple(picture.said for picture in small.pictures),
            sign=tuple(sign),
            notes=tuple(notes),
            unshown=small.notes,
            rules=seal.rules,
            day_name=seal.day_name,
        )
        record, said = _with_seal(record, findings, seal, making)
        content |= said
        if not any(behind.values()):
            return with_seal_in(record.having(content=_json(content)), width, before=pages_of(made))
    elif not any(behind.values()):
        return made
    svgs = {f"picture-{number}": other.svg for number, other in enumerate(others)}
    whole = record.having(content=_json({**content, **behind}), width=width, **svgs)
    files = {f"photo-{number}": photo.data for number, photo in enumerate(photos)}
    files |= {f"small-{number}": picture.data for number, picture in enumerate(small.pictures)}
    return whole.with_files(files).pdf


def _with_seal(
    record: TicketSetting, findings: Findings, seal: SealToPrint, making: Making
) -> tuple[TicketSetting, dict[str, object]]:
    """The record as it is set with a seal, and what the template is to say of it."""
    if seal.seal.record.readings.hex() != digest_of(findings.day):
        raise SealMismatchError("the seal is that of other readings than those of this day")
    attached, when = attachments(seal, making), seal.seal.record.when
    files = {f"attached-{item.name}": item.data for item in attached}
    content, code = seal_content(seal)
    said: dict[str, object] = {"seal": content, "attached": [item.told for item in attached]}
    if ticket_record.date_of(findings.day) is None:
        said["dated"] = [when.year, when.month, when.day]  # PDF/A wants a date
    return replace(record.having(code=code), standards=("a-3a", "ua-1"), files=files), said


def _pictures(pictures: Sequence[StatePicture]) -> list[dict[str, object]]:
    """The words beside each picture, and whether it needs the whole width of the page."""
    return [
        {"name": item.name, "basis": item.basis, "said": item.said, "wide": item.wide, "input": f"picture-{number}"}
        for number, item in enumerate(pictures)
    ]


def _json(content: dict[str, object]) -> str:
    return json.dumps(_printable(content), ensure_ascii=False, sort_keys=True)


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
    return {"name": findings.day.state_title(state), "basis": basis, "said": said_of(findings, state, basis)}
