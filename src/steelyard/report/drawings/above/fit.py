"""A drawing from above in a given shape: the most that fits in letters that can be read, as large as they can be."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.composition import Composition, composed
from steelyard.report.drawings.above.left import left_box
from steelyard.report.drawings.above.paper import Detail, PaperSheet, Plates, PlateStyle
from steelyard.report.drawings.above.plate_lines import lines_width
from steelyard.report.drawings.above.scene import SMALL
from steelyard.report.drawings.above.values import Reader
from steelyard.report.drawings.sheet.shape import Shape

_LARGER = (1.8, 1.6, 1.4, 1.25, 1.1, 1.0)
_DENSITIES = (112.0, 90.0, 72.0, 58.0, 46.0, 36.0, 30.0, 24.0, 18.0)
_GAP = 12.0
_WIDEST_GAP = 46.0
_BETWEEN = 26.0
_NARROW = 620.0  # a sheet of this width has short captions beside the rig
_LINES = Detail(beams=False, sides=False, style=PlateStyle.SLIM)

_LEVELS = (
    Detail(),
    Detail(sides=False, style=PlateStyle.SLIM),
    _LINES,
    replace(_LINES, shares=False),
    replace(_LINES, left=False),
    replace(_LINES, left=False, shares=False),
    replace(_LINES, left=False, bearing=False),
    replace(_LINES, left=False, bearing=False, shares=False),
    replace(_LINES, shares=False, style=PlateStyle.LINE),
    replace(_LINES, wheels=False, style=PlateStyle.LINE),
    replace(_LINES, wheels=False, shares=False, gravity=False, style=PlateStyle.LINE),
)
"""From the fullest drawing to the barest."""

_PASSES = ((46.0, 0.75, _LEVELS[:-3]), (30.0, 0.6, _LEVELS), (18.0, 0.4, _LEVELS))
"""Units for a metre at which a rig is large enough, or else the part of the sheet's width that it takes, and the
drawings that are tried at that: words give way before the rig becomes too small to be seen."""


def fitted_into(shape: Shape, sheet: PaperSheet, reader: Reader, rig: DrawnRig, title: str) -> Composition | None:
    """The fullest drawing that a shape holds; None where not even the barest fits in letters that can be read."""
    left = left_box(reader)

    def made(detail: Detail, plates: Plates, larger: float, densest: float) -> Composition:
        paper = _sheet(shape, sheet, detail, plates, larger, densest)
        one = composed(reader, rig, paper, title, left)
        wanted = max((lines_width(plate.lines) for plate in one.plates if plate.lines), default=0.0)
        if wanted <= paper.plate_width:
            return one
        if plates is Plates.RIGHT:
            return composed(reader, rig, replace(paper, plate_width=min(wanted, 0.4 * paper.width)), title, left)
        return composed(reader, rig, replace(paper, plate_width=_beside(paper.width - 40.0, wanted)), title, left)

    def bare(detail: Detail, plates: Plates, enough: float) -> bool:
        """Whether a drawing fits at all, with the smallest letters and the smallest rig."""
        return _fits(made(detail, plates, 1.0, min(density for density in _DENSITIES if density >= enough)))

    for enough, part, levels in _PASSES:
        for detail in levels:
            for larger in _LARGER if any(bare(detail, place, enough) for place in _placed(detail)) else ():
                found = [
                    one
                    for place in _placed(detail)
                    if (one := _largest(made, detail, place, larger, enough, part)) is not None
                ]
                if found:
                    return _spread(max(found, key=lambda one: round(one.scene.scale, 6)))
    return None


def _placed(detail: Detail) -> tuple[Plates, ...]:
    """Where the plates may lie; single lines only across the sheet."""
    return (Plates.BELOW,) if detail.style is PlateStyle.LINE else (Plates.RIGHT, Plates.BELOW)


def _fits(one: Composition) -> bool:
    height = one.scene.sheet.height
    return one.short <= 0.0 and height is not None and one.height <= height


def _largest(
    made: Callable[[Detail, Plates, float, float], Composition],
    detail: Detail,
    place: Plates,
    larger: float,
    enough: float,
    part: float,
) -> Composition | None:
    """The drawing with the largest rig, none where that is too small."""
    densities = [density for density in _DENSITIES if density >= enough]
    if not _fits(made(detail, place, larger, densities[-1])):
        return None
    for densest in densities:
        one = made(detail, place, larger, densest)
        if _fits(one):
            whole = (one.scene.width - 2 * one.scene.margin) / (one.scene.rig.rear - one.scene.rig.front)
            return one if one.scene.scale >= min(enough, part * whole) else None
    return None


def _sheet(
    shape: Shape, sheet: PaperSheet, detail: Detail, plates: Plates, larger: float, densest: float
) -> PaperSheet:
    width, height = shape.sheet(SMALL)
    width, height = width / larger, height / larger
    return replace(
        sheet,
        width=width,
        height=height,
        margin=20.0,
        gutter=68.0 if width >= _NARROW else 48.0,
        column=56.0 if detail.beams else 32.0,
        gap=_GAP,
        densest=densest,
        plates=plates,
        plate_width=_plate_width(width - 40.0, plates, detail),
        detail=detail,
    )


def _plate_width(room: float, plates: Plates, detail: Detail) -> float:
    """Of a plate beside the rig, or of as many below it as have room side by side."""
    least = 285.0 if detail.style is PlateStyle.FULL else 200.0
    if plates is Plates.RIGHT:
        return least
    return room if detail.style is PlateStyle.LINE else _beside(room, least)


def _beside(room: float, least: float) -> float:
    """Width of as many plates, up to three, as have room side by side, each at least as wide as ``least``."""
    across = max(1, min(3, int((room + _BETWEEN) / (least + _BETWEEN))))
    return (room + _BETWEEN) / across - _BETWEEN


def _spread(one: Composition) -> Composition:
    """The same with the height that is left over between its parts."""
    sheet = one.scene.sheet
    height = sheet.height or one.height
    for gap in (_WIDEST_GAP, 38.0, 30.0, 24.0, 18.0):
        wider = composed(one.scene.reader, one.scene.rig, replace(sheet, gap=gap), one.title, one.left)
        if wider.height <= height:
            return wider
    return one
