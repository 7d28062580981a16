"""Common data of the parts of one drawing: the sheet, the figures, the scale, and blocks of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property

from steelyard.findings import Basis
from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.paper import PaperSheet
from steelyard.report.drawings.above.values import Figure, Reader, Standing
from steelyard.report.drawings.sheet.canvas import HATCH, Canvas, number, tag_width
from steelyard.report.drawings.sheet.palette import Palette
from steelyard.report.drawings.sheet.spread import spread
from steelyard.report.drawings.sheet.type import text_width

TITLE, FIGURE, NOTE, SMALL = 30.0, 22.0, 15.0, 14.0
"""Sizes of type: the title, a figure, what stands beside a figure, captions."""

THIN, FINE, FIRM = 1.0, 1.5, 2.5
"""Widths of lines: guides, outlines, what counts."""

DASH = "5 3.5"
"""How the outline of a predicted thing is broken."""

_LEADING = 1.27
_GAP = 15.0
_LOOSE, _TIGHT, _SHORT = 12.0, 24.0, 16.0


@dataclass(frozen=True, slots=True)
class Scene:
    """One drawing in the making: ``left`` and ``right`` bound the rig, ``origin`` is where x = 0 comes to lie."""

    canvas: Canvas
    reader: Reader
    rig: DrawnRig
    sheet: PaperSheet
    left: float
    right: float
    scale: float
    origin: float

    def x(self, metres: float) -> float:
        """Position of a place along the rig [m] on the sheet."""
        return self.origin + metres * self.scale

    @property
    def palette(self) -> Palette:
        """The colours."""
        return self.canvas.palette

    @property
    def width(self) -> float:
        """Of the sheet."""
        return self.sheet.width

    @property
    def margin(self) -> float:
        """Left free all round."""
        return self.sheet.margin

    @property
    def column(self) -> float:
        """Height of a wheel's column at 100 % of its rating."""
        return self.sheet.column

    @property
    def predicted(self) -> bool:
        """Whether any state that is drawn has no draft."""
        return self.reader.basis is Basis.PREDICTED

    @property
    def dash(self) -> str | None:
        """How outlines are broken: predicted ones are."""
        return DASH if self.predicted else None

    def caption(self, y: float, *words: str) -> None:
        """Words in the margin that say what a row is; the first in bold."""
        for place, word in enumerate(words):
            fill = self.palette.ink if place == 0 else self.palette.soft
            self.canvas.text(self.margin, y + place * SMALL * 1.3, word, SMALL, bold=place == 0, fill=fill)


class Style(StrEnum):
    """How a line of a block is set."""

    STRONG = "strong"
    PLAIN = "plain"
    SOFT = "soft"
    TAG = "tag"
    BOXED = "boxed"


@dataclass(frozen=True, slots=True)
class TextLine:
    """One line of a block."""

    text: str
    size: float
    style: Style

    @property
    def width(self) -> float:
        """How wide it comes out."""
        if self.style in (Style.TAG, Style.BOXED):
            return tag_width(self.text, self.size)
        return text_width(self.text, self.size, bold=self.style is Style.STRONG)

    @property
    def height(self) -> float:
        """From its baseline to the next."""
        return self.size * (_LEADING + (0.16 if self.style in (Style.TAG, Style.BOXED) else 0.0))


@dataclass(frozen=True)
class Block:
    """Lines set centred under one another."""

    lines: tuple[TextLine, ...]

    @cached_property
    def width(self) -> float:
        """Of the widest line."""
        return max((line.width for line in self.lines), default=0.0)

    @property
    def height(self) -> float:
        """Of all lines."""
        return sum(line.height for line in self.lines)

    def draw(self, canvas: Canvas, x: float, top: float) -> None:
        """Set the lines, centred on ``x``, the first below ``top``."""
        palette, y = canvas.palette, top
        for line in self.lines:
            y += line.height
            base = y - line.size * 0.28
            if line.style is Style.TAG:
                canvas.tag(x, base, line.text, line.size)
            elif line.style is Style.BOXED:
                _boxed(canvas, x, base, line)
            else:
                fill = palette.soft if line.style is Style.SOFT else palette.ink
                canvas.text(x, base, line.text, line.size, bold=line.style is Style.STRONG, anchor="middle", fill=fill)


