"""The line of a sweep as inline SVG: plateaus, the line learned in its doubt, statics' line beside it.

All colours come from the style sheet. Its units are such that its words can be read on a phone.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from markupsafe import Markup, escape

from steelyard.findings import Learned, SweepAnswer
from steelyard.units import Dimension, format_number

_WIDTH, _HEIGHT, _LEFT, _RIGHT, _TOP, _BASE = 640.0, 470.0, 92.0, 620.0, 46.0, 392.0
_TICKS = 5
_WIDE = 2.0  # standard uncertainties, of the band
_MANY = 400  # points; among more, every so many is drawn


@dataclass(frozen=True, slots=True)
class LearnChart:
    """The drawing and the words of its key."""

    svg: Markup
    key: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Axis:
    low: float
    high: float
    step: float

    def ticks(self) -> list[float]:
        """Where figures stand."""
        return [self.step * n for n in range(math.ceil(self.low / self.step), math.floor(self.high / self.step) + 1)]


def draw_chart(answer: SweepAnswer, item: Learned) -> LearnChart | None:
    """One determined slope; None where it has none to draw."""
    slope, sums = item.slope, item.sums
    if slope is None or sums is None or item.value is None or item.u is None:
        return None
    units = answer.day.units
    factor = units.factor(Dimension.MASS)
    y, x = ([float(value) / factor for value in answer.sweep.at(one)] for one in sums)
    across, up = _axis(x), _axis(y)
    middle_x, middle_y = (value / factor for value in slope.middle)
    reach = [across.low + (across.high - across.low) * part / 24 for part in range(25)]
    offset = slope.u_intercept_at / factor

    def at(along: float, above: float) -> str:
        left = _LEFT + (along - across.low) / (across.high - across.low) * (_RIGHT - _LEFT)
        return f"{left:.1f},{_BASE - (above - up.low) / (up.high - up.low) * (_BASE - _TOP):.1f}"

    def line(rate: float, along: float) -> float:
        return middle_y + rate * (along - middle_x)

    value, u, expected = item.value, item.u, item.expected
    half = [_WIDE * math.hypot(offset, u * (along - middle_x)) for along in reach]
    upper = [at(along, line(value, along) + by) for along, by in zip(reach, half, strict=True)]
    lower = [at(along, line(value, along) - by) for along, by in zip(reach, half, strict=True)]
    ends = (reach[0], reach[-1])
    parts = [
        *_grid(across, up, at),
        f'<polygon class="band" clip-path="url(#floor)" points="{" ".join(upper + lower[::-1])}"/>',
    ]
    points = " ".join(at(along, line(value, along)) for along in ends)
    parts.append(f'<polyline class="learned" clip-path="url(#floor)" points="{points}"/>')
    if expected is not None:
        points = " ".join(at(along, line(expected.value, along)) for along in ends)
        parts.append(f'<polyline class="statics" clip-path="url(#floor)" points="{points}"/>')
    every = max(1, len(x) // _MANY)
    for along, above in list(zip(x, y, strict=True))[::every]:
        left, top = at(along, above).split(",")
        parts.append(f'<circle class="point" cx="{left}" cy="{top}" r="5"/>')
    one, other = answer.measures[item.of].label, answer.measures[item.per].label
    return _document(answer, parts, one, other, item)


def _document(answer: SweepAnswer, parts: list[str], one: str, other: str, item: Learned) -> LearnChart:
    unit = answer.day.units.mass
    title = f"{one} against {other}; the tables below hold the same figures"
    words = [
        f'<text class="axis" x="{_LEFT - 84:g}" y="26">{escape(one)}, {escape(unit)}</text>',
        f'<text class="axis end" x="{_RIGHT:g}" y="{_HEIGHT - 12:g}">{escape(other)}, {escape(unit)}</text>',
    ]
    head = f'<svg class="chart" viewBox="0 0 {_WIDTH:g} {_HEIGHT:g}" role="img" aria-label="{escape(title)}">'
    clip = f'<rect x="{_LEFT:g}" y="{_TOP:g}" width="{_RIGHT - _LEFT:g}" height="{_BASE - _TOP:g}"/>'
    body = f'<defs><clipPath id="floor">{clip}</clipPath></defs>{"".join(words)}{"".join(parts)}</svg>'
    key = ["point plateaus of load", "learned the line learned, in twice its standard uncertainty"]
    if item.expected is not None:
        key.append("statics what statics expects")
    return LearnChart(Markup(head + body), tuple(key))  # noqa: S704 - every word of it is escaped above


def _axis(values: list[float]) -> _Axis:
    low, high = min(values), max(values)
    room = 0.06 * max(high - low, 1e-9)
    low, high = low - room, high + room
    rough = (high - low) / _TICKS
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(power * factor for factor in (1.0, 2.0, 2.5, 5.0, 10.0) if power * factor >= rough * (1 - 1e-9))
    return _Axis(low, high, step)


def _grid(across: _Axis, up: _Axis, place: Callable[[float, float], str]) -> list[str]:
    parts: list[str] = []
    for value in up.ticks():
        _, top = place(across.low, value).split(",")
        parts.append(f'<line class="hair" x1="{_LEFT:g}" x2="{_RIGHT:g}" y1="{top}" y2="{top}"/>')
        parts.append(f'<text class="end" x="{_LEFT - 10:g}" y="{float(top) + 7:.1f}">{_figure(value, up.step)}</text>')
    for value in across.ticks():
        left, _ = place(value, up.low).split(",")
        parts.append(f'<line class="tick" x1="{left}" x2="{left}" y1="{_BASE:g}" y2="{_BASE + 8:g}"/>')
        parts.append(f'<text class="middle" x="{left}" y="{_BASE + 30:g}">{_figure(value, across.step)}</text>')
    parts.append(f'<line class="floor" x1="{_LEFT:g}" x2="{_RIGHT:g}" y1="{_BASE:g}" y2="{_BASE:g}"/>')
    return parts


def _figure(value: float, step: float) -> str:
    return format_number(value, 0 if step >= 1.0 else 2)
