"""How much trailer, as a drawing: gross over the share on the coupling, and the region that every limit allows.

The region is filled up to the 95 % line; between that and the broken line of the best estimate lies the doubt. Each
stretch of the edge carries the letter of the limit that makes it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from steelyard.questions.trailer import HitchedTrailer, TrailerAnswer
from steelyard.report.drawings.above.scene import FINE, FIRM, NOTE, SMALL, THIN, TITLE
from steelyard.report.drawings.above.words import draw_mark_on
from steelyard.report.drawings.sheet.canvas import HATCH, Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.tables.contested import contested_note
from steelyard.report.tables.trailer import (
    largest_line,
    limit_label,
    mass_text,
    missed_line,
    moved_line,
    not_judged_line,
    share_text,
    window_words,
)
from steelyard.report.words.grid import wrapped
from steelyard.units import Dimension, format_number

WIDTH, HEIGHT, MARGIN, PANEL = 1600.0, 900.0, 48.0, 400.0
_NOTHING = 1000.0  # of the reader's unit: an axis where no trailer is allowed and none is shown
_LEFT, _TOP, _BOTTOM = 92.0, 188.0, 96.0


@dataclass(frozen=True, slots=True)
class TrailerChart:
    """The drawing in the making: shares from ``low`` to ``high`` [1] and masses from 0 to ``top`` (reader's unit).

    ``plates`` are the places of the words that stand on a patch already.
    """

    canvas: Canvas
    answer: TrailerAnswer
    low: float
    high: float
    top: float
    step: float
    plates: list[tuple[float, float]] = field(default_factory=list[tuple[float, float]])

    @property
    def right(self) -> float:
        """Right edge of the plot."""
        return WIDTH - MARGIN - PANEL - 48

    def x(self, share: float) -> float:
        """Position of a share [1] on the sheet."""
        left = MARGIN + _LEFT
        return left + (share - self.low) / (self.high - self.low) * (self.right - left)

    def y(self, kilograms: float) -> float:
        """Position of a mass [kg] on the sheet, never beyond the plot."""
        shown = self.answer.day.units.show(kilograms, Dimension.MASS) if np.isfinite(kilograms) else self.top
        part = min(max(shown, 0.0), self.top) / self.top
        return HEIGHT - MARGIN - _BOTTOM - part * (HEIGHT - MARGIN - _BOTTOM - _TOP)


def trailer_svg(answer: TrailerAnswer, *, theme: Theme = "light") -> str:
    """The answer as SVG, on ``theme``; the same input gives the same text."""
    result = answer.result
    chart = _chart(answer, theme)
    letters = {place: chr(ord("A") + number) for number, place in enumerate(_in_order(answer))}
    _head(chart)
    _grid(chart)
    _window(chart)
    _region(chart)
    for given in answer.given:
        _given(chart, given)
    if not result.missed:
        _letters(chart, letters)
        _corners(chart)
        _usual(chart)
    _panel(chart, letters)
    draw_mark_on(chart.canvas, WIDTH - MARGIN, HEIGHT - MARGIN)
    title = f"How much trailer: {answer.day.vehicles[answer.vehicle].title}"
    stretches = ", ".join(
        f"{share_text(corner.share)} and {mass_text(answer, corner.mass)}" for corner in result.corners
    )
    description = (
        f"Largest gross trailer mass at 95 % over its share on the coupling {answer.at}, from state {answer.state}: "
        f"{mass_text(answer, float(result.most[0]))} at {share_text(float(result.shares[0]))}, "
        f"{mass_text(answer, float(result.most[-1]))} at {share_text(float(result.shares[-1]))}; corners: "
        f"{stretches or 'none'}. {missed_line(answer) or largest_line(answer)} "
        f"{contested_note(result.limits.contested)} Limits: "
        + "; ".join(f"{letter}: {_limit(answer, place)}" for place, letter in letters.items())
    )
    return chart.canvas.document(width=WIDTH, height=HEIGHT, title=title, description=description)


def _in_order(answer: TrailerAnswer) -> list[int]:
    return list(dict.fromkeys(int(place) for place in answer.result.binds if place >= 0))


def _chart(answer: TrailerAnswer, theme: Theme) -> TrailerChart:
    result, units = answer.result, answer.day.units
    finite = [float(mass) for mass in (*result.most, *result.best) if np.isfinite(mass)]
    finite += [given.gross.high for given in answer.given if given.gross.high is not None]
    most = 1.12 * (units.show(max(finite, default=0.0), Dimension.MASS) or _NOTHING)
    rough = most / 6
    power = 10.0 ** np.floor(np.log10(rough))
    step = float(next(power * factor for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if power * factor >= rough))
    top = float(np.ceil(most / step) * step)
    return TrailerChart(Canvas(PALETTES[theme]), answer, float(result.shares[0]), float(result.shares[-1]), top, step)


def _head(chart: TrailerChart) -> None:
    canvas, palette, answer = chart.canvas, chart.canvas.palette, chart.answer
    day, vehicle = answer.day, answer.day.vehicles[answer.vehicle]
    title = f"How much trailer: {vehicle.title}"
    date = "" if day.record.date is None else f", {day.record.date.isoformat()}"
    note = fitted(f"{day.title}{date}", NOTE, 520.0)
    canvas.text(WIDTH - MARGIN, MARGIN + 26, note, NOTE, anchor="end", fill=palette.soft)
    canvas.text(MARGIN, MARGIN + 28, fitted(title, TITLE, WIDTH - 2 * MARGIN - 560, bold=True), TITLE, bold=True)
    words = f"at its coupling {answer.at}, as weighed in {answer.state}; the region keeps every limit, each at 95 %"
    canvas.text(MARGIN, MARGIN + 60, words, 20.0)


def _grid(chart: TrailerChart) -> None:
    canvas, palette, units = chart.canvas, chart.canvas.palette, chart.answer.day.units
    left, base = chart.x(chart.low), chart.y(0.0)
    for place in range(round(chart.top / chart.step) + 1):
        value = place * chart.step
        y = chart.y(value * units.factor(Dimension.MASS))
        canvas.line(left, y, chart.right, y, stroke=palette.hair, width=THIN if place else FIRM)
        canvas.text(left - 12, y + 5, format_number(value), NOTE, anchor="end", fill=palette.soft)
    for fives in range(int(np.ceil(chart.low * 20 - 1e-9)), int(np.floor(chart.high * 20 + 1e-9)) + 1):
        share = fives / 20
        x = chart.x(share)
        canvas.line(x, base, x, base + 8, stroke=palette.soft, width=FINE)
        canvas.text(x, base + 28, f"{100 * share:.0f} %", NOTE, anchor="middle", fill=palette.soft)
    middle = (left + chart.right) / 2
    canvas.text(middle, base + 58, "share of the trailer's gross on the coupling", NOTE, bold=True, anchor="middle")
    canvas.text(MARGIN, _TOP - 18, f"gross trailer mass, {units.mass}", NOTE, bold=True)


def _window(chart: TrailerChart) -> None:
    """The usual shares: lines across the plot and words above it."""
    canvas, palette, limits = chart.canvas, chart.canvas.palette, chart.answer.result.limits
    ends = [end for end in (limits.low, limits.high) if end is not None and chart.low < end < chart.high]
    for end in ends:
        canvas.line(chart.x(end), _TOP - 8, chart.x(end), chart.y(0.0), stroke=palette.accent, width=FINE, dash="2 4")
    words = window_words(chart.answer)
    if ends and words:
        middle = sum(map(chart.x, ends)) / len(ends)
        half = text_width(words, SMALL) / 2
        middle = min(max(middle, chart.x(chart.low) + 190 + half), chart.right - half)
        canvas.text(middle, _TOP - 16, words, SMALL, anchor="middle", fill=palette.accent)


def _points(chart: TrailerChart, masses: Iterator[float] | list[float]) -> str:
    pairs = zip(chart.answer.result.shares, masses, strict=True)
    return "L".join(f"{number(chart.x(float(share)))} {number(chart.y(mass))}" for share, mass in pairs)


def _region(chart: TrailerChart) -> None:
    canvas, palette, result = chart.canvas, chart.canvas.palette, chart.answer.result
    most, best = ([float(mass) for mass in masses] for masses in (result.most, result.best))
    start, end, base = chart.x(chart.low), chart.x(chart.high), chart.y(0.0)
    line = _points(chart, most)
    d = f"M{number(start)} {number(base)}L{line}L{number(end)} {number(base)}Z"
    canvas.add("path", d=d, fill=palette.wash, fill_opacity=0.55, halo=False)
    back = "L".join(reversed(_points(chart, best).split("L")))
    canvas.add("path", d=f"M{line}L{back}Z", fill=HATCH, halo=False)
    canvas.add(
        "path", d=f"M{_points(chart, best)}", fill="none", stroke=palette.ink, stroke_width=FINE, stroke_dasharray="7 5"
    )
    canvas.add("path", d=f"M{line}", fill="none", stroke=palette.ink, stroke_width=FIRM + 1)


def _given(chart: TrailerChart, given: HitchedTrailer) -> None:
    """A trailer as it would hang there: a point in the box of its two 95 % intervals, and its name."""
    canvas, palette, answer = chart.canvas, chart.canvas.palette, chart.answer
    values = (
        given.share.value,
        given.share.low,
        given.share.high,
        given.gross.value,
        given.gross.low,
        given.gross.high,
    )
    if any(value is None for value in values):
        return
    share, share_low, share_high, gross, gross_low, gross_high = (float(value or 0.0) for value in values)
    if not chart.low <= share <= chart.high:
        return
    x, y = chart.x(share), chart.y(gross)
    left, right = (chart.x(min(max(end, chart.low), chart.high)) for end in (share_low, share_high))
    top, low = chart.y(gross_high), chart.y(gross_low)
    canvas.add(
        "rect",
        x=left,
        y=top,
        width=max(right - left, 1.0),
        height=max(low - top, 1.0),
        fill=palette.ground or "none",
        fill_opacity=0.6,
        stroke=palette.accent,
        stroke_width=FINE,
    )
    canvas.add("circle", cx=x, cy=y, r=3.0, fill=palette.accent)
    title = answer.day.vehicles[given.trailer].title
    words = f"{title}: {mass_text(answer, gross)} at {share_text(share)}"
    wide = text_width(words, NOTE, bold=True)
    at = left - wide - 16
    _plate(chart, at if at > chart.x(chart.low) + 8 else min(right + 16, chart.right - wide - 8), y + 5, words)


def _plate(chart: TrailerChart, x: float, y: float, text: str) -> None:
    """Words on a patch of the ground's colour."""
    palette = chart.canvas.palette
    chart.plates.append((x, y))
    wide = text_width(text, NOTE, bold=True) + 12
    chart.canvas.add(
        "rect",
        x=x - 6,
        y=y - 16,
        width=wide,
        height=22.0,
        rx=2.0,
        fill=palette.ground or palette.on_ink,
        fill_opacity=0.92,
        halo=False,
    )
    chart.canvas.text(x, y, text, NOTE, bold=True)


def _letters(chart: TrailerChart, letters: dict[int, str]) -> None:
    """The letter of each limit in the middle of its stretch of the edge, just under it."""
    result = chart.answer.result
    edges = [0, *(np.flatnonzero(np.diff(result.binds)) + 1), len(result.shares)]
    for start, end in pairwise(int(edge) for edge in edges):
        place = int(result.binds[start])
        if place >= 0:
            middle = (start + end - 1) // 2
            x, y = chart.x(float(result.shares[middle])), chart.y(float(result.most[middle]))
            chart.canvas.tag(x, y + 34, letters[place], NOTE + 3)


def _corners(chart: TrailerChart) -> None:
    canvas, palette = chart.canvas, chart.canvas.palette
    for corner in chart.answer.result.corners:
        x, y = chart.x(corner.share), chart.y(corner.mass)
        canvas.add(
            "circle", cx=x, cy=y, r=6.0, fill=palette.ground or palette.on_ink, stroke=palette.ink, stroke_width=FIRM
        )
        words = f"{share_text(corner.share)}, {mass_text(chart.answer, corner.mass)}"
        wide = text_width(words, NOTE, bold=True)
        _plate(chart, min(x + 14, chart.right - wide - 8), y - 16, words)


def _usual(chart: TrailerChart) -> None:
    """The share of which the words tell the largest trailer, as a point of the edge; a corner is marked already."""
    answer, palette, share = chart.answer, chart.canvas.palette, chart.answer.moved[1].share
    most = answer.moved[1].most
    if not np.isfinite(most) or any(abs(corner.share - share) < 0.001 for corner in answer.result.corners):
        return
    x, y = chart.x(share), chart.y(most)
    chart.canvas.add("circle", cx=x, cy=y, r=4.0, fill=palette.ink)
    words = f"{share_text(share)}, {mass_text(answer, most)}"
    at = min(x + 24, chart.right - text_width(words, NOTE, bold=True) - 8)
    if not any(abs(at - left) < 200.0 and abs(y - 12 - top) < 24.0 for left, top in chart.plates):
        _plate(chart, at, y - 12, words)


def _limit(answer: TrailerAnswer, place: int) -> str:
    """A limit in words: without the vehicle where the head of the chart names it."""
    return limit_label(answer, place).removeprefix(f"{answer.vehicle} ")


def _bounds(chart: TrailerChart, letters: dict[int, str], x: float, y: float) -> float:
    """The limits with their letters, the largest trailer, and the line's meaning. Returns where they end."""
    canvas, answer = chart.canvas, chart.answer
    canvas.text(x, y, "What binds", NOTE, bold=True)
    y += 32
    for place, letter in letters.items():
        canvas.tag(x + 12, y, letter, NOTE + 3)
        for line in wrapped(_limit(answer, place), width=44):
            canvas.text(x + 36, y - 2, line, NOTE)
            y += 20
        y += 14
    y += 8
    for line in wrapped(largest_line(answer), width=54):
        canvas.text(x, y, line, NOTE)
        y += 20
    y += 14
    canvas.line(x, y - 5, x + 30, y - 5, stroke=canvas.palette.ink, width=FIRM + 1)
    canvas.text(x + 42, y, "every limit kept, each at 95 %", NOTE)
    return y + 28


def _panel(chart: TrailerChart, letters: dict[int, str]) -> None:
    """Key: the limits that bind, the meaning of the lines, and the effect of moving the coupling."""
    canvas, palette, answer = chart.canvas, chart.canvas.palette, chart.answer
    x, y = WIDTH - MARGIN - PANEL, _TOP
    for text in (contested_note(answer.result.limits.contested), not_judged_line(answer)):
        for line in wrapped(text, width=50) if text else ():
            canvas.text(x, y, line, NOTE, bold=True)
            y += 20
        y += 14 if text else 0
    if answer.result.missed:
        for line in wrapped(missed_line(answer), width=50):
            canvas.text(x, y, line, NOTE, bold=True)
            y += 20
        y += 14
    else:
        y = _bounds(chart, letters, x, y)
    if any(most != best for most, best in zip(answer.result.most, answer.result.best, strict=True)):
        canvas.add("rect", x=x, y=y - 13, width=30.0, height=14.0, fill=HATCH, stroke=palette.ink, stroke_width=THIN)
        canvas.text(x + 42, y, "doubt, up to the best estimate (broken)", NOTE)
        y += 28
    if answer.given:
        canvas.add(
            "rect", x=x + 2, y=y - 13, width=26.0, height=15.0, fill="none", stroke=palette.accent, stroke_width=FIRM
        )
        canvas.add("circle", cx=x + 15, cy=y - 5.5, r=3.5, fill=palette.accent)
        canvas.text(x + 42, y, "a trailer as weighed, and its 95 % box", NOTE)
        y += 28
    if answer.result.missed:
        return
    y += 16
    canvas.text(x, y, "Where the coupling stands", NOTE, bold=True)
    y += 24
    for line in wrapped(moved_line(answer), width=54):
        canvas.text(x, y, line, NOTE, fill=palette.soft)
        y += 20
