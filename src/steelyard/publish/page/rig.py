"""A day on the page: the verdict in short, its pictures, its limits and every finding, in the words of the commands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, cast
from urllib.parse import quote

from markupsafe import Markup

from steelyard.findings import Basis, Findings, worst_first
from steelyard.model import FindingId
from steelyard.publish.edition import PublishedDay, plain
from steelyard.publish.page.contracts import (
    FigureTable,
    FileLink,
    PagePicture,
    RigPart,
)
from steelyard.publish.pictures import THEMES, Picture
from steelyard.questions.rules import RulesAnswer, rules_of
from steelyard.report import pieces
from steelyard.report.tables.brief import brief_text
from steelyard.report.tables.moves import pairs

UNKNOWN = "not determined"
LINE = 160
"""Characters of one line of a verdict: a page has more room than a terminal."""


def rig_part(day: PublishedDay, pictures: Sequence[Picture], number: int) -> RigPart:
    """The part of the page about one day; ``number`` counts the days from 1."""
    findings = day.findings
    agreement = cast("dict[str, Any]", pieces.agreement(findings))
    road = rules_of(findings)
    return RigPart(
        anchor=f"day-{number}",
        title=day.title,
        said=_occasion(findings),
        brief=(*brief_text(findings, LINE).splitlines()[1:], *_papers(road)),
        warning="" if agreement["consistent"] and not agreement["suspects"] else agreement["warning"],
        figures=tuple(
            figure(picture, _caption(picture, findings), predicted=_predicted(picture, findings))
            for picture in pictures
        ),
        limits=tuple(one for one in pieces.limit_words(findings) if not one.rule),
        rules=pieces.rules_words(road),
        tables=(*_states(findings), *_changes(findings)),
        cargo=tuple(pieces.cargo_lines(findings)),
        contested=tuple(pieces.contested_sentences(findings)),
        agreement=agreement["words"],
        suspects=tuple(_suspects(agreement["suspects"])),
        gaps=tuple(pieces.gaps(findings)),
        files=(
            link(day.path, "The weigh day"),
            link(f"text/{day.name}-findings.txt", "Findings as text"),
            *([link(f"text/{day.name}-rules.txt", "Rules of the road as text")] if day.rules_path else []),
            link(f"tickets/{day.name}-letter.pdf", "Ticket, Letter"),
            link(f"tickets/{day.name}-a4.pdf", "Ticket, A4"),
        ),
    )


def link(path: str, words: str) -> FileLink:
    """A file of the folder as a link."""
    return FileLink(quote(path), words)


def figure(picture: Picture, said: str, *, predicted: bool = False) -> PagePicture:
    """A picture as it stands on the page, with all its files."""
    files = {
        shape: tuple(
            link(picture.path(shape, theme, ending), f"{theme} {ending.upper()}")
            for theme in THEMES
            for ending in ("svg", "png")
        )
        for shape in picture.shapes
    }
    wide, tall = picture.for_page()
    narrow = None if tall is None or tall == wide else Markup(tall)  # noqa: S704 - our own drawing, its texts are escaped
    return PagePicture(Markup(wide), narrow, picture.title, said, predicted, tuple(files.items()))  # noqa: S704 - the same


def _papers(road: RulesAnswer) -> Iterator[str]:
    """The rules that the papers do not keep, which the verdict in short does not know."""
    for one, text in pieces.paper_troubles(road):
        state = road.day.state_title(one.ruling.state)
        yield f"Outside by the papers, {state}: {one.ruling.label}. {text}"


def _occasion(findings: Findings) -> str:
    day = findings.day
    count = len(day.drafts)
    date = "" if day.record.date is None else day.record.date.isoformat()
    parts = [", ".join(vehicle.title for vehicle in day.vehicles.values()), date, day.site.name, day.record.tester]
    return "; ".join([plain(part) for part in parts if part] + [f"{count} draft{'' if count == 1 else 's'}"]) + "."


def _caption(picture: Picture, findings: Findings) -> str:
    """The finding of a picture in words: the limits of its state, and the one that is least surely kept."""
    if picture.since is not None:
        return "How much more every wheel, axle and coupling carries after than before."
    own = [item for item in findings.verdicts if FindingId.parse(item.finding).states == (picture.state,)]
    if not own:
        return "No limit is judged in this state."
    worst = worst_first(own)[0]
    name = pieces.title(worst, findings.day).partition(": ")[2]
    tightest = f" Nearest to its limit: {name}, met with a probability of {pieces.chance(worst.probability)}."
    return f"Limits: {pieces.summary(own)}.{tightest if worst.probability is not None else ''}"


def _predicted(picture: Picture, findings: Findings) -> bool:
    measured = findings.day.measured_states()
    return any(state not in measured for state in (picture.state, picture.since) if state is not None)


def _states(findings: Findings) -> Iterator[FigureTable]:
    measured = findings.day.measured_states()
    for name in findings.day.states:
        own = [item for item in findings.findings if FindingId.parse(item.id).states == (name,)]
        if own:
            groups = (*_left(findings, name), *pieces.figure_groups(findings, own))
            yield FigureTable(findings.day.state_title(name), name not in measured, groups)


def _left(findings: Findings, state: str) -> Iterator[pieces.FigureGroup]:
    """The room left under the ratings of a state, as every other report of the day has it; below zero it is over."""
    rows: list[pieces.FigureWords] = []
    for left in pieces.left_words(findings, state):
        said = [text for text in (left.mark, left.note, f"met with {left.chance}" if left.chance else "") if text]
        unit, note = findings.day.units.mass, "; ".join(said)
        rows.append(pieces.FigureWords(left.name, left.figures, unit, instead=left.instead, note=note))
    if rows:
        yield pieces.FigureGroup("What is left", tuple(rows))


def _changes(findings: Findings) -> Iterator[FigureTable]:
    """The changes that a person asks for; every other one stands in the data."""
    for before, after in pairs(findings.day):
        own = [item for item in findings.findings if FindingId.parse(item.id).states == (before, after)]
        told = [item for item in own if item.determined]
        if told:
            title = f"Change from {findings.day.state_title(before)} to {findings.day.state_title(after)}"
            predicted = any(item.basis is Basis.PREDICTED for item in told)
            yield FigureTable(title, predicted, pieces.figure_groups(findings, told, signed=True))


def _suspects(suspects: Sequence[dict[str, Any]]) -> Iterator[str]:
    for one in suspects:
        would = f" It would fit if: {'; or '.join(one['explanations'])}." if one["explanations"] else ""
        off = f"{one['off']} standard deviations from what the others say"
        yield f"{one['what'][:1].upper()}{one['what'][1:]}: reads {one['reading']}, {off}.{would}"
