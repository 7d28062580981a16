"""At the bench, as words: findings by state and by change, verdicts by trouble, agreement, history.

Nothing is reckoned here: every figure is a finding or a verdict, put into the reader's units by the report's pieces.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from urllib.parse import quote

from markupsafe import Markup, escape

from steelyard.conformity import Outcome
from steelyard.findings import STANDING, Basis, Finding, Findings, worst_first
from steelyard.model import Correction, Draft, FindingId, WeighDay
from steelyard.report import pieces
from steelyard.units import Dimension, UnitSystem
from steelyard.web.pages.bench.contracts import (
    BenchPage,
    CorrectionLine,
    DraftLine,
    FindingsSheet,
    LeftLine,
    ReadingLine,
    SealPart,
    SuspectLine,
)
from steelyard.web.pages.bench.photos import Album
from steelyard.web.pages.bench.road import road_part
from steelyard.web.pages.bench.taken import Taken
from steelyard.web.pages.days.contracts import AwayLine, DoneAct
from steelyard.web.pages.shell.contracts import PageLink, To
from steelyard.web.pages.shell.moment import moment

UNITS: Mapping[str, UnitSystem] = {"lb-in": UnitSystem("lb", "in"), "kg-mm": UnitSystem("kg", "mm")}
"""Units that a reader may ask for instead of the day's own, by their name in the address."""


_LISTED = 60
"""Drafts of the history on one page: a day may have thousands."""


def bench_page(
    day_id: str,
    findings: Findings,
    *,
    to: To,
    taken: Mapping[int, Taken],
    corrected: Mapping[int, Taken],
    chose: Mapping[int, Taken],
    seal: SealPart,
    others: Sequence[PageLink],
    pictures: Collection[str] = (),
    units: str | None = None,
    before: int | None = None,
    away: tuple[AwayLine, ...] = (),
    done: DoneAct | None = None,
) -> BenchPage:
    """The page of a day whose findings are worked out.

    Parameters
    ----------
    to: makes links. taken, corrected, chose: how its drafts, its corrections and its choices of rules came, by their
    numbers.
    seal: the seals of the day.
    others: days of the same vehicles. pictures: digests of the pictures that the station has.
    units: as in the address; None for the day's own.
    before: the number of the draft before which the history begins.
    away: the states that are put away. done: what was done with a state just now.
    """
    if units is not None:
        findings = replace(findings, day=replace(findings.day, units=UNITS[units]))
    day = findings.day
    shown = [draft for draft in day.drafts if before is None or draft.number < before][-_LISTED:]
    here = to("bench", day=day_id)

    def drawing_of(state: str) -> str:
        return to("drawing", day=day_id, state=quote(state, safe=""))

    limits = tuple(pieces.limit_words(findings))
    album = Album(day_id, to, pictures)
    drafts = tuple(_draft(album, day, draft, taken.get(draft.number), corrected) for draft in shown)
    earlier = f"{here}?before={shown[0].number}#history" if shown and shown[0].number > 1 else None
    return BenchPage(
        day_id,
        day.title or "Weigh day",
        _subtitle(day),
        day.units.mass,
        pieces.summary([item for item in findings.verdicts if not pieces.rule_id(item, day)]),
        pieces.summary(findings.verdicts),
        len(findings.verdicts),
        pieces.PLUS_MINUS,
        limits[0] if limits else None,
        tuple(pieces.broken_papers(findings)),
        tuple(item for item in limits if not item.rule),
        tuple(_states(drawing_of, findings)),
        tuple(_changes(drawing_of, findings)),
        _agreement(findings),
        tuple(_suspects(findings, taken)),
        drafts,
        tuple(findings.cautions),
        STANDING,
        _files(day_id, findings, to, pictured=bool(pictures) or any(came.photo for came in taken.values())),
        _drawings(day_id, findings, to),
        tuple(others),
        _units(here, day.units),
        road_part(findings, chose),
        seal,
        earlier,
        _contested(findings),
        pieces.contested_mark(findings) or "",
        away,
        done,
    )


def _subtitle(day: WeighDay) -> str:
    parts = [day.site.name, "" if day.record.date is None else day.record.date.isoformat(), day.record.tester]
    count = len(day.drafts)
    return ", ".join([part for part in parts if part] + [f"{count} draft{'' if count == 1 else 's'}"])


def _units(here: str, shown: UnitSystem) -> tuple[PageLink, ...]:
    return tuple(
        PageLink(f"{here}?units={key}", f"In {system.mass} and {system.length}")
        for key, system in UNITS.items()
        if system.mass != shown.mass
    )


