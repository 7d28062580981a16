"""Indicators: what is connected, and how a box is taught: lines as it prints them, what it showed, what fits."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from steelyard.capture import Example, LineReading, Live, PatternError, Shown, pattern_from_json, pattern_to_json, teach
from steelyard.store import Kept
from steelyard.units import Dimension, units_of
from steelyard.web.contracts import Channel, IndicatorsPage, Link, ProposalCard, ReadLine

_MOST_LINES = 60
_SHOWN = re.compile(
    r"(?P<value>[-+\N{MINUS SIGN}]?\d+(?:\.\d+)?)[ \t]*"
    r"(?P<unit>(?!steady|moving)[A-Za-z]*)[ \t]*(?P<mark>steady|moving)?",
    re.IGNORECASE,
)
_STEADY = {"steady": True, "moving": False}


def channels(live: Mapping[str, Live], sources: Mapping[str, str]) -> tuple[Channel, ...]:
    """The live channels in words."""
    return tuple(Channel(name, sources.get(name, ""), _state(item)) for name, item in sorted(live.items()))


def _state(live: Live) -> str:
    trouble = live.sample.trouble
    if trouble is not None:
        return trouble.words
    return live.settled.why


def patterns(kept: Iterable[Kept]) -> tuple[Link, ...]:
    """What was taught, by name."""
    return tuple(Link("", item.name, f"version {item.version}, {item.saved:%Y-%m-%d}") for item in kept)


def proposed(page: IndicatorsPage, form: Mapping[str, str]) -> IndicatorsPage:
    """The page again with what would fit the lines pasted."""
    lines = [line for line in form.get("lines", "").splitlines() if line.strip()][:_MOST_LINES]
    name = form.get("name", "").strip() or "box"
    shown = _what_it_showed(form.get("shown", ""), len(lines))
    found = teach([Example(line, said) for line, said in zip(lines, shown, strict=True)], name=name)
    cards: list[ProposalCard] = []
    for item in found.proposals:
        read = tuple(ReadLine(line, *_words(said)) for line, said in zip(lines, item.preview, strict=False))
        cards.append(ProposalCard(read, item.notes, pattern_to_json(item.pattern)))
    questions = found.questions or (() if cards else ("No pattern reads these lines as you say.",))
    return IndicatorsPage(
        page.channels,
        page.patterns,
        form.get("lines", ""),
        form.get("shown", ""),
        form.get("name", ""),
        tuple(cards),
        questions,
    )


def checked(text: str) -> str:
    """A pattern that came back with a form, as it will be kept.

    Raises
    ------
    PatternError: it is none.
    """
    if len(text) > 100_000:
        raise PatternError("is too long")
    return pattern_to_json(pattern_from_json(text))


def _what_it_showed(text: str, count: int) -> list[tuple[Shown, ...]]:
    """One number for each line, in order, with its unit and mark; one number alone is that of every line."""
    known = units_of(Dimension.MASS)
    said: list[tuple[Shown, ...]] = []
    for match in _SHOWN.finditer(re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)):
        value = float(match["value"].replace("\N{MINUS SIGN}", "-"))
        unit = match["unit"].lower()
        steady = _STEADY.get((match["mark"] or "").lower())
        said.append((Shown(value, unit if unit in known else None, steady=steady),))
    if len(said) == 1:
        return said * count
    return (said + [()] * count)[:count]


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
