"""The picture of a matching: a card for each pair of towing vehicle and trailer, in the shape in which it is shown.

A frame tells the verdict without colour: whole for within, broken for undecided, hatched for outside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from steelyard.conformity import Outcome
from steelyard.questions.match import MatchAnswer, Pair
from steelyard.report.drawings.sheet.canvas import HATCH, Canvas
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.shape import Shape, shape_of
from steelyard.report.drawings.sheet.type import broken, fitted
from steelyard.report.tables.match import binding_words, left_words, share_words, working_words
from steelyard.units import UnitSystem

TITLE = "Who may tow what"
SAID = "Hitched on paper, without weight distribution. The maker's label and the local law stand above it."

_MARGIN, _BETWEEN, _HEAD = 1.0, 0.6, 2.2
_LINE = 1.25
_STEPS, _MOST_COLUMNS = 20, 5


@dataclass(frozen=True)
class _Card:
    """The lines of one pair; the first ``heads`` of them name it."""

    pair: Pair
    lines: Sequence[str]
    heads: int


@dataclass(frozen=True)
class _Cards:
    """All cards in columns; ``size`` is the height of the letters."""

    shape: Shape
    size: float
    columns: int
    width: float
    cards: Sequence[_Card]

    @property
    def rows(self) -> list[float]:
        """The height of each row: of its tallest card."""
        counts = [len(card.lines) for card in self.cards]
        tallest = [max(counts[at : at + self.columns]) for at in range(0, len(counts), self.columns)]
        return [(count * _LINE + 1.1) * self.size for count in tallest]

    @property
    def spare(self) -> float:
        """Height that is left; below nothing where the cards do not fit."""
        own = sum(self.rows) + (len(self.rows) - 1) * _BETWEEN * self.size
        return self.shape.height - own - (2 * _MARGIN + _HEAD + _LINE * len(self.foot) + _BETWEEN) * self.size

    @property
    def foot(self) -> list[str]:
        """The lines under the cards."""
        return broken(SAID, self.size, self.shape.width - 2 * _MARGIN * self.size, most=6)


def matching_svg(answer: MatchAnswer, *, shape: str = "16:9", theme: Theme = "light", logo: Logo | None = None) -> str:
    """The pairs as SVG; the same input gives the same text.

    Parameters
    ----------
    shape: a name of ``SHAPES``. theme: ``light``, ``dark`` or ``transparent``. logo: for the upper right corner.

    Raises
    ------
    ValueError: an unknown shape, or more pairs than fit in letters one can read.
    """
    sheet = shape_of(shape)
    for step in range(_STEPS, -1, -1):
        size = sheet.smallest * (1.0 + step / _STEPS)
        for columns in range(1, min(_MOST_COLUMNS, len(answer.pairs)) + 1):
            width = (sheet.width - size * (2 * _MARGIN + _BETWEEN * (columns - 1))) / columns
            made = _Cards(
                sheet, size, columns, width, [_card(pair, answer.units, size, width) for pair in answer.pairs]
            )
            if made.spare >= 0.0 and width > 11.0 * size:
                return _drawn(made, answer, theme, logo)
    raise ValueError(f"{len(answer.pairs)} pairs do not fit into {shape} in letters one can read; match fewer files")


def _card(pair: Pair, units: UnitSystem, size: float, width: float) -> _Card:
    room = width - 1.6 * size
    heads = broken(pair_words(pair), size, room, bold=True, most=2)
    if pair.why:
        return _Card(pair, [*heads, *broken(f"{pair.why[:1].upper()}{pair.why[1:]}.", size, room, most=5)], len(heads))
    open_ = any(verdict.outcome is None for verdict in pair.verdicts) and pair.binds is not None
    left = f"{left_words(pair, units)}{', the least of what is determined' if open_ else ''}"
    said = (left, f"coupling {share_words(pair, units)}; {working_words(pair)}")
    lines = [line for one in said for line in broken(f"{one[:1].upper()}{one[1:]}", size, room, most=3)]
    return _Card(pair, [*heads, verdict_word(pair), *lines], len(heads))


def pair_words(pair: Pair) -> str:
    """The pair as people call both: ``Oven trailer behind Crew-cab bread truck``."""
    trailer, towing = pair.titles
    return f"{trailer} behind {towing}"


def verdict_word(pair: Pair) -> str:
    """The worst verdict on the pair in a word or two."""
    word = "not judged" if pair.outcome is None else pair.outcome.value
    contested = any(verdict.contested for verdict in pair.verdicts)
    return f"{word[:1].upper()}{word[1:]}{', contested' if contested else ''}"


def _drawn(made: _Cards, answer: MatchAnswer, theme: Theme, logo: Logo | None) -> str:
    canvas, size, sheet = Canvas(PALETTES[theme]), made.size, made.shape
    margin = _MARGIN * size
    right = sheet.width - margin
    if logo is not None:
        right -= size + logo.place(canvas, right=right, top=0.5 * margin, wide=7.0 * size, high=1.8 * size)
    canvas.text(
        margin, margin + 1.1 * size, fitted(TITLE, 1.4 * size, right - margin, bold=True), 1.4 * size, bold=True
    )
    top = margin + _HEAD * size
    for row, height in enumerate(made.rows):
        for column, card in enumerate(made.cards[row * made.columns : (row + 1) * made.columns]):
            left = margin + column * (made.width + _BETWEEN * size)
            _draw_card(canvas, made, card, left, top, height)
        top += height + _BETWEEN * size
    for number, line in enumerate(made.foot):
        below = (len(made.foot) - 1 - number) * _LINE * size
        canvas.text(margin, sheet.height - margin - below, line, size, fill=canvas.palette.soft)
    said = " ".join(_sentence(pair, answer.units) for pair in answer.pairs)
    return canvas.document(width=sheet.width, height=sheet.height, title=TITLE, description=f"{said} {SAID}")


def _draw_card(canvas: Canvas, made: _Cards, card: _Card, left: float, top: float, height: float) -> None:
    size, palette = made.size, canvas.palette
    outcome = card.pair.outcome
    canvas.add(
        "rect",
        x=left,
        y=top,
        width=made.width,
        height=height,
        rx=0.2 * size,
        fill="none",
        stroke=palette.ink if outcome is not None else palette.hair,
        stroke_width=0.1 * size,
        stroke_dasharray=None if outcome in (Outcome.WITHIN, Outcome.OUTSIDE) else f"{0.5 * size:.3f} {0.4 * size:.3f}",
    )
    if outcome is Outcome.OUTSIDE:
        canvas.add("rect", x=left, y=top, width=0.5 * size, height=height, fill=HATCH, halo=False)
    for number, line in enumerate(card.lines):
        bold = number < card.heads or (number == card.heads and not card.pair.why)
        canvas.text(left + 0.9 * size, top + (1.35 + number * _LINE) * size, line, size, bold=bold)


def _sentence(pair: Pair, units: UnitSystem) -> str:
    if pair.why:
        return f"{pair_words(pair)}: {pair.why}."
    return (
        f"{pair_words(pair)}: {verdict_word(pair).lower()}; {binding_words(pair, units)} On the coupling "
        f"{share_words(pair, units)}; {working_words(pair)}."
    )