def _contested(findings: Findings) -> tuple[str, ...]:
    """The mark of the whole, then the answers side by side; empty where nothing is contested."""
    marked = pieces.contested_mark(findings)
    if not marked:
        return ()
    whole = f"Readings contradict one another: {marked}. Which reading is wrong decides them."
    return (whole, *pieces.contested_sentences(findings))


# ---- findings ----


def _states(drawing_of: Callable[[str], str], findings: Findings) -> Iterator[FindingsSheet]:
    day = findings.day
    first, marks, measured = _first(findings), _marks(findings), day.measured_states()
    for name in day.states:
        own = [item for item in findings.findings if FindingId.parse(item.id).states == (name,)]
        if own:
            predicted = own[0].basis is Basis.PREDICTED
            words = "No draft of its own." if predicted else _count(day, name)
            groups, left = pieces.figure_groups(findings, own), tuple(_left(findings, name))
            yield FindingsSheet(
                f"s-{name}",
                day.state_title(name),
                words,
                groups,
                drawing_of(name),
                predicted,
                name == first,
                left,
                *_rig_alone(drawing_of(name)),
                marks.get(name, ""),
                name,
                name in measured,
            )
    cargo = [item for item in findings.findings if FindingId.parse(item.id).of_cargo]
    if cargo:
        groups = pieces.figure_groups(findings, cargo)
        yield FindingsSheet("cargo", "Cargo", "What the drafts say of cargo.", groups, "")


def _rig_alone(drawing: str) -> tuple[str, str]:
    """The addresses of the rig alone, for a phone and for a desk."""
    joined = "&" if "?" in drawing else "?"
    return f"{drawing}{joined}size=narrow&theme=light", f"{drawing}{joined}size=wide&theme=light"


def _first(findings: Findings) -> str | None:
    """The state that matters: that of the worst verdict, else the measured one with the most vehicles."""
    day = findings.day
    for verdict in worst_first([item for item in findings.verdicts if item.outcome is not None]):
        return FindingId.parse(verdict.finding).states[-1]
    measured = [name for name in day.states if name in day.measured_states()]
    return max(measured, key=lambda name: len(day.states[name].vehicles), default=next(iter(day.states), None))


def _marks(findings: Findings) -> dict[str, str]:
    """The outcome of the worst verdict of each state where that is outside or undecided."""
    marks: dict[str, str] = {}
    for verdict in worst_first(findings.verdicts):
        if verdict.outcome is not None and verdict.outcome is not Outcome.WITHIN:
            marks.setdefault(FindingId.parse(verdict.finding).states[-1], verdict.outcome.value)
    return marks


def _left(findings: Findings, state: str) -> Iterator[LeftLine]:
    """The room left under the ratings of a state, as every other report of the day has it."""
    for row in pieces.left_words(findings, state):
        if row.figures is None:
            yield LeftLine(row.name, row.instead, "", "", row.mark, row.note)
            continue
        mark = f" {pieces.CONTESTED}" if row.figures.contested else f" ± {row.figures.half}" if row.figures.half else ""
        room = f"{row.amount}{mark}{' over' if row.over else ''}"
        yield LeftLine(row.name, room, row.span, row.chance, row.mark, row.note)


def _count(day: WeighDay, state: str) -> str:
    """``3 drafts, and 1 raised``: one with something raised tells nothing of the loads on level ground."""
    drafts = [draft for draft in day.drafts if draft.state == state]
    raised = sum(bool(draft.raised) for draft in drafts)
    level = len(drafts) - raised
    words = f"{level} draft{'' if level == 1 else 's'}"
    return f"{words}, and {raised} with an axle or the coupling raised." if raised else f"{words}."


def _changes(drawing_of: Callable[[str], str], findings: Findings) -> Iterator[FindingsSheet]:
    pairs: dict[tuple[str, ...], list[Finding]] = {}
    for item in findings.findings:
        where = FindingId.parse(item.id)
        if where.change:
            pairs.setdefault(where.states, []).append(item)
    for (before, after), items in pairs.items():
        one, other = (findings.day.state_title(name) for name in (before, after))
        title = f"{one} to {other}"
        drawing = f"{drawing_of(after)}?against={quote(before)}"
        predicted = any(item.basis is Basis.PREDICTED for item in items)
        words = f"What {other} carries more than {one}."
        groups = pieces.figure_groups(findings, items, signed=True)
        alone = _rig_alone(drawing)
        sheet = FindingsSheet(f"c-{before}-{after}", title, words, groups, drawing, predicted)
        first = (before, after) == next(iter(pairs))
        yield replace(sheet, narrow=alone[0], wide=alone[1], first=first)


