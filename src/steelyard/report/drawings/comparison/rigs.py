"""Several rigs below one another, from above: one scale for all, the front axles on one line, loads to one scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from steelyard.questions.compare import RigComparison
from steelyard.report.drawings.above.paper import Detail, PaperSheet
from steelyard.report.drawings.above.scene import FINE, SMALL
from steelyard.report.drawings.above.values import Reader
from steelyard.report.drawings.above.words import draw_mark_on
from steelyard.report.drawings.comparison.strip import COUPLING, RigStrip, StripLayout, placed, reader_of
from steelyard.report.drawings.comparison.words import picture_names
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.shape import shape_of
from steelyard.report.drawings.sheet.type import broken, fitted
from steelyard.report.words.grid import listed
from steelyard.report.words.names import CONTESTED

_LARGER = (1.7, 1.5, 1.3, 1.15, 1.0)
_DENSITIES = (90.0, 72.0, 58.0, 46.0, 38.0, 32.0, 26.0, 22.0, 18.0)
_ENOUGH, _PART = 40.0, 0.75  # units for a metre, or the part of the width, at which letters may grow in a rig's place
_LEVELS = ((44.0, True), (28.0, True), (18.0, True), (28.0, False), (14.0, False))
"""Height of the highest bar, and whether each load has its own doubt."""
_MARGIN, _TITLE, _GAP, _ROW = 20.0, 26.0, 8.0, 20.0
_COLUMN, _WIDE = 190.0, 620.0
_MARK = 150.0


@dataclass(frozen=True)
class _Stack:
    """All strips on a sheet."""

    canvas: Canvas
    strips: Sequence[RigStrip]
    layout: StripLayout
    title: str
    logo: Logo | None
    whole: float

    @property
    def roomy(self) -> bool:
        """Whether the rigs are so large that letters may grow in their place; ``whole`` is the scale of the width."""
        return self.layout.scale >= min(_ENOUGH, _PART * self.whole)

    @property
    def head(self) -> float:
        """From the upper edge to the first strip."""
        return _MARGIN + (_TITLE + 10.0 if self.logo is None else 52.0)

    @property
    def key(self) -> list[str]:
        """The legend in lines."""
        unit = self.strips[0].reader.units.mass
        texts = [one.figure.u_text for strip in self.strips for one in strip.hung if one.figure.u_text]
        words = f"Axle loads in {unit}, each day alone"
        if self.layout.doubts:
            words += "; ± is half of the 95 % interval."
        elif texts:
            most = max(texts, key=lambda text: float(text.replace(",", "")))
            words += f"; half of the 95 % interval {most} or less."
        words += f" {COUPLING} On the coupling."
        if any(strip.reader.contested for strip in self.strips):
            words += f" {CONTESTED} Contested: readings of that day contradict one another."
        return broken(words, SMALL, self.layout.sheet.width - 2 * _MARGIN - _MARK, most=5)

    @property
    def height(self) -> float:
        """As the strips need it."""
        strips = sum(strip.height for strip in self.strips) + _GAP * (len(self.strips) - 1)
        return self.head + strips + _GAP + _ROW * len(self.key) + 0.8 * _MARGIN

    @property
    def fits(self) -> bool:
        """Whether the sheet holds it all."""
        height = self.layout.sheet.height or 0.0
        return self.height <= height and all(strip.short <= 0.0 for strip in self.strips)

    def document(self) -> str:
        """The picture as SVG."""
        sheet, canvas, palette = self.layout.sheet, self.canvas, self.canvas.palette
        height = sheet.height or self.height
        right = sheet.width - _MARGIN
        if self.logo is not None:
            right -= 14.0 + self.logo.place(canvas, right=right, top=10.0, wide=0.25 * sheet.width, high=48.0)
        title = fitted(self.title, _TITLE, right - _MARGIN, bold=True)
        gap = _GAP + min((height - self.height) / max(len(self.strips), 1), 40.0)
        low = height - 0.8 * _MARGIN - _ROW * len(self.key)
        canvas.text(_MARGIN, _MARGIN + _TITLE * 0.8, title, _TITLE, bold=True)
        y = self.head
        for place, strip in enumerate(self.strips):
            if place:
                canvas.line(_MARGIN, y - gap / 2, sheet.width - _MARGIN, y - gap / 2, stroke=palette.hair, width=FINE)
            strip.draw(y)
            y += strip.height + gap
        for place, line in enumerate(self.key):
            canvas.text(_MARGIN, low + 14.0 + place * _ROW, line, SMALL, fill=palette.soft)
        draw_mark_on(canvas, sheet.width - _MARGIN, low + 14.0)
        said = " ".join(strip.said() for strip in self.strips)
        names = listed([strip.name for strip in self.strips])
        description = (
            f"{len(self.strips)} rigs from above, below one another at one scale, front to the left, their front axles "
            f"on one line: {names}. {' '.join(self.key)} {said}"
        )
        return canvas.document(width=sheet.width, height=height, title=self.title, description=description)


def rigs_svg(
    comparison: RigComparison, *, shape: str = "16:9", theme: Theme = "light", logo: Logo | None = None
) -> str:
    """The rigs of a comparison below one another as SVG; the same input gives the same text.

    Loads are those of each day by itself, as ``findings`` tells them; all lengths have one scale, all loads another,
    and the front axles stand on one line.

    Parameters
    ----------
    shape: a name of ``SHAPES``. theme: ``light``, ``dark`` or ``transparent``. logo: for the upper right corner.

    Raises
    ------
    ValueError: there is no such shape, or the rigs do not fit on it in letters one can read.
    """
    width, height = shape_of(shape).sheet(SMALL)
    readers = [reader_of(rig, comparison.units) for rig in comparison.rigs]
    for bar, doubts in _LEVELS:
        for larger in _LARGER:
            sheet = PaperSheet(
                PALETTES[theme],
                width=width / larger,
                height=height / larger,
                margin=_MARGIN,
                detail=Detail(wheels=False, beams=True, gravity=False, left=False),
            )
            for stack in _stacks(picture_names(comparison), readers, sheet, bar, logo, doubts=doubts):
                if stack.fits and (larger == 1.0 or stack.roomy):
                    return stack.document()
    raise ValueError(
        f"{len(comparison.rigs)} rigs do not fit on {shape} in letters that can be read; "
        "choose fewer rigs or another shape"
    )


def _stacks(
    names: Sequence[str], readers: Sequence[Reader], sheet: PaperSheet, bar: float, logo: Logo | None, *, doubts: bool
) -> Iterator[_Stack]:
    """The same rigs at one scale after the other, the largest first."""
    rigs = [placed(reader) for reader in readers]
    column = _COLUMN if sheet.width >= _WIDE else 0.0
    front, rear = min(rig.front for rig in rigs), max(rig.rear for rig in rigs)
    room = sheet.width - 2 * _MARGIN - column
    for densest in _DENSITIES:
        scale = min(densest, room / (rear - front))
        origin = _MARGIN + column + (room - scale * (rear - front)) / 2 - front * scale
        canvas = Canvas(sheet.palette)
        plain = StripLayout(sheet, scale, origin, bar, 1.0, column, doubts)
        strips = [
            RigStrip(name, reader, rig, plain, canvas) for name, reader, rig in zip(names, readers, rigs, strict=True)
        ]
        heaviest = max((max(one.figure.value or 0.0, 0.0) for strip in strips for one in strip.hung), default=0.0)
        layout = replace(plain, heaviest=heaviest)
        title = f"{len(rigs)} rigs at one scale"
        yield _Stack(
            canvas, [replace(strip, layout=layout) for strip in strips], layout, title, logo, room / (rear - front)
        )
