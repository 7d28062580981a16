"""A line pattern: how one taught line is read. Made of parts, so that it can be kept, shown and checked."""

from __future__ import annotations

import string
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache, cached_property

from steelyard.capture.checks import Checksum
from steelyard.capture.matching import Blanks, CharacterRun, Either, FixedText, Many, Matcher, NamedGroup, Node, perhaps
from steelyard.capture.sample import Trouble, TroubleKind
from steelyard.capture.stream import LONGEST, quoted
from steelyard.units import UNITS, Dimension

_MASS = {symbol.lower(): symbol for symbol, unit in UNITS.items() if unit.dimension is Dimension.MASS}


class PartRole(StrEnum):
    """The kinds of parts of a line."""

    TEXT = "text"  # always the same
    VALUE = "value"
    UNIT = "unit"
    MARK = "mark"  # the box's own word on steadiness
    CHANNEL = "channel"
    SKIP = "skip"  # something else that changes
    CHECK = "check"  # the digits of a checksum


class Chars(StrEnum):
    """The characters of a part."""

    LETTERS = "letters"
    NUMBER = "number"
    HEX = "hex"
    SIGN = "sign"  # one character that is neither letter nor digit
    ANY = "any"  # where characters are counted


_DIGITS = frozenset(string.digits)
_PLUS_MINUS = frozenset("+-")
_PRINTED = frozenset(string.ascii_letters + string.digits + string.punctuation)
_RUNS = {
    Chars.LETTERS: frozenset(string.ascii_letters),
    Chars.NUMBER: _DIGITS | frozenset("+-.,"),
    Chars.HEX: frozenset(string.hexdigits),
    Chars.SIGN: frozenset(string.punctuation),
    Chars.ANY: _PRINTED | {" "},
}
_LONGEST_RUN = 12  # characters that are not counted


@dataclass(frozen=True, slots=True)
class NumberFormat:
    """How a number is written.

    Attributes
    ----------
    decimal, thousands: the signs used, ``""`` for none. decimals: the counts of digits after the sign that were seen.
    places: a point that is not written, so many digits from the right. sign_after: the sign follows the digits.
    """

    decimal: str = ""
    thousands: str = ""
    decimals: tuple[int, ...] = (0,)
    places: int = 0
    sign_after: bool = False

    @property
    def nodes(self) -> tuple[Node, ...]:
        """The number with its sign and the blanks between, to be matched."""
        sign = CharacterRun(_PLUS_MINUS, 0, 1)
        return (*self._body, Blanks(), sign) if self.sign_after else (sign, Blanks(), *self._body)

    @property
    def _body(self) -> tuple[Node, ...]:
        """The digits, without sign."""
        if self.thousands:
            whole: tuple[Node, ...] = (
                CharacterRun(_DIGITS, 1, 3),
                Many((FixedText(self.thousands), CharacterRun(_DIGITS, 3, 3))),
            )
        else:
            whole = (CharacterRun(_DIGITS, 1, _LONGEST_RUN),)
        if not self.decimal or self.decimals == (0,):
            return whole
        if len(self.decimals) == 1:
            return (*whole, FixedText(self.decimal), CharacterRun(_DIGITS, self.decimals[0], self.decimals[0]))
        return (*whole, perhaps(FixedText(self.decimal), CharacterRun(_DIGITS, 0, 6)))

    def fits(self, text: str) -> bool:
        """Whether a text is such a number, and nothing else but blanks around it."""
        return _matcher(self).match(text.strip(" ")).spans is not None

    def read(self, text: str) -> float:
        """The value of a text that ``fits``."""
        sign = -1.0 if "-" in text else 1.0
        digits = text.replace(self.thousands, "") if self.thousands else text
        if self.decimal:
            digits = digits.replace(self.decimal, ".")
        return sign * float(digits.strip("+- ")) / 10**self.places


@cache
def _matcher(number: NumberFormat) -> Matcher:
    return Matcher(number.nodes)


