"""A sweep as a drawing: one place against another, plateau by plateau, the line learned and statics' line beside it.

What was learned is a firm line in its band of doubt; what statics expects is a broken line in the accent's colour
through the same middle, for statics knows changes and no loads.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from steelyard.learning import Slope
from steelyard.questions.sweep import Learned, SweepAnswer
from steelyard.report.drawings.above.scene import FINE, FIRM, NOTE, SMALL, THIN, TITLE
from steelyard.report.drawings.above.words import draw_mark_on
from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.drawings.sweep_plot import SweepPlot, axis_of, sweep_plot
from steelyard.report.tables.sweep import expected_shown, learned_shown
from steelyard.report.words.grid import wrapped
from steelyard.report.words.names import ShownFigures
from steelyard.units import Dimension, format_number

WIDTH, HEIGHT, MARGIN, PANEL = 1600.0, 900.0, 48.0, 430.0
_LEFT, _TOP, _BOTTOM = 88.0, 170.0, 84.0
_TICKS = 6


@dataclass(frozen=True)
class SweepChart:
    """The drawing in the making: the slope, its plot, and where that lies on the sheet."""

    canvas: Canvas
    answer: SweepAnswer
    item: Learned
    slope: Slope
    plot: SweepPlot

    @property
    def right(self) -> float:
        """Right edge of the plot."""
        return WIDTH - MARGIN - PANEL - 56

    @property
    def base(self) -> float:
        """Lower edge of the plot."""
        return HEIGHT - MARGIN - _BOTTOM

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Position of a point on the sheet."""
        left = MARGIN + _LEFT
        along, above = self.plot.across.share(x), self.plot.up.share(y)
        return left + along * (self.right - left), self.base - above * (self.base - _TOP)


def drawable(answer: SweepAnswer) -> list[str]:
    """The ids of what can be drawn, best first: axle against axle, then each against all that was added."""
    found = [item for item in answer.learned if item.kind == "slope" and item.determined]
    return [item.id for item in sorted(found, key=lambda item: (item.per == "added", item.of[-1:] in "LR"))]


def sweep_svg(answer: SweepAnswer, name: str, *, theme: Theme = "light") -> str:
    """One slope of a sweep as SVG, on ``theme``; the same input gives the same text.

    ``name`` is the id of a determined slope, one of ``drawable``.

    Raises
    ------
    ValueError: there is none of that id.
    """
    item = answer.get(name)
    plot = None if item is None or item.kind != "slope" else sweep_plot(answer, item, ticks=_TICKS)
    if item is None or item.slope is None or plot is None:
        raise ValueError(f"there is no determined slope {name!r}")
    chart = SweepChart(Canvas(PALETTES[theme]), answer, item, item.slope, plot)
    _head(chart)
    _grid(chart)
    _band(chart)
    _statics(chart)
    _points(chart)
    end = _panel(chart)
    _left_over(chart, end + 26.0)
    draw_mark_on(chart.canvas, WIDTH - MARGIN, HEIGHT - MARGIN)
    return chart.canvas.document(width=WIDTH, height=HEIGHT, title=_title(answer), description=_description(chart))


def _title(answer: SweepAnswer) -> str:
    return f"Sweep: {answer.day.vehicles[answer.vehicle].title}"


def _head(chart: SweepChart) -> None:
    canvas, palette, answer = chart.canvas, chart.canvas.palette, chart.answer
    date = "" if answer.day.record.date is None else f", {answer.day.record.date.isoformat()}"
    note = fitted(f"{answer.day.title}{date}", NOTE, 520.0)
    canvas.text(WIDTH - MARGIN, MARGIN + 26, note, NOTE, anchor="end", fill=palette.soft)
    title = fitted(_title(answer), TITLE, WIDTH - 2 * MARGIN - 560, bold=True)
    canvas.text(MARGIN, MARGIN + 28, title, TITLE, bold=True)
    words = (
        f"{_label(chart, chart.item.of)} against {_label(chart, chart.item.per)} while load went on, in {answer.state}"
    )
    canvas.text(MARGIN, MARGIN + 60, words, 20.0)


def _label(chart: SweepChart, name: str) -> str:
    """``axle 1``: the head of the chart says of which vehicle."""
    return _of_vehicle(chart, chart.answer.measures[name].label)


def _of_vehicle(chart: SweepChart, words: str) -> str:
    return words.removeprefix(f"{chart.answer.vehicle} ")


