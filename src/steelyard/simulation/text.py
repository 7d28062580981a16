"""The text of a day with room for other readings: all that its author wrote stays, comments and order included.

Readings are looked for in the order of the file, each behind the name of its instrument. Whether the right numbers were
found is not taken on trust: the text is read back with other readings in them, and must give exactly these. Where it
does not, the program's own writing of the day is taken.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal

from steelyard.dayfile import DayFileError, parse_day, write_day
from steelyard.model import Correction, Draft, WeighDay, WrittenReading
from steelyard.simulation.fault import SimulationError
from steelyard.units import UNITS, Dimension, parse_quantity

_QUIET = re.compile(
    r"""(?s:"{3}(?:[^\\]|\\.)*?"{3,5}|'{3}.*?'{3,5})|(?P<keep>"(?:[^"\\\n]|\\.)*"|'[^'\n]*')|\#[^\n]*"""
)
_VALUE = r"""(?P<value>[+-]?[0-9][0-9_.eE+-]*|"[^"\n]*"|'[^'\n]*')"""
_DRAFTS = re.compile(r"^[ \t]*(?:\[\[[ \t]*drafts[ \t]*\]\]|drafts[ \t]*=)", re.MULTILINE)
_CORRECTIONS = re.compile(r"^[ \t]*(?:\[\[[ \t]*corrections[ \t]*\]\]|corrections[ \t]*=)", re.MULTILINE)
_PHOTOGRAPHS = re.compile(r"^[ \t]*\[\[[ \t]*photographs[ \t]*\]\].*?(?=^[ \t]*\[|\Z)", re.MULTILINE | re.DOTALL)
_CORRECTED = re.compile(rf"\bvalue[ \t]*=[ \t]*{_VALUE}")
_TITLE = re.compile(r"""^[ \t]*title[ \t]*=[ \t]*(?P<value>"(?:[^"\\\n]|\\.)*"|'[^'\n]*')""", re.MULTILINE)
_FORMAT = re.compile(r"^[ \t]*format[ \t]*=[^\n]*\n", re.MULTILINE)
_HEADER = re.compile(r"^[ \t]*\[", re.MULTILINE)


@dataclass(frozen=True)
class WrittenSlot:
    """How one reading is written: by its instrument, in a unit, with quotes or as a bare number.

    ``division`` is that of the instrument in ``unit``; ``step`` the same in kilograms.
    """

    draft: int
    place: str
    instrument: str
    division: Decimal
    step: float
    unit: str
    quote: str
    _texts: dict[int, str] = field(default_factory=dict[int, str], compare=False, repr=False)

    def text(self, count: int) -> str:
        """The text of so many divisions, in the file's way of writing."""
        found = self._texts.get(count)
        if found is None:
            found = self._texts[count] = self._text(count)
        return found

    def _text(self, count: int) -> str:
        number = f"{(count * self.division).normalize():f}"
        return f"{self.quote}{number} {self.unit}{self.quote}" if self.quote else number

    def value(self, count: int) -> float:
        """The same in kilograms, as a reader of the file takes it."""
        return float(f"{count * self.division:f}") * UNITS[self.unit].factor


@dataclass(frozen=True)
class DayPattern:
    """The text of a day in pieces: before, between and behind its title and its readings.

    Attributes
    ----------
    pieces: one more than ``slots``. slots: what stands between two pieces: a reading, or None for the title.
    kept: what its author wrote in each slot. title: as its author wrote it.
    rewritten: whether the text is the program's writing of the day, not its author's.
    """

    pieces: tuple[str, ...]
    slots: tuple[WrittenSlot | None, ...]
    kept: tuple[str, ...]
    title: str
    rewritten: bool = False

    def filled(self, title: str, counts: Sequence[int | None]) -> str:
        """The text with a title and so many divisions in each slot that is a reading; None leaves what stood there."""
        out = [self.pieces[0]]
        for piece, slot, count, kept in zip(self.pieces[1:], self.slots, counts, self.kept, strict=True):
            out += (_quoted(title) if slot is None else kept if count is None else slot.text(count), piece)
        return "".join(out)


def pattern_of(day: WeighDay, text: str) -> DayPattern:
    """The pattern of a sound day and its text.

    Raises
    ------
    SimulationError: its readings are found neither in the text nor in the program's own writing of it.
    """
    bare = replace(day, photographs=())
    for own, candidate in ((False, text.removeprefix("\ufeff").replace("\r\n", "\n")), (True, write_day(bare))):
        found = _pattern(day, candidate, rewritten=own)
        if found is not None and _gives_back(bare, found):
            return found
    raise SimulationError('its readings could not be found in its text; write them as in ["p1", 2960]')