@dataclass(frozen=True, slots=True)
class LinePart:
    """One part of a line, from left to right.

    Attributes
    ----------
    role: what it is. text: of a TEXT. width: its characters where they are counted, None where it runs on.
    chars: what else may stand there. words: the wordings seen; ``""`` among them: it may be missing.
    gap: blanks before it: ``""`` none, ``" "`` at least one, ``"*"`` any. channel: that a VALUE or MARK belongs to,
    ``""`` where the line or the port says it. number: of a VALUE.
    """

    role: PartRole
    text: str = ""
    width: int | None = None
    chars: Chars = Chars.ANY
    words: tuple[str, ...] = ()
    gap: str = ""
    channel: str = ""
    number: NumberFormat = field(default_factory=NumberFormat)

    def nodes(self, group: int) -> tuple[Node, ...]:
        """Pattern of this part; a VALUE may match text that is not a number, which is then reported."""
        gap: tuple[Node, ...] = {"": (), " ": (FixedText(" "), Blanks()), "*": (Blanks(),)}[self.gap]
        if self.role is PartRole.TEXT:
            return (*gap, FixedText(self.text))
        if self.role is PartRole.VALUE and self.width is not None:
            return (*gap, NamedGroup(group, (CharacterRun(_RUNS[Chars.ANY], self.width, self.width),)))
        if self.role is PartRole.VALUE:
            filling = CharacterRun(_PRINTED - _DIGITS, 1, _LONGEST_RUN)
            return (*gap, NamedGroup(group, (Either((self.number.nodes, (filling,))),)))
        run = (*gap, NamedGroup(group, self._run()))
        return (perhaps(*run),) if "" in self.words and self.width is None else run

    def _run(self) -> tuple[Node, ...]:
        if self.width is not None:
            return (CharacterRun(_RUNS[self.chars], self.width, self.width),)
        if self.chars is Chars.NUMBER:
            return self.number.nodes
        if self.chars is Chars.SIGN and self.words:
            return _one_of([word for word in self.words if word])  # no other: a minus is the number's
        return (CharacterRun(_RUNS[self.chars], 1, 1 if self.chars is Chars.SIGN else _LONGEST_RUN),)


def _one_of(words: Sequence[str]) -> tuple[Node, ...]:
    if words and all(len(word) == 1 for word in words):
        return (CharacterRun(frozenset(words), 1, 1),)
    return (Either(tuple((FixedText(word),) for word in words)),)


@dataclass(frozen=True, slots=True)
class ChannelReading:
    """The content of a line for one channel.

    Attributes
    ----------
    channel: the name here, ``""`` where neither line nor pattern says it.
    shown: the number as the box shows it; value_kg: the same [kg]. Both None with a trouble.
    stable_mark: the box's own word on steadiness, None where it gives none.
    """

    channel: str
    shown: float | None
    value_kg: float | None
    stable_mark: bool | None = None
    trouble: Trouble | None = None


@dataclass(frozen=True, slots=True)
class LineReading:
    """The content of a line, channel by channel; or the trouble of the whole line alone."""

    readings: tuple[ChannelReading, ...] = ()
    trouble: Trouble | None = None


class _LineError(Exception):
    def __init__(self, kind: TroubleKind, words: str) -> None:
        super().__init__(words)
        self.trouble = Trouble(kind, words)


