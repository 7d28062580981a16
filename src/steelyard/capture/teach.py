"""Teaching by example: a few lines as the box prints them, what it showed, and the patterns that fit, best first.

No maker's format is known here. A pattern is proposed only if it reads every labelled line that has its shape
as the person said; where more than one pattern does, it is said which further line would tell them apart.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from steelyard.capture.checks import WIDTH, Checksum, find_checksum, has_hex_tail
from steelyard.capture.doubts import doubts, open_questions
from steelyard.capture.layout import column_layout, layouts, same_length
from steelyard.capture.line import Chars, LinePart, LinePattern, LineReading, PartRole, mass_unit
from steelyard.capture.roles import Casting, Label, castings, number_spans, pattern_of, same_unit
from steelyard.capture.sample import TroubleKind
from steelyard.capture.shown import Shown
from steelyard.capture.stream import LONGEST
from steelyard.units import Dimension, units_of

_MOST_LINES = 60  # a person pastes a few; more would only cost time
_MOST_TRIED = 400  # castings looked at
_SHOWN = 5  # proposals handed back


@dataclass(frozen=True, slots=True)
class Example:
    """A line, and what was shown: nothing known, one thing, or one for each channel in the line."""

    line: str
    shown: tuple[Shown, ...] = ()


@dataclass(frozen=True, slots=True)
class PatternProposal:
    """A pattern that fits what was said.

    Attributes
    ----------
    pattern: it. preview: what it reads in each line, in order (the first sixty). read: how many lines it reads.
    notes: what it could not know.
    """

    pattern: LinePattern
    preview: tuple[LineReading, ...]
    read: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Teaching:
    """The proposals, best first, and what would settle which of them is right. No proposals: why not."""

    proposals: tuple[PatternProposal, ...]
    questions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Tail:
    """Text taken off the end of every line before the rest was examined."""

    checksum: Checksum | None = None
    cut: int = 0


def teach(examples: Sequence[Example], *, name: str, unit: str | None = None) -> Teaching:
    """Propose patterns for the lines of one box.

    Parameters
    ----------
    examples: lines, at least one with a value. name: of the pattern. unit: where neither lines nor persons say one.
    """
    lines = {number: example.line.rstrip("\r\n")[:LONGEST] for number, example in enumerate(examples[:_MOST_LINES])}
    said = [(number, shown) for number in lines for shown in examples[number].shown]
    for word in (unit, *(shown.unit for _, shown in said)):
        if word is not None and mass_unit(word) is None:
            return Teaching((), (f"{word!r} is not a unit of mass; say one of {', '.join(units_of(Dimension.MASS))}.",))
    labels = [
        Label(number, shown.value, shown.unit, shown.channel, shown.steady, shown.overload) for number, shown in said
    ]
    if not any(label.value is not None for label in labels):
        return Teaching((), ("Say for at least one line which number the box showed.",))
    ranked = sorted(_candidates(lines, labels, name=name, unit=unit), key=lambda each: each[0])
    different = {each[2].key: each for each in reversed(ranked)}  # of those with one key the best ranked remains
    best = [each for each in ranked if different[each[2].key] is each][:_SHOWN]
    if not best:
        return Teaching((), tuple(open_questions(lines, labels)))
    questions = doubts([casting for _, _, casting in best], labels)
    return Teaching(tuple(proposal for _, proposal, _ in best), tuple(dict.fromkeys(questions)))


def _candidates(
    lines: Mapping[int, str], labels: Sequence[Label], *, name: str, unit: str | None
) -> Iterator[tuple[tuple[float, ...], PatternProposal, Casting]]:
    """Every reading of the lines that agrees with the labels, with its rank (least first)."""
    for tail in _tails(lines, labels):
        for casting in islice(_castings(lines, labels, tail, unit=unit), _MOST_TRIED):
            pattern = _with_overload(_with_tail(pattern_of(casting, labels, name=name), tail), lines, labels)
            preview = {number: pattern.read(line) for number, line in lines.items()}
            if not _agrees(pattern, preview, casting, labels):
                continue
            read = sum(reading.trouble is None for reading in preview.values())
            missed = len({label.line for label in labels if label.value is not None} - set(casting.layout.lines))
            rank = (float(missed), float(-read), casting.cost + (0.0 if tail.checksum or not tail.cut else 0.5))
            notes = (*casting.notes, *_left_out(preview, labels))
            yield rank, PatternProposal(pattern, tuple(preview.values()), read, notes), casting


def _castings(lines: Mapping[int, str], labels: Sequence[Label], tail: _Tail, *, unit: str | None) -> Iterator[Casting]:
    """Castings by tokens, then by columns."""
    cut = {number: line[: len(line) - tail.cut] for number, line in lines.items()}
    labelled = sorted({label.line for label in labels if label.value is not None})
    for layout in layouts(cut, labelled):
        yield from castings(layout, labels, unit=unit)
    counted = same_length(cut, labelled)
    for spans, style in number_spans(counted, labels):
        yield from castings(column_layout(counted, spans, style), labels, unit=unit)


def _tails(lines: Mapping[int, str], labels: Sequence[Label]) -> Iterator[_Tail]:
    """A checksum that holds for all lines; else the lines as they are, and as if they ended with an unknown one."""
    checksum = find_checksum(list(lines.values()))
    if checksum is not None:
        yield _Tail(checksum, WIDTH)
        return
    yield _Tail()
    labelled = [lines[label.line] for label in labels]
    if len({line[-WIDTH:] for line in labelled}) > 1 and has_hex_tail(labelled):
        yield _Tail(None, WIDTH)


def _with_tail(pattern: LinePattern, tail: _Tail) -> LinePattern:
    if not tail.cut:
        return pattern
    role = PartRole.CHECK if tail.checksum is not None else PartRole.SKIP
    parts = (*pattern.parts, LinePart(role, width=tail.cut, chars=Chars.HEX))
    return replace(pattern, parts=parts, checksum=tail.checksum)


def _with_overload(pattern: LinePattern, lines: Mapping[int, str], labels: Sequence[Label]) -> LinePattern:
    signs = (sign for label in labels if label.overload for sign in pattern.signs_of_overload(lines[label.line]))
    return replace(pattern, overload=tuple(dict.fromkeys(signs)))


def _agrees(
    pattern: LinePattern, preview: Mapping[int, LineReading], casting: Casting, labels: Sequence[Label]
) -> bool:
    """Whether the pattern reads every labelled line of its shape as the person said."""
    for label in labels:
        if label.line not in casting.layout.lines or label.value is None:
            continue
        if label.unit is not None and not same_unit(label.unit, pattern.unit):
            if preview[label.line].trouble is None:
                return False  # it was said to be in another unit, which must be seen
            continue
        readings = preview[label.line].readings
        mine = [each for each in readings if label.channel is None or each.channel in (label.channel, "")]
        if len(mine) != 1 or mine[0].shown is None or abs(mine[0].shown - label.value) > 1e-9 * abs(label.value):
            return False
        if label.steady is not None and mine[0].stable_mark not in (None, label.steady):
            return False
    return bool(pattern.parts)


def _left_out(preview: Mapping[int, LineReading], labels: Sequence[Label]) -> Iterator[str]:
    expected = {label.line for label in labels if label.overload}
    for number, reading in preview.items():
        if reading.trouble is not None and reading.trouble.kind is not TroubleKind.UNIT and number not in expected:
            yield f"Line {number + 1} is not read: {reading.trouble.words}"
