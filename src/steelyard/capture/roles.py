"""Which place of a layout plays which role: every casting that agrees with what a person said of the lines."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import islice, pairwise, product
from typing import TypeVar

from steelyard.capture.layout import LineLayout, Slot
from steelyard.capture.line import Chars, LinePart, LinePattern, NumberFormat, PartRole, mass_unit
from steelyard.units import UNITS

_PLACES = 3  # unwritten decimals at most
_WORDS = 6  # different wordings of a mark at most
_CHOICES = 12  # ways to cast one role that are looked at
_TRIED = 20_000  # steps of the search for ways to cast several at once
_Way = TypeVar("_Way")


@dataclass(frozen=True, slots=True)
class Label:
    """A person's report of one line; ``line`` is its number."""

    line: int
    value: float | None = None
    unit: str | None = None
    channel: str | None = None
    steady: bool | None = None
    overload: bool = False


@dataclass(frozen=True, slots=True)
class Casting:
    """A layout with its roles, by the numbers of the slots.

    Attributes
    ----------
    values: channel (``""``: the only one, or the one that the line names) -> slot and unwritten decimals.
    marks: channel (``""``: of the whole line) -> slot. units, channel: slots. unit: the unit that was taught.
    notes: what was taken as given.
    """

    layout: LineLayout
    values: Mapping[str, tuple[int, int]]
    marks: Mapping[str, int]
    units: tuple[int, ...]
    channel: int | None
    unit: str
    notes: tuple[str, ...] = ()

    @property
    def key(self) -> tuple[object, ...]:
        """Equal for castings that take the same digits for the value and the same words for the rest."""
        slots = self.layout.slots
        places = tuple((name, last_digits(slots[slot]), places) for name, (slot, places) in self.values.items())
        marks = tuple((name, _stripped(slots[slot])) for name, slot in self.marks.items())
        return (places, marks, self.unit, None if self.channel is None else _stripped(slots[self.channel]))

    @property
    def cost(self) -> float:
        """How far-fetched it is: a number before a unit is usual, counted columns and unwritten points are not."""
        slots = self.layout.slots
        far = sum(places > 0 for _, places in self.values.values())
        far -= sum(_ends_with_sign(slots[slot]) for slot, _ in self.values.values())
        beside = sum(slot + 1 in self.units for slot, _ in self.values.values())
        order = 0.01 * sum(slot for slot, _ in self.values.values()) - 0.1 * len(self.marks)
        return far + 2.0 * self.layout.by_columns + 0.5 * (not self.units) - 0.2 * beside + order


def castings(layout: LineLayout, labels: Sequence[Label], *, unit: str | None) -> Iterator[Casting]:
    """Every way to give the places of a layout their roles that agrees with the labels.

    ``unit`` is taken where neither lines nor labels say one; without any there is no casting.
    """
    here = [label for label in labels if label.line in layout.lines]
    taught, units, notes = _units(layout, here, unit)
    if taught is None:
        return
    for values in islice(_values(layout, here), _CHOICES):
        taken = {slot for slot, _ in values.values()} | set(units)
        for channel in islice(_channels(layout, here, values, taken), _CHOICES):
            cast = taken if channel is None else taken | {channel}
            for marks in islice(_marks(layout, here, values, cast), _CHOICES):
                yield Casting(layout, values, marks, units, channel, taught, notes)


def last_digits(slot: Slot) -> tuple[int, ...]:
    """The character after the last digit of a number, in each line."""
    cut = (len(text) - len(text.rstrip("+- ")) for text in slot.texts)
    return tuple(end - blank for end, blank in zip(slot.ends, cut, strict=True))


def _stripped(slot: Slot) -> tuple[str, ...]:
    return tuple(text.strip() for text in slot.texts)


def _ends_with_sign(slot: Slot) -> bool:
    """A sign right behind the digits is theirs, even where only ``+`` was seen so far."""
    return slot.number.sign_after and any(text.rstrip()[-1:] in ("+", "-") for text in slot.texts)


def number_in(text: str, style: NumberFormat, places: int = 0) -> float | None:
    """The number that a text is, with as many decimals as it has; None if it is none."""
    number = replace(style, decimals=(0, 1), places=places)
    return number.read(text) if number.fits(text) else None


