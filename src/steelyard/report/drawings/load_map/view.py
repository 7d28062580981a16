"""The load map as a drawing: the vehicle from above, its load floor coloured by what each place can still take.

Amounts are told by lightness, by lines of equal mass with their figure, and by words; which limit binds by a letter in
its region and a list beside the drawing. Nothing is told by hue alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from steelyard.loading import Item, LoadMap
from steelyard.model import State, Vehicle, WeighDay
from steelyard.questions.above import TREAD, TYRE, PlacedVehicle, rig_of
from steelyard.questions.load_map import (
    Point,
    borders,
    filled,
    framed,
    in_order,
    lightness,
    loops,
    most_framed,
    round_levels,
    stretches,
    widest,
)
from steelyard.report.drawings.above.body import body_path
from steelyard.report.drawings.above.scene import FINE, FIRM, NOTE, SMALL, THIN
from steelyard.report.drawings.load_map.words import (
    BARRED,
    BARRED_PATTERN,
    Panel,
    draw_map_head,
    draw_panel,
    draw_scale,
    map_description,
    scale_colour,
)
from steelyard.report.drawings.sheet.canvas import Canvas, number
from steelyard.report.drawings.sheet.palette import PALETTES, Theme
from steelyard.report.drawings.sheet.type import text_width
from steelyard.ties import largest, ranked
from steelyard.units import Dimension, UnitSystem, format_number

Array = NDArray[np.float64]

WIDTH, MARGIN, PANEL, HEAD = 1600.0, 48.0, 380.0, 104.0
_DENSEST = 230.0
_AXIS = 44.0  # for the figures along the floor's edges


@dataclass(frozen=True, slots=True)
class Field:
    """The drawing in the making: the sheet, the scale and what is drawn.

    Attributes
    ----------
    scale: units of the sheet for a metre. origin: where x = 0 lies. middle: where the centreline lies.
    x, y: places of the grid carried on to its edges [m], shapes (nx,) and (ny,). most: in the reader's unit, (ny, nx).
    levels: where the lines of equal mass lie, in the reader's unit.
    """

    canvas: Canvas
    units: UnitSystem
    made: LoadMap
    placed: PlacedVehicle
    scale: float
    origin: float
    middle: float
    x_at: Array
    y_at: Array
    most: Array
    levels: tuple[float, ...]

    def x(self, metres: float) -> float:
        """Position of a place along the vehicle [m] on the sheet."""
        return self.origin + metres * self.scale

    def y(self, metres: float) -> float:
        """Position of a place across the vehicle [m] on the sheet: left is down, for front is left."""
        return self.middle + metres * self.scale

    def part(self, level: float) -> float:
        """Position of an amount between the least and the most level, 0 to 1."""
        low, high = self.levels[0], self.levels[-1]
        return (level - low) / (high - low) if high > low else 0.5


def load_map_svg(
    day: WeighDay, made: LoadMap, *, state: str, vehicle: str, item: Item | None = None, theme: Theme = "light"
) -> str:
    """The load map of ``vehicle`` in ``state`` as SVG; the same input gives the same text.

    Parameters
    ----------
    made: the map. item: the one thing that it was made for, as there. theme: ``light``, ``dark`` or ``transparent``.
    """
    field = _field(day, made, day.vehicles[vehicle], theme)
    letters = {place: chr(ord("A") + number) for number, place in enumerate(in_order(made))}
    title = f"Load map: {day.vehicles[vehicle].title}"
    draw_map_head(field.canvas, day, title, state, right=WIDTH - MARGIN)
    field.canvas.add(
        "path",
        d=body_path(field, field.placed, field.middle),
        fill=field.canvas.palette.body,
        fill_opacity=field.canvas.palette.body_opacity,
        stroke=field.canvas.palette.hair,
        stroke_width=FINE,
        halo=False,
    )
    _wheels(field)
    _bands(field)
    _item(field, item)
    _lines(field)
    _borders(field)
    _figures(field, _tags(field, letters))
    _axes(field)
    half = field.placed.half_width * field.scale
    panel = Panel(field.canvas, day, made, vehicle, letters, item)
    top = MARGIN + HEAD
    end = draw_panel(panel, WIDTH - MARGIN - PANEL, top, PANEL)
    low = max(field.middle + half + _AXIS, end) + 26
    bottom = draw_scale(field.canvas, field.units, field.levels, field.part, top=low, right=WIDTH - MARGIN)
    words = map_description(panel, state, float(np.nanmin(field.most)), float(np.nanmax(field.most)))
    return field.canvas.document(
        width=WIDTH, height=bottom + MARGIN * 0.7, title=f"{title}, {state}", description=words
    )


def _field(day: WeighDay, made: LoadMap, vehicle: Vehicle, theme: Theme) -> Field:
    alone = rig_of(day, State("", (vehicle.id,))).vehicles[0]
    front, rear = min(alone.tip, float(made.x[0])), max(alone.rear, float(made.x[-1]))
    rear = max([rear, *(coupling.x.value + 0.05 for coupling in vehicle.couplings.values())])
    half = max(alone.half_width, float(np.abs(made.y).max()))
    room = WIDTH - 2 * MARGIN - PANEL - 40 - _AXIS
    scale = min(room / (rear - front), _DENSEST, 620.0 / (2 * half))
    origin = MARGIN + _AXIS + (room - scale * (rear - front)) / 2 - front * scale
    x_at, y_at, most = most_framed(made)
    shown = most / day.units.factor(Dimension.MASS)
    middle = MARGIN + HEAD + max(half * scale, 30.0) + 6
    canvas = Canvas(PALETTES[theme])
    levels = round_levels(shown)
    return Field(canvas, day.units, made, alone, scale, origin, middle, x_at, y_at, shown, levels)


def _wheels(field: Field) -> None:
    palette = field.canvas.palette
    for axle in field.placed.axles:
        for side in (-1, 1):
            for offset in axle.tyres:
                y = field.y(side * (axle.half + offset))
                field.canvas.add(
                    "rect",
                    x=field.x(axle.x) - TYRE * field.scale / 2,
                    y=y - TREAD * field.scale / 2,
                    width=TYRE * field.scale,
                    height=TREAD * field.scale,
                    rx=4.0,
                    fill="none",
                    stroke=palette.hair,
                    stroke_width=FINE,
                )
    for coupling in field.placed.vehicle.couplings.values():
        x, rear = field.x(coupling.x.value), field.x(field.placed.rear)
        if x > rear:
            field.canvas.line(rear, field.middle, x, field.middle, stroke=palette.hair, width=4.0)
        field.canvas.add("circle", cx=x, cy=field.middle, r=6.5, fill=palette.accent)


def _path(field: Field, points: list[Point], *, closed: bool) -> str:
    d = "L".join(f"{number(field.x(x))} {number(field.y(y))}" for x, y in points)
    return f"M{d}{'Z' if closed else ''}"


def _clip(field: Field) -> None:
    """Everything until the group ends is cut at the edge of the floor."""
    d = _path(field, list(field.made.outline), closed=True)
    field.canvas.raw(f'<clipPath id="floor"><path d="{d}"/></clipPath>')
    field.canvas.open(clip_path="url(#floor)")


def _bands(field: Field) -> None:
    """From the least band to the most, each over the one before it."""
    _clip(field)
    palette = field.canvas.palette
    floor = _path(field, list(field.made.outline), closed=True)
    field.canvas.add("path", d=floor, fill=scale_colour(field.levels, 0), halo=False)
    for place, level in enumerate(field.levels[1:-1], start=1):
        found = loops(field.x_at, field.y_at, field.most, level)
        d = "".join(_path(field, loop, closed=True) for loop in found)
        if d:
            field.canvas.add("path", d=d, fill=scale_colour(field.levels, place), fill_rule="evenodd", halo=False)
    field.canvas.close()
    field.canvas.add("path", d=floor, fill="none", stroke=palette.ink, stroke_width=FIRM)


def _item(field: Field, item: Item | None) -> None:
    """Hatch the places where the item may not stand."""
    if item is None or field.made.spare is None:
        return
    x, y, spare = framed(field.made.x, field.made.y, filled(field.made.spare))
    _clip(field)
    d = "".join(_path(field, loop, closed=True) for loop in loops(x, y, -spare, 1e-12))
    if d:
        field.canvas.raw(BARRED_PATTERN)
        field.canvas.add("path", d=d, fill=BARRED, fill_rule="evenodd", halo=False)
        for stroke, width in (("#141c24", 5.0), ("#ffffff", 2.0)):
            field.canvas.add("path", d=d, fill="none", stroke=stroke, stroke_width=width, halo=False)
    field.canvas.close()


def _lines(field: Field) -> None:
    """Lines of equal mass; light on dark and dark on light."""
    _clip(field)
    for place, level in enumerate(field.levels[1:-1], start=1):
        under = lightness(scale_colour(field.levels, place))
        stroke = "#ffffff" if under < 0.6 else "#141c24"
        for line in stretches(field.x_at, field.y_at, field.most, level):
            d = _path(field, line, closed=False)
            field.canvas.add(
                "path", d=d, fill="none", stroke=stroke, stroke_width=THIN, stroke_opacity=0.75, halo=False
            )
    field.canvas.close()


def _borders(field: Field) -> None:
    """Between the regions of two limits: broken lines, cased, that stand off every colour of the ramp."""
    lines = borders(field.made)
    if not lines:
        return
    _clip(field)
    for line in lines:
        d = _path(field, line, closed=False)
        for stroke, width, dash in (("#141c24", 4.5, None), ("#ffffff", 2.0, "7 5")):
            field.canvas.add(
                "path", d=d, fill="none", stroke=stroke, stroke_width=width, stroke_dasharray=dash, halo=False
            )
    field.canvas.close()


# -- figures and letters -----------------------------------------------------------------------------------------------


def _plate(field: Field, x: float, y: float, text: str, *, bold: bool = False) -> None:
    """A word on a patch of the ground's colour, centred on a place of the sheet."""
    palette = field.canvas.palette
    width = text_width(text, SMALL, bold=bold) + 9
    ground = palette.ground or palette.on_ink
    field.canvas.add(
        "rect", x=x - width / 2, y=y - 9, width=width, height=18.0, rx=2.0, fill=ground, fill_opacity=0.92, halo=False
    )
    field.canvas.text(x, y + 5, text, SMALL, bold=bold, anchor="middle")


