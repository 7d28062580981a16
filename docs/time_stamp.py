"""Draws the picture of the page on time stamps: two clocks, and the span of time in which a seal was made."""

from __future__ import annotations

from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.palette import PALETTES, Theme

NAME = "seals/time-stamp"

_WIDTH, _HEIGHT = 760.0, 232.0
_LEFT, _RIGHT, _LINE = 40.0, 720.0, 118.0
_SEALED, _STAMPED = 250.0, 540.0
_TITLE, _WORD, _SMALL = 20.0, 15.0, 13.0


def time_stamp_svg(theme: Theme) -> str:
    """The picture as SVG."""
    canvas = Canvas(PALETTES[theme])
    ink, soft = canvas.palette.ink, canvas.palette.soft
    canvas.text(_LEFT, 38, "When was it sealed?", _TITLE, bold=True)
    canvas.line(_LEFT, _LINE, _RIGHT, _LINE, stroke=soft, width=1.5)
    canvas.add("path", d=f"M{_RIGHT} {_LINE}l-9 -5v10z", fill=soft)
    canvas.text(_RIGHT, _LINE + 22, "time", _SMALL, anchor="end", fill=soft)
    canvas.line(_LEFT + 8, _LINE, _STAMPED, _LINE, stroke=ink, width=6)
    canvas.add("path", d=f"M{_LEFT} {_LINE}l14 -9v18z", fill=ink)
    canvas.text(
        (_LEFT + _STAMPED) / 2, _LINE - 20, "it was sealed somewhere in here", _WORD, bold=True, anchor="middle"
    )
    for x, dash in ((_SEALED, "4 4"), (_STAMPED, None)):
        canvas.line(x, _LINE - 12, x, _LINE + 26, stroke=ink, width=2, dash=dash)
    for x, lines in (
        (_SEALED, ("the time in the seal", "by the weigher's own clock,", "which could be set to anything")),
        (_STAMPED, ("the time stamp", "by the clock of the authority,", "which had the seal's digest by then")),
    ):
        canvas.text(x, _LINE + 46, lines[0], _WORD, bold=True, anchor="middle")
        for number, line in enumerate(lines[1:], 1):
            canvas.text(x, _LINE + 46 + 20 * number, line, _SMALL, anchor="middle", fill=soft)
    return canvas.document(
        width=_WIDTH,
        height=_HEIGHT,
        title="When was it sealed?",
        description="A line of time with the time in the seal and the time stamp; the span before the stamp is bold.",
    )
