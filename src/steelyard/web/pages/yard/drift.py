"""The span of a pad at each of its verifications, as inline SVG in the look of the page; the table says the same."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from steelyard.distributions import NORMAL_HALF
from steelyard.model import Instrument
from steelyard.units import format_number
from steelyard.web.pages.yard.contracts import DriftPoint

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BASE = 640.0, 350.0, 92.0, 610.0, 48.0, 288.0
_STEPS = tuple(part * 10.0**power for power in range(-3, 3) for part in (1.0, 2.0, 5.0))


@dataclass(frozen=True, slots=True)
class PadSpan:
    """The span that a verification found, and its standard uncertainty, both in %."""

    date: datetime.date
    span: float
    u: float

    @property
    def doubt(self) -> float:
        """Half of the 95 % interval [%]."""
        return NORMAL_HALF * self.u

    @property
    def said(self) -> str:
        """``+0.14 ± 0.06``."""
        return f"{_signed(self.span)} ± {format_number(self.doubt, 2)}"


def span_of(pad: Instrument) -> PadSpan | None:
    """The span of a pad by its last verification; None where that says nothing of it."""
    if pad.verified is None or pad.span_uncertainty is None:
        return None
    shared = sum(u * u for _, _, u in pad.shared)
    return PadSpan(pad.verified, 100.0 * pad.span, 100.0 * (pad.span_uncertainty**2 + shared) ** 0.5)


def spans_of(versions: Sequence[Instrument]) -> tuple[PadSpan, ...]:
    """One for each day of a verification, in time; of several versions of one day the last counts."""
    found = {span.date: span for pad in versions if (span := span_of(pad)) is not None}
    return tuple(found[date] for date in sorted(found))


def drift_points(spans: Sequence[PadSpan]) -> tuple[DriftPoint, ...]:
    """The rows of the table."""
    return tuple(DriftPoint(one.date.isoformat(), _signed(one.span), format_number(one.doubt, 2)) for one in spans)


def _signed(value: float) -> str:
    shown = format_number(abs(value), 2)
    return f"{'−' if value < 0 else '+'}{shown}" if shown.strip("0.") else shown


def draw_drift(name: str, spans: Sequence[PadSpan]) -> str:
    """The chart; empty where fewer than two verifications can be compared."""
    if len(spans) < 2:
        return ""
    most = max(abs(one.span) + one.doubt for one in spans)
    end = next((step for step in _STEPS if step >= most), most)
    first, last = spans[0].date, spans[-1].date
    days = max((last - first).days, 1)

    def x(one: PadSpan) -> float:
        return _LEFT + 60 + (_RIGHT - _LEFT - 120) * (one.date - first).days / days

    def y(value: float) -> float:
        return (_TOP + _BASE) / 2 - value / end * (_BASE - _TOP) / 2

    parts = ['<text class="axis" x="8" y="18">span, %</text>']
    for value in (end, 0.0, -end):
        parts.append(f'<line class="hair" x1="{_LEFT:g}" x2="{_RIGHT:g}" y1="{y(value):.1f}" y2="{y(value):.1f}"/>')
        label = "0" if value == 0.0 else f"{'−' if value < 0 else '+'}{end:g}"
        parts.append(f'<text class="end" x="{_LEFT - 10:g}" y="{y(value) + 7:.1f}">{label}</text>')
    line = " ".join(f"{x(one):.1f},{y(one.span):.1f}" for one in spans)
    parts.append(f'<polyline class="learned" points="{line}"/>')
    for place, one in enumerate(spans):
        left, low, high = x(one), y(one.span - one.doubt), y(one.span + one.doubt)
        parts.append(f'<line class="floor" x1="{left:.1f}" x2="{left:.1f}" y1="{low:.1f}" y2="{high:.1f}"/>')
        parts += [
            f'<line class="floor" x1="{left - 7:.1f}" x2="{left + 7:.1f}" y1="{edge:.1f}" y2="{edge:.1f}"/>'
            for edge in (low, high)
        ]
        parts.append(f'<circle class="point" cx="{left:.1f}" cy="{y(one.span):.1f}" r="7"/>')
        if place in (0, len(spans) - 1) or len(spans) < 5:
            parts.append(f'<text class="middle" x="{left:.1f}" y="{_BASE + 34:g}">{one.date.isoformat()}</text>')
    title = escape(
        f"Span of {name} at {len(spans)} verifications, each with its 95 % interval; the table says the same"
    )
    head = f'<svg class="chart" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" aria-label="{title}">'
    return Markup(f"{head}{''.join(parts)}</svg>")  # noqa: S704 - its words are escaped above
