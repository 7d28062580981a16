"""Draws the picture of the page on keys: two keys of one weigher, and the one chain of their seals."""

from __future__ import annotations

import itertools

from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.palette import PALETTES, Theme

NAME = "seals/key-chain"

_TITLE = "Two keys, one chain of seals"
_WIDTH, _HEIGHT = 760.0, 304.0
_LEFT, _CHANGE, _RIGHT = 40.0, 440.0, 720.0
_OLD, _NEW, _TALL = 108.0, 196.0, 44.0
_SEALS = ((130.0, _OLD), (240.0, _OLD), (350.0, _OLD), (540.0, _NEW), (650.0, _NEW))
_ROUND = 15.0
_HEAD, _WORD, _SMALL = 20.0, 15.0, 13.0


def key_chain_svg(theme: Theme) -> str:
    """The picture as SVG."""
    canvas = Canvas(PALETTES[theme])
    ink, soft = canvas.palette.ink, canvas.palette.soft
    canvas.text(_LEFT, 38, _TITLE, _HEAD, bold=True)
    for x1, x2, y in ((_LEFT, _CHANGE, _OLD), (_CHANGE, _RIGHT, _NEW)):
        canvas.add("rect", x=x1, y=y - _TALL / 2, width=x2 - x1, height=_TALL, rx=4, fill=canvas.palette.wash)
    canvas.text(_LEFT, _OLD - _TALL / 2 - 8, "old key", _WORD, bold=True)
    canvas.text(_RIGHT, _NEW - _TALL / 2 - 8, "new key", _WORD, bold=True, anchor="end")
    _change(canvas)
    for before, after in itertools.pairwise(_SEALS):
        _link(canvas, after, before)
    for number, (x, y) in enumerate(_SEALS, 1):
        canvas.add("circle", cx=x, cy=y, r=_ROUND, fill=ink)
        canvas.text(x, y + 5, str(number), _WORD, bold=True, anchor="middle", fill=canvas.palette.on_ink)
    canvas.text(
        _LEFT, 264, "Each seal names the digest of the one before, across a change of keys too:", _SMALL, fill=soft
    )
    canvas.text(_LEFT, 282, "whoever has seals 3 and 5 sees that 4 is missing.", _SMALL, fill=soft)
    return canvas.document(
        width=_WIDTH,
        height=_HEIGHT,
        title=_TITLE,
        description="Seals 1 to 3 by the old key, 4 and 5 by the new one; each points to the one before it.",
    )


def _change(canvas: Canvas) -> None:
    """The moment at which the new key takes the place of the old one."""
    top, bottom = _OLD - _TALL / 2 - 22, _NEW + _TALL / 2 + 4
    canvas.line(_CHANGE, top, _CHANGE, bottom, stroke=canvas.palette.ink, width=2)
    for row, words in enumerate(("the new key takes its place:", "both keys sign for that")):
        canvas.text(_CHANGE + 12, _OLD - 8 + 18 * row, words, _SMALL, fill=canvas.palette.soft)


def _link(canvas: Canvas, start: tuple[float, float], end: tuple[float, float]) -> None:
    """An arrow from a seal to the one before it, from edge to edge."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / length, dy / length
    x1, y1 = start[0] + ux * _ROUND, start[1] + uy * _ROUND
    x2, y2 = end[0] - ux * (_ROUND + 3), end[1] - uy * (_ROUND + 3)
    canvas.line(x1, y1, x2 - ux * 8, y2 - uy * 8, stroke=canvas.palette.ink, width=2)
    sides = [(x2 - ux * 10 + side * uy * 5, y2 - uy * 10 - side * ux * 5) for side in (1, -1)]
    points = " ".join(f"{x:.1f},{y:.1f}" for x, y in ((x2, y2), *sides))
    canvas.add("polygon", points=points, fill=canvas.palette.ink)
