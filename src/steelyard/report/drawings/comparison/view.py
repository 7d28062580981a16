"""The picture of a comparison, in the shape in which it will be shown: a dot-and-interval chart of chosen measures.

Source of the form: Cleveland, The Elements of Graphing Data, 1994 (dot plots with error bars).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from steelyard.findings import Basis
from steelyard.names import meant
from steelyard.questions.compare import ComparedMeasure, RigComparison
from steelyard.report.drawings.comparison.panel import MeasurePanel
from steelyard.report.drawings.comparison.words import HELD, description, picture_names
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.logo import Logo
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.shape import Shape, shape_of
from steelyard.report.drawings.sheet.type import broken, fitted, text_width

_USUAL = ("left/payload", "left/least", "coupling/share", "front/lost")
_MARGIN, _BETWEEN, _TITLE = 1.2, 1.4, 2.0
_STEPS = 24


@dataclass(frozen=True)
class _Layout:
    """Panels in columns; ``size`` is the height of the letters."""

    shape: Shape
    panels: Sequence[MeasurePanel]
    columns: int
    size: float
    key: Sequence[str]

    @cached_property
    def rows(self) -> list[float]:
        """The height of each row of panels; the key takes the place after the last panel."""
        heights = [panel.height for panel in self.panels]
        heights.append(self.size * 1.25 * len(self.key))
        return [max(heights[at : at + self.columns]) for at in range(0, len(heights), self.columns)]

    @cached_property
    def spare(self) -> float:
        """Height that is left; below nothing where the panels do not fit."""
        least = self.size * (2 * _MARGIN + _TITLE + 0.7 * (len(self.rows) - 1))
        return self.shape.height - least - sum(self.rows)


def usual_measures(comparison: RigComparison) -> list[ComparedMeasure]:
    """The measures that most people ask for, and the rating that is used the most: those that two rigs have."""
    chosen = [one for name in _USUAL if (one := comparison.get(name)) is not None and one.differences]
    used = [one for one in comparison.measures if one.measure.of_rating and one.differences]
    if used:
        chosen.append(max(used, key=_most_used))
    return chosen or [one for one in comparison.measures if one.differences][:4]


def comparison_svg(
    comparison: RigComparison,
    measures: Sequence[str] = (),
    *,
    shape: str = "16:9",
    theme: Theme = "light",
    logo: Logo | None = None,
) -> str:
    """The chart as SVG; the same input gives the same text.

    Parameters
    ----------
    measures: ids of measures, a panel each; none for the usual ones, as many of them as the sheet holds.
    shape: a name of ``SHAPES``. theme: ``light``, ``dark`` or ``transparent``. logo: for the upper right corner.

    Raises
    ------
    ValueError: a measure that the comparison has not, an unknown shape, or more than fits in letters one can read.
    """
    return _drawn(comparison, _fitting(comparison, measures, shape)[0], theme, logo)


def comparison_words(comparison: RigComparison, measures: Sequence[str] = (), *, shape: str = "16:9") -> str:
    """The findings of the chart in words, for those who cannot see it; it raises as ``comparison_svg`` does."""
    panels = _fitting(comparison, measures, shape)[0].panels
    return description(comparison, [panel.one for panel in panels], picture_names(comparison))


def left_out(comparison: RigComparison, measures: Sequence[str] = (), *, shape: str = "16:9") -> list[str]:
    """The labels of usual measures that the sheet has no room for; it raises as ``comparison_svg`` does."""
    return [one.measure.label for one in _fitting(comparison, measures, shape)[1]]


def _fitting(
    comparison: RigComparison, measures: Sequence[str], shape: str
) -> tuple[_Layout, Sequence[ComparedMeasure]]:
    """The layout of what fits, and what does not."""
    sheet = shape_of(shape)
    chosen = [_named(comparison, name) for name in dict.fromkeys(measures)] or usual_measures(comparison)
    for count in (len(chosen),) if measures else range(len(chosen), 0, -1):
        layout = _laid_out(comparison, chosen[:count], sheet)
        if layout is not None:
            return layout, chosen[count:]
    rigs, panels = _count(len(comparison.rigs), "rig"), _count(len(chosen) if measures else 1, "measure")
    raise ValueError(
        f"{rigs} in {panels} do not fit on {shape} in letters that can be read; "
        "choose fewer measures, fewer rigs or another shape"
    )


def _named(comparison: RigComparison, name: str) -> ComparedMeasure:
    one = comparison.get(name)
    if one is None or one.measure.id == "ratings/kept":
        known = [item.measure.id for item in comparison.measures if item.measure.id != "ratings/kept"]
        raise ValueError(f"{name!r} is not a measure that can be drawn; {meant(name, known, 'there are')}")
    return one


def _count(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _most_used(one: ComparedMeasure) -> float:
    return round(max(value.spread.value for value in one.values if value.spread is not None), 9)


def _laid_out(comparison: RigComparison, chosen: Sequence[ComparedMeasure], shape: Shape) -> _Layout | None:
    """The layout with the largest letters; None where even the smallest do not fit."""
    names = picture_names(comparison)
    for step in range(_STEPS, -1, -1):
        size = shape.smallest * (1.0 + step / _STEPS)
        for columns in range(1, 4):
            width = (shape.width - size * (2 * _MARGIN + _BETWEEN * (columns - 1))) / columns
            panels = [MeasurePanel(one, names, comparison.units, width, size) for one in chosen]
            layout = _Layout(shape, panels, columns, size, _key(panels, size, width))
            if layout.spare >= 0.0 and all(panel.fits for panel in panels):
                return layout
    return None


def _key(panels: Sequence[MeasurePanel], size: float, width: float) -> list[str]:
    values = [value for panel in panels for value in panel.one.values if value.spread is not None]
    said = [f"Dot: value ± half of the 95{HELD}% interval. Bar: that interval."]
    if any(value.basis is Basis.PREDICTED for value in values):
        said.append("Hollow: predicted.")
    if any(value.contested for value in values):
        said.append("Diamond, broken bar: contested, the readings contradict one another.")
    return broken(" ".join(said), size, width, most=6)


def _drawn(comparison: RigComparison, layout: _Layout, theme: Theme, logo: Logo | None) -> str:
    canvas, size, shape = Canvas(PALETTES[theme]), layout.size, layout.shape
    names = layout.panels[0].names
    margin = _MARGIN * size
    right = shape.width - margin
    if logo is not None:
        right -= size + logo.place(canvas, right=right, top=0.5 * margin, wide=7.0 * size, high=1.8 * size)
    wide = right - margin
    title = f"{' and '.join(names)} compared"
    if len(names) > 2 or text_width(title, 1.4 * size, bold=True) > wide:
        title = f"{len(names)} rigs compared"
    canvas.text(margin, margin + 1.1 * size, fitted(title, 1.4 * size, wide, bold=True), 1.4 * size, bold=True)
    extra = min(layout.spare / max(len(layout.rows), 1), 2.0 * size)
    top = margin + _TITLE * size
    for row, height in enumerate(layout.rows):
        for column in range(layout.columns):
            place = row * layout.columns + column
            left = margin + column * (layout.panels[0].width + _BETWEEN * size)
            if place < len(layout.panels):
                layout.panels[place].draw(canvas, left, top)
            elif place == len(layout.panels):
                for number, line in enumerate(layout.key, start=1):
                    canvas.text(left, top + (1.25 * number - 0.3) * size, line, size, fill=canvas.palette.soft)
        top += height + 0.7 * size + extra
    said = description(comparison, [panel.one for panel in layout.panels], names)
    return canvas.document(width=shape.width, height=shape.height, title=title, description=said)
