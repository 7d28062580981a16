"""One panel of a comparison: the measure, a row for each rig, the scale, and what can be told apart."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

from steelyard.findings import Basis
from steelyard.questions.compare import ComparedMeasure, ComparedValue
from steelyard.report.drawings.comparison.words import HELD, apart, figures, marks
from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.type import broken, fitted, text_width
from steelyard.units import UnitSystem, format_number

_LINE = 1.22
_ROW_TEXT, _ROW_PLOT = 1.12, 0.95
_DOT = 0.27


@dataclass(frozen=True)
class MeasurePanel:
    """A measure with its texts broken to the width of the panel; ``size`` is the height of its letters."""

    one: ComparedMeasure
    names: Sequence[str]
    units: UnitSystem
    width: float
    size: float

    @cached_property
    def heading(self) -> list[str]:
        """The measure and its unit."""
        text = f"{self.one.measure.label},{HELD}{self.units.symbol(self.one.measure.dimension)}"
        return broken(text, self.size, self.width, bold=True, most=2)

    @cached_property
    def verdict(self) -> list[str]:
        """The sentence on which rigs can be told apart."""
        return broken(apart(self.one, self.names, self.units), self.size, self.width, most=4)

    @property
    def height(self) -> float:
        """How much of the sheet it takes."""
        lines = len(self.heading) + len(self.verdict)
        return self.size * (lines * _LINE + len(self.names) * (_ROW_TEXT + _ROW_PLOT) + _LINE + 0.35)

    @property
    def fits(self) -> bool:
        """Whether each row has room for its figures, its marks and enough of its name to know it by."""
        for place, name in enumerate(self.names):
            taken = text_width(self._right(place), self.size) + self.size
            least = min(text_width(name, self.size, bold=True), 9.0 * self.size)
            if taken + least > self.width:
                return False
        return len({self._name(place) for place in range(len(self.names))}) == len(self.names)

    def _name(self, place: int) -> str:
        """The name of a rig, cut to the room beside its figures."""
        room = self.width - text_width(self._right(place), self.size) - 0.6 * self.size
        return fitted(self.names[place], self.size, room, bold=True)

    def _right(self, place: int) -> str:
        told, more = figures(self.one, place, self.units), marks(self.one, place)
        return f"{more} {told}" if more else told

    def draw(self, canvas: Canvas, left: float, top: float) -> None:
        """Put the panel on the sheet."""
        size, palette = self.size, canvas.palette
        y = top
        for line in self.heading:
            y += size * _LINE
            canvas.text(left, y - 0.3 * size, line, size, bold=True)
        first = y
        scale = _Scale.of(self.one, self.units, left, left + self.width)
        bottom = first + len(self.names) * size * (_ROW_TEXT + _ROW_PLOT)
        canvas.line(left, bottom, left + self.width, bottom, stroke=palette.hair, width=1.5)
        for text, x in scale.ticks(size) if scale else ():
            for place in range(len(self.names)):  # beside the words, never through them
                start = first + size * (place * (_ROW_TEXT + _ROW_PLOT) + _ROW_TEXT + 0.2)
                canvas.line(x, start, x, start + size * (_ROW_PLOT - 0.2), stroke=palette.hair, width=1.0)
            wide = text_width(text, size)
            middle = min(max(x, left + wide / 2), left + self.width - wide / 2)
            canvas.text(middle, bottom + size, text, size, anchor="middle", fill=palette.soft)
        for place in range(len(self.names)):
            self._row(canvas, scale, place, left, first + place * size * (_ROW_TEXT + _ROW_PLOT))
        y = bottom + size * (_LINE + 0.35)
        for line in self.verdict:
            y += size * _LINE
            canvas.text(left, y - 0.3 * size, line, size)

    def _row(self, canvas: Canvas, scale: _Scale | None, place: int, left: float, top: float) -> None:
        size, palette, value = self.size, canvas.palette, self.one.values[place]
        text, base = self._right(place), top + size * (_ROW_TEXT - 0.15)
        canvas.text(left, base, self._name(place), size, bold=True, fill=palette.load)
        canvas.text(left + self.width, base, text, size, anchor="end")
        if value.spread is None or scale is None:
            return
        y = top + size * (_ROW_TEXT + 0.48)
        low, middle, high = (scale.x(one) for one in (value.spread.low, value.spread.value, value.spread.high))
        dash = f"{number(0.3 * size)} {number(0.2 * size)}" if value.contested else None
        canvas.line(low, y, high, y, stroke=palette.load, width=0.11 * size, dash=dash)
        for end in (low, high):
            canvas.line(end, y - 0.22 * size, end, y + 0.22 * size, stroke=palette.load, width=0.08 * size)
        dot(canvas, middle, y, size, value)


def dot(canvas: Canvas, x: float, y: float, size: float, value: ComparedValue) -> None:
    """The mark of a value: a disc; hollow where it is predicted, a square on its corner where it is contested."""
    palette, r = canvas.palette, _DOT * size
    fill = (palette.ground or palette.on_ink) if value.basis is Basis.PREDICTED else palette.ink
    if not value.contested:
        canvas.add("circle", cx=x, cy=y, r=r, fill=fill, stroke=palette.ink, stroke_width=0.09 * size)
        return
    r *= 1.3
    corners = ((x, y - r), (x + r, y), (x, y + r), (x - r, y))
    points = " ".join(f"{number(across)},{number(down)}" for across, down in corners)
    canvas.add("polygon", points=points, fill=fill, stroke=palette.ink, stroke_width=0.09 * size)


@dataclass(frozen=True)
class _Scale:
    """Mapping of a measure [SI] to the sheet; ``unit`` is the reader's unit in SI."""

    low: float
    high: float
    unit: float
    left: float
    right: float

    @classmethod
    def of(cls, one: ComparedMeasure, units: UnitSystem, left: float, right: float) -> _Scale | None:
        """A scale that holds every interval, and nothing or the whole rating where that lies near."""
        spreads = [value.spread for value in one.values if value.spread is not None]
        if not spreads:
            return None
        low, high = min(item.low for item in spreads), max(item.high for item in spreads)
        unit = units.factor(one.measure.dimension)
        span = (high - low) or max(abs(high), unit)
        for mark in (0.0, 1.0) if one.measure.of_rating else (0.0,):
            if low - span <= mark <= high + span:
                low, high = min(low, mark), max(high, mark)
        pad = 0.06 * ((high - low) or span)
        return cls(low - pad, high + pad, unit, left, right)

    def x(self, value: float) -> float:
        """Position of a value [SI]."""
        return self.left + (self.right - self.left) * (value - self.low) / (self.high - self.low)

    def ticks(self, size: float) -> Iterator[tuple[str, float]]:
        """Round figures along the scale, so few that they do not meet."""
        low, high = self.low / self.unit, self.high / self.unit
        power = math.floor(math.log10(high - low)) - 1
        for step in (part * 10.0**more for more in range(power, power + 4) for part in (1.0, 2.0, 5.0)):
            places = max(0, -math.floor(math.log10(step) + 1e-9))
            at = [step * count for count in range(math.ceil(low / step), math.floor(high / step) + 1)]
            texts = [format_number(value, places) for value in at]
            room = (self.right - self.left) * step / (high - low)
            if len(at) <= 5 and all(text_width(text, size) + size <= room for text in texts):
                yield from ((text, self.x(value * self.unit)) for text, value in zip(texts, at, strict=True))
                return