# ---- agreement and history ----


def _agreement(findings: Findings) -> str:
    result = findings.consistency
    if not findings.day.measured_states():
        return "There are no readings yet."
    if result.p is None:
        return (
            "Nothing tells: every reading is just needed, so a slip in one would pass unseen. "
            "One repeated draft, taken anew, would check them."
        )
    test = f"{pieces.global_test(result)}, p {' '.join(pieces.p_words(result.p))}"
    rare = pieces.how_rare(result.p)
    if result.consistent and not result.suspects:
        return f"Yes, within their stated doubt ({test}). {rare}"
    start = "As a whole they do" if result.consistent else "No"
    if not result.suspects:
        return f"{start} ({test}), and no single reading stands out. {rare}"
    return f"{start} ({test}). {rare} Look at {'this' if len(result.suspects) == 1 else 'these'} first:"


def _suspects(findings: Findings, taken: Mapping[int, Taken]) -> Iterator[SuspectLine]:
    for suspect in findings.consistency.suspects:
        came = taken.get(suspect.draft)
        yield SuspectLine(
            suspect.draft,
            "" if came is None else came.key,
            suspect.place,
            suspect.instrument,
            pieces.with_unit(suspect.reading, Dimension.MASS, findings.day.units),
            f"{abs(suspect.normalised_residual):.1f} standard deviations from what the others say. "
            + ("It would fit if:" if suspect.explanations else ""),
            suspect.explanations,
        )


def _draft(
    album: Album,
    day: WeighDay,
    draft: Draft,
    came: Taken | None,
    corrected: Mapping[int, Taken],
) -> DraftLine:
    made: dict[str, list[CorrectionLine]] = {}
    for number, item in enumerate(day.corrections, 1):
        if item.draft == draft.number and item.label is None:
            made.setdefault(item.place, []).append(_correction(day, item, corrected.get(number)))
    readings = tuple(
        ReadingLine(
            item.place.text,
            item.instrument,
            pieces.figure(item.value, Dimension.MASS, day.units),
            tuple(made.get(item.place.text, ())),
            album.lines(day.photographs_at(draft, item.place)),
        )
        for item in draft.readings
    )
    key = draft.key or ""
    older = (album.older(key),) if came is not None and came.photo else ()
    return DraftLine(
        draft.number,
        key,
        day.state_title(draft.state),
        day.label_of(draft) or "without a label",
        Markup() if draft.at is None else moment(draft.at),
        draft.note,
        Markup("Came with the file.")
        if came is None
        else Markup("Kept by {}, received {}.").format(came.device or "a script", came.received),
        readings,
        (*older, *album.lines(item for item in day.photographs_of(draft) if item.place is None)),
        bool(made),
        pieces.circumstances(day, draft),
    )


def _correction(day: WeighDay, item: Correction, came: Taken | None) -> CorrectionLine:
    now = "set aside" if item.value is None else pieces.figure(item.value, Dimension.MASS, day.units)
    at = moment(item.at) if item.at is not None else Markup() if came is None else came.received
    by = "in the file" if came is None else f"by {came.device or 'a script'}"
    return CorrectionLine(now, item.reason, Markup("{}, {}").format(by, at) if at else escape(by))


def _files(day_id: str, findings: Findings, to: To, *, pictured: bool) -> tuple[PageLink, ...]:
    links = [PageLink(to("file", day=day_id), "The day as a file")]
    if pictured:
        links.append(PageLink(to("folder", day=day_id), "The day with its photos, packed"))
    if findings.day.measured_states():
        ticket = to("ticket", day=day_id)
        links.append(PageLink(ticket, "Weigh ticket, letter"))
        links.append(PageLink(f"{ticket}?paper=a4", "Weigh ticket, A4"))
        if findings.day.photographs:
            links.append(PageLink(f"{ticket}?thumbnails=yes", "Weigh ticket with displays, letter"))
            links.append(PageLink(f"{ticket}?thumbnails=yes&paper=a4", "Weigh ticket with displays, A4"))
    return tuple(links)


def _drawings(day_id: str, findings: Findings, to: To) -> tuple[PageLink, ...]:
    day = findings.day
    return tuple(
        PageLink(to("drawing", day=day_id, state=quote(name, safe="")), f"Drawing: {day.state_title(name)}")
        for name, state in day.states.items()
        if state.vehicles
    )
