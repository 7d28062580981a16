"""The line of a sweep as inline SVG: plateaus, the line learned in its doubt, statics' line beside it.

All colours come from the style sheet. Its units are such that its words can be read on a phone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup, escape

from steelyard.questions.sweep import Learned, SweepAnswer
from steelyard.report.drawings.sweep_plot import SweepPlot, sweep_plot

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BASE = 640.0, 470.0, 92.0, 620.0, 46.0, 392.0
_TICKS = 5
_MANY = 400  # points; among more, every so many is drawn


@dataclass(frozen=True, slots=True)
class LearnChart:
    """The drawing and the words of its key."""

    svg: Markup
    key: tuple[str, ...]


def draw_chart(answer: SweepAnswer, item: Learned, say: Callable[[str], str]) -> LearnChart | None:
    """One determined slope; None where it has none to draw. ``say`` puts names into its words."""
    plot = sweep_plot(answer, item, ticks=_TICKS)
    if plot is None:
        return None
    across, up = plot.across, plot.up

    def at(along: float, above: float) -> str:
        left = _LEFT + across.share(along) * (_RIGHT - _LEFT)
        return f"{left:.1f},{_BASE - up.share(above) * (_BASE - _TOP):.1f}"

    reach = [across.low + (across.high - across.low) * part / 24 for part in range(25)]
    upper = [at(along, plot.band(along)[1]) for along in reach]
    lower = [at(along, plot.band(along)[0]) for along in reach]
    ends = (across.low, across.high)
    parts = [
        *_grid(plot, at),
        f'<polygon class="band" clip-path="url(#floor)" points="{" ".join(upper + lower[::-1])}"/>',
    ]
    points = " ".join(at(along, plot.line(plot.slope, along)) for along in ends)
    parts.append(f'<polyline class="learned" clip-path="url(#floor)" points="{points}"/>')
    if plot.expected is not None:
        points = " ".join(at(along, plot.line(plot.expected, along)) for along in ends)
        parts.append(f'<polyline class="statics" clip-path="url(#floor)" points="{points}"/>')
    every = max(1, len(plot.x) // _MANY)
    for along, above in list(zip(plot.x.tolist(), plot.y.tolist(), strict=True))[::every]:
        left, top = at(along, above).split(",")
        parts.append(f'<circle class="point" cx="{left}" cy="{top}" r="5"/>')
    one, other = answer.measures[item.of].label, answer.measures[item.per].label
    title = f"{one} against {other}; the tables below hold the same figures"
    return _document(plot, parts, say(title), say)


def _document(plot: SweepPlot, parts: list[str], title: str, say: Callable[[str], str]) -> LearnChart:
    words = [
        f'<text class="axis" x="{_LEFT - 84:g}" y="26">{escape(say(plot.up.title))}</text>',
        f'<text class="axis end" x="{_RIGHT:g}" y="{_HEIGHT - 12:g}">{escape(say(plot.across.title))}</text>',
    ]
    head = f'<svg class="chart" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" aria-label="{escape(title)}">'
    clip = f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{_RIGHT - _LEFT:g}" height="{_BASE - _TOP:g}"/>'
    body = f'<defs><clipPath id="floor">{clip}</clipPath></defs>{"".join(words)}{"".join(parts)}</svg>'
    key = ["point plateaus of load", "learned the line learned, in twice its standard uncertainty"]
    if plot.expected is not None:
        key.append("statics what statics expects")
    return LearnChart(Markup(head + body), tuple(key))  # noqa: S704 - every word of it is escaped above


def _grid(plot: SweepPlot, place: Callable[[float, float], str]) -> list[str]:
    across, up = plot.across, plot.up
    parts: list[str] = []
    for value in up.ticks():
        _, top = place(across.low, value).split(",")
        parts.append(f'<line class="hair" x1="{_LEFT:g}" x2="{_RIGHT:g}" y1="{top}" y2="{top}"/>')
        parts.append(f'<text class="end" x="{_LEFT - 10:g}" y="{float(top) + 7:.1f}">{up.figure(value)}</text>')
    for value in across.ticks():
        left, _ = place(value, up.low).split(",")
        parts.append(f'<line class="tick" x1="{left}" x2="{left}" y1="{_BASE:g}" y2="{_BASE + 8:g}"/>')
        parts.append(f'<text class="middle" x="{left}" y="{_BASE + 30:g}">{across.figure(value)}</text>')
    parts.append(f'<line class="floor" x1="{_LEFT:g}" x2="{_RIGHT:g}" y1="{_BASE:g}" y2="{_BASE:g}"/>')
    return parts