def number_spans(
    lines: Mapping[int, str], labels: Sequence[Label]
) -> Iterator[tuple[tuple[tuple[int, int], ...], NumberFormat]]:
    """Columns that hold what was shown, one span for each channel, as wide as all lines allow."""
    wanted = _by_channel([label for label in labels if label.line in lines])
    if not lines:
        return
    for style in (NumberFormat("."), NumberFormat(","), NumberFormat(".", sign_after=True)):
        ways = [_spans(lines, mine, style) for mine in wanted.values()]
        for spans in islice(product(*ways), _CHOICES):
            ordered = sorted(spans)
            if all(left[1] <= right[0] for left, right in pairwise(ordered)):
                yield spans, style


def pattern_of(casting: Casting, labels: Sequence[Label], *, name: str) -> LinePattern:
    """The pattern that a casting stands for."""
    layout = casting.layout
    slots = layout.slots
    here = [label for label in labels if label.line in layout.lines]
    steady, moving = (
        tuple(
            dict.fromkeys(
                word for channel, slot in casting.marks.items() for word in _said(layout, slot, here, channel, which)
            )
        )
        for which in (True, False)
    )
    return LinePattern(
        name,
        tuple(_part(casting, place) for place in range(len(slots))),
        casting.unit,
        units=_unit_words(layout, casting.units, here),
        channels={} if casting.channel is None else _pairs(layout, casting.channel, here),
        steady=steady,
        moving=moving,
    )


def _by_channel(labels: Sequence[Label]) -> dict[str, list[Label]]:
    """The labels with a value, by the channel that has a place of its own in the line.

    Channels that are never in one line share one place, under ``""``: then the line names them.
    """
    valued = [label for label in labels if label.value is not None]
    names = list(dict.fromkeys(label.channel or "" for label in valued))
    together = len({label.line for label in valued}) < len(valued)
    if len(names) > 1 and not together:
        return {"": valued}
    return {name: [label for label in valued if (label.channel or "") == name] for name in names}


def _values(layout: LineLayout, labels: Sequence[Label]) -> Iterator[dict[str, tuple[int, int]]]:
    wanted = _by_channel(labels)
    ways = [
        [
            (place, places)
            for place, slot in enumerate(layout.slots)
            if slot.chars is Chars.NUMBER
            for places in range(_PLACES + 1 if any(label.value for label in mine) else 1)
            if all(_shows(slot.texts[layout.lines.index(label.line)], slot.number, places, label) for label in mine)
        ]
        for mine in wanted.values()
    ]
    for choice in _apart(ways, lambda one: one[0]):
        if choice:
            yield dict(zip(wanted, choice, strict=True))


def _apart(ways: Sequence[Sequence[_Way]], place_of: Callable[[_Way], object]) -> Iterator[tuple[_Way, ...]]:
    """One way of each, no two at the same place, in the order of ``itertools.product``; gives up after a while.

    Where more channels than places were said, or many show the same, there is no such choice among a great many.
    """
    budget = _TRIED

    def further(chosen: tuple[_Way, ...], taken: frozenset[object]) -> Iterator[tuple[_Way, ...]]:
        nonlocal budget
        if len(chosen) == len(ways):
            yield chosen
            return
        for way in ways[len(chosen)]:
            budget -= 1
            if budget < 0:
                return
            if place_of(way) not in taken:
                yield from further((*chosen, way), taken | {place_of(way)})

    return further((), frozenset())


def _shows(text: str, style: NumberFormat, places: int, label: Label) -> bool:
    if places and style.decimal and style.decimal in text:
        return False
    value = number_in(text, style, places)
    return value is not None and label.value is not None and abs(value - label.value) <= 1e-9 * abs(label.value)


def _spans(lines: Mapping[int, str], labels: Sequence[Label], style: NumberFormat) -> list[tuple[int, int]]:
    """For each right edge the widest span that reads every label; other lines have a number or no digit there."""
    length = len(next(iter(lines.values())))
    found: list[tuple[int, int]] = []
    for end in range(1, length + 1):
        fitting = [
            begin
            for begin in range(end)
            if all(_shows(lines[label.line][begin:end], style, 0, label) for label in labels)
            and all(_number_or_none(line[begin:end], style) for line in lines.values())
        ]
        if fitting:
            found.append((fitting[0], end))
    return found


