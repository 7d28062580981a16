"""The box beside the rig that tells what is left of its ratings: payload, couplings, the axle or tyre that binds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from steelyard.conformity import Outcome
from steelyard.report.drawings.above.plate_lines import PlateLine
from steelyard.report.drawings.above.scene import FINE, NOTE, SMALL, Block, Scene, Style, TextLine
from steelyard.report.drawings.above.values import Reader
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.words.left import TITLE, LeftWords, left_words
from steelyard.report.words.names import CONTESTED

_HEAD = 36.0  # from the rule to the first row
_AMOUNT = 19.0  # size of a figure
_ROW, _SHORT = 46.0, 29.0  # a row with and without a second line
_GAP = 12.0
_NAME = 22.0  # a line for a name alone


@dataclass(frozen=True, slots=True)
class LeftBox:
    """The rows of the box; without rows nothing is drawn and no height is taken."""

    rows: tuple[LeftWords, ...]
    notes: tuple[str, ...]

    @property
    def height(self) -> float:
        """From its rule to the end of its last note."""
        return _HEAD + sum(map(_height, self.rows)) + SMALL * 1.4 * len(self.notes) if self.rows else 0.0

    def draw(self, scene: Scene, x: float, top: float, width: float) -> None:
        """Draw downward from ``top``, the left edge at ``x``."""
        if not self.rows:
            return
        canvas, palette = scene.canvas, scene.palette
        canvas.line(x, top, x + width, top, stroke=palette.ink, width=FINE)
        canvas.text(x, top + 24, TITLE, NOTE, bold=True)
        after = x + text_width(f"{TITLE} ", NOTE, bold=True)
        canvas.text(after, top + 24, f"in {scene.reader.units.mass}", NOTE, fill=palette.soft)
        y = top + _HEAD
        for row in self.rows:
            _row(scene, row, x, y, width)
            y += _height(row)
        for note in self.notes:
            y += SMALL * 1.4
            canvas.text(x, y - 4, fitted(note, SMALL, width), SMALL, fill=palette.soft)


def left_box(reader: Reader) -> LeftBox:
    """The box of the state that is drawn; empty for a change, and where no rating limits a load."""
    if reader.change:
        return LeftBox((), ())
    rows = left_words(reader.findings, reader.state)
    return LeftBox(rows, tuple(row.note for row in rows if row.note))


def left_lines(box: LeftBox, unit: str) -> Iterator[PlateLine]:
    """The rows as lines of a plate, where a sheet has no room for the box."""
    for place, row in enumerate(box.rows):
        name, end = _parts(row)
        name = f"{TITLE}: {name}" if place == 0 else name
        if row.figures is None:
            yield PlateLine(name, row.instead, end=end)
            continue
        mark = f" {CONTESTED}" if row.figures.contested else ""
        amount = f"{row.amount} {unit}{mark}"
        if row.over:
            yield PlateLine(name, "", f"{amount} over", over=row.outcome is Outcome.OUTSIDE, end=end)
        elif row.outcome is Outcome.UNDECIDED:
            yield PlateLine(name, amount, str(row.outcome), end=end)
        else:
            yield PlateLine(name, amount, end=end)


def described(box: LeftBox) -> Iterator[str]:
    """The rows in sentences, for those who cannot see the drawing."""
    for row in box.rows:
        if row.figures is None:
            yield f"{TITLE}: {row.titled}, {row.instead}."
            continue
        marks = "".join(f", {word}" for word in ("contested" if row.figures.contested else "", row.mark) if word)
        said = f"{row.amount}{' over' if row.over else ''}, {row.span}" if row.figures.half else row.amount
        yield f"{TITLE}: {row.titled}, {said}, met with {row.chance}{marks}."


def _parts(row: LeftWords) -> tuple[str, str]:
    """The vehicle, whose name may be cut, and the rating, which stays: it tells the rows of one vehicle apart."""
    return (row.title, f" {row.what}") if row.title else (row.what, "")


def _height(row: LeftWords) -> float:
    return (_ROW if row.mark or row.span else _SHORT) + (_NAME if row.rule else 0.0)


def _row(scene: Scene, row: LeftWords, x: float, top: float, width: float) -> None:
    """The rating on the left, the room on the right; below, the mark and the interval or the chance.

    The name of a rule of the road stands above them, on a line of its own; without the vehicle where that is too long.
    """
    canvas, palette, right = scene.canvas, scene.palette, x + width
    name, end = _parts(row)
    if row.rule:
        whole = f"{name}{end}"
        shown = whole if text_width(whole, NOTE) <= width else end.strip() or name
        canvas.text(x, top + 18, fitted(shown, NOTE, width), NOTE)
        top, name, end = top + _NAME, "", ""
    base, below = top + 18, top + 37
    taken = _amount(scene, row, right, base)
    canvas.text(x, base, fitted(name, NOTE, width - taken - _GAP, end=end), NOTE)
    if row.mark:
        mark = fitted(row.mark, SMALL, width - text_width(row.span, SMALL), bold=True)
        canvas.text(x, below, mark, SMALL, bold=True, fill=palette.accent)
    canvas.text(right, below, row.span, SMALL, anchor="end", fill=palette.soft)


def _amount(scene: Scene, row: LeftWords, right: float, base: float) -> float:
    """Draw the room at the right edge. Returns the width that it takes."""
    if row.figures is None:
        scene.canvas.text(right, base, row.instead, SMALL, anchor="end", fill=scene.palette.soft)
        return text_width(row.instead, SMALL)
    figures = row.figures
    mark = f" {CONTESTED}" if figures.contested else ""
    style = Style.TAG if row.outcome is Outcome.OUTSIDE else Style.BOXED if row.outcome is Outcome.UNDECIDED else None
    text = f"{row.amount} over{mark}" if row.over else f"{row.amount}{mark}"
    if style is None:
        scene.canvas.text(right, base, text, _AMOUNT, bold=True, anchor="end")
        return text_width(text, _AMOUNT, bold=True)
    block = Block((TextLine(text if row.over else f"{text}, {row.outcome}", NOTE, style),))
    block.draw(scene.canvas, right - block.width / 2, base - block.height + NOTE * 0.28)
    return block.width
