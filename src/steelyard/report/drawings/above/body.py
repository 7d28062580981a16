"""The rig from above, true to scale: outlines, frame, axles, tyres, couplings, centres of gravity."""

from __future__ import annotations

from itertools import pairwise
from typing import Protocol

from steelyard.model import Measurand
from steelyard.questions.above import SKIRT, TREAD, TYRE, PlacedVehicle
from steelyard.report.drawings.above.scene import FINE, FIRM, NOTE, SMALL, THIN, Scene
from steelyard.report.drawings.above.values import Standing
from steelyard.report.drawings.above.wheels import Wheel
from steelyard.report.drawings.sheet.canvas import HATCH, number
from steelyard.report.drawings.sheet.type import fitted, text_width

_SPINE = 4.0
_NOSE = 0.62  # of the body's width: a nose that reaches over the towing vehicle


def draw_bodies(scene: Scene, middle: float, wheels: list[Wheel]) -> None:
    """Draw the rig with its centreline at ``middle``."""
    for placed in scene.rig.vehicles:
        _outline(scene, placed, middle, ghost=_ghost(placed, wheels))
    for placed in scene.rig.vehicles:
        _frame(scene, placed, middle)
    for wheel in wheels:
        _tyres(scene, wheel, middle)
    made = {coupling.x for coupling in scene.rig.couplings}
    for placed in scene.rig.vehicles:
        for free in placed.vehicle.couplings.values():
            if placed.origin + free.x.value not in made:
                x, hair = scene.x(placed.origin + free.x.value), scene.palette.hair
                scene.canvas.add(
                    "circle", cx=x, cy=middle, r=4.5, fill=scene.palette.on_ink, stroke=hair, stroke_width=FINE
                )
    for coupling in scene.rig.couplings:
        x = scene.x(coupling.x)
        fill = scene.palette.accent if coupling.towing is not None else "none"
        scene.canvas.add("circle", cx=x, cy=middle, r=6.5, fill=fill, stroke=scene.palette.accent, stroke_width=FINE)
    for placed in scene.rig.vehicles:
        _gravity(scene, placed, middle)
        _name(scene, placed, middle, ghost=_ghost(placed, wheels))


def _ghost(placed: PlacedVehicle, wheels: list[Wheel]) -> bool:
    """Whether nothing is known to have changed on it: it is not in both states."""
    return all(wheel.figure is None for wheel in wheels if wheel.owner is placed)


def _outline(scene: Scene, placed: PlacedVehicle, middle: float, *, ghost: bool) -> None:
    palette = scene.palette
    scene.canvas.add(
        "path",
        d=body_path(scene, placed, middle),
        fill=palette.body,
        fill_opacity=palette.body_opacity if placed.neck is None else 0.72 * palette.body_opacity,
        stroke=palette.hair,
        stroke_width=FINE,
        stroke_dasharray=scene.dash,
        stroke_opacity=0.5 if ghost else None,
        halo=False,
    )
    if placed.vehicle.load_floor:
        points = " ".join(
            f"{number(scene.x(placed.origin + x))},{number(middle + y * scene.scale)}"
            for x, y in placed.vehicle.load_floor
        )
        scene.canvas.add("polygon", points=points, fill="none", stroke=palette.hair, stroke_width=THIN, halo=False)


class SheetScale(Protocol):
    """Mapping of places along a rig [m] to a sheet, and the size of a metre on it."""

    @property
    def scale(self) -> float:
        """Units of the sheet for a metre."""
        ...

    def x(self, metres: float) -> float:
        """Position of a place along the rig [m] on the sheet."""
        ...


def body_path(ground: SheetScale, placed: PlacedVehicle, middle: float) -> str:
    """The outline of a vehicle from above, its centreline at ``middle`` on the sheet."""
    return _trailer_path(ground, placed, middle) if placed.towed else _towing_path(ground, placed, middle)


def _towing_path(scene: SheetScale, placed: PlacedVehicle, middle: float) -> str:
    """A bonnet that narrows to the front, square behind."""
    half = placed.half_width * scene.scale
    front, rear = scene.x(placed.front), scene.x(placed.rear)
    shoulder = scene.x(placed.axles[0].x + 0.75)
    nose, corner = (placed.axles[0].outer + SKIRT) * scene.scale, 0.34 * half
    bend = 0.5 * (shoulder - front - corner)
    n = number
    return (
        f"M{n(rear)} {n(middle - half)}H{n(shoulder)}C{n(shoulder - bend)} {n(middle - half)} "
        f"{n(front + corner + bend)} {n(middle - nose)} {n(front + corner)} {n(middle - nose)}"
        f"Q{n(front)} {n(middle - nose)} {n(front)} {n(middle - nose + corner)}V{n(middle + nose - corner)}"
        f"Q{n(front)} {n(middle + nose)} {n(front + corner)} {n(middle + nose)}"
        f"C{n(front + corner + bend)} {n(middle + nose)} {n(shoulder - bend)} {n(middle + half)} "
        f"{n(shoulder)} {n(middle + half)}H{n(rear)}Z"
    )


def _trailer_path(scene: SheetScale, placed: PlacedVehicle, middle: float) -> str:
    """A box; with a nose in front where it reaches over the towing vehicle."""
    half = placed.half_width * scene.scale
    front, rear = scene.x(placed.front), scene.x(placed.rear)
    n = number
    if placed.neck is None:
        return f"M{n(front)} {n(middle - half)}H{n(rear)}V{n(middle + half)}H{n(front)}Z"
    neck, nose = scene.x(placed.neck), _NOSE * half
    return (
        f"M{n(front + nose / 2)} {n(middle - nose)}H{n(neck - (half - nose))}L{n(neck)} {n(middle - half)}H{n(rear)}"
        f"V{n(middle + half)}H{n(neck)}L{n(neck - (half - nose))} {n(middle + nose)}H{n(front + nose / 2)}"
        f"Q{n(front)} {n(middle + nose)} {n(front)} {n(middle + nose / 2)}V{n(middle - nose / 2)}"
        f"Q{n(front)} {n(middle - nose)} {n(front + nose / 2)} {n(middle - nose)}Z"
    )