def _figures(field: Field, taken: list[Point]) -> None:
    """The amount on each line of equal mass, where it has most room to others and to what is ``taken``."""
    for level in field.levels[1:-1]:
        text = format_number(level)
        for line in ranked(stretches(field.x_at, field.y_at, field.most, level), _length)[:2]:
            places = [(field.x(x), field.y(y)) for x, y in line]
            if _length(line) * field.scale < 90:
                continue
            inner = places[len(places) // 6 : -(len(places) // 6) or None]
            room, best = largest([(_clear(at, taken, places), at) for at in inner], lambda pair: pair[0])
            if room > 0:
                taken.append(best)
                _plate(field, best[0], best[1], text)


def _clear(at: Point, taken: list[Point], line: list[Point]) -> float:
    """How free a place on a line is: far from other figures first, then near the line's middle; negative: too near."""
    nearest = min((max(abs(at[0] - x) / 62, abs(at[1] - y) / 24) for x, y in taken), default=9.0)
    if nearest < 1.0:
        return -1.0
    middle = line[len(line) // 2]
    return min(nearest, 3.0) + 1.0 / (1.0 + np.hypot(at[0] - middle[0], at[1] - middle[1]) / 100)


def _length(points: list[Point]) -> float:
    steps = np.diff(np.array(points), axis=0)
    return float(np.hypot(steps[:, 0], steps[:, 1]).sum())


def _tags(field: Field, letters: dict[int, str]) -> list[Point]:
    """The letter of each region in its widest part. Returns where they lie on the sheet."""
    taken: list[Point] = []
    for place, letter in letters.items():
        row, column = widest(field.made.limit == place)
        x, y = field.x(float(field.made.x[column])), field.y(float(field.made.y[row]))
        field.canvas.tag(x, y + 6, letter, NOTE + 3)
        taken.append((x, y))
    return taken


def _axes(field: Field) -> None:
    """Places along and across the floor in the file's unit, as its table has them."""
    canvas, palette, length = field.canvas, field.canvas.palette, field.units.length
    corners = np.array(field.made.outline)
    base = field.middle + field.placed.half_width * field.scale + 8
    for value in _ticks(float(corners[:, 0].min()), float(corners[:, 0].max()), field.units, 95.0 / field.scale):
        x = field.x(value)
        canvas.line(x, base, x, base + 7, stroke=palette.soft, width=FINE)
        text = format_number(field.units.show(value, Dimension.LENGTH))
        canvas.text(x, base + 22, text, SMALL, anchor="middle", fill=palette.soft)
    left = max(field.x(float(corners[:, 0].min())) - 10, MARGIN + 40)
    for value in _ticks(float(corners[:, 1].min()), float(corners[:, 1].max()), field.units, 45.0 / field.scale):
        y = field.y(value)
        text = format_number(field.units.show(value, Dimension.LENGTH))
        _plate(field, left - text_width(text, SMALL) / 2 - 4, y, text)
    origin = "coupling point" if field.placed.towed else "front axle"
    caption = f"x ({length}) rearward from the {origin}, y ({length}) to the left"
    canvas.text(MARGIN, base + 40, caption, SMALL, fill=palette.soft)


def _ticks(low: float, high: float, units: UnitSystem, room: float) -> Iterator[float]:
    """Round places [m] between two others, not nearer to one another than ``room`` [m]."""
    unit = units.factor(Dimension.LENGTH)
    steps = [part * 10.0**power for power in range(-2, 6) for part in (1, 2, 5)]
    step = next(step for step in steps if step * unit >= room)
    for place in range(int(np.ceil(low / unit / step - 1e-9)), int(np.floor(high / unit / step + 1e-9)) + 1):
        yield place * step * unit
