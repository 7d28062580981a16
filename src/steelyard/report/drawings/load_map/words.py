"""The words around a load map: its head, the list of limits that bind, the scale of colours, its description."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from steelyard.loading import Item, LoadMap
from steelyard.model import WeighDay
from steelyard.questions.load_map import scale_colour
from steelyard.report.drawings.above.scene import FINE, NOTE, SMALL, TITLE
from steelyard.report.drawings.above.words import draw_mark_on
from steelyard.report.drawings.sheet.canvas import Canvas
from steelyard.report.drawings.sheet.type import broken, fitted, text_width
from steelyard.report.tables.contested import contested_note
from steelyard.report.words.grid import listed, wrapped
from steelyard.report.words.names import with_unit
from steelyard.units import Dimension, UnitSystem, format_number

_SUBTITLE = "the most that each place can take with every limit kept, each at 95 %"

BARRED = "url(#barred)"
BARRED_PATTERN = (
    '<defs><pattern id="barred" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="3.4" height="9" fill="#ffffff" fill-opacity="0.55"/>'
    '<rect x="0.9" width="1.6" height="9" fill="#141c24"/></pattern></defs>'
)
"""Pattern over places where an item may not stand: bars cased in white, with the map's colours between them."""


@dataclass(frozen=True, slots=True)
class Panel:
    """The list beside the map. ``letters`` by limit, in the order of the list."""

    canvas: Canvas
    day: WeighDay
    made: LoadMap
    vehicle: str
    letters: dict[int, str]
    item: Item | None


def draw_map_head(canvas: Canvas, day: WeighDay, title: str, state: str, *, right: float) -> None:
    """Title, state, day."""
    palette, left = canvas.palette, 48.0
    date = "" if day.record.date is None else f", {day.record.date.isoformat()}"
    note = fitted(f"{day.title}{date}", NOTE, 520.0)
    canvas.text(right, left + 26, note, NOTE, anchor="end", fill=palette.soft)
    canvas.text(left, left + 28, fitted(title, TITLE, right - left - 560, bold=True), TITLE, bold=True)
    canvas.text(left, left + 60, f"{state.replace('_', ' ')}: {_SUBTITLE}", 20.0)


def limit_words(panel: Panel, place: int) -> str:
    """A limit in words: without the vehicle where it is the one that the map is of, else with its title."""
    name, _, rest = panel.made.labels[place].partition(": ")
    named = [vehicle.id for vehicle in panel.day.vehicles.values() if vehicle.title == name]
    return rest if rest and named == [panel.vehicle] else panel.made.labels[place]


def draw_panel(panel: Panel, x: float, top: float, width: float) -> float:
    """The limits that bind, each with its letter and what its region can take. Returns where the list ends."""
    canvas, palette = panel.canvas, panel.canvas.palette
    canvas.text(x, top + 14, "What binds where", NOTE, bold=True)
    y = top + 44
    for place, letter in panel.letters.items():
        canvas.tag(x + 12, y, letter, NOTE + 3)
        first, *more = broken(limit_words(panel, place), NOTE, width - 34)
        canvas.text(x + 34, y - 2, first, NOTE)
        for line in more:
            y += 20
            canvas.text(x + 34, y - 2, line, NOTE)
        canvas.text(x + 34, y + 17, _range(panel, place), SMALL, fill=palette.soft)
        y += 46
    y = _item_words(panel, x, y, width)
    for bold, notes in ((True, _missed(panel)), (False, _notes(panel))):
        for text in notes:
            for line in _broken(text, width * (0.9 if bold else 1.0)):
                canvas.text(x, y, line, SMALL, bold=bold, fill=palette.ink if bold else palette.soft)
                y += 19
            y += 8
    return y


def _range(panel: Panel, place: int) -> str:
    values = panel.made.most[panel.made.limit == place] / panel.day.units.factor(Dimension.MASS)
    low, high = (format_number(np.floor(end)) for end in (values.min(), values.max()))
    return f"{low} {panel.day.units.mass}" if low == high else f"{low} to {high} {panel.day.units.mass}"