def _pattern(day: WeighDay, text: str, *, rewritten: bool) -> DayPattern | None:
    text = _PHOTOGRAPHS.sub("", text) if day.photographs else text
    masked = _QUIET.sub(lambda found: found[0] if found["keep"] else re.sub(r"[^\n]", " ", found[0]), text)
    spots = _title_spot(masked)
    try:
        marks = [*_readings(day, masked), *_corrections(day, masked)]
    except (LookupError, ValueError):
        return None
    if spots is None or [mark[0] for mark in marks] != sorted(mark[0] for mark in marks):
        return None
    head, cuts = spots
    pieces, slots, kept = [text[: cuts[0]] + head], list[WrittenSlot | None]([None]), [""]
    at = cuts[1]
    for begin, end, slot in marks:
        pieces.append(text[at:begin])
        slots.append(slot)
        kept.append(text[begin:end])
        at = end
    pieces.append(text[at:])
    if head:
        pieces[1] = "\n" + pieces[1]
    return DayPattern(tuple(pieces), tuple(slots), tuple(kept), day.title, rewritten)


def _title_spot(masked: str) -> tuple[str, tuple[int, int]] | None:
    """Text to write before the title, and the span of the title: an empty one behind the format where it has none."""
    header = _HEADER.search(masked)
    limit = len(masked) if header is None else header.start()
    found = _TITLE.search(masked, 0, limit)
    if found is not None:
        return "", found.span("value")
    known = _FORMAT.search(masked, 0, limit)
    return None if known is None else ("title = ", (known.end(), known.end()))


def _readings(day: WeighDay, masked: str) -> Iterator[tuple[int, int, WrittenSlot]]:
    """Where each written reading stands, in the order of the file.

    Raises
    ------
    LookupError: one is not found.
    """
    start = _DRAFTS.search(masked)
    if start is None:
        raise LookupError("drafts")
    at = start.end()
    for draft in day.drafts:
        for reading in draft.readings:
            name = re.escape(reading.instrument)
            found = re.compile(rf"""["']{name}["']\s*,\s*{_VALUE}""").search(masked, at)
            if found is None:
                raise LookupError(reading.place.text)
            at = found.end()
            yield (*found.span("value"), _written(day, draft, reading.place.text, reading.instrument, found["value"]))


def _corrections(day: WeighDay, masked: str) -> Iterator[tuple[int, int, WrittenSlot]]:
    """Where the value of each correction stands that has one."""
    wanted = [item for item in day.corrections if item.value is not None]
    start = _CORRECTIONS.search(masked) if wanted else None
    at = len(masked) if start is None else start.end()
    for item in wanted:
        found = _CORRECTED.search(masked, at)
        if found is None:
            raise LookupError(item.place)
        at = found.end()
        draft = day.drafts[item.draft - 1]
        instrument = _reading_of(draft, item).instrument
        yield (*found.span("value"), _written(day, draft, item.place, instrument, found["value"]))


def _reading_of(draft: Draft, item: Correction) -> WrittenReading:
    return next(reading for reading in draft.readings if reading.place.text == item.place)


def _written(day: WeighDay, draft: Draft, place: str, instrument: str, raw: str) -> WrittenSlot:
    quote = raw[0] if raw[0] in "\"'" else ""
    unit = day.units.mass
    if quote:
        parse_quantity(raw[1:-1], Dimension.MASS)
        unit = re.sub(r"^[^A-Za-z]*", "", raw[1:-1]).strip() or unit
    step = day.instruments[instrument].division
    division = Decimal(f"{step / UNITS[unit].factor:.12g}")
    return WrittenSlot(draft.number, place, instrument, division, step, unit, quote)


def _gives_back(day: WeighDay, pattern: DayPattern) -> bool:
    """Whether the pattern, filled with other readings, is read as the same day with exactly these."""
    slots = pattern.slots
    where: dict[tuple[int, str], int] = {}
    for place, slot in enumerate(slots):
        if slot is not None:
            room = max(int(day.instruments[slot.instrument].capacity / slot.step) - 1, 1)
            where[slot.draft, slot.place] = 1 + place % room
    counts = [None if slot is None else where[slot.draft, slot.place] for slot in slots]
    values = {(slot.draft, slot.place): slot.value(where[slot.draft, slot.place]) for slot in slots if slot is not None}
    drafts = tuple(
        replace(
            draft,
            readings=tuple(
                replace(reading, value=values[draft.number, reading.place.text]) for reading in draft.readings
            ),
        )
        for draft in day.drafts
    )
    corrections = tuple(
        item if item.value is None else replace(item, value=values[item.draft, item.place]) for item in day.corrections
    )
    try:
        found = parse_day(pattern.filled('A "title"', counts), "the day")
    except DayFileError:
        return False
    return found == replace(day, title='A "title"', drafts=drafts, corrections=corrections)


_ESCAPED = {ord(letter): f"\\u{ord(letter):04x}" for letter in map(chr, (*range(32), 127))} | {
    ord("\\"): "\\\\",
    ord('"'): '\\"',
}


def _quoted(text: str) -> str:
    return f'"{text.translate(_ESCAPED)}"'
