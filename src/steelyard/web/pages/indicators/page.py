"""Indicators, in words and as data: what is connected, which pad is what, and how a box is taught by its lines."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, replace

from steelyard.capture import (
    Example,
    LinePattern,
    LineReading,
    PatternError,
    Shown,
    ShownError,
    parse_shown,
    pattern_from_json,
    pattern_to_json,
    teach,
)
from steelyard.store import Kept
from steelyard.units import Dimension, read_number, units_of
from steelyard.web.station.indicators import IndicatorCard

_MOST_LINES = 60
_SHOWN = re.compile(
    r"(?P<value>[-+\N{MINUS SIGN}]?\d+(?:\.\d+)?)[ \t]*"
    r"(?P<unit>(?!steady|moving)[A-Za-z]*)[ \t]*(?P<mark>steady|moving)?",
    re.IGNORECASE,
)
_EITHER = re.compile(r"(?<![0-9])[0-9]{1,3},[0-9]{3}(?![0-9])")
_STEADY = {"steady": True, "moving": False}
_ESCAPED = re.compile(r"\\x([0-9a-f]{2})")


@dataclass(frozen=True, slots=True)
class PatternLine:
    """A pattern that was taught, and what is read by it."""

    name: str
    said: str


@dataclass(frozen=True, slots=True)
class ReadLine:
    """The reading of one line by a proposed pattern; ``trouble`` where the line is not a reading."""

    line: str
    said: str
    trouble: bool = False


@dataclass(frozen=True, slots=True)
class ProposalCard:
    """A pattern that would fit: what it reads, what it could not know, and itself as JSON, to be kept."""

    read: tuple[ReadLine, ...]
    notes: tuple[str, ...]
    pattern: str


@dataclass(frozen=True, slots=True)
class IndicatorsPage:
    """The page: what is connected, what was taught, what is proposed for lines that were pasted.

    Attributes
    ----------
    pads: those of the days at hand and of the yard. said: what was just done. fault: what could not be done.
    ticked: the instruments to be read by what is proposed, unless somebody unticks them.
    """

    indicators: tuple[IndicatorCard, ...]
    patterns: tuple[PatternLine, ...]
    pads: tuple[str, ...]
    lines: str = ""
    shown: str = ""
    name: str = ""
    proposals: tuple[ProposalCard, ...] = ()
    questions: tuple[str, ...] = ()
    said: str = ""
    fault: str = ""
    ticked: tuple[str, ...] = ()


def taught_lines(kept: Iterable[Kept], indicators: Iterable[IndicatorCard]) -> tuple[PatternLine, ...]:
    """The taught patterns, by name, and the instruments that each reads."""
    readers: dict[str, list[str]] = {}
    for card in indicators:
        if card.pattern is not None:
            readers.setdefault(card.pattern, []).append(card.name)
    found: list[PatternLine] = []
    for item in kept:
        reads = ", ".join(readers.get(item.name, ()))
        said = f"version {item.version}, {item.saved:%Y-%m-%d}" + (f"; reads {reads}" if reads else "")
        found.append(PatternLine(item.name, said))
    return tuple(found)


def with_lines_of(page: IndicatorsPage, name: str) -> IndicatorsPage:
    """The page with the last lines of an instrument, ready to be taught."""
    card = next((item for item in page.indicators if item.name == name and item.lines), None)
    if card is None:
        return page
    return replace(page, lines="\n".join(card.lines), name=card.name, ticked=(card.name,))


def proposed(page: IndicatorsPage, form: Mapping[str, str], ticked: Collection[str] = ()) -> IndicatorsPage:
    """The page again with what would fit the lines pasted."""
    pasted, said = form.get("lines", ""), form.get("shown", "")
    lines = [line for line in pasted.splitlines() if line.strip()][:_MOST_LINES]
    name = form.get("name", "").strip()
    chosen = set(ticked) | {card.name for card in page.indicators if card.needs_pattern}
    page = replace(page, lines=pasted, shown=said, name=name, ticked=tuple(sorted(chosen)))
    try:
        shown = _what_it_showed(said, len(lines))
    except ShownError as error:
        return replace(page, questions=(str(error),))
    raw = [_ESCAPED.sub(lambda code: chr(int(code[1], 16)), line) for line in lines]
    found = teach([Example(line, each) for line, each in zip(raw, shown, strict=True)], name=name or "box")
    proposals: list[ProposalCard] = []
    for item in found.proposals:
        read = tuple(ReadLine(line, *_words(each)) for line, each in zip(lines, item.preview, strict=False))
        proposals.append(ProposalCard(read, item.notes, pattern_to_json(item.pattern)))
    questions = found.questions or (() if proposals else ("No pattern reads these lines as you say.",))
    return replace(page, proposals=tuple(proposals), questions=questions)


def checked(text: str, name: str) -> LinePattern:
    """A pattern that came back with a form, under the name that it will have.

    Raises
    ------
    PatternError: it is none.
    """
    if len(text) > 100_000:
        raise PatternError("is too long")
    return replace(pattern_from_json(text), name=name)


def _what_it_showed(text: str, count: int) -> list[tuple[Shown, ...]]:
    """The values shown for each of ``count`` lines: row by row, or in one row one number after the other."""
    rows = text.rstrip().splitlines()
    by_row = len(rows) > 1 or count == 1 or ";" in text
    said = [parse_shown(row) for row in rows] if by_row else _in_a_row(text)
    if len(said) == 1:
        return said * count
    return (said + [()] * count)[:count]


def _in_a_row(text: str) -> list[tuple[Shown, ...]]:
    known = units_of(Dimension.MASS)
    said: list[tuple[Shown, ...]] = []
    doubtful = _EITHER.search(text)
    if doubtful is not None:
        raise ShownError(
            f"{doubtful[0]!r} could be one number or two; write a number without commas, and a space between two"
        )
    for match in _SHOWN.finditer(text):
        value = read_number(match["value"])
        unit = match["unit"].lower()
        steady = _STEADY.get((match["mark"] or "").lower())
        said.append((Shown(value, unit if unit in known else None, steady=steady),))
    return said


def _words(read: LineReading) -> tuple[str, bool]:
    if read.trouble is not None:
        return read.trouble.words, True
    parts: list[str] = []
    trouble = False
    for item in read.readings:
        name = f"{item.channel}: " if item.channel else ""
        if item.trouble is not None:
            parts.append(name + item.trouble.words)
            trouble = True
            continue
        mark = {True: ", steady", False: ", moving", None: ""}[item.stable_mark]
        parts.append(f"{name}{item.shown:g}{mark}" if item.shown is not None else f"{name}nothing")
    return "; ".join(parts), trouble
