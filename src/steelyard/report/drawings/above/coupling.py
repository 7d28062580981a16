"""The loads on a rig's beams: those of its axles, and of its couplings or the stands under it, with their words."""

from __future__ import annotations

from dataclasses import dataclass

from steelyard.model import axle_load, coupling_quantity
from steelyard.questions.above import PlacedCoupling
from steelyard.report.drawings.above.paper import Plates
from steelyard.report.drawings.above.scene import FIGURE, NOTE, SMALL, Block, Scene, Style, TextLine
from steelyard.report.drawings.above.values import Figure, Standing
from steelyard.units import Dimension, format_number


@dataclass(frozen=True, slots=True)
class Borne:
    """A coupling, its load where the day has one, and the words for it."""

    coupling: PlacedCoupling
    figure: Figure | None
    block: Block


@dataclass(frozen=True, slots=True)
class Hung:
    """An axle's load on the beam of its vehicle."""

    vehicle: str
    axle: int
    x: float
    level: int
    figure: Figure


def hung_of(scene: Scene) -> tuple[Hung, ...]:
    """The axles of a rig that have a load, front to rear."""
    hung: list[Hung] = []
    for placed in scene.rig.vehicles:
        for axle in placed.axles:
            load = axle_load(placed.vehicle.id, axle.number)
            figure = scene.reader.figure(load, axle.axle.rating, names=("rating",))
            if figure is not None:
                level = scene.rig.level(placed.vehicle.id)
                hung.append(Hung(placed.vehicle.id, axle.number, axle.x, level, figure))
    return tuple(sorted(hung, key=lambda item: item.x))


def borne_of(scene: Scene) -> tuple[Borne, ...]:
    """The couplings of a rig, front to rear."""
    return tuple(_borne(scene, coupling) for coupling in scene.rig.couplings)


def _borne(scene: Scene, coupling: PlacedCoupling) -> Borne:
    rating = None if coupling.coupling is None else coupling.coupling.vertical
    figure = scene.reader.figure(coupling_quantity(coupling.number, "load"), rating, names=("vertical",))
    if figure is None:
        return Borne(coupling, None, Block(()))
    return Borne(coupling, figure, Block(tuple(_lines(scene, figure, coupling))))


def _lines(scene: Scene, figure: Figure, coupling: PlacedCoupling) -> list[TextLine]:
    """A coupling's load, its share of its rating, and of its trailer's weight."""
    # among the figures of the wheels it must say what it is; over its own beam the row's caption does
    named = [] if scene.sheet.detail.beams else [TextLine(bearing_name(coupling), SMALL, Style.PLAIN)]
    if not figure.determined:
        return [*named, TextLine(figure.text, SMALL, Style.SOFT)]
    lines = [*named, TextLine(f"{figure.text} {figure.doubt}".strip(), FIGURE - 2, Style.STRONG)]
    if figure.contested:
        lines.append(TextLine(figure.span, NOTE, Style.SOFT))
    words: list[str] = []
    if figure.standing is Standing.OVER:
        lines.append(TextLine(figure.standing_text, SMALL, Style.TAG))
    elif figure.standing is Standing.UNDECIDED:
        lines.append(TextLine(figure.standing_text, SMALL, Style.BOXED))
    elif figure.share is not None:
        words.append(f"{figure.share_text} of rating")
    share = share_on(scene, coupling)
    if share:
        words.append(f"{share} of trailer")
    if scene.sheet.detail.beams and words:
        lines.append(TextLine(" · ".join(words), NOTE, Style.SOFT))
    elif words and not figure.contested and (scene.sheet.plates is Plates.NONE or not scene.sheet.detail.wheels):
        lines.append(TextLine(words[-1], NOTE, Style.SOFT))  # else the trailer's plate says them
    return lines


def bearing_name(coupling: PlacedCoupling) -> str:
    """``coupling``, or ``stand`` under a parked trailer."""
    return "stand" if coupling.towing is None else "coupling"


def share_on(scene: Scene, coupling: PlacedCoupling) -> str:
    """``10.3 %``: the coupling's share of its trailer's weight; empty where it has none, and in a change."""
    share = scene.reader.finding(coupling_quantity(coupling.number, "share"))
    if share is None or share.value is None or scene.reader.change:
        return ""
    return f"{format_number(scene.reader.units.show(share.value, Dimension.SHARE), 1)} %"
