"""The plates beside the rig: for each vehicle what it weighs, of which rating, and how that lies on its two sides."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from steelyard.model import combination_gross, gross_load, side_load
from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.hitching import HITCHING, hitching_lines
from steelyard.report.drawings.above.left import LeftBox, left_lines
from steelyard.report.drawings.above.paper import Plates, PlateStyle
from steelyard.report.drawings.above.plate_lines import PlateLine, draw_lines, lines_height, lines_of
from steelyard.report.drawings.above.scene import (
    FINE,
    NOTE,
    SMALL,
    THIN,
    Block,
    Scene,
    Style,
    TextLine,
    break_mark,
    fill_of,
)
from steelyard.report.drawings.above.values import Figure, Standing, excess
from steelyard.report.drawings.sheet.canvas import HATCH
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.words.left import TITLE

_BIG = 30.0
_BAR = 9.0
_SPACE = 26.0
_FULL = 0.88  # of the plate's width: 100 % of the rating


@dataclass(frozen=True, slots=True)
class Plate:
    """One plate: whose, its weight and rating, and its sides where it has them."""

    name: str
    gross: Figure | None = None
    rating_name: str = ""
    left: Figure | None = None
    right: Figure | None = None
    lines: tuple[PlateLine, ...] = ()
    box: LeftBox | None = None

    @property
    def height(self) -> float:
        """From its rule to the end of its last row."""
        if self.box is not None:
            return self.box.height
        if self.lines or self.gross is None:
            return lines_height(self.lines)
        rated = 34.0 if self.gross.rating is not None and self.gross.share is not None else 0.0
        return 74.0 + rated + (52.0 if self.sided else 0.0)

    @property
    def sided(self) -> bool:
        """Whether both sides have a finding."""
        return self.left is not None and self.right is not None


def plates_of(scene: Scene) -> list[Plate]:
    """The plates of the vehicles front to rear, then of the combination."""
    plates: list[Plate] = []
    for placed in scene.rig.vehicles:
        name = placed.vehicle.id
        gross = scene.reader.figure(gross_load(name), placed.vehicle.ratings.gvwr, names=("gvwr",))
        if gross is not None:
            sides = [scene.reader.figure(side_load(name, side)) for side in "LR"]
            lines = lines_of(scene, placed.vehicle.title, gross, "GVWR", placed)
            plates.append(Plate(placed.vehicle.title, gross, "GVWR", sides[0], sides[1], tuple(lines)))
    combined = scene.reader.figure(combination_gross(), _gcwr(scene.rig), names=("gcwr",))
    if combined is not None:
        name = "Combination, all wheels"
        plates.append(Plate(name, combined, "GCWR", lines=tuple(lines_of(scene, name, combined, "GCWR"))))
    return plates


def hitching_plate(scene: Scene) -> Iterator[Plate]:
    """The plate on hitching, before the others."""
    lines = tuple(hitching_lines(scene.reader))
    if lines:
        yield Plate(HITCHING, lines=lines)


def left_plate(scene: Scene, box: LeftBox) -> Iterator[Plate]:
    """The plate on what is left, among the others."""
    style = scene.sheet.detail.style
    if not scene.sheet.detail.left:
        return
    if box.rows and style is PlateStyle.FULL:
        yield Plate(TITLE, box=box)
    elif box.rows and style is PlateStyle.SLIM:
        yield Plate(TITLE, lines=tuple(left_lines(box, scene.reader.units.mass)))


def plate_rows(scene: Scene, plates: list[Plate]) -> list[list[Plate]]:
    """The plates in rows: under one another beside the rig, beside one another below it."""
    sheet = scene.sheet
    across = 1
    if sheet.plates is Plates.BELOW:
        across = max(1, int((sheet.width - 2 * sheet.margin + _SPACE) / (sheet.plate_width + _SPACE)))
    return [plates[start : start + across] for start in range(0, len(plates), across)]


def plates_height(scene: Scene, plates: list[Plate]) -> float:
    """How much height the plates take."""
    rows = plate_rows(scene, plates)
    return sum(max(plate.height for plate in row) for row in rows) + sum(_above(scene, row) for row in rows[1:])


def _above(scene: Scene, row: list[Plate]) -> float:
    """Height between a row of plates and the one above it."""
    if row[0].box is not None and not scene.sheet.compact:
        return scene.sheet.gap
    return {PlateStyle.FULL: _SPACE, PlateStyle.SLIM: 16.0, PlateStyle.LINE: 0.0}[scene.sheet.detail.style]


def draw_plates(scene: Scene, plates: list[Plate], top: float) -> None:
    """Draw the plates at the right edge, or from the left one on where they lie below the rig."""
    sheet, y = scene.sheet, top
    left = sheet.margin if sheet.plates is Plates.BELOW else sheet.width - sheet.margin - sheet.plate_width
    for number, row in enumerate(plate_rows(scene, plates)):
        y += _above(scene, row) if number else 0.0
        for place, plate in enumerate(row):
            _draw(scene, plate, left + place * (sheet.plate_width + _SPACE), y)
        y += max(plate.height for plate in row)


def _gcwr(rig: DrawnRig) -> float | None:
    """The combination's rating, off the label of the vehicle in front of it."""
    towing = {coupling.towing for coupling in rig.couplings}
    return next((item.vehicle.ratings.gcwr for item in rig.vehicles if item.vehicle.id in towing), None)


