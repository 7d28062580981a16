"""Lines laid side by side: what stands in the same place of each, by tokens or by counted columns."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from steelyard.capture.line import Chars, NumberFormat

_WIDEST = 80  # characters of a line that is read by columns


@dataclass(frozen=True, slots=True)
class Slot:
    """One place in the lines of a layout.

    Attributes
    ----------
    chars: what stands there. texts: in each line, ``""`` where it is missing. gaps: the blanks before it in each line.
    ends: the character after it in each line, counted from 0. width: where columns are counted, else None.
    number: how numbers are written in this layout, for a slot that holds one.
    """

    chars: Chars
    texts: tuple[str, ...]
    gaps: tuple[str, ...]
    ends: tuple[int, ...]
    width: int | None = None
    number: NumberFormat = field(default_factory=NumberFormat)

    @property
    def words(self) -> tuple[str, ...]:
        """The different texts without their blanks, in order of appearance."""
        return tuple(dict.fromkeys(text.strip() for text in self.texts))

    @property
    def constant(self) -> bool:
        """Whether the same stands there in every line."""
        return len(set(self.texts)) == 1


@dataclass(frozen=True, slots=True)
class LineLayout:
    """Lines of one shape. ``lines`` are their numbers; each slot has as many texts, in that order."""

    lines: tuple[int, ...]
    slots: tuple[Slot, ...]
    by_columns: bool = False


@dataclass(frozen=True, slots=True)
class _Token:
    chars: Chars
    text: str
    gap: str
    end: int


_STYLES = tuple(
    NumberFormat(decimal, thousands, (0,), 0, sign_after)
    for sign_after in (False, True)
    for decimal, thousands in ((".", ""), (",", ""), (".", ","), (",", "."))
)


def layouts(lines: Mapping[int, str], labelled: Sequence[int]) -> Iterator[LineLayout]:
    """The ways to lay lines side by side by their tokens: each way to write numbers once.

    Parameters
    ----------
    lines: by number, without a checksum. labelled: the numbers of those whose meaning was said; they set the shape.
    """
    seen: set[tuple[object, ...]] = set()
    for style in _STYLES:
        tokens = {number: list(_tokens(line, style)) for number, line in lines.items()}
        shapes = Counter(_shape(tokens[number]) for number in labelled)
        if not shapes:
            return
        # The longest of the shapes, so that what is missing in the others can be seen as missing.
        shape = max(shapes, key=lambda each: (len(each), shapes[each]))
        layout = _aligned(tokens, shape, style)
        key = (layout.lines, *((slot.texts, slot.chars) for slot in layout.slots))
        if layout.lines and key not in seen:
            seen.add(key)
            yield layout


def _tokens(line: str, style: NumberFormat) -> Iterator[_Token]:
    point = re.escape(style.decimal)
    body = rf"[0-9]+(?:{point}[0-9]+)?"
    if style.thousands:
        body = rf"[0-9]{{1,3}}(?:{re.escape(style.thousands)}[0-9]{{3}})+(?:{point}[0-9]+)?|{body}"
    number = rf"(?:{body})(?: *[-+](?! *[0-9]))?" if style.sign_after else rf"(?:[-+] *)?(?:{body})"
    pattern = re.compile(rf"(?P<gap> *)(?:(?P<number>{number})|(?P<letters>[A-Za-z]+)|(?P<sign>[^ ]))")
    for match in pattern.finditer(line):
        kind = match.lastgroup or "sign"
        yield _Token(Chars(kind), match[kind], match["gap"], match.end())


def _shape(tokens: Sequence[_Token]) -> tuple[Chars, ...]:
    return tuple(token.chars for token in tokens)


def _aligned(tokens: Mapping[int, list[_Token]], shape: tuple[Chars, ...], style: NumberFormat) -> LineLayout:
    """The lines that have the shape, or all of it but one word or sign."""
    whole = {number: each for number, each in tokens.items() if _shape(each) == shape}
    usual = [Counter(each[place].text for each in whole.values()) for place in range(len(shape))]
    fitted: dict[int, list[_Token]] = {}
    for number, each in tokens.items():
        found = each if number in whole else _with_a_hole(each, shape, usual)
        if found is not None:
            fitted[number] = found
    slots = [
        Slot(
            chars,
            tuple(each[place].text for each in fitted.values()),
            tuple(each[place].gap for each in fitted.values()),
            tuple(each[place].end for each in fitted.values()),
            number=style,
        )
        for place, chars in enumerate(shape)
    ]
    return LineLayout(tuple(fitted), tuple(slots))


def _with_a_hole(tokens: list[_Token], shape: tuple[Chars, ...], usual: Sequence[Counter[str]]) -> list[_Token] | None:
    """Tokens with a missing word or sign put in where the rest agrees best with the whole lines; None if none fits."""
    if len(tokens) != len(shape) - 1:
        return None
    best: tuple[int, list[_Token]] | None = None
    for place, chars in enumerate(shape):
        end = tokens[place - 1].end if place else 0
        tried = [*tokens[:place], _Token(chars, "", "", end), *tokens[place:]]
        if chars is Chars.NUMBER or _shape(tried) != shape:
            continue
        agreed = sum(token.text in usual[number] for number, token in enumerate(tried))
        if best is None or agreed > best[0]:
            best = agreed, tried
    return best[1] if best is not None else None


def column_layout(lines: Mapping[int, str], spans: Sequence[tuple[int, int]], style: NumberFormat) -> LineLayout:
    """Lines of one length cut by columns: the given spans are numbers, the rest falls into runs of one kind."""
    numbers = tuple(lines)
    first = next(iter(lines.values()))
    taken = {column: span for span in spans for column in range(*span)}
    kinds = [("span", taken[c]) if c in taken else ("run", _kind(lines, c)) for c in range(len(first))]
    slots: list[Slot] = []
    for (_, what), group in groupby(range(len(first)), key=lambda column: kinds[column]):
        columns = list(group)
        begin, end = columns[0], columns[-1] + 1
        texts = tuple(line[begin:end] for line in lines.values())
        chars = what if isinstance(what, Chars) else Chars.NUMBER
        slots.append(
            Slot(chars, texts, ("",) * len(numbers), (end,) * len(numbers), end - begin, replace(style, decimals=(0,)))
        )
    return LineLayout(numbers, tuple(slots), by_columns=True)


def _kind(lines: Mapping[int, str], column: int) -> Chars:
    here = {line[column] for line in lines.values()}
    if all(letter.isalpha() for letter in here):
        return Chars.LETTERS
    return Chars.SIGN if len(here) == 1 and not next(iter(here)).isdigit() else Chars.ANY


def same_length(lines: Mapping[int, str], labelled: Sequence[int]) -> dict[int, str]:
    """The lines as long as the labelled ones, where those are of one length and short enough to count columns."""
    lengths = {len(lines[number]) for number in labelled}
    if len(lengths) != 1 or max(lengths) > _WIDEST:
        return {}
    return {number: line for number, line in lines.items() if len(line) in lengths}
