"""The plates beside the rig: for each vehicle what it weighs, of which rating, and how that lies on its two sides."""

from __future__ import annotations

from dataclasses import dataclass

from steelyard.model import combination_gross, gross_load, side_load
from steelyard.questions.above import DrawnRig
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
from steelyard.report.drawings.above.values import Figure, Standing
from steelyard.report.drawings.sheet.canvas import HATCH
from steelyard.report.drawings.sheet.type import fitted, text_width

PLATE_WIDTH = 290.0
_BIG = 30.0
_BAR = 9.0
_SPACE = 26.0
_FULL = 0.88  # of the plate's width: 100 % of the rating


@dataclass(frozen=True, slots=True)
class Plate:
    """One plate: whose, its weight and rating, and its sides where it has them."""

    name: str
    gross: Figure
    rating_name: str
    left: Figure | None = None
    right: Figure | None = None

    @property
    def height(self) -> float:
        """From its rule to the end of its last row."""
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
            plates.append(Plate(placed.vehicle.title, gross, "GVWR", sides[0], sides[1]))
    combined = scene.reader.figure(combination_gross(), _gcwr(scene.rig), names=("gcwr",))
    if combined is not None:
        plates.append(Plate("Combination, all wheels", combined, "GCWR"))
    return plates


def plates_height(plates: list[Plate]) -> float:
    """How much height the plates take under one another."""
    return sum(plate.height for plate in plates) + _SPACE * max(len(plates) - 1, 0)


def draw_plates(scene: Scene, plates: list[Plate], x: float, top: float) -> None:
    """Draw the plates under one another, their left edge at ``x``."""
    y = top
    for plate in plates:
        _plate(scene, plate, x, y)
        y += plate.height + _SPACE


def _gcwr(rig: DrawnRig) -> float | None:
    """The combination's rating, off the label of the vehicle in front of it."""
    towing = {coupling.towing for coupling in rig.couplings}
    return next((item.vehicle.ratings.gcwr for item in rig.vehicles if item.vehicle.id in towing), None)


def _plate(scene: Scene, plate: Plate, x: float, top: float) -> None:
    canvas, palette, gross = scene.canvas, scene.palette, plate.gross
    canvas.line(x, top, x + PLATE_WIDTH, top, stroke=palette.ink, width=FINE)
    taken = _word(scene, gross, x + PLATE_WIDTH, top + 24)
    canvas.text(x, top + 24, fitted(plate.name, NOTE, PLATE_WIDTH - taken, bold=True), NOTE, bold=True)
    y = top + 62
    if not gross.determined:
        canvas.text(x, y, f"gross {gross.text}", NOTE, fill=palette.soft)
    else:
        canvas.text(x, y, gross.text, _BIG, bold=True)
        after = x + text_width(gross.text, _BIG, bold=True) + 9
        unit = scene.reader.units.mass
        words = f"{gross.span} {unit}" if gross.contested else f"{gross.doubt} {unit} gross"
        canvas.text(after, y, fitted(words, NOTE, x + PLATE_WIDTH - after), NOTE, fill=palette.soft)
    if gross.share is not None and gross.rating is not None:
        y = _rated(scene, plate, x, y, gross.share, gross.rating)
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


def _rated(scene: Scene, plate: Plate, x: float, y: float, share: float, rating: float) -> float:
    """A bar up to the rating, and the share in words. Returns the last baseline."""
    canvas, palette, full = scene.canvas, scene.palette, _FULL * PLATE_WIDTH
    over = plate.gross.standing is Standing.OVER
    canvas.add("rect", x=x, y=y + 11, width=full, height=_BAR, fill="none", stroke=palette.hair, stroke_width=THIN)
    canvas.add(
        "rect",
        x=x,
        y=y + 11,
        width=min(max(share, 0.0) * full, PLATE_WIDTH),
        height=_BAR,
        fill=HATCH if over else fill_of(scene, Standing.PLAIN),
        stroke=palette.ink,
        stroke_width=THIN,
        stroke_dasharray=scene.dash,
    )
    if share * full > PLATE_WIDTH:
        break_mark(scene, y + 11, y + 11 + _BAR, x + (full + PLATE_WIDTH) / 2, upright=False)
    canvas.line(x + full, y + 7, x + full, y + 15 + _BAR, stroke=palette.ink, width=FINE)
    words = f"{plate.gross.share_text} of {plate.rating_name} {scene.reader.mass(rating)}"
    canvas.text(x, y + 39, words, NOTE)
    return y + 39


def _sides(scene: Scene, left: Figure, right: Figure, x: float, y: float) -> None:
    """Left and right, and a bar that they divide, with a notch at half."""
    canvas, palette = scene.canvas, scene.palette
    end = x + PLATE_WIDTH
    for figure, word, at, anchor in ((left, "left", x, "start"), (right, "right", end, "end")):
        shown = f"{word} {figure.text} {figure.doubt}".strip() if figure.determined else f"{word} {figure.text}"
        canvas.text(at, y, shown, NOTE if figure.determined else SMALL, anchor=anchor)
    total = (left.value or 0.0) + (right.value or 0.0)
    if left.value is None or right.value is None or scene.reader.change or total <= 0:
        return
    share = min(max(left.value / total, 0.0), 1.0) * PLATE_WIDTH
    canvas.add("rect", x=x, y=y + 9, width=PLATE_WIDTH, height=6.0, fill="none", stroke=palette.hair, stroke_width=THIN)
    canvas.add("rect", x=x, y=y + 9, width=share, height=6.0, fill=fill_of(scene, Standing.PLAIN))
    canvas.line(x + PLATE_WIDTH / 2, y + 6, x + PLATE_WIDTH / 2, y + 18, stroke=palette.accent, width=FINE)