def _frame(scene: Scene, placed: PlacedVehicle, middle: float) -> None:
    """The frame from its first point to its last, the axles across it, the drawbar in front."""
    palette, canvas = scene.palette, scene.canvas
    ends = [axle.x for axle in placed.axles] + [
        placed.origin + coupling.x.value for coupling in placed.vehicle.couplings.values()
    ]
    if placed.towed:
        ends.append(placed.origin)
        if placed.neck is None:
            _drawbar(scene, placed, middle)
    canvas.line(scene.x(min(ends)), middle, scene.x(max(ends)), middle, stroke=palette.hair, width=_SPINE)
    for axle in placed.axles:
        x, half = scene.x(axle.x), axle.half * scene.scale
        canvas.line(x, middle - half, x, middle + half, stroke=palette.hair, width=_SPINE)


def _drawbar(scene: Scene, placed: PlacedVehicle, middle: float) -> None:
    tip, front = scene.x(placed.origin), scene.x(placed.front)
    for side in (-1, 1):
        end = middle + side * 0.62 * placed.half_width * scene.scale
        scene.canvas.line(tip, middle, front, end, stroke=scene.palette.hair, width=FIRM)


def _tyres(scene: Scene, wheel: Wheel, middle: float) -> None:
    """The tyres of one wheel end; hollow where its load is not determined."""
    palette, figure = scene.palette, wheel.figure
    known = figure is not None and figure.determined
    over = figure is not None and figure.standing is Standing.OVER
    side = 1 if wheel.side == "L" else -1
    length, tread = min(TYRE, 0.86 * scene.rig.pitch) * scene.scale, TREAD * scene.scale
    scene.canvas.open(class_="wheel", data_place=wheel.place)
    for offset in wheel.axle.tyres:
        y = middle + side * (wheel.axle.half + offset) * scene.scale
        scene.canvas.add(
            "rect",
            x=scene.x(wheel.axle.x) - length / 2,
            y=y - tread / 2,
            width=length,
            height=tread,
            rx=min(4.0, tread / 3),
            fill=HATCH if over else palette.ink if known else palette.ground or palette.on_ink,
            stroke=palette.ink if figure is not None else palette.hair,
            stroke_width=FINE,
            stroke_dasharray=None if known or figure is None else "2 2.5",
        )
    scene.canvas.close()


def _gravity(scene: Scene, placed: PlacedVehicle, middle: float) -> None:
    """The sign for a centre of gravity, where both its places are determined; never in a change."""
    if scene.reader.change or not scene.sheet.detail.gravity:
        return
    name = placed.vehicle.id
    along = scene.reader.finding(Measurand(name, "cg_x"))
    over = scene.reader.finding(Measurand(name, "cg_y"))
    if along is None or along.value is None or over is None or over.value is None:
        return
    gravity_sign(scene, scene.x(placed.origin + along.value), middle + over.value * scene.scale, 8.0)


def gravity_sign(scene: Scene, x: float, y: float, radius: float) -> None:
    """A circle in quarters, two of them filled."""
    palette, r, n = scene.palette, radius, number
    scene.canvas.add("circle", cx=x, cy=y, r=r, fill=palette.on_ink, stroke=palette.ink, stroke_width=FINE)
    for turn in (-1, 1):
        d = f"M{n(x)} {n(y)}L{n(x)} {n(y + turn * r)}A{n(r)} {n(r)} 0 0 0 {n(x + turn * r)} {n(y)}Z"
        scene.canvas.add("path", d=d, fill=palette.ink, halo=False)


def _name(scene: Scene, placed: PlacedVehicle, middle: float, *, ghost: bool) -> None:
    """The vehicle's name on its widest clear stretch, if there is one."""
    others = [other for other in scene.rig.vehicles if other is not placed]
    rear = min((other.front for other in others if placed.front < other.front < placed.rear), default=placed.rear)
    # a nose over another's bed is no place for a name: that vehicle's axles lie below it
    front = max([placed.front, *(other.rear for other in others if placed.front < other.rear < rear)])
    stops = [front, *sorted(axle.x for axle in placed.axles if front < axle.x < rear), rear]
    gaps = [(after - before, before, after) for before, after in pairwise(stops)]
    _, before, after = max(gaps)
    room = (after - before) * scene.scale - 34.0
    y = middle - 0.52 * min(axle.half for axle in placed.axles) * scene.scale
    x = (scene.x(before) + scene.x(after)) / 2
    words = [(placed.vehicle.title, NOTE, True)]
    if ghost:
        alone = "not in both states" if scene.reader.change else "no figures"
        words.append(("tips over: no figures" if scene.reader.tips else alone, SMALL, False))
    for place, (text, size, bold) in enumerate(words):
        if room < text_width("WWW", size) or placed.half_width * scene.scale < 40:
            return
        if place and middle - y < 28 and scene.sheet.compact:  # the frame would run through it
            return
        shown = fitted(text, size, room, bold=bold)
        scene.canvas.text(
            x,
            y + place * 19 + 5,
            shown,
            size,
            bold=bold,
            anchor="middle",
            fill=scene.palette.ink if bold else scene.palette.soft,
        )