def load_block(figure: Figure, *, size: float = FIGURE, shares: bool = True, narrow: bool = False) -> Block:
    """A load with its doubt and, with ``shares``, its share of its rating; or that it is not determined.

    ``narrow``: an interval takes two lines.
    """
    if figure.up:
        return Block((TextLine(figure.text, NOTE, Style.SOFT),))
    if not figure.determined:
        return Block((TextLine("not", SMALL, Style.SOFT), TextLine("determined", SMALL, Style.SOFT)))
    lines = [TextLine(figure.text, size, Style.STRONG)]
    parts = figure.span.partition(" to ") if narrow else (figure.span, "", "")
    said = [f"{parts[0]} to", parts[2]] if parts[2] else [figure.span or figure.doubt]
    lines += [TextLine(text, NOTE, Style.SOFT) for text in said]
    if figure.standing is Standing.OVER:
        lines.append(TextLine(figure.standing_text, SMALL, Style.TAG))
    elif figure.standing is Standing.UNDECIDED:
        lines.append(TextLine(figure.standing_text, SMALL, Style.BOXED))
    elif figure.share is not None and shares:
        lines.append(TextLine(figure.share_text, NOTE, Style.PLAIN))
    return Block(tuple(lines))


def across(scene: Scene, places: Sequence[float], blocks: Sequence[Block]) -> list[float]:
    """Centres for blocks in a row, each near its place on the sheet, none touching another."""
    widths = [block.width for block in blocks]
    return spread(places, widths, low=scene.left, high=scene.right, gap=_GAP)


def room_for(blocks: Sequence[Block]) -> float:
    """How wide a row of blocks is at its tightest."""
    return sum(block.width for block in blocks) + _GAP * max(len(blocks) - 1, 0)


def load_blocks(scene: Scene, figures: Sequence[Figure | None]) -> tuple[Block, ...]:
    """Blocks for a row of loads, set a size smaller where they would crowd; empty where there is no figure."""
    for size in (FIGURE, 0.84 * FIGURE):
        blocks = tuple(
            Block(())
            if figure is None
            else load_block(figure, size=size, shares=scene.sheet.detail.shares, narrow=scene.sheet.narrow)
            for figure in figures
        )
        if room_for(blocks) < 0.9 * (scene.right - scene.left):
            break
    return blocks


def lead_for(scene: Scene, places: Sequence[float], centres: Sequence[float]) -> float:
    """How long the lines from the things to their figures are: longer where some figure had to make way."""
    strays = any(abs(centre - place) > 6.0 for place, centre in zip(places, centres, strict=True))
    if scene.sheet.compact:
        return _SHORT
    return _TIGHT if strays else _LOOSE


def lead(scene: Scene, x: float, at: float, start: float, end: float) -> None:
    """The line from a thing at ``x`` to its figure at ``at``, square to the rig at both ends."""
    if abs(at - x) < 1.0:
        points = [(x, start), (x, end)]
    else:
        turn = 0.22 * (end - start)
        points = [(x, start), (x, start + turn), (at, end - turn), (at, end)]
    path = "M" + "L".join(f"{number(across)} {number(y)}" for across, y in points)
    scene.canvas.add("path", d=path, fill="none", stroke=scene.palette.hair, stroke_width=THIN, stroke_linejoin="round")


def fill_of(scene: Scene, standing: Standing) -> str:
    """The fill of a load: hatched where it is over, lighter where it is only predicted."""
    if standing is Standing.OVER:
        return HATCH
    return scene.palette.wash if scene.predicted else scene.palette.load


def break_mark(scene: Scene, start: float, end: float, y: float, *, upright: bool = True) -> None:
    """Two slanted lines across a bar, from ``start`` to ``end``, where it is cut off; ``upright`` for a column."""
    palette, n = scene.palette, number
    for colour, width in ((palette.on_ink, 6.0), (palette.ink, FINE)):
        for shift in (0.0,) if width > FINE else (-2.6, 2.6):
            if upright:
                d = f"M{n(start - 3)} {n(y + shift + 3)}L{n(end + 3)} {n(y + shift - 3)}"
            else:
                d = f"M{n(y + shift - 2)} {n(end + 3)}L{n(y + shift + 2)} {n(start - 3)}"
            scene.canvas.add("path", d=d, fill="none", stroke=colour, stroke_width=width, halo=False, class_="break")


def _boxed(canvas: Canvas, x: float, base: float, line: TextLine) -> None:
    canvas.add(
        "rect",
        x=x - line.width / 2,
        y=base - line.size * 0.98,
        width=line.width,
        height=line.size * 1.3,
        rx=2.0,
        fill="none",
        stroke=canvas.palette.ink,
        stroke_width=FINE,
    )
    canvas.text(x, base, line.text, line.size, bold=True, anchor="middle")
