"""The words around a drawing: its legend, and its description for those who cannot see it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from steelyard.model import Measurand
from steelyard.report.drawings.above.beam import notch
from steelyard.report.drawings.above.body import gravity_sign
from steelyard.report.drawings.above.head import heading_plain, notice
from steelyard.report.drawings.above.scene import DASH, FINE, FIRM, SMALL, THIN, Scene, break_mark, fill_of
from steelyard.report.drawings.above.values import Figure, Reader, Standing
from steelyard.report.drawings.above.wheels import Wheel, has_whisker, is_cut, largest_change, whisker
from steelyard.report.drawings.sheet.canvas import DOTS, HATCH, Canvas, number
from steelyard.report.drawings.sheet.type import text_width
from steelyard.report.words.names import CONTESTED

_AFTER = 28.0
_MARK = 150.0
"""Room kept for the program's mark."""


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """One entry of the legend: a sign of a given width, and words."""

    width: float
    words: str
    sign: Callable[[float, float], None]

    @property
    def gap(self) -> float:
        """From the sign's left edge to the words."""
        return self.width + 8 if self.width else 0.0


def legend_height(scene: Scene, entries: list[LegendEntry]) -> float:
    """How much height the legend takes."""
    return _row(scene) * len(_rows(scene, entries))


def _row(scene: Scene) -> float:
    return 22.0 if scene.sheet.compact else 27.0


def draw_legend(scene: Scene, entries: list[LegendEntry], top: float) -> None:
    """Set the entries in rows, as many in each as the room allows, and the program's mark beside the first."""
    y = top + 16
    for row in _rows(scene, entries):
        x = scene.margin
        for entry in row:
            entry.sign(x, y)
            scene.canvas.text(x + entry.gap, y, entry.words, SMALL, fill=scene.palette.soft)
            x += _taken(entry)
        y += _row(scene)
    draw_mark_on(scene.canvas, scene.width - scene.margin, top + 16)


def draw_mark_on(canvas: Canvas, right: float, base: float) -> None:
    """The program's mark: a beam out of balance by nothing, its weight out on the long arm."""
    palette = canvas.palette
    word = "Steelyard"
    canvas.text(right, base, word, SMALL, bold=True, anchor="end", fill=palette.soft)
    x = right - text_width(word, SMALL, bold=True) - 46
    y = base - 8
    canvas.line(x, y, x + 36, y, stroke=palette.soft, width=FIRM)
    canvas.line(x + 8, y, x + 8, y - 6, stroke=palette.soft, width=FINE)
    canvas.add("path", d=f"M{number(x + 27)} {number(y)}v4h2l3 8h-10l3 -8h2z", fill=palette.accent)
    canvas.add(
        "path",
        d=f"M{number(x - 2)} {number(y + 7)}h8l-2 5h-4zM{number(x + 2)} {number(y)}v7",
        fill=palette.soft,
        stroke=palette.soft,
        stroke_width=THIN,
    )


def legend(scene: Scene, wheels: list[Wheel], figures: list[Figure]) -> list[LegendEntry]:
    """Meaning of the signs on this drawing; those that it does not use are left out. ``figures`` are those it shows."""
    words = f"Loads in {scene.reader.units.mass}; ± is half of the 95 % interval"
    entries = [LegendEntry(0.0, words, _nothing)] if figures else []
    columns = scene.sheet.detail.wheels
    if scene.reader.change and figures and columns:
        entries += [
            LegendEntry(14.0, "gains", lambda x, y: _swatch(scene, x, y, fill_of(scene, Standing.PLAIN))),
            LegendEntry(14.0, "loses", lambda x, y: _swatch(scene, x, y, DOTS)),
        ]
        if any(has_whisker(scene, figure, largest_change(wheels)) for figure in figures):
            entries.append(LegendEntry(6.0, "95 % interval", lambda x, y: _whisker(scene, x, y)))
    elif not columns and scene.sheet.detail.shares and any(figure.share is not None for figure in figures):
        entries.append(LegendEntry(0.0, "% of the axle's rating", _nothing))
    elif columns and any(figure.rating is not None for figure in figures) and not scene.reader.change:
        entries.append(LegendEntry(14.0, _rating_words(wheels), lambda x, y: _slot(scene, x, y)))
    if any(figure.standing is Standing.OVER for figure in figures):
        entries.append(LegendEntry(14.0, "over its rating", lambda x, y: _swatch(scene, x, y, HATCH)))
    if columns and any(is_cut(figure) for figure in figures):
        entries.append(LegendEntry(14.0, "cut off: more than 130 %", lambda x, y: _cut_off(scene, x, y)))
    if any(figure.contested for figure in figures) and not scene.sheet.compact:  # there the framed line says it
        entries.append(LegendEntry(0.0, f"{CONTESTED} contested: hangs on which reading is wrong", _nothing))
    if any(not figure.determined and not figure.up for figure in figures):
        entries.append(LegendEntry(14.0, "not determined", lambda x, y: _hollow(scene, x, y)))
    if scene.predicted:
        entries.append(LegendEntry(30.0, "predicted", lambda x, y: _dashes(scene, x, y)))
    if not scene.reader.change and any(_balanced(scene, placed.vehicle.id) for placed in scene.rig.vehicles):
        entries.append(LegendEntry(16.0, "centre of gravity", lambda x, y: gravity_sign(scene, x + 8, y - 5, 7.0)))
    if scene.sheet.detail.beams:
        step, _, name = notch(scene)
        wide = step * scene.scale
        entries.append(LegendEntry(wide, f"{name}, one notch", lambda x, y: _ruler(scene, x, y, wide)))
    return entries