def _grid(chart: SweepChart) -> None:
    canvas, palette = chart.canvas, chart.canvas.palette
    across, up = chart.plot.across, chart.plot.up
    left, right = MARGIN + _LEFT, chart.right
    for value in up.ticks():
        _, y = chart.at(across.low, value)
        canvas.line(left, y, right, y, stroke=palette.hair, width=THIN)
        canvas.text(left - 12, y + 5, up.figure(value), NOTE, anchor="end", fill=palette.soft)
    for value in across.ticks():
        x, _ = chart.at(value, up.low)
        canvas.line(x, chart.base, x, chart.base + 8, stroke=palette.soft, width=FINE)
        canvas.text(x, chart.base + 28, across.figure(value), NOTE, anchor="middle", fill=palette.soft)
    canvas.line(left, chart.base, right, chart.base, stroke=palette.hair, width=FIRM)
    canvas.text((left + right) / 2, chart.base + 58, _of_vehicle(chart, across.title), NOTE, bold=True, anchor="middle")
    canvas.text(MARGIN, _TOP - 20, _of_vehicle(chart, up.title), NOTE, bold=True)


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def _band(chart: SweepChart) -> None:
    """The line learned and twice its standard uncertainty to either side."""
    canvas, palette, plot = chart.canvas, chart.canvas.palette, chart.plot
    places = np.linspace(plot.across.low, plot.across.high, 61).tolist()
    canvas.raw(_clip(chart))
    canvas.open(clip_path="url(#floor)")
    upper = [chart.at(x, plot.band(x)[1]) for x in places]
    lower = [chart.at(x, plot.band(x)[0]) for x in places]
    canvas.add("path", d=f"{_path(upper + lower[::-1])}Z", fill=palette.wash, fill_opacity=0.7, halo=False)
    ends = [chart.at(x, plot.line(plot.slope, x)) for x in (places[0], places[-1])]
    canvas.add("path", d=_path(ends), fill="none", stroke=palette.ink, stroke_width=FIRM)
    canvas.close()


def _clip(chart: SweepChart) -> str:
    x, y = MARGIN + _LEFT, _TOP
    size = f'width="{number(chart.right - x)}" height="{number(chart.base - y)}"'
    return f'<clipPath id="floor"><rect x="{number(x)}" y="{number(y)}" {size}/></clipPath>'


def _statics(chart: SweepChart) -> None:
    plot, expected = chart.plot, chart.plot.expected
    if expected is None:
        return
    canvas, palette = chart.canvas, chart.canvas.palette
    ends = [chart.at(x, plot.line(expected, x)) for x in (plot.across.low, plot.across.high)]
    canvas.open(clip_path="url(#floor)")
    canvas.add("path", d=_path(ends), fill="none", stroke=palette.accent, stroke_width=FIRM, stroke_dasharray="9 6")
    canvas.close()


def _points(chart: SweepChart) -> None:
    """Plateaus with one standard uncertainty each way; the more samples, the larger."""
    canvas, palette, plot = chart.canvas, chart.canvas.palette, chart.plot
    many = len(plot.x) > 150
    largest = max(float(plot.counts.max()), 2.0)
    for x, y, u_x, u_y, count in zip(plot.x, plot.y, plot.u_x, plot.u_y, plot.counts, strict=True):
        here = chart.at(float(x), float(y))
        if not many:
            for one, other in (((x - u_x, y), (x + u_x, y)), ((x, y - u_y), (x, y + u_y))):
                (x1, y1), (x2, y2) = chart.at(*map(float, one)), chart.at(*map(float, other))
                canvas.line(x1, y1, x2, y2, stroke=palette.load, width=FINE)
        radius = 2.5 if many else 3.5 + 3.0 * float(np.log1p(count) / np.log1p(largest))
        canvas.add(
            "circle", cx=here[0], cy=here[1], r=radius, fill=palette.load, stroke=palette.ground, stroke_width=1.0
        )


def _panel(chart: SweepChart) -> float:
    """Draw the slope learned, statics' slope and the key. Returns the lower edge."""
    canvas, palette, answer, item = chart.canvas, chart.canvas.palette, chart.answer, chart.item
    x, y = WIDTH - MARGIN - PANEL, _TOP
    unit = answer.day.units.mass
    canvas.text(x, y, f"For each 100 {unit} of {_label(chart, item.per)}", NOTE, bold=True)
    figures = learned_shown(item, answer.day.units)
    y = _numbers(chart, x, y + 48, figures)
    expected = expected_shown(item, answer.day.units)
    if expected is not None:
        canvas.text(x, y, "Statics", NOTE, bold=True)
        for line in wrapped(_statics_words(chart, expected), width=56):
            y += 21
            canvas.text(x, y, line, NOTE, fill=palette.soft)
        y += 38
    canvas.line(x, y - 5, x + 32, y - 5, stroke=palette.ink, width=FIRM)
    canvas.text(x + 44, y, "the line learned, and some 95 % about it", NOTE)
    y += 28
    if expected is not None:
        canvas.line(x, y - 5, x + 32, y - 5, stroke=palette.accent, width=FIRM, dash="9 6")
        canvas.text(x + 44, y, "statics, through the same middle", NOTE)
        y += 28
    canvas.add("circle", cx=x + 16, cy=y - 5, r=5.0, fill=palette.load)
    canvas.line(x + 2, y - 5, x + 30, y - 5, stroke=palette.load, width=FINE)
    canvas.line(x + 16, y - 17, x + 16, y + 7, stroke=palette.load, width=FINE)
    canvas.text(x + 44, y, "a plateau of load, in its standard uncertainty", NOTE)
    y += 40
    for line in _notes(chart):
        canvas.text(x, y, line, SMALL, fill=palette.soft)
        y += 20
    return y


