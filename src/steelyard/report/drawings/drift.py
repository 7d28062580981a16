"""The drift of a set over the years: the span of each instrument at each verification, against its tolerance."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.type import text_width
from steelyard.report.tables.verification import PHASES, in_time
from steelyard.units import format_number
from steelyard.verification import Estimate, VerificationResult, tolerance_of

WIDTH = 960.0
MARGIN = 36.0
_LEFT = 92.0
_ROW = 132.0
_GAP = 26.0
_TITLE, _WORD, _SMALL = 24.0, 15.0, 13.0
_CROWDED = 92.0
_DAY = datetime.timedelta(days=1)


@dataclass(frozen=True, slots=True)
class _Point:
    """One verification of one instrument: the day, its span and the tolerance as a share of the load, both in %."""

    date: datetime.date
    span: Estimate
    tolerance: float
    judged: str


@dataclass(frozen=True)
class _Frame:
    """Mapping of days and spans [%] to the sheet for one instrument."""

    first: datetime.date
    last: datetime.date
    top: float
    most: float

    def x(self, date: datetime.date) -> float:
        """Position of a day."""
        left, right = MARGIN + _LEFT, WIDTH - MARGIN
        days = max((self.last - self.first).days, 1)
        return left + (right - left) * (date - self.first).days / days

    def y(self, span: float) -> float:
        """Position of a span [%]."""
        return self.top + _ROW / 2.0 * (1.0 - span / self.most)


def drift_svg(results: Sequence[VerificationResult], *, theme: Theme = "light") -> str:
    """The chart of several verifications as SVG; the same input gives the same text.

    Parameters
    ----------
    results: one verification or more, in any order. theme: ``light``, ``dark`` or ``transparent``.

    Raises
    ------
    ValueError: no instrument has a span in any of them.
    """
    ordered = in_time(results)
    rows = {name: points for name in _names(ordered) if (points := list(_points(ordered, name)))}
    if not rows:
        raise ValueError("no span was determined, so there is nothing to chart")
    canvas = Canvas(PALETTES[theme])
    dates = [point.date for points in rows.values() for point in points]
    span = max(max(dates) - min(dates), 90 * _DAY)
    first, last = min(dates) - span / 14, max(dates) + span / 14
    title = "Drift of the instruments"
    canvas.text(MARGIN, MARGIN + 16, title, _TITLE, bold=True)
    phase = PHASES[ordered[-1].verification.phase]
    canvas.text(MARGIN, MARGIN + 40, _caption(phase), _SMALL, fill=canvas.palette.soft)
    most = _most(rows)
    top = MARGIN + 62.0
    for name, points in rows.items():
        frame = _Frame(first, last, top, most)
        _row(canvas, frame, name, points)
        top += _ROW + _GAP
    _days(canvas, _Frame(first, last, top - _GAP + 12, most), sorted(set(dates)))
    return canvas.document(width=WIDTH, height=top + 30.0, title=title, description=_description(rows))


def _caption(phase: str) -> str:
    return (
        f"Span in %, with its 95 % interval; above the middle line it reads high. Shaded: the tolerance "
        f"at the largest test load, {phase}."
    )


def _names(ordered: Sequence[VerificationResult]) -> list[str]:
    return list(dict.fromkeys(name for result in ordered for name in result.instruments))


def _points(ordered: Sequence[VerificationResult], name: str) -> Iterator[_Point]:
    for result in ordered:
        item = result.instruments.get(name)
        date = result.verification.record.date
        if item is None or item.span is None or date is None:
            continue
        loads = [made.load for made in result.judgements if made.kind in ("masses", "reference")]
        load = max(loads, default=item.instrument.capacity)
        grade = result.verification.classes[name]
        tolerance = tolerance_of(result.verification.phase, grade, item.instrument, load) / load
        judged = "" if item.outcome is None else item.outcome.value
        yield _Point(date, item.span.scaled(100.0), 100.0 * tolerance, judged)


def _most(rows: dict[str, list[_Point]]) -> float:
    """The end of the scale [%], a round figure that holds bands and intervals."""
    wanted = max(
        max(point.tolerance, abs(point.span.low), abs(point.span.high)) for points in rows.values() for point in points
    )
    steps = [part * 10.0**power for power in range(-3, 3) for part in (1.0, 2.0, 2.5, 5.0)]
    return next(step for step in steps if step >= 1.05 * wanted) if 1.05 * wanted <= steps[-1] else wanted


def _row(canvas: Canvas, frame: _Frame, name: str, points: list[_Point]) -> None:
    palette = canvas.palette
    left, right = MARGIN + _LEFT, WIDTH - MARGIN
    edges = [left, *((frame.x(a.date) + frame.x(b.date)) / 2 for a, b in pairwise(points)), right]
    for point, (start, end) in zip(points, pairwise(edges), strict=True):
        high = frame.y(point.tolerance)
        canvas.add(
            "rect",
            x=start,
            y=high,
            width=end - start,
            height=frame.y(-point.tolerance) - high,
            fill=palette.wash,
            fill_opacity=0.45,
            halo=False,
        )
    canvas.line(left, frame.y(0.0), right, frame.y(0.0), stroke=palette.hair, width=1.0)
    canvas.text(MARGIN, frame.y(0.0) - 8, name, _WORD + 3, bold=True)
    for span in (frame.most, 0.0, -frame.most):
        text = "0" if span == 0.0 else f"{'+' if span > 0 else '−'}{abs(span):g} %"
        canvas.text(left - 8, frame.y(span) + 5, text, _SMALL, anchor="end", fill=palette.soft)
    if len(points) > 1:
        d = "M" + "L".join(f"{number(frame.x(p.date))} {number(frame.y(p.span.value))}" for p in points)
        canvas.add("path", d=d, fill="none", stroke=palette.load, stroke_width=1.6)
    for place, point in enumerate(points):
        _point(canvas, frame, point, last=place == len(points) - 1 and len(points) > 1)


def _point(canvas: Canvas, frame: _Frame, point: _Point, *, last: bool) -> None:
    palette, x = canvas.palette, frame.x(point.date)
    low, high = frame.y(point.span.low), frame.y(point.span.high)
    canvas.line(x, low, x, high, stroke=palette.ink, width=1.6)
    for end in (low, high):
        canvas.line(x - 5, end, x + 5, end, stroke=palette.ink, width=1.6)
    outside = point.judged == "outside"
    canvas.add(
        "circle",
        cx=x,
        cy=frame.y(point.span.value),
        r=5.0,
        fill=palette.on_ink if outside else palette.load,
        stroke=palette.ink,
        stroke_width=2.4 if outside else 0.0,
    )
    value = point.span.value
    shown = format_number(value, 2)
    text = f"{'+' if value > 0.0 and shown.strip('0.') else ''}{shown} %"
    side = -1.0 if last else 1.0
    anchor = "end" if last else "start"
    at = frame.y(value) + (19 if value < 0.0 else -8)  # away from the line of nothing, which the figure would lie on
    canvas.text(x + side * 10, at, text, _WORD, bold=True, anchor=anchor)
    if outside:
        away = 22 + text_width(text, _WORD, bold=True) + text_width("outside", _SMALL, bold=True) / 2
        canvas.tag(x + side * away, at, "outside", _SMALL)


def _days(canvas: Canvas, frame: _Frame, dates: list[datetime.date]) -> None:
    """The days of the verifications under the last row; where they crowd, only some of them have their date."""
    palette = canvas.palette
    base, taken = frame.top, -1e9
    canvas.line(MARGIN + _LEFT, base, WIDTH - MARGIN, base, stroke=palette.ink, width=1.2)
    for day in dates:
        x = frame.x(day)
        canvas.line(x, base, x, base + 6, stroke=palette.ink, width=1.2)
        if x - taken >= _CROWDED:
            taken = x
            canvas.text(x, base + 22, day.isoformat(), _SMALL, anchor="middle", fill=palette.soft)


def _description(rows: dict[str, list[_Point]]) -> str:
    return "; ".join(
        f"{name}: " + ", ".join(f"{p.date.isoformat()} {p.span.value:+.2f} %" for p in points)
        for name, points in rows.items()
    )