def description(reader: Reader, figures: Iterable[tuple[str, Figure | None]]) -> str:
    """The drawing in sentences: what each thing is called, and its load."""
    head = f"The rig from above, front to the left, {heading_plain(reader)}, {reader.basis}. "
    said = [f"{name}: {_said(figure)}." for name, figure in figures if figure is not None]
    warned = [notice(reader)] if reader.contradicted else []
    return head + " ".join([*warned, f"Loads in {reader.units.mass}.", *said])


def _said(figure: Figure) -> str:
    if not figure.determined:
        return figure.text
    share = f", {figure.rating_text}" if figure.rating_text else ""
    standing = f", {figure.standing}" if figure.standing is Standing.UNDECIDED or _over_alone(figure) else ""
    if figure.contested:
        return f"contested, {figure.span}{standing}"
    return f"{figure.text} {figure.doubt}{share}{standing}"


def _over_alone(figure: Figure) -> bool:
    """Whether the words on its rating do not say yet that a load is over."""
    return figure.standing is Standing.OVER and (figure.contested or figure.share is None or figure.share <= 1.0)


def _rating_words(wheels: list[Wheel]) -> str:
    halves = {
        wheel.axle.axle.wheel_rating is None for wheel in wheels if wheel.figure is not None and wheel.figure.rating
    }
    if halves == {True}:
        return "share of half the axle's rating"
    if halves == {False}:
        return "share of the wheel end's rating"
    return "share of the wheel end's rating, else of half the axle's"


def _balanced(scene: Scene, vehicle: str) -> bool:
    if not scene.sheet.detail.gravity:
        return False
    found = [scene.reader.finding(Measurand(vehicle, kind)) for kind in ("cg_x", "cg_y")]
    return all(finding is not None and finding.determined for finding in found)


def _taken(entry: LegendEntry) -> float:
    return entry.gap + text_width(entry.words, SMALL) + _AFTER


def _rows(scene: Scene, entries: list[LegendEntry]) -> list[list[LegendEntry]]:
    """The entries in rows; on a sheet of a given shape only the first row keeps off the program's mark."""
    room = scene.width - 2 * scene.margin
    rows: list[list[LegendEntry]] = [[]]
    left = room - _MARK
    if not scene.sheet.compact:
        room = left
    for entry in entries:
        compact = scene.sheet.compact  # there an entry must not run into the mark, not even the first one
        if (rows[-1] or (compact and len(rows) == 1)) and _taken(entry) - (_AFTER if compact else 0.0) > left:
            rows.append([])
            left = room
        rows[-1].append(entry)
        left -= _taken(entry)
    return rows


def _nothing(_x: float, _y: float) -> None:
    return None


def _slot(scene: Scene, x: float, y: float) -> None:
    palette = scene.palette
    scene.canvas.add(
        "rect", x=x + 1, y=y - 12, width=12.0, height=14.0, fill="none", stroke=palette.hair, stroke_width=THIN
    )
    scene.canvas.add(
        "rect", x=x + 1, y=y - 6, width=12.0, height=8.0, fill=palette.wash if scene.predicted else palette.load
    )
    scene.canvas.line(x - 2, y - 12, x + 16, y - 12, stroke=palette.ink, width=FINE)


def _swatch(scene: Scene, x: float, y: float, fill: str) -> None:
    palette = scene.palette
    scene.canvas.add(
        "rect",
        x=x + 1,
        y=y - 11,
        width=12.0,
        height=12.0,
        fill=fill,
        stroke=palette.ink,
        stroke_width=FIRM / 2,
    )


def _cut_off(scene: Scene, x: float, y: float) -> None:
    _swatch(scene, x, y, HATCH)
    break_mark(scene, x + 1, x + 13, y - 6)


def _hollow(scene: Scene, x: float, y: float) -> None:
    palette = scene.palette
    scene.canvas.add(
        "rect",
        x=x + 1,
        y=y - 11,
        width=12.0,
        height=12.0,
        rx=2.0,
        fill=palette.ground or palette.on_ink,
        stroke=palette.ink,
        stroke_width=FINE,
        stroke_dasharray="2 2.5",
    )


def _dashes(scene: Scene, x: float, y: float) -> None:
    scene.canvas.line(x, y - 5, x + 30, y - 5, stroke=scene.palette.ink, width=FINE, dash=DASH)


def _whisker(scene: Scene, x: float, y: float) -> None:
    whisker(scene, x + 3, y - 12, y + 2)


def _ruler(scene: Scene, x: float, y: float, wide: float) -> None:
    palette = scene.palette
    scene.canvas.line(x, y - 4, x + wide, y - 4, stroke=palette.ink, width=FINE)
    for end in (x, x + wide):
        scene.canvas.line(end, y - 9, end, y + 1, stroke=palette.ink, width=FINE)
