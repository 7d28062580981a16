"""A drawing from above put together: its parts on one sheet, measured before they are drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from steelyard.questions.above import DrawnRig
from steelyard.report.drawings.above.beam import Beams, beams_of
from steelyard.report.drawings.above.body import draw_bodies
from steelyard.report.drawings.above.head import Head, draw_notice, heading_plain, notice_height
from steelyard.report.drawings.above.hitching import hitching_lines
from steelyard.report.drawings.above.left import LeftBox, described
from steelyard.report.drawings.above.paper import PaperSheet, Plates
from steelyard.report.drawings.above.plate_lines import lines_width
from steelyard.report.drawings.above.plates import (
    Plate,
    draw_plates,
    hitching_plate,
    left_plate,
    plates_height,
    plates_of,
)
from steelyard.report.drawings.above.scene import SMALL, Scene, room_for
from steelyard.report.drawings.above.values import Figure, Reader
from steelyard.report.drawings.above.wheels import WheelRow, largest_change, wheel_row
from steelyard.report.drawings.above.words import LegendEntry, description, draw_legend, legend, legend_height
from steelyard.report.drawings.sheet.canvas import Canvas


@dataclass(frozen=True)
class Composition:
    """All parts of a drawing on one sheet."""

    scene: Scene
    title: str
    left: LeftBox

    @cached_property
    def rows(self) -> list[WheelRow]:
        """The wheels of the right side, then of the left."""
        return [wheel_row(self.scene, "R"), wheel_row(self.scene, "L")]

    @cached_property
    def beams(self) -> Beams:
        """The beams, whether they are drawn or not."""
        return beams_of(self.scene)

    @cached_property
    def plates(self) -> list[Plate]:
        """The plates, whether they are drawn or not."""
        return [*hitching_plate(self.scene), *plates_of(self.scene), *left_plate(self.scene, self.left)]

    @cached_property
    def _legend(self) -> list[LegendEntry]:
        wheels = [wheel for row in self.rows for wheel in row.wheels]
        if self.scene.sheet.detail.wheels:
            figures = [wheel.figure for wheel in wheels if wheel.figure is not None]
        else:
            figures = [hung.figure for hung in self.beams.hung]
        return legend(self.scene, wheels, figures)

    @cached_property
    def short(self) -> float:
        """Width that is missing for figures or words side by side; below nothing where there is room."""
        rows = [row.blocks for row in self.rows] + ([list(self.beams.blocks)] if self.scene.sheet.detail.beams else [])
        figures = max(room_for(blocks) for blocks in rows) - (self.scene.right - self.scene.left)
        lines = [lines_width(plate.lines) for plate in self.plates if plate.lines]
        return max(figures, *(wide - self.scene.sheet.plate_width for wide in lines), -self.scene.width)

    @cached_property
    def height(self) -> float:
        """Of the sheet, as this drawing needs it."""
        return self._end + self.scene.margin * 0.8

    @property
    def _top(self) -> float:
        """Where the head ends."""
        sheet = self.scene.sheet
        return sheet.margin + (Head(self.scene, self.title).height + sheet.gap / 2 if sheet.furnished else 0.0)

    @property
    def _start(self) -> float:
        """Where the rig begins."""
        return self._top + notice_height(self.scene)

    @property
    def _body(self) -> float:
        """From the upper row of figures to the end of the beams."""
        upper, lower = self.rows
        high = upper.height + self._widest + max(self._widest + lower.height, self.scene.rig.half_width * self._scale)
        return high + (self.scene.sheet.gap + self.beams.height if self.scene.sheet.detail.beams else 0.0)

    @property
    def _end(self) -> float:
        sheet, end = self.scene.sheet, self._start + self._body
        if not sheet.furnished:
            return end
        if sheet.plates is Plates.RIGHT:
            end = max(end, self._start + plates_height(self.scene, self.plates))
        elif sheet.plates is Plates.BELOW:
            end += sheet.gap + plates_height(self.scene, self.plates)
        return end + sheet.gap + legend_height(self.scene, self._legend)

    @property
    def _scale(self) -> float:
        return self.scene.scale

    @property
    def _widest(self) -> float:
        """From the centreline to the outermost tyre."""
        return max(axle.outer for placed in self.scene.rig.vehicles for axle in placed.axles) * self._scale

    def document(self) -> str:
        """The drawing as SVG."""
        scene, sheet = self.scene, self.scene.sheet
        draw_notice(scene, self._top)
        self._draw_rig()
        if sheet.furnished:
            Head(scene, self.title).draw()
            if sheet.plates is Plates.RIGHT:
                draw_plates(scene, self.plates, self._start)
            elif sheet.plates is Plates.BELOW:
                draw_plates(scene, self.plates, self._start + self._body + sheet.gap)
            low = (self._end if sheet.height is None else sheet.height - 0.8 * sheet.margin) - legend_height(
                scene, self._legend
            )
            draw_legend(scene, self._legend, low)
        return scene.canvas.document(
            width=scene.width,
            height=self.height if sheet.height is None else sheet.height,
            title=f"{self.title}: {heading_plain(scene.reader)}",
            description=" ".join([description(scene.reader, self._named()), *self._told()]),
        )

    def _draw_rig(self) -> None:
        """Wheels, bodies and beams."""
        scene, (upper, lower), widest = self.scene, self.rows, self._widest
        middle = self._start + upper.height + widest
        wheels = [*upper.wheels, *lower.wheels]
        draw_bodies(scene, middle, wheels)
        largest = largest_change(wheels)
        upper.draw(middle - widest, middle, largest)
        lower.draw(middle + widest, middle, largest)
        self._captions(middle)
        if scene.sheet.detail.beams:
            self.beams.draw(self._start + self._body - self.beams.height)

    def _captions(self, middle: float) -> None:
        """The rows' names in the margin, and which way is front."""
        scene, (upper, lower), widest = self.scene, self.rows, self._widest
        if not scene.sheet.detail.wheels:
            scene.caption(middle + widest + lower.height - max(block.height for block in lower.blocks) + 22.0, "axles")
        elif any(wheel.figure is not None for wheel in (*upper.wheels, *lower.wheels)):
            more = () if scene.sheet.narrow else ("wheels",)
            scene.caption(middle - widest - upper.height + 22.0, "right", *more)
            depth = max(block.height for block in lower.blocks)
            scene.caption(middle + widest + lower.height - depth + 22.0, "left", *more)
        palette, x = scene.palette, scene.margin
        scene.canvas.add("path", d=f"M{x} {middle}l11 -6v12z", fill=palette.accent)
        if not scene.sheet.narrow:
            scene.canvas.text(x + 17, middle + SMALL * 0.36, "front", SMALL, fill=palette.soft)

    def _told(self) -> Iterator[str]:
        """The effect of hitching and the room that is left, in sentences."""
        yield from (
            f"{line.name[0].upper()}{line.name[1:]}: {line.words}."
            for line in hitching_lines(self.scene.reader)
            if line.words
        )
        yield from described(self.left)

    def _named(self) -> Iterator[tuple[str, Figure | None]]:
        """Every figure of the drawing with its name."""
        titles = {name: vehicle.title for name, vehicle in self.scene.reader.findings.day.vehicles.items()}
        for plate in plates_of(self.scene):
            yield f"{plate.name} gross", plate.gross
            yield f"{plate.name} left side", plate.left
            yield f"{plate.name} right side", plate.right
        for borne in self.beams.borne:
            towing = borne.coupling.towing
            yield f"coupling load on {'the stand' if towing is None else titles[towing]}", borne.figure
        for hung in self.beams.hung:
            yield f"{titles[hung.vehicle]}, axle {hung.axle}", hung.figure
        for row in self.rows:
            for wheel in row.wheels:
                yield f"{wheel.owner.vehicle.title}, wheel {wheel.axle.number}{wheel.side}", wheel.figure


def composed(reader: Reader, rig: DrawnRig, sheet: PaperSheet, title: str, left: LeftBox) -> Composition:
    """A drawing on a sheet; one without a shape is widened where a row of figures would not fit side by side."""
    made = Composition(scene_on(reader, rig, sheet), title, left)
    if made.short <= 0 or sheet.compact:
        return made
    return Composition(scene_on(reader, rig, replace(sheet, width=sheet.width + made.short)), title, left)


def scene_on(reader: Reader, rig: DrawnRig, sheet: PaperSheet) -> Scene:
    """The scale that the room gives, the rig in the middle of it."""
    left = sheet.margin + sheet.gutter
    beside = sheet.furnished and sheet.plates is Plates.RIGHT
    right = sheet.width - sheet.margin - (sheet.plate_width + (28.0 if sheet.compact else 56.0) if beside else 0.0)
    scale = min((right - left) / (rig.rear - rig.front), sheet.densest)
    spare = (right - left) - scale * (rig.rear - rig.front)
    origin = left + spare / 2 - rig.front * scale
    return Scene(Canvas(sheet.palette), reader, rig, sheet, left, right, scale, origin)
