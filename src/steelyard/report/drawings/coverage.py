"""How often the intervals of simulated days held the truth, kind by kind, against the promised share."""

from __future__ import annotations

import math
from dataclasses import dataclass

from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.tables.simulation.coverage import kind_words
from steelyard.simulation.coverage.result import PROMISED, CoverageShape, KindShape
from steelyard.units import format_number

WIDTH = 960.0
MARGIN = 36.0
_LEFT, _RIGHT = 216.0, 184.0
_ROW = 27.0
_TITLE, _WORD, _SMALL = 24.0, 15.0, 13.0
_LOWEST = 0.5
_STEPS = (0.01, 0.02, 0.05, 0.1)
_MOST_TICKS = 8


@dataclass(frozen=True)
class _ShareScale:
    """Shares on the sheet, from ``low`` to 1."""

    low: float
    step: float

    def x(self, share: float) -> float:
        """Position of a share; one below the scale stands at its end."""
        left, right = MARGIN + _LEFT, WIDTH - MARGIN - _RIGHT
        return left + (right - left) * (max(share, self.low) - self.low) / (1.0 - self.low)

    def ticks(self) -> list[float]:
        """The shares that are written at the scale."""
        count = round((1.0 - self.low) / self.step)
        return [1.0 - self.step * place for place in range(count, -1, -1)]


def coverage_svg(coverage: CoverageShape, *, theme: Theme = "light") -> str:
    """The chart as SVG; the same input gives the same text.

    Raises
    ------
    ValueError: no finding of any day was determined.
    """
    kinds = [kind for kind in coverage.kinds if kind.findings]
    if not kinds:
        raise ValueError("no finding was determined, so there is nothing to chart")
    canvas, scale = Canvas(PALETTES[theme]), _scale(kinds)
    title = "How often the intervals hold the truth"
    days = f"{coverage.days:,} days" if coverage.days != 1 else "1 day"
    caption = f"{days} like {coverage.like}, seed {coverage.seed}. Bars: where the share may lie, for so many days."
    canvas.text(MARGIN, MARGIN + 16, title, _TITLE, bold=True)
    canvas.text(MARGIN, MARGIN + 40, caption, _SMALL, fill=canvas.palette.soft)
    top = MARGIN + 92.0
    bottom = top + _ROW * len(kinds)
    _ground(canvas, scale, top - 14.0, bottom - 8.0)
    for place, kind in enumerate(kinds):
        _row(canvas, scale, top + _ROW * place + 8.0, kind)
    return canvas.document(width=WIDTH, height=bottom + 26.0, title=title, description=_description(kinds))


def _scale(kinds: list[KindShape]) -> _ShareScale:
    """A scale that holds every bar, and the promise with some room on its left."""
    least = min(kind.held.low for kind in kinds if kind.held.low is not None)
    wanted = 1.0 - max(min(least, 0.92), _LOWEST)
    step = next((step for step in _STEPS if wanted / step <= _MOST_TICKS), _STEPS[-1])
    return _ShareScale(1.0 - step * math.ceil(wanted / step - 1e-9), step)


def _ground(canvas: Canvas, scale: _ShareScale, top: float, bottom: float) -> None:
    palette = canvas.palette
    for share in scale.ticks():
        x = scale.x(share)
        canvas.line(x, top, x, bottom, stroke=palette.wash, width=1.0)
        canvas.text(x, bottom + 18, f"{format_number(100.0 * share)} %", _SMALL, anchor="middle", fill=palette.soft)
    promised = scale.x(PROMISED)
    canvas.line(promised, top - 8, promised, bottom, stroke=palette.accent, width=2.4)
    canvas.text(promised, top - 13, "promised: 95 %", _SMALL, bold=True, anchor="middle", fill=palette.accent)


def _row(canvas: Canvas, scale: _ShareScale, y: float, kind: KindShape) -> None:
    palette, held = canvas.palette, kind.held
    if held.share is None or held.low is None or held.high is None:
        return
    wrong = kind.holds in ("too seldom", "more often")
    canvas.text(MARGIN, y + 5, kind_words(kind.kind), _WORD, bold=wrong)
    canvas.line(scale.x(held.low), y, scale.x(held.high), y, stroke=palette.ink, width=2.0)
    for end in (held.low, held.high):
        canvas.line(scale.x(end), y - 5, scale.x(end), y + 5, stroke=palette.ink, width=2.0)
    fill = palette.on_ink if wrong else palette.load
    canvas.add("circle", cx=scale.x(held.share), cy=y, r=5.0, fill=fill, stroke=palette.ink, stroke_width=2.0)
    right = WIDTH - MARGIN
    canvas.text(right, y + 5, f"{format_number(100.0 * held.share, 1)} %", _WORD, bold=True, anchor="end")
    if wrong:
        canvas.tag(right - 112.0, y + 5, kind.holds, _SMALL)


def _description(kinds: list[KindShape]) -> str:
    told = [(kind_words(kind.kind), kind.held.share, kind.holds) for kind in kinds if kind.held.share is not None]
    return "; ".join(
        f"{name}: {format_number(100.0 * share, 1)} %"
        + (f", {holds} than promised" if holds == "more often" else f", {holds}" if holds == "too seldom" else "")
        for name, share, holds in told
    )
