"""The rig from above, true to scale, with the load of every wheel, axle, side and coupling.

The look is that of the balance whose name the program bears: beams with notches, weights hung on them at their arms.
What matters is told twice, by form and by word: fill heights, hatching, dashes, signs; never by hue.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from steelyard.findings import Findings
from steelyard.questions.above import DrawnRig, rig_of
from steelyard.report.drawings.above.beam import beams_of
from steelyard.report.drawings.above.body import draw_bodies
from steelyard.report.drawings.above.left import LeftBox, described, left_box
from steelyard.report.drawings.above.plates import PLATE_WIDTH, Plate, draw_plates, plates_height, plates_of
from steelyard.report.drawings.above.scene import SMALL, Scene, room_for
from steelyard.report.drawings.above.values import Figure, Reader
from steelyard.report.drawings.above.wheels import WheelRow, largest_change, wheel_row
from steelyard.report.drawings.above.words import (
    HEAD,
    MARK_WIDTH,
    NOTICE,
    description,
    draw_head,
    draw_legend,
    draw_mark,
    draw_notice,
    heading_plain,
    legend,
    legend_height,
)
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.palette import PALETTES, PAPER, Palette, Theme

_GUTTER = 100.0  # for the rows' captions
_DENSEST = 112.0  # units of the sheet for a metre, at most: a small rig is not blown up


@dataclass(frozen=True, slots=True)
class PaperSheet:
    """The paper of the drawing.

    Attributes
    ----------
    width: of the sheet, in its own units (a figure is 22 high). margin: left free all round.
    furnished: with head, plates and legend; without, only the rig, its figures and the beams.
    column: height of a wheel's column at 100 % of its rating. gap: between the plan and what is above and below it.
    """

    palette: Palette
    width: float = 1600.0
    margin: float = 48.0
    furnished: bool = True
    column: float = 72.0
    gap: float = 34.0


PRINTED = PaperSheet(PAPER, width=1160.0, margin=4.0, furnished=False, column=48.0, gap=14.0)
"""The sheet for a ticket: only the rig, on clear paper."""


def above_svg(
    findings: Findings,
    state: str,
    *,
    against: str | None = None,
    theme: Theme = "light",
    title: str | None = None,
) -> str:
    """The rig of one state from above, or what changed since another, as SVG.

    Parameters
    ----------
    findings: of the weigh day.
    state: what is drawn.
    against: draw the change from this state to ``state``; the two may be named in any order.
    theme: ``light``, ``dark``, or ``transparent`` to lay over a picture.
    title: at the head; None takes the day's own.

    Returns
    -------
    An SVG document; the same input gives the same text.

    Raises
    ------
    KeyError: the day has no such state.
    ValueError: the state has no vehicle.
    """
    return draw(findings, state, against=against, sheet=PaperSheet(PALETTES[theme]), title=title)


def draw(findings: Findings, state: str, *, against: str | None, sheet: PaperSheet, title: str | None = None) -> str:
    """The drawing on any sheet; otherwise as ``above_svg``.

    Raises
    ------
    KeyError: the day has no such state.
    ValueError: the state has no vehicle.
    """
    reader = Reader(findings, state, against=against)
    if not findings.day.states[state].vehicles:
        raise ValueError(f"state {state!r} has no vehicle to draw")
    rig = rig_of(findings.day, findings.day.states[state])
    scene = _roomy(reader, rig, sheet)
    rows = [wheel_row(scene, "R"), wheel_row(scene, "L")]
    plates, left = plates_of(scene), left_box(scene)
    words = title or findings.day.title or "Weigh day"
    top = sheet.margin + (HEAD + sheet.gap / 2 if sheet.furnished else 0.0)
    if reader.contradicted:
        draw_notice(scene, scene.width - sheet.margin, top)
        top += NOTICE
    bottom = _rig(scene, sheet.gap, rows, top)
    if sheet.furnished:
        bottom = _furniture(scene, sheet.gap, rows, plates, left, words, bottom)
    return scene.canvas.document(
        width=scene.width,
        height=bottom + sheet.margin * 0.8,
        title=f"{words}: {heading_plain(reader)}",
        description=" ".join([description(reader, _named(scene, rows, plates)), *described(left)]),
    )


def _named(scene: Scene, rows: list[WheelRow], plates: list[Plate]) -> Iterator[tuple[str, Figure | None]]:
    """Every figure of the drawing with its name."""
    for plate in plates:
        yield f"{plate.name} gross", plate.gross
        yield f"{plate.name} left side", plate.left
        yield f"{plate.name} right side", plate.right
    beams = beams_of(scene)
    for borne in beams.borne:
        yield f"coupling load on {borne.coupling.towing or 'the stand'}", borne.figure
    for hung in beams.hung:
        yield f"{hung.vehicle} axle {hung.axle}", hung.figure
    for row in rows:
        for wheel in row.wheels:
            yield wheel.place, wheel.figure


def _roomy(reader: Reader, rig: DrawnRig, sheet: PaperSheet) -> Scene:
    """The sheet, widened where a row of figures would not fit on it side by side."""
    scene = _scene(reader, rig, sheet)
    rows = [wheel_row(scene, "R").blocks, wheel_row(scene, "L").blocks, beams_of(scene).blocks]
    short = max(room_for(blocks) for blocks in rows) - (scene.right - scene.left)
    return scene if short <= 0 else _scene(reader, rig, replace(sheet, width=sheet.width + short))


def _scene(reader: Reader, rig: DrawnRig, sheet: PaperSheet) -> Scene:
    """The scale that the room gives, the rig in the middle of it."""
    left = sheet.margin + _GUTTER
    right = sheet.width - sheet.margin - (PLATE_WIDTH + 56.0 if sheet.furnished else 0.0)
    scale = min((right - left) / (rig.rear - rig.front), _DENSEST)
    spare = (right - left) - scale * (rig.rear - rig.front)
    origin = left + spare / 2 - rig.front * scale
    paper = Canvas(sheet.palette)
    return Scene(paper, reader, rig, sheet.width, sheet.margin, sheet.column, left, right, scale, origin)


def _rig(scene: Scene, gap: float, rows: list[WheelRow], top: float) -> float:
    """Wheels, bodies and beams from ``top`` downward. Returns where they end."""
    upper, lower = rows
    widest = max(axle.outer for placed in scene.rig.vehicles for axle in placed.axles) * scene.scale
    body = scene.rig.half_width * scene.scale
    middle = top + upper.height + widest
    wheels = [*upper.wheels, *lower.wheels]
    draw_bodies(scene, middle, wheels)
    largest = largest_change(wheels)
    upper.draw(middle - widest, largest)
    lower.draw(middle + widest, largest)
    _captions(scene, upper, lower, middle, widest)
    end = max(middle + widest + lower.height, middle + body) + gap
    beams = beams_of(scene)
    beams.draw(end)
    return end + beams.height


def _captions(scene: Scene, upper: WheelRow, lower: WheelRow, middle: float, widest: float) -> None:
    """The rows' names in the margin, and which way is front."""
    if any(wheel.figure is not None for wheel in (*upper.wheels, *lower.wheels)):
        scene.caption(middle - widest - upper.height + 22.0, "right", "wheels")
        depth = max(block.height for block in lower.blocks)
        scene.caption(middle + widest + lower.height - depth + 22.0, "left", "wheels")
    palette, x = scene.palette, scene.margin
    scene.canvas.add("path", d=f"M{x} {middle}l11 -6v12z", fill=palette.accent)
    scene.canvas.text(x + 17, middle + SMALL * 0.36, "front", SMALL, fill=palette.soft)


def _furniture(
    scene: Scene, gap: float, rows: list[WheelRow], plates: list[Plate], left: LeftBox, title: str, bottom: float
) -> float:
    """Head, plates and legend. Returns where they end."""
    right = scene.width - scene.margin
    draw_head(scene, title, right)
    top = scene.margin + HEAD + gap / 2 + (NOTICE if scene.reader.contradicted else 0.0)
    draw_plates(scene, plates, right - PLATE_WIDTH, top)
    below = top + plates_height(plates)
    if left.rows:
        below += gap if plates else 0.0
        left.draw(scene, right - PLATE_WIDTH, below, PLATE_WIDTH)
    entries = legend(scene, [wheel for row in rows for wheel in row.wheels])
    room = right - scene.margin - MARK_WIDTH
    high = legend_height(room, entries)
    end = max(bottom, below + left.height) + gap + high
    draw_legend(scene, room, entries, end - high)
    draw_mark(scene, right, end - high + 16)
    return end