@dataclass(frozen=True)
class LinePattern:
    """How the lines of one box are read, under a name.

    Attributes
    ----------
    unit: the unit that was taught; a line in another one is no reading. units: the box's words for units.
    channels: the box's words for channels -> names here; a word that is missing stands for itself.
    steady, moving, overload: wordings of the mark, or what stands in place of the number.
    """

    name: str
    parts: tuple[LinePart, ...]
    unit: str
    units: Mapping[str, str] = field(default_factory=dict[str, str])
    channels: Mapping[str, str] = field(default_factory=dict[str, str])
    steady: tuple[str, ...] = ()
    moving: tuple[str, ...] = ()
    overload: tuple[str, ...] = ()
    checksum: Checksum | None = None

    @cached_property
    def matcher(self) -> Matcher:
        """Pattern that finds the parts in a line; the groups are the places of the parts."""
        ends = (Blanks(),)
        return Matcher((*ends, *(node for place, part in enumerate(self.parts) for node in part.nodes(place)), *ends))

    @cached_property
    def _values(self) -> dict[int, NumberFormat]:
        """How each VALUE is written, by the place of its part."""
        return {place: part.number for place, part in enumerate(self.parts) if part.role is PartRole.VALUE}

    @cached_property
    def _factor(self) -> float:
        return UNITS[self.unit].factor

    @property
    def channel_names(self) -> tuple[str, ...]:
        """The channels that its lines were taught to be of; ``""`` among them: the port says whose they are."""
        said = [part.channel for part in self.parts if part.role is PartRole.VALUE]
        if any(part.role is PartRole.CHANNEL for part in self.parts):
            said = [name for own in said for name in ([own] if own else self.channels.values())]
        return tuple(dict.fromkeys(said))

    def read(self, line: str) -> LineReading:
        """Read a line. Never raises: a line that cannot be read gives a trouble."""
        texts = self._texts(line)
        if texts is None:
            return LineReading((), self._no_match(line))
        if self.checksum is not None and not self.checksum.holds(line):
            return LineReading((), Trouble(TroubleKind.GARBLED, f"The checksum does not hold: {quoted(line)}"))
        texts = self._without_unit(texts)
        try:
            channel, marks = self._read_words(texts, line)
        except _LineError as error:
            return LineReading((), error.trouble)
        return LineReading(tuple(self._read_value(place, texts[place], channel, marks) for place in self._values))

    def signs_of_overload(self, line: str) -> tuple[str, ...]:
        """Text in place of the numbers in an overload line; else its unexplained marks; else empty."""
        texts = self._texts(line)
        if texts is None:
            return ()
        fillings = [texts[place] for place, number in self._values.items() if not number.fits(texts[place])]
        known = {*self.steady, *self.moving, ""}
        marks = [text for text, part in zip(texts, self.parts, strict=True) if part.role is PartRole.MARK]
        return tuple(dict.fromkeys(fillings or (mark for mark in marks if mark not in known)))

    def _texts(self, line: str) -> list[str] | None:
        """Text of each part, without blanks, empty for a TEXT; None where the line does not match."""
        spans = self.matcher.match(line).spans if len(line) <= LONGEST else None
        if spans is None:
            return None
        return [line[slice(*spans.get(place, (0, 0)))].strip() for place in range(len(self.parts))]

    def _without_unit(self, texts: list[str]) -> list[str]:
        """The texts with a unit that ran together with what stands in place of a number: ``-------lb``.

        Such a filling takes every letter but one, and ``b`` would be said to be no unit.
        """
        for place, part in enumerate(self.parts[1:], start=1):
            number = self._values.get(place - 1)
            if part.role is not PartRole.UNIT or number is None or number.fits(texts[place - 1]):
                continue
            both = texts[place - 1] + texts[place]
            for length in range(len(both) - 1, 0, -1):
                if both[-length:] in self.units or mass_unit(both[-length:]) is not None:
                    return [*texts[: place - 1], both[:-length], both[-length:], *texts[place + 1 :]]
        return texts

    def _read_value(
        self, place: int, text: str, channel: str, marks: Mapping[str, bool | Trouble | None]
    ) -> ChannelReading:
        part = self.parts[place]
        name = part.channel or channel
        mark = marks.get(part.channel, marks.get(""))
        if isinstance(mark, Trouble):
            return ChannelReading(name, None, None, trouble=mark)
        if not part.number.fits(text):
            return ChannelReading(name, None, None, mark, self._no_number(text))
        shown = part.number.read(text)
        return ChannelReading(name, shown, shown * self._factor, mark)

    def _read_words(self, texts: Sequence[str], line: str) -> tuple[str, dict[str, bool | Trouble | None]]:
        """The channel that the line names, and the marks by channel; refuses what was never taught."""
        channel = ""
        marks: dict[str, bool | Trouble | None] = {}
        for word, part in zip(texts, self.parts, strict=True):
            if part.role is PartRole.CHANNEL:
                channel = self.channels.get(word, word)
            elif part.role is PartRole.UNIT:
                self._check_unit(word, line)
            elif part.role is PartRole.MARK:
                marks[part.channel] = self._mark(word, part, line)
        return channel, marks

    def _check_unit(self, word: str, line: str) -> None:
        unit = self.units.get(word, mass_unit(word))
        if unit is None:
            raise _LineError(TroubleKind.GARBLED, f"{word!r} is not a unit that was taught: {quoted(line)}")
        if UNITS[unit].factor != self._factor:
            words = f"The box shows {unit}; {self.unit} was taught. Set it back, or teach it anew."
            raise _LineError(TroubleKind.UNIT, words)

    def _mark(self, word: str, part: LinePart, line: str) -> bool | Trouble | None:
        if word in self.overload:
            return Trouble(TroubleKind.OVERLOAD, f"The box marks an overload: {quoted(line)}")
        if word in self.steady or word in self.moving:
            return word in self.steady
        if word not in part.words:
            return Trouble(TroubleKind.GARBLED, f"The mark {word!r} was never taught: {quoted(line)}")
        return None

    def _no_number(self, text: str) -> Trouble:
        """Trouble of a text in place of a number: a sign of overload, or a text that was not taught."""
        if text in self.overload or (len(text) >= 3 and len(set(text)) == 1 and not text.isdigit()):
            words = f"The box shows {quoted(text)} in place of a number: overload, or no load cell."
            return Trouble(TroubleKind.OVERLOAD, words)
        return Trouble(TroubleKind.GARBLED, f"{quoted(text)} stands where the number was taught.")

    def _no_match(self, line: str) -> Trouble:
        """Why a line does not fit: bytes of another speed, or another shape."""
        if len(line) > LONGEST:
            words = f"A line of {len(line):,} characters is too long for an indicator; at most {LONGEST} are read."
            return Trouble(TroubleKind.GARBLED, words)
        foreign = sum(not " " <= letter <= "~" for letter in line)
        if foreign:
            words = f"{foreign} of {len(line)} characters are not text; a loose cable, or another speed? {quoted(line)}"
        else:
            words = f"Does not fit the pattern {self.name!r}: {quoted(line)}"
        return Trouble(TroubleKind.GARBLED, words)


def mass_unit(word: str) -> str | None:
    """The unit of mass that a word names, whatever its case; None if it names none."""
    return _MASS.get(word.lower())
