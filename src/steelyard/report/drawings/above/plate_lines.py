"""A plate in lines of words, where a sheet has no room for bars: what a vehicle weighs, its axles, how it bears."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from steelyard.model import axle_load
from steelyard.questions.above import PlacedVehicle
from steelyard.report.drawings.above.coupling import bearing_name, borne_of, share_on
from steelyard.report.drawings.above.paper import PlateStyle
from steelyard.report.drawings.above.scene import FINE, NOTE, SMALL, Block, Scene, Style, TextLine
from steelyard.report.drawings.above.values import Figure, Standing
from steelyard.report.drawings.sheet.canvas import tag_width
from steelyard.report.drawings.sheet.type import fitted, text_width
from steelyard.report.words.names import CONTESTED

_ROW = 20.0
_TOP = 3.0
_NAME = 150.0


@dataclass(frozen=True, slots=True)
class PlateLine:
    """A line of a plate: what it is, and its figure in words, with how it stands to its rating where that matters.

    ``end`` belongs to the name and is not cut off where the name is too long.
    """

    name: str
    words: str
    standing: str = ""
    over: bool = False
    head: bool = False
    end: str = ""


def lines_of(
    scene: Scene, name: str, gross: Figure, rating: str, placed: PlacedVehicle | None = None
) -> Iterator[PlateLine]:
    """The lines of a plate; none on a sheet whose plates have bars. ``rating`` is the name of that of ``gross``."""
    detail = scene.sheet.detail
    if detail.style is PlateStyle.FULL:
        return
    unit = scene.reader.units.mass
    known = gross.text if not gross.determined else _known(gross, unit)
    if detail.style is PlateStyle.LINE:
        share = f" · {gross.share_text} of {rating}" if gross.share is not None else ""
        plain = gross.standing is Standing.PLAIN and not gross.contested
        yield _marked(PlateLine(name, known + (share if plain else ""), head=True), gross)
        return
    yield PlateLine(name, known, head=True)
    if gross.share is not None and gross.rating is not None:
        words = gross.share_text if gross.standing is Standing.PLAIN else ""
        yield _marked(PlateLine(f"of {rating} {scene.reader.mass(gross.rating)}", words), gross)
    if placed is not None and not detail.beams:
        yield from _carried(scene, placed)


def _carried(scene: Scene, placed: PlacedVehicle) -> Iterator[PlateLine]:
    """Lines in place of the beams: the axles of a vehicle, and how it bears on the one in front of it."""
    for axle in placed.axles:
        load = axle_load(placed.vehicle.id, axle.number)
        figure = scene.reader.figure(load, axle.axle.rating, names=("rating",))
        if figure is not None:
            yield _line(f"axle {axle.number}", figure)
    for borne in borne_of(scene):
        if borne.coupling.trailer == placed.vehicle.id and borne.figure is not None:
            yield _line(bearing_name(borne.coupling), borne.figure)
            share = share_on(scene, borne.coupling)
            if share:
                yield PlateLine("of the trailer", share)


def _line(name: str, figure: Figure) -> PlateLine:
    plain = figure.standing is Standing.PLAIN and figure.share is not None
    words = f"{_known(figure)} · {figure.share_text}" if plain else _known(figure)
    return _marked(PlateLine(name, words), figure)


def _known(figure: Figure, unit: str = "") -> str:
    """``4,187 ± 10``; of a contested figure the interval and the mark, for its middle says less."""
    if figure.contested:
        return " ".join(part for part in (figure.span, unit, CONTESTED) if part)
    return " ".join(part for part in (figure.text, figure.doubt, unit) if part)


def _marked(line: PlateLine, figure: Figure) -> PlateLine:
    if figure.standing is Standing.PLAIN:
        return line
    over = figure.standing is Standing.OVER
    return PlateLine(line.name, line.words, figure.standing_text, over, line.head, line.end)


def lines_height(lines: Sequence[PlateLine]) -> float:
    """From the rule to the end of the last line."""
    return _TOP + _ROW * len(lines)


def lines_width(lines: Sequence[PlateLine]) -> float:
    """Width of the widest line, a long name cut to the letters it is known by."""
    return max(_width(line) for line in lines)


def _width(line: PlateLine) -> float:
    name = min(text_width(line.name + line.end, NOTE, bold=line.head), _NAME)
    tag = tag_width(line.standing, SMALL) + 6.0 if line.standing else 0.0
    return name + 10.0 + text_width(line.words, NOTE, bold=line.head) + tag


def draw_lines(scene: Scene, lines: Sequence[PlateLine], x: float, top: float) -> None:
    """Draw the lines below a rule."""
    canvas, wide, y = scene.canvas, scene.sheet.plate_width, top + _TOP
    canvas.line(x, top, x + wide, top, stroke=scene.palette.ink, width=FINE)
    for line in lines:
        y += _ROW
        right = x + wide
        if line.standing:
            block = Block((TextLine(line.standing, SMALL, Style.TAG if line.over else Style.BOXED),))
            block.draw(canvas, right - block.width / 2, y - 4.0 - block.height + SMALL * 0.28)
            right -= block.width + 6.0
        canvas.text(right, y - 4.0, line.words, NOTE, bold=line.head, anchor="end")
        room = right - text_width(line.words, NOTE, bold=line.head) - 10.0 - x
        fill = scene.palette.ink if line.head else scene.palette.soft
        name = fitted(line.name, NOTE, room, bold=line.head, end=line.end)
        canvas.text(x, y - 4.0, name, NOTE, bold=line.head, fill=fill)
