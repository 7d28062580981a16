"""The words around a drawing: its head, its legend, and its description for those who cannot see it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from steelyard.model import Measurand
from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.beam import notch
from steelyard.report.drawings.above.body import gravity_sign
from steelyard.report.drawings.above.scene import DASH, FINE, FIRM, NOTE, SMALL, THIN, TITLE, Scene, break_mark
from steelyard.report.drawings.above.values import Figure, Reader, Standing, state_words
from steelyard.report.drawings.above.wheels import Wheel, has_whisker, is_cut, largest_change, whisker
from steelyard.report.drawings.sheet.canvas import HATCH, Canvas, number, tag_width
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.tables.contested import suspects_named
from steelyard.report.words.names import CONTESTED

_STATE = 20.0
_ROW = 27.0
HEAD = 86.0
"""Height of the head."""
MARK_WIDTH = 150.0
"""Room kept for the program's mark."""


def draw_head(scene: Scene, title: str, right: float) -> None:
    """Title, state and basis on the left; date and site on the right."""
    canvas, palette, reader = scene.canvas, scene.palette, scene.reader
    record, site = reader.findings.day.record, reader.findings.day.site
    notes = [text for text in ("" if record.date is None else record.date.isoformat(), site.name) if text]
    wide = 0.0
    for place, note in enumerate(notes):
        shown = fitted(note, NOTE, 330.0)
        wide = max(wide, text_width(shown, NOTE))
        base = scene.margin + (26 if place == 0 else 54)
        canvas.text(right, base, shown, NOTE, anchor="end", fill=palette.soft)
    room = right - scene.margin - wide - 40
    canvas.text(scene.margin, scene.margin + 28, fitted(title, TITLE, room, bold=True), TITLE, bold=True)
    y, word = scene.margin + 60, str(reader.basis)
    size = SMALL
    width = tag_width(word, size)
    if scene.predicted:
        canvas.add(
            "rect",
            x=scene.margin,
            y=y - size * 1.02,
            width=width,
            height=size * 1.4,
            rx=2.0,
            fill="none",
            stroke=palette.ink,
            stroke_width=FINE,
            stroke_dasharray=DASH,
        )
        canvas.text(scene.margin + width / 2, y, word, size, bold=True, anchor="middle")
    else:
        canvas.tag(scene.margin + width / 2, y, word, size)
    canvas.text(scene.margin + width + 14, y + 1, fitted(heading(reader, scene.rig), _STATE, room - width - 14), _STATE)


NOTICE = 40.0
"""Height of the line that says that readings contradict one another."""


def draw_notice(scene: Scene, right: float, top: float) -> None:
    """A framed line over the drawing: which readings of the day contradict one another."""
    canvas, palette = scene.canvas, scene.palette
    canvas.add(
        "rect",
        x=scene.margin,
        y=top,
        width=right - scene.margin,
        height=NOTICE - 10.0,
        rx=2.0,
        fill="none",
        stroke=palette.ink,
        stroke_width=FIRM,
    )
    words = notice(scene.reader)
    room = right - scene.margin - 24
    canvas.text(scene.margin + 12, top + 21, fitted(words, NOTE, room, bold=True), NOTE, bold=True)


def notice(reader: Reader) -> str:
    """Which readings contradict one another, in a sentence or two."""
    if reader.contested:
        return f"{CONTESTED} contested: readings contradict one another. {_look_at(reader)}"
    return f"Readings of this day contradict one another. {_look_at(reader)} No figure here hangs on it."


def _look_at(reader: Reader) -> str:
    places = suspects_named(reader.findings)
    return f"Look at {places}." if places else "No single reading stands out."


def heading(reader: Reader, rig: DrawnRig) -> str:
    """``hitched, weight distribution on``, or ``change from solo to hitched``."""
    if reader.against is not None:
        return f"change from {state_words(reader.against)} to {state_words(reader.state)}"
    on = any(coupling.distributing for coupling in rig.couplings)
    return state_words(reader.state) + (", weight distribution on" if on else "")


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


def legend_height(room: float, entries: list[LegendEntry]) -> float:
    """How much height the legend takes in a given width."""
    return _ROW * len(_rows(room, entries))


