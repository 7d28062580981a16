"""One page of distributions: for each quantity the share of the days that lie below a value, with its doubt.

The band is that of ``batch.population``: it holds at each height in 95 %, whether the days share their errors or not.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from steelyard.batch.population import SHARES, Population, PopulationFigure
from steelyard.batch.summary import ROOM, Group, Summary
from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.type import broken, fitted
from steelyard.report.drawings.sweep_plot import Axis, axis_of
from steelyard.report.words.many import group_words, state_words, told_words
from steelyard.units import format_number

WIDTH, HEIGHT = 1485.0, 1050.0
"""The sheet: a page on its side."""

PANELS = 6
_ACROSS = 3
_MARGIN, _HEAD, _FOOT, _GAP = 44.0, 118.0, 66.0, 40.0
_TITLE, _NAME, _WORD, _SMALL = 28.0, 17.0, 14.0, 13.0
_NAMES = 84.0  # height of a panel's name, state, count and median
_LEFT, _BELOW = 44.0, 56.0
_HALF = 1.96
_CAPTION = (
    "Up: the share of the days that lie below a value. Shaded: its 95 % band, from how many days there are and how "
    "well each was weighed."
)


@dataclass(frozen=True)
class _Panel:
    """One quantity on the sheet: the corner of its plot, its size, its axis, and the told points with their shares."""

    x: float
    y: float
    width: float
    height: float
    axis: Axis
    points: tuple[tuple[float, PopulationFigure], ...]

    def across(self, value: float) -> float:
        return self.x + self.width * min(max(self.axis.share(value), 0.0), 1.0)

    def up(self, share: float) -> float:
        return self.y + self.height * (1.0 - share)


def drawable(summary: Summary) -> tuple[Group, ...]:
    """The groups that a page shows, of those whose distribution is told.

    Shares come before the room to limits, a quantity that is not shown yet before one in a further state, and then
    those with the most cases.
    """
    told = [group for group in summary.groups if group.population is not None and any(group.population.curve)]
    rank: dict[tuple[str, str, str], int] = {}
    ranked: list[tuple[int, bool, int, Group]] = []
    for place, group in enumerate(told):
        what = (group.key.quantity, group.key.role, group.key.place)
        rank[what] = rank.get(what, -1) + 1
        ranked.append((rank[what], group.key.quantity == ROOM, place, group))
    return tuple(group for *_, group in sorted(ranked, key=lambda item: item[:3])[:PANELS])


def distributions_svg(summary: Summary, *, theme: Theme = "light") -> str:
    """The page as SVG; the same summary gives the same text.

    Raises
    ------
    ValueError: no quantity has cases enough.
    """
    groups = drawable(summary)
    if not groups:
        raise ValueError("no quantity has cases enough for a distribution, so there is nothing to draw")
    canvas = Canvas(PALETTES[theme])
    title = page_title(summary)
    canvas.text(_MARGIN, _MARGIN + 22, title, _TITLE, bold=True)
    canvas.text(_MARGIN, _MARGIN + 46, _CAPTION, _SMALL, fill=canvas.palette.soft)
    rows = 1 if len(groups) <= _ACROSS else 2
    across = min(len(groups), _ACROSS)
    wide = (WIDTH - 2 * _MARGIN - (across - 1) * _GAP) / across
    high = (HEIGHT - _HEAD - _FOOT - (rows - 1) * _GAP) / rows
    for place, group in enumerate(groups):
        left = _MARGIN + (place % _ACROSS) * (wide + _GAP)
        top = _HEAD + (place // _ACROSS) * (high + _GAP)
        _draw(canvas, group, left, top, wide, high)
    _notes(canvas, summary)
    return canvas.document(width=WIDTH, height=HEIGHT, title=title, description=page_words(summary))


def page_title(summary: Summary) -> str:
    """The heading of the page."""
    return f"What {format_number(summary.days)} weigh days say"


def page_words(summary: Summary) -> str:
    """The page in words, for those who cannot see it."""
    return " ".join(_said(group) for group in drawable(summary))


def _draw(canvas: Canvas, group: Group, left: float, top: float, wide: float, high: float) -> None:
    found = group.population
    if found is None:
        return
    _names(canvas, group, found, left, top, wide)
    points = tuple((float(share), one) for share, one in zip(SHARES, found.curve, strict=True) if one is not None)
    ends = np.array([value for _, one in points for value in (one.low, one.high)])
    panel = _Panel(
        left + _LEFT,
        top + _NAMES,
        wide - _LEFT,
        high - _NAMES - _BELOW,
        axis_of(group.key.unit, ends, ticks=5),
        points,
    )
    _grid(canvas, panel)
    _curve(canvas, panel)
    middle = found.at(0.5)
    if middle is not None:
        _median(canvas, panel, middle)
    _one_day(canvas, panel, found)


def _names(canvas: Canvas, group: Group, found: Population, left: float, top: float, wide: float) -> None:
    soft = canvas.palette.soft
    lines = broken(group_words(group.key), _NAME, wide, bold=True, most=2)
    for place, line in enumerate(lines):
        canvas.text(left, top + 14 + 20 * place, line, _NAME, bold=True)
    told = f"{state_words(group.key)}, {format_number(found.count)} cases"
    below = top + 14 + 20 * len(lines)
    canvas.text(left, below, fitted(told, _WORD, wide), _WORD, fill=soft)
    middle = found.at(0.5)
    if middle is not None:
        value, low, high = told_words(middle)
        canvas.text(left, below + 20, f"half below {value} {group.key.unit}, {low} to {high}", _WORD, bold=True)


def _grid(canvas: Canvas, panel: _Panel) -> None:
    palette, foot = canvas.palette, panel.y + panel.height
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        y = panel.up(share)
        dash = None if share == 0.0 else "2 4"
        canvas.line(panel.x, y, panel.x + panel.width, y, stroke=palette.hair, width=1.0, dash=dash)
        canvas.text(panel.x - 8, y + 4.5, f"{100 * share:.0f} %", _SMALL, anchor="end", fill=palette.soft)
    for tick in panel.axis.ticks():
        x = panel.across(tick)
        canvas.line(x, foot, x, foot + 6, stroke=palette.hair, width=1.0)
        text = format_number(tick, _places(panel.axis.step))
        canvas.text(x, foot + 22, text, _SMALL, anchor="middle", fill=palette.soft)
    canvas.text(panel.x + panel.width, foot + 44, panel.axis.title, _SMALL, anchor="end", fill=palette.soft)


def _places(step: float) -> int:
    return next(places for places in range(7) if places == 6 or abs(round(step, places) - step) < 1e-9)


def _curve(canvas: Canvas, panel: _Panel) -> None:
    palette = canvas.palette
    low = [(panel.across(one.low), panel.up(share)) for share, one in panel.points]
    high = [(panel.across(one.high), panel.up(share)) for share, one in panel.points]
    middle = [(panel.across(one.value), panel.up(share)) for share, one in panel.points]
    canvas.add("path", d=_path([*low, *reversed(high)]) + "Z", fill=palette.wash, halo=False, class_="band")
    canvas.add("path", d=_path(middle), fill="none", stroke=palette.load, stroke_width=2.4, class_="curve")


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def _median(canvas: Canvas, panel: _Panel, told: PopulationFigure) -> None:
    x, y = panel.across(told.value), panel.up(0.5)
    canvas.line(x, y, x, panel.y + panel.height, stroke=canvas.palette.accent, width=1.4, dash="4 3")
    canvas.add("circle", cx=x, cy=y, r=4.5, fill=canvas.palette.accent, stroke=canvas.palette.ink, stroke_width=1.0)


def _one_day(canvas: Canvas, panel: _Panel, found: Population) -> None:
    """The 95 % interval of one day to the scale of the axis, below it."""
    half = _HALF * found.doubt / (panel.axis.high - panel.axis.low) * panel.width
    y, x = panel.y + panel.height + 40, panel.x + 6 + min(half, panel.width / 4)
    half = min(half, panel.width / 4)
    for end in (x - half, x + half):
        canvas.line(end, y - 5, end, y + 5, stroke=canvas.palette.ink, width=1.4)
    canvas.line(x - half, y, x + half, y, stroke=canvas.palette.ink, width=1.4)
    canvas.text(x + half + 8, y + 4.5, "interval of one day", _SMALL, fill=canvas.palette.soft)


def _notes(canvas: Canvas, summary: Summary) -> None:
    left = sum(group.contested for group in summary.groups)
    without = sum(summary.faulty.values())
    days = f"{format_number(without)} day{'' if without == 1 else 's'} without answers"
    notes = [
        "Measured states only; the doubt of the weighings is taken off the curves.",
        f"Left out: {format_number(left)} contested findings; {days}.",
    ]
    for place, note in enumerate(notes):
        canvas.text(_MARGIN, HEIGHT - _FOOT + 22 + 20 * place, note, _SMALL, fill=canvas.palette.soft)


def _said(group: Group) -> str:
    found = group.population
    middle = None if found is None else found.at(0.5)
    if found is None or middle is None:
        return f"{group_words(group.key)}, {state_words(group.key)}."
    value, low, high = told_words(middle)
    return (
        f"{group_words(group.key)}, {state_words(group.key)}, {format_number(found.count)} cases: half below {value} "
        f"{group.key.unit}, {low} to {high}."
    )
