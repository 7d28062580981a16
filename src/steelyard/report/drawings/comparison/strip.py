"""One rig of several below one another: from above, and under each axle its load as a bar to one scale for all."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

from steelyard.findings import Basis
from steelyard.model import combination_gross, gross_load
from steelyard.questions.above import DrawnRig, rig_of
from steelyard.questions.compare import ComparedRig
from steelyard.report.drawings.above.body import draw_bodies
from steelyard.report.drawings.above.coupling import Hung, borne_of, hung_of, share_on
from steelyard.report.drawings.above.paper import PaperSheet
from steelyard.report.drawings.above.scene import (
    FINE,
    FIRM,
    NOTE,
    SMALL,
    THIN,
    Block,
    Scene,
    Style,
    across,
    fill_of,
    lead,
    load_block,
    room_for,
)
from steelyard.report.drawings.above.values import Figure, Reader, Standing
from steelyard.report.drawings.above.wheels import Wheel, wheels_of
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.type import broken, fitted, text_width
from steelyard.report.words.names import CONTESTED
from steelyard.units import UnitSystem

_HEAD, _LINE = 22.0, 19.0
_BELOW, _LEAD, _SIZE = 6.0, 12.0, 18.0
_WIDEST_BAR = 26.0

COUPLING = "\N{BLACK CIRCLE}"
"""Stands before the load on a coupling."""


@dataclass(frozen=True)
class StripLayout:
    """The measures that all strips share: sheet, scale, where the front axles stand, and how much is told.

    ``bar``: height of the bar of the heaviest axle, which has ``heaviest`` [kg]. ``column``: width of the names beside
    the rigs, 0 for names above them. ``doubts``: whether each load has its own doubt.
    """

    sheet: PaperSheet
    scale: float
    origin: float
    bar: float
    heaviest: float
    column: float
    doubts: bool


def reader_of(rig: ComparedRig, units: UnitSystem) -> Reader:
    """The figures of a rig as its own day tells them, in ``units``."""
    found = rig.weighed.findings([])
    return Reader(replace(found, day=replace(found.day, units=units)), rig.state)


def placed(reader: Reader) -> DrawnRig:
    """The rig of a reader on the ground plan."""
    day = reader.findings.day
    return rig_of(day, day.states[reader.state])


@dataclass(frozen=True)
class RigStrip:
    """One rig with its name, measured and ready to draw."""

    name: str
    reader: Reader
    rig: DrawnRig
    layout: StripLayout
    canvas: Canvas

    @cached_property
    def scene(self) -> Scene:
        """The sheet of this rig, on the canvas of all."""
        layout, sheet = self.layout, self.layout.sheet
        left = sheet.margin + layout.column
        right = sheet.width - sheet.margin
        return Scene(self.canvas, self.reader, self.rig, sheet, left, right, layout.scale, layout.origin)

    @cached_property
    def hung(self) -> tuple[Hung, ...]:
        """The axles that have a load, front to rear."""
        return hung_of(self.scene)

    @cached_property
    def _blocks(self) -> list[tuple[float, Block, bool]]:
        """Place along the rig, figures, and whether they are those of a coupling; front to rear."""
        items = [(self.scene.x(one.x), self._block(one.figure), False) for one in self.hung]
        items += [
            (self.scene.x(borne.coupling.x), self._block(borne.figure, sign=f"{COUPLING} "), True)
            for borne in borne_of(self.scene)
            if borne.figure is not None
        ]
        return sorted(items, key=lambda item: item[0])

    def _block(self, figure: Figure, sign: str = "") -> Block:
        """The figures of a load; beside names there is room for the doubt in the same line."""
        block = load_block(figure, size=_SIZE, shares=False, narrow=True)
        if not figure.determined:
            return block
        first, *rest = block.lines
        text = f"{sign}{first.text}"
        if not figure.contested:
            beside = self.layout.doubts and bool(self.layout.column) and bool(figure.doubt)
            text = f"{text} {figure.doubt}" if beside else text
            if beside or not self.layout.doubts:
                rest = [line for line in rest if line.style is not Style.SOFT]
        return Block((replace(first, text=text), *rest))

    @property
    def short(self) -> float:
        """Width that is missing for the figures or the words above the rig; below nothing where there is room."""
        figures = room_for([block for _, block, _ in self._blocks]) - (self.scene.right - self.scene.left)
        if self.layout.column:
            return figures
        room = self.scene.width - 2 * self.scene.margin
        return max(
            figures, text_width(self._words(), SMALL) + min(text_width(self.name, 17.0, bold=True), 140.0) + 12.0 - room
        )

    @property
    def height(self) -> float:
        """From its name to the end of its figures."""
        figures = max((block.height for _, block, _ in self._blocks), default=0.0)
        head = 0.0 if self.layout.column else _HEAD
        rig = self._plan + _BELOW + self.layout.bar + _LEAD + figures
        return max(head + rig, _LINE * len(self._column) + 8.0 if self.layout.column else 0.0)

    @property
    def _plan(self) -> float:
        return 2.0 * self.rig.half_width * self.layout.scale

    def draw(self, top: float) -> None:
        """Draw downward from ``top``."""
        start = top if self.layout.column else top + _HEAD
        self._draw_name(top)
        scene, middle = self.scene, start + self._plan / 2.0
        wheels: list[Wheel] = [*wheels_of(scene, "R"), *wheels_of(scene, "L")]
        draw_bodies(scene, middle, wheels)
        base = start + self._plan + _BELOW
        # the line of all front axles, where no word stands in its way
        origin = self.layout.origin
        scene.canvas.line(origin, start - 3.0, origin, base, stroke=scene.palette.accent, width=THIN, dash="4 3")
        self._bars(base)
        foot = base + self.layout.bar
        places = [place for place, _, _ in self._blocks]
        blocks = [block for _, block, _ in self._blocks]
        for (place, block, bears), at in zip(self._blocks, across(scene, places, blocks), strict=True):
            if bears:
                scene.canvas.line(place, middle + 6.5, place, foot, stroke=scene.palette.accent, width=FINE)
            lead(scene, place, at, foot, foot + _LEAD - 2.0)
            block.draw(scene.canvas, at, foot + _LEAD - 5.0)

    def _bars(self, base: float) -> None:
        """The loads of the axles below one line, each as high as its load; a tick marks its rating."""
        scene, layout = self.scene, self.layout
        if not self.hung:
            return
        wide = min(_WIDEST_BAR, 0.7 * self.rig.pitch * layout.scale)
        first, last = scene.x(self.hung[0].x) - wide, scene.x(self.hung[-1].x) + wide
        for one in self.hung:
            figure, x = one.figure, scene.x(one.x)
            load = max(figure.value or 0.0, 0.0)
            high = layout.bar * load / layout.heaviest if layout.heaviest > 0.0 else 0.0
            over = figure.standing is Standing.OVER
            scene.canvas.add(
                "rect",
                x=x - wide / 2,
                y=base,
                width=wide,
                height=high,
                fill=fill_of(scene, figure.standing),
                stroke=scene.palette.ink,
                stroke_width=FIRM if over else THIN,
                stroke_dasharray=scene.dash,
                class_="load",
            )
        scene.canvas.line(first, base, last, base, stroke=scene.palette.ink, width=FINE)

    def _words(self) -> str:
        """State, gross and what is marked, in one line."""
        return ", ".join([self._state, *([self._gross] if self._gross else []), *self._marks])

    @property
    def _state(self) -> str:
        return self.reader.findings.day.state_title(self.reader.state)

    @cached_property
    def _gross(self) -> str:
        """Its weight: all wheels of a combination, else its vehicle."""
        figure = self.reader.figure(combination_gross())
        if figure is None and self.rig.vehicles:
            figure = self.reader.figure(gross_load(self.rig.vehicles[0].vehicle.id))
        if figure is None:
            return ""
        if not figure.determined:
            return f"gross {figure.text}"
        unit = self.reader.units.mass
        return f"{figure.span} {unit} {CONTESTED}" if figure.contested else f"{figure.text} {figure.doubt} {unit}"

    @property
    def _marks(self) -> list[str]:
        marks = ["predicted"] if self.reader.basis is Basis.PREDICTED else []
        if self.reader.contradicted:
            marks.append("contested" if self.reader.contested else "readings contradict one another")
        return marks

    @cached_property
    def _column(self) -> list[tuple[str, float, bool]]:
        """The lines beside the rig: text, size, whether bold."""
        room = self.layout.column - 14.0
        lines = [(line, 17.0, True) for line in broken(self.name, 17.0, room, bold=True, most=2)]
        lines.append((fitted(self._state, SMALL, room), SMALL, False))
        lines += [(fitted(self._gross, NOTE, room), NOTE, False)] if self._gross else []
        share = next((share_on(self.scene, borne.coupling) for borne in borne_of(self.scene)), "")
        lines += [(fitted(f"{share} on the coupling", SMALL, room), SMALL, False)] if share else []
        for mark in self._marks:
            lines += [(line, SMALL, True) for line in broken(mark, SMALL, room, bold=True, most=2)]
        return lines

    def _draw_name(self, top: float) -> None:
        scene, canvas = self.scene, self.canvas
        if not self.layout.column:
            words = self._words()
            room = scene.width - 2 * scene.margin - text_width(words, SMALL) - 12.0
            canvas.text(scene.margin, top + 16, fitted(self.name, 17.0, room, bold=True), 17.0, bold=True)
            canvas.text(scene.width - scene.margin, top + 16, words, SMALL, anchor="end", fill=scene.palette.soft)
            return
        y = top
        for text, size, bold in self._column:
            y += _LINE
            fill = scene.palette.ink if bold else scene.palette.soft
            canvas.text(scene.margin, y - 3.0, text, size, bold=bold, fill=fill)

    def said(self) -> str:
        """The rig in one sentence, for those who cannot see it."""
        titles = {item.vehicle.id: item.vehicle.title for item in self.rig.vehicles}
        parts = [f"{titles[one.vehicle]}, axle {one.axle}, {_told(one.figure)}" for one in self.hung]
        parts += [f"on the coupling, {_told(one.figure)}" for one in borne_of(self.scene) if one.figure is not None]
        return f"{self.name}, {self._words()}: {'; '.join(parts)}."


def _told(figure: Figure) -> str:
    if figure.contested:
        return f"contested, {figure.span}"
    standing = "" if figure.standing is Standing.PLAIN else f", {figure.standing_text}"
    return f"{figure.text} {figure.doubt}".strip() + standing