def draw_legend(scene: Scene, room: float, entries: list[LegendEntry], top: float) -> None:
    """Set the entries in rows, as many in each as the room allows."""
    y = top + 16
    for row in _rows(room, entries):
        x = scene.margin
        for entry in row:
            entry.sign(x, y)
            scene.canvas.text(x + entry.gap, y, entry.words, SMALL, fill=scene.palette.soft)
            x += _taken(entry)
        y += _ROW


def draw_mark(scene: Scene, right: float, base: float) -> None:
    """The program's mark: a beam out of balance by nothing, its weight out on the long arm."""
    draw_mark_on(scene.canvas, right, base)


def draw_mark_on(canvas: Canvas, right: float, base: float) -> None:
    """The same on any sheet."""
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


def legend(scene: Scene, wheels: list[Wheel]) -> list[LegendEntry]:
    """Meaning of the signs on this drawing; those that it does not use are left out."""
    figures = [wheel.figure for wheel in wheels if wheel.figure is not None]
    words = f"Loads in {scene.reader.units.mass}; ± is the standard uncertainty"
    entries = [LegendEntry(0.0, words, _nothing)] if figures else []
    if scene.reader.change and figures:
        entries += [
            LegendEntry(14.0, "gains", lambda x, y: _swatch(scene, x, y, loss=False)),
            LegendEntry(14.0, "loses", lambda x, y: _swatch(scene, x, y, loss=True)),
        ]
        if any(has_whisker(scene, figure, largest_change(wheels)) for figure in figures):
            entries.append(LegendEntry(6.0, "95 % interval", lambda x, y: _whisker(scene, x, y)))
    elif any(figure.rating is not None for figure in figures):
        entries.append(LegendEntry(14.0, _rating_words(wheels), lambda x, y: _slot(scene, x, y)))
    if any(figure.standing is Standing.OVER for figure in figures):
        entries.append(LegendEntry(14.0, "over its rating", lambda x, y: _swatch(scene, x, y, loss=True)))
    if any(is_cut(figure) for figure in figures):
        entries.append(LegendEntry(14.0, "cut off: more than 130 %", lambda x, y: _cut_off(scene, x, y)))
    if any(figure.contested for figure in figures):
        entries.append(LegendEntry(0.0, f"{CONTESTED} contested: hangs on which reading is wrong", _nothing))
    if any(not figure.determined for figure in figures):
        entries.append(LegendEntry(14.0, "not determined", lambda x, y: _hollow(scene, x, y)))
    if scene.predicted:
        entries.append(LegendEntry(30.0, "predicted", lambda x, y: _dashes(scene, x, y)))
    if not scene.reader.change and any(_balanced(scene, placed.vehicle.id) for placed in scene.rig.vehicles):
        entries.append(LegendEntry(16.0, "centre of gravity", lambda x, y: gravity_sign(scene, x + 8, y - 5, 7.0)))
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


def heading_plain(reader: Reader) -> str:
    """The state or the change, without its couplings."""
    if reader.against is not None:
        return f"change from {state_words(reader.against)} to {state_words(reader.state)}"
    return f"state {state_words(reader.state)}"


def _said(figure: Figure) -> str:
    if not figure.determined:
        return figure.text
    share = f", {figure.share_text} of its rating" if figure.share is not None else ""
    standing = "" if figure.standing is Standing.PLAIN else f", {figure.standing}"
    if figure.contested:
        return f"contested, {figure.span}{standing}"
    return f"{figure.text} {figure.doubt}{share}{standing}"


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
    found = [scene.reader.finding(Measurand(vehicle, kind)) for kind in ("cg_x", "cg_y")]
    return all(finding is not None and finding.determined for finding in found)


def _taken(entry: LegendEntry) -> float:
    return entry.gap + text_width(entry.words, SMALL) + 28


def _rows(room: float, entries: list[LegendEntry]) -> list[list[LegendEntry]]:
    rows: list[list[LegendEntry]] = [[]]
    left = room
    for entry in entries:
        if rows[-1] and _taken(entry) > left:
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


def _swatch(scene: Scene, x: float, y: float, *, loss: bool) -> None:
    palette = scene.palette
    plain = palette.wash if scene.predicted else palette.load
    scene.canvas.add(
        "rect",
        x=x + 1,
        y=y - 11,
        width=12.0,
        height=12.0,
        fill=HATCH if loss else plain,
        stroke=palette.ink,
        stroke_width=FIRM / 2,
    )


def _cut_off(scene: Scene, x: float, y: float) -> None:
    _swatch(scene, x, y, loss=True)
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