def _draw(scene: Scene, plate: Plate, x: float, top: float) -> None:
    if plate.box is not None:
        plate.box.draw(scene, x, top, scene.sheet.plate_width)
    elif plate.lines or plate.gross is None:
        draw_lines(scene, plate.lines, x, top)
    else:
        _plate(scene, plate, plate.gross, x, top)


def _plate(scene: Scene, plate: Plate, gross: Figure, x: float, top: float) -> None:
    canvas, palette, wide = scene.canvas, scene.palette, scene.sheet.plate_width
    canvas.line(x, top, x + wide, top, stroke=palette.ink, width=FINE)
    taken = _word(scene, gross, x + wide, top + 24)
    canvas.text(x, top + 24, fitted(plate.name, NOTE, wide - taken, bold=True), NOTE, bold=True)
    y = top + 62
    if not gross.determined:
        canvas.text(x, y, f"gross {gross.text}", NOTE, fill=palette.soft)
    else:
        canvas.text(x, y, gross.text, _BIG, bold=True)
        after = x + text_width(gross.text, _BIG, bold=True) + 9
        unit = scene.reader.units.mass
        words = f"{gross.span} {unit}" if gross.contested else f"{gross.doubt} {unit} gross"
        canvas.text(after, y, fitted(words, NOTE, x + wide - after), NOTE, fill=palette.soft)
    if gross.share is not None and gross.rating is not None:
        y = _rated(scene, plate, gross, x, y)
    if plate.left is not None and plate.right is not None:
        _sides(scene, plate.left, plate.right, x, y + 34)


def _word(scene: Scene, gross: Figure, right: float, y: float) -> float:
    """Draw the verdict unless it is within. Returns the room that it takes."""
    if gross.standing is Standing.PLAIN:
        return 0.0
    style = Style.TAG if gross.standing is Standing.OVER else Style.BOXED
    block = Block((TextLine(str(gross.standing), SMALL, style),))
    block.draw(scene.canvas, right - block.width / 2, y - block.height + SMALL * 0.28)
    return block.width + 10


def _rated(scene: Scene, plate: Plate, gross: Figure, x: float, y: float) -> float:
    """A bar up to the rating, and the share in words. Returns the last baseline."""
    canvas, palette, full = scene.canvas, scene.palette, _FULL * scene.sheet.plate_width
    over, share = gross.standing is Standing.OVER, gross.share or 0.0
    canvas.add("rect", x=x, y=y + 11, width=full, height=_BAR, fill="none", stroke=palette.hair, stroke_width=THIN)
    canvas.add(
        "rect",
        x=x,
        y=y + 11,
        width=min(max(share, 0.0) * full, scene.sheet.plate_width),
        height=_BAR,
        fill=HATCH if over else fill_of(scene, Standing.PLAIN),
        stroke=palette.ink,
        stroke_width=THIN,
        stroke_dasharray=scene.dash,
    )
    if share * full > scene.sheet.plate_width:
        break_mark(scene, y + 11, y + 11 + _BAR, x + (full + scene.sheet.plate_width) / 2, upright=False)
    canvas.line(x + full, y + 7, x + full, y + 15 + _BAR, stroke=palette.ink, width=FINE)
    rating = f"{plate.rating_name} {scene.reader.mass(gross.rating or 0.0)}"
    words = f"{excess(share)} over {rating}" if over and share > 1.0 else f"{gross.share_text} of {rating}"
    canvas.text(x, y + 39, words, NOTE)
    return y + 39


def _sides(scene: Scene, left: Figure, right: Figure, x: float, y: float) -> None:
    """Left and right, and a bar that they divide, with a notch at half."""
    canvas, palette = scene.canvas, scene.palette
    end = x + scene.sheet.plate_width
    for figure, word, at, anchor in ((left, "left", x, "start"), (right, "right", end, "end")):
        shown = f"{word} {figure.text} {figure.doubt}".strip() if figure.determined else f"{word} {figure.text}"
        canvas.text(at, y, shown, NOTE if figure.determined else SMALL, anchor=anchor)
    total = (left.value or 0.0) + (right.value or 0.0)
    if left.value is None or right.value is None or scene.reader.change or total <= 0:
        return
    share = min(max(left.value / total, 0.0), 1.0) * scene.sheet.plate_width
    canvas.add(
        "rect",
        x=x,
        y=y + 9,
        width=scene.sheet.plate_width,
        height=6.0,
        fill="none",
        stroke=palette.hair,
        stroke_width=THIN,
    )
    canvas.add("rect", x=x, y=y + 9, width=share, height=6.0, fill=fill_of(scene, Standing.PLAIN))
    canvas.line(
        x + scene.sheet.plate_width / 2,
        y + 6,
        x + scene.sheet.plate_width / 2,
        y + 18,
        stroke=palette.accent,
        width=FINE,
    )