def _number_or_none(text: str, style: NumberFormat) -> bool:
    return number_in(text, style) is not None or not any(map(str.isdigit, text))


def _units(
    layout: LineLayout, labels: Sequence[Label], unit: str | None
) -> tuple[str | None, tuple[int, ...], tuple[str, ...]]:
    """The unit that is taught, the slots that say it, and what was taken as given."""
    said = next((label.unit for label in labels if label.unit is not None), None)
    word = said if said is not None else unit
    told = mass_unit(word) if word is not None else None
    natural = [place for place, slot in enumerate(layout.slots) if _says_unit(layout, slot, labels)]
    if natural:
        slot = layout.slots[natural[0]]
        first = next((label.line for label in labels if label.value is not None), layout.lines[0])
        return mass_unit(slot.texts[layout.lines.index(first)].strip()), tuple(natural), ()
    if told is None:
        return None, (), ()
    if len({label.unit for label in labels if label.unit is not None}) > 1:
        ways = [
            place
            for place, slot in enumerate(layout.slots)
            if slot.chars is not Chars.NUMBER and _is_code(slot, layout, [(each.line, each.unit) for each in labels])
        ]
        return told, tuple(ways[:1]), ()
    other = next((slot.words[0] for slot in layout.slots if _says_unit(layout, slot, [])), None)
    if other is not None:
        return told, (), (f"The lines say {other}, and {told} was said; {told} was taken.",)
    return told, (), (f"The lines do not say the unit; {told} was taken.",)


def _says_unit(layout: LineLayout, slot: Slot, labels: Sequence[Label]) -> bool:
    """Whether a slot names units of mass in every line, and the ones that were said.

    A single letter may be anything (``g`` is gross as often as gram): it counts only where a person said that unit.
    """
    units = [mass_unit(text.strip()) for text in slot.texts]
    if slot.chars is Chars.NUMBER or any(unit is None for unit in units):
        return False
    said = [(units[layout.lines.index(label.line)], label.unit) for label in labels if label.unit is not None]
    if any(_factor(seen) != _factor(told) for seen, told in said):
        return False
    return bool(said) or all(len(word) > 1 for word in slot.words)


def same_unit(one: str, other: str) -> bool:
    """Whether two words name the same unit of mass."""
    return _factor(one) == _factor(other)


def _factor(unit: str | None) -> float:
    symbol = mass_unit(unit) if unit is not None else None
    return UNITS[symbol].factor if symbol is not None else 0.0


def _unit_words(layout: LineLayout, slots: Sequence[int], labels: Sequence[Label]) -> dict[str, str]:
    words: dict[str, str] = {}
    for place in slots:
        slot = layout.slots[place]
        words |= {word: unit for word in slot.words if (unit := mass_unit(word)) is not None}
        for label in labels:
            word = slot.texts[layout.lines.index(label.line)].strip()
            unit = mass_unit(label.unit) if label.unit is not None else None
            if unit is not None:
                words.setdefault(word, unit)
    return words


def _channels(
    layout: LineLayout, labels: Sequence[Label], values: Mapping[str, tuple[int, int]], taken: set[int]
) -> Iterator[int | None]:
    named = [(label.line, label.channel) for label in labels if label.channel is not None]
    if "" not in values or len({channel for _, channel in named}) < 2:
        yield None
        return
    for place, slot in enumerate(layout.slots):
        if place not in taken and _is_code(slot, layout, named):
            yield place


def _is_code(slot: Slot, layout: LineLayout, said: Sequence[tuple[int, str | None]]) -> bool:
    """Whether a slot says the same thing by one word each time, and another thing by another."""
    pairs = {(slot.texts[layout.lines.index(line)].strip(), meaning) for line, meaning in said if meaning is not None}
    words, meanings = {word for word, _ in pairs}, {meaning for _, meaning in pairs}
    return len(pairs) == len(words) == len(meanings) and "" not in words


def _pairs(layout: LineLayout, place: int, labels: Sequence[Label]) -> dict[str, str]:
    slot = layout.slots[place]
    return {
        slot.texts[layout.lines.index(label.line)].strip(): label.channel
        for label in labels
        if label.channel is not None
    }


