"""Captions of a video in WebVTT: what the picture of the moment shows, in plain titles and figures.

Source: W3C, WebVTT: The Web Video Text Tracks Format, Candidate Recommendation of 2019-04-04, section 4 (syntax).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from xml.sax.saxutils import escape

from steelyard.findings import Findings
from steelyard.model import Measurand, axle_load, combination_gross, coupling_quantity, gross_load
from steelyard.questions.above import PlacedCoupling, rig_of
from steelyard.report.drawings.above.head import heading, notice
from steelyard.report.drawings.above.values import Figure, Reader, Standing
from steelyard.report.drawings.sheet.canvas import clean
from steelyard.report.words.left import TITLE, left_words
from steelyard.report.words.names import shown

_TURNS = re.compile("[\u202a-\u202e\u2066-\u2069]")  # marks that turn the direction of a line, figures included

_ABOUT = (
    "Loads as they were known at each moment, held until the next. A 95 % interval holds the true load in 95 of 100 "
    "such weighings."
)


@dataclass(frozen=True, slots=True)
class Cue:
    """One caption: when it begins and ends [ms], and its lines."""

    start: int
    end: int
    lines: tuple[str, ...]


def web_vtt(cues: Iterable[Cue]) -> str:
    """A WebVTT file of ``cues``, which are in order of time and do not overlap.

    Text may hold anything: ``&``, ``<`` and ``>`` are escaped, so that no title can end a cue or begin a tag.
    """
    blocks = ["WEBVTT", f"NOTE\n{_ABOUT}"]
    for number, cue in enumerate(cues, 1):
        lines = [_plain(line) for line in cue.lines]
        blocks.append("\n".join([str(number), f"{_stamp(cue.start)} --> {_stamp(cue.end)}", *filter(None, lines)]))
    return "\n\n".join(blocks) + "\n"


def caption_lines(findings: Findings, state: str, head: str) -> tuple[str, ...]:
    """The caption of the picture of ``state``, line by line: gross, axles, coupling loads, and the rating that binds.

    The wheels are left to the picture.

    Parameters
    ----------
    head: before the state's name in the first line, such as the time and the title of the draft; may be empty.
    """
    reader = Reader(findings, state)
    rig = rig_of(findings.day, findings.day.states[state])
    lines = [f"{head}{': ' if head else ''}{heading(reader, rig)}"]
    for placed in rig.vehicles:
        vehicle, title = placed.vehicle, placed.vehicle.title
        lines += _line(reader, f"{title}, gross", gross_load(vehicle.id), vehicle.ratings.gvwr, "gvwr")
        for axle in placed.axles:
            where = axle_load(vehicle.id, axle.number)
            lines += _line(reader, f"{title}, axle {axle.number}", where, axle.axle.rating, "rating")
    for coupling in rig.couplings:
        lines += _coupling(reader, coupling)
    towing = [coupling.towing for coupling in rig.couplings]
    ratings = (item.vehicle.ratings.gcwr for item in rig.vehicles if item.vehicle.id in towing)
    lines += _line(reader, "Combination, all wheels", combination_gross(), next(ratings, None), "gcwr")
    lines += _left(reader)
    if len(lines) == 1:
        lines.append("No figures: the supports do not hold it up." if reader.tips else "No figures.")
    if reader.contradicted:
        lines.append(notice(reader))
    return tuple(lines)


def _coupling(reader: Reader, coupling: PlacedCoupling) -> Iterator[str]:
    title = reader.findings.day.vehicles[coupling.trailer].title
    name = f"{title}, load on its {'stand' if coupling.towing is None else 'coupling'}"
    rating = None if coupling.coupling is None else coupling.coupling.vertical
    yield from _line(reader, name, coupling_quantity(coupling.number, "load"), rating, "vertical")


def _line(reader: Reader, name: str, measurand: Measurand, rating: float | None, requirement: str) -> Iterator[str]:
    """One quantity with its interval; nothing where the day has no such quantity."""
    drawn = reader.figure(measurand, rating, names=(requirement,))
    if drawn is None:
        return
    figures = shown(reader.finding(measurand), reader.units)
    if figures is None:
        yield f"{name}: {drawn.text}"
    elif figures.contested:
        yield f"{name}: {figures.low} to {figures.high} {figures.unit}, contested{_standing(reader, drawn)}"
    else:
        interval = f", 95 % interval {figures.low} to {figures.high}" if figures.half else ""
        yield f"{name}: {figures.value} {figures.unit}{interval}{_standing(reader, drawn)}"


def _left(reader: Reader) -> Iterator[str]:
    """The rating that binds first with its room; nothing where no rating of the state is known to bind."""
    for row in left_words(reader.findings, reader.state):
        if not row.mark or row.figures is None:
            continue
        owner = f"{reader.findings.day.vehicles[row.owner].title}, " if row.owner else ""
        unit, interval = row.figures.unit, f", 95 % interval {row.span}" if row.span else ""
        room = f"{row.amount} {unit} {'over' if row.over else 'left'}{interval}"
        if row.figures.contested:
            room = f"{row.span} {unit}, contested"
        yield f"{TITLE}: {owner}{row.what}, {room}; {row.mark}"


def _standing(reader: Reader, drawn: Figure) -> str:
    if drawn.standing is Standing.PLAIN or drawn.rating is None:
        return ""
    rating = f"{reader.mass(drawn.rating)} {reader.units.mass}"
    if drawn.standing is Standing.OVER:
        return f"; over its rating of {rating}"
    return f"; undecided against its rating of {rating}"


def _plain(text: str) -> str:
    """A line of a cue: it holds no line end, which would end it, and nothing that begins a tag or turns the line."""
    return escape(" ".join(_TURNS.sub("\N{REPLACEMENT CHARACTER}", clean(text)).split()))


def _stamp(milliseconds: int) -> str:
    seconds, rest = divmod(milliseconds, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02}:{minutes:02}:{seconds:02}.{rest:03}"