def _numbers(chart: SweepChart, x: float, y: float, figures: ShownFigures | None) -> float:
    """The slope in large figures and its interval. Returns where they end."""
    canvas, palette = chart.canvas, chart.canvas.palette
    if figures is None:
        return y
    unit = chart.answer.day.units.mass
    value = f"{figures.value} {unit}"
    canvas.text(x, y, value, 40.0, bold=True)
    beside = x + text_width(value, 40.0, bold=True) + 14
    canvas.text(beside, y, f"on {_label(chart, chart.item.of)}", 20.0)
    canvas.text(
        x, y + 28, f"± {figures.half} {unit}; 95 %: {figures.low} to {figures.high} {unit}", NOTE, fill=palette.soft
    )
    return y + 78


def _statics_words(chart: SweepChart, expected: ShownFigures) -> str:
    answer, load = chart.answer, chart.answer.load
    unit = answer.day.units
    spread = f"{expected.value} ± {expected.half} {unit.mass}" if expected.half else f"{expected.value} {unit.mass}"
    if load is None:
        return spread
    x, y = (format_number(unit.show(part.value, Dimension.LENGTH), 1).removesuffix(".0") for part in (load.x, load.y))
    where = f"coupling {load.coupling}" if load.coupling else f"{x}, {y} {unit.length}"
    return f"{spread}, for a load at {where}{'' if answer.given else ', where the wheels say it stood'}"


def _notes(chart: SweepChart) -> list[str]:
    answer = chart.answer
    lines = wrapped(
        f"{answer.samples:,} samples, {len(chart.plot.x):,} plateaus; one placement: uneven ground drops out.", width=62
    )
    if chart.slope.factor > 1.0:
        times = format_number(chart.slope.factor, 1)
        lines += wrapped(
            f"Scatter {times} times what the pads' doubt explains; the interval is that much wider.", width=62
        )
    return lines


def _left_over(chart: SweepChart, top: float) -> None:
    """Draw the residuals of the plateaus and of statics from the line learned, enlarged."""
    canvas, palette, unit = chart.canvas, chart.canvas.palette, chart.answer.day.units.mass
    left, right, base = WIDTH - MARGIN - PANEL + 40, WIDTH - MARGIN, HEIGHT - MARGIN - 62
    if base - top < 120.0:
        return
    plot = chart.plot
    rest = plot.y - np.array([plot.line(plot.slope, float(x)) for x in plot.x])
    spread = np.hypot(plot.u_y, plot.slope * plot.u_x)
    both, expected = (plot.across.low, plot.across.high), plot.expected
    ends = [] if expected is None else [plot.line(expected, x) - plot.line(plot.slope, x) for x in both]
    most = max([float((np.abs(rest) + spread).max()), *(abs(end) for end in ends)]) * 1.15
    canvas.text(left - 40, top, f"Beside the line learned, {unit}", NOTE, bold=True)
    top += 18

    def at(x: float, y: float) -> tuple[float, float]:
        return left + plot.across.share(x) * (right - left), (top + base) / 2 - y / most * (base - top) / 2

    axis = axis_of("", np.array([-most, most]), _TICKS)
    for value in [tick for tick in axis.ticks() if abs(tick) <= most]:
        _, y = at(plot.across.low, value)
        canvas.line(left, y, right, y, stroke=palette.hair if value else palette.ink, width=THIN if value else FINE)
        canvas.text(left - 8, y + 5, axis.figure(value), SMALL, anchor="end", fill=palette.soft)
    if ends:
        points = [at(x, end) for x, end in zip(both, ends, strict=True)]
        canvas.add(
            "path", d=_path(points), fill="none", stroke=palette.accent, stroke_width=FINE, stroke_dasharray="9 6"
        )
    for x, y, u in zip(plot.x.tolist(), rest.tolist(), spread.tolist(), strict=True):
        here, high, low = at(x, y), at(x, y + u), at(x, y - u)
        canvas.line(here[0], high[1], here[0], low[1], stroke=palette.load, width=FINE)
        canvas.add("circle", cx=here[0], cy=here[1], r=3.5 if len(rest) < 150 else 2.0, fill=palette.load)


def _description(chart: SweepChart) -> str:
    figures, expected = (
        learned_shown(chart.item, chart.answer.day.units),
        expected_shown(chart.item, chart.answer.day.units),
    )
    unit = chart.answer.day.units.mass
    pair = f"{_label(chart, chart.item.of)} against {_label(chart, chart.item.per)}"
    text = f"{pair} on {len(chart.plot.x)} plateaus of load. "
    if figures is not None:
        text += (
            f"For each 100 {unit}: {figures.spread.replace('%', unit)}, 95 % interval {figures.low} to {figures.high}."
        )
    if expected is not None:
        text += f" Statics expects {expected.spread.replace('%', unit)}."
    return text