def _marks(
    layout: LineLayout, labels: Sequence[Label], values: Mapping[str, tuple[int, int]], taken: set[int]
) -> Iterator[dict[str, int]]:
    """The slots that tell steady from moving: one for the line, or one for each channel in it; none where none does."""
    free = [place for place, slot in enumerate(layout.slots) if place not in taken and _may_be_mark(slot)]
    whole = [place for place in free if _tells(layout, place, labels, None)]
    if whole:
        yield from ({"": place} for place in whole)
        return
    ways = [[place for place in free if _tells(layout, place, labels, name)] for name in values if name]
    several = len(ways) > 1 and all(ways)
    if not several:
        yield {}
        return
    yield from (dict(zip(values, choice, strict=True)) for choice in _apart(ways, lambda place: place))


def _may_be_mark(slot: Slot) -> bool:
    short = all(len(word) <= 2 for word in slot.words) if slot.chars is Chars.NUMBER else True
    return short and 1 < len(slot.words) <= _WORDS


def _tells(layout: LineLayout, place: int, labels: Sequence[Label], channel: str | None) -> bool:
    name = "" if channel is None else channel
    steady, moving = (_said(layout, place, labels, name, which) for which in (True, False))
    return bool(steady) and bool(moving) and not set(steady) & set(moving)


def _said(layout: LineLayout, place: int, labels: Sequence[Label], channel: str, steady: bool) -> list[str]:
    """The wordings of a slot in lines of which a person said that the load, of that channel, stood or moved."""
    slot = layout.slots[place]
    return [
        slot.texts[layout.lines.index(label.line)].strip()
        for label in labels
        if label.steady is steady and channel in ("", label.channel or "")
    ]


def _part(casting: Casting, place: int) -> LinePart:
    layout, slot = casting.layout, casting.layout.slots[place]
    for channel, (at, places) in casting.values.items():
        if at == place:
            gap = "*" if slot.width is None and _padded(slot) else _gap(slot)
            return LinePart(PartRole.VALUE, width=slot.width, gap=gap, channel=channel, number=_number(slot, places))
    mark = next((channel for channel, at in casting.marks.items() if at == place), None)
    role = PartRole.UNIT if place in casting.units else PartRole.CHANNEL if place == casting.channel else PartRole.SKIP
    if mark is None and role is PartRole.SKIP and slot.constant and slot.texts[0]:
        return LinePart(PartRole.TEXT, text=slot.texts[0], gap=_gap(slot))
    open_words = mark is None and role is PartRole.SKIP and "" not in slot.words and slot.chars is not Chars.SIGN
    words = () if open_words else slot.words
    chars = Chars.ANY if layout.by_columns and slot.chars is not Chars.LETTERS else slot.chars
    if layout.by_columns and any(not text.isalpha() for text in slot.texts):
        chars = Chars.ANY
    number = _number(slot, 0) if slot.chars is Chars.NUMBER and slot.width is None else NumberFormat()
    return LinePart(
        PartRole.MARK if mark is not None else role,
        width=slot.width,
        chars=chars,
        words=words,
        gap=_gap(slot),
        channel=mark or "",
        number=number,
    )


def _gap(slot: Slot) -> str:
    present = [gap for gap, text in zip(slot.gaps, slot.texts, strict=True) if text]
    if all(not gap for gap in present):
        return ""
    return " " if all(present) else "*"


def _padded(slot: Slot) -> bool:
    """Whether the blanks before a number are padding, which a longer number would take."""
    return any(len(gap) > 1 for gap in slot.gaps) or ("" in slot.gaps and any(slot.gaps))


def _number(slot: Slot, places: int) -> NumberFormat:
    """How the numbers of a slot are written, as far as its texts show."""
    style = slot.number
    digits = [text.strip("+- ") for text in slot.texts if number_in(text, style) is not None]
    point = style.decimal
    decimals = tuple(sorted({len(text.partition(point)[2]) if point else 0 for text in digits})) or (0,)
    return NumberFormat(
        point if decimals != (0,) else "",
        style.thousands if style.thousands and any(style.thousands in text for text in digits) else "",
        decimals,
        places,
        _ends_with_sign(slot),
    )