def _missed(panel: Panel) -> list[str]:
    """Warnings: a contradiction, limits that are missed, limits that nobody can judge."""
    made = panel.made
    notes = [f"Not kept at 95 % before anything is added: {name}." for name in made.missed]
    if made.not_judged:
        notes.append(f"Not judged, because not determined: {listed(list(made.not_judged))}.")
    return [*([contested_note(made.contested)] if made.contested else []), *notes]


def _notes(panel: Panel) -> list[str]:
    made = panel.made
    notes: list[str] = []
    if not panel.day.vehicles[panel.vehicle].load_floor:
        notes.append("The file gives no load_floor; the rectangle of axles and tracks stands in for it.")
    if not panel.letters:
        notes.append("Nothing binds anywhere on this floor.")
    if (made.limit[made.within] < 0).any() and panel.letters:
        notes.append("Places without a letter's region are bound by no limit.")
    return notes


def _item_words(panel: Panel, x: float, y: float, width: float) -> float:
    canvas, item, fits = panel.canvas, panel.item, panel.made.fits
    if item is None or fits is None:
        return y
    mass = with_unit(round(item.mass, 6), Dimension.MASS, panel.day.units)
    share = fits.sum() / panel.made.within.sum()
    if share == 1:
        text = f"{mass} may stand anywhere on this floor."
    elif share == 0:
        text = f"{mass} may stand nowhere on this floor (barred)."
    else:
        text = f"{mass} may stand where there are no bars: on {100 * share:.0f} % of this floor."
    canvas.add(
        "rect",
        x=x + 1,
        y=y - 11,
        width=20.0,
        height=14.0,
        fill=BARRED if share < 1 else "none",
        stroke=canvas.palette.ink,
        stroke_width=FINE,
    )
    for line in _broken(text, width - 34):
        canvas.text(x + 34, y, line, NOTE)
        y += 19
    return y + 11


def _broken(text: str, width: float) -> list[str]:
    """A text broken to a width on the sheet; 7.2 is the mean advance of the face at its size."""
    return wrapped(text, width=int(width / 7.2))


def draw_scale(
    canvas: Canvas,
    units: UnitSystem,
    levels: tuple[float, ...],
    part: Callable[[float], float],
    *,
    top: float,
    right: float,
) -> float:
    """The bands with their amounts, and the program's mark. Returns where they end."""
    palette, left, wide = canvas.palette, 48.0, 760.0
    canvas.text(left, top + 14, f"Most mass, {units.mass}", NOTE, bold=True)
    start = left + text_width(f"Most mass, {units.mass}", NOTE, bold=True) + 24
    bands = max(len(levels) - 1, 1)
    for place in range(bands):
        canvas.add(
            "rect",
            x=start + wide * place / bands,
            y=top,
            width=wide / bands,
            height=18.0,
            fill=scale_colour(levels, place),
            stroke=palette.hair,
            stroke_width=1.0,
            halo=False,
        )
    for level in levels:
        x = start + wide * (part(level) if len(levels) > 1 else 0.5)
        canvas.text(x, top + 36, format_number(level), SMALL, anchor="middle", fill=palette.soft)
    draw_mark_on(canvas, right, top + 32)
    return top + 40


def map_description(panel: Panel, state: str, low: float, high: float) -> str:
    """The map in sentences, for those who cannot see it."""
    unit = panel.day.units.mass
    name = panel.day.vehicles[panel.vehicle].title
    head = (
        f"{name} from above, front to the left, state {state}. Each place of the load floor can take "
        f"{format_number(low)} to {format_number(high)} {unit} before the first limit binds at 95 %."
    )
    parts = [
        f"{letter}: {limit_words(panel, place)}, {_range(panel, place)}." for place, letter in panel.letters.items()
    ]
    return " ".join([head, *parts, *_missed(panel), *_notes(panel)])
