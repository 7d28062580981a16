"""The beam: each vehicle as the bar of a steelyard, its axles' loads hung on it, its trailer borne at the coupling.

The beams run in line with the plan above them, notched at every foot or quarter metre. A weight's area is its load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from steelyard.questions.above import PlacedVehicle
from steelyard.report.drawings.above.coupling import Borne, Hung, borne_of, hung_of
from steelyard.report.drawings.above.scene import (
    FIGURE,
    FINE,
    FIRM,
    THIN,
    Block,
    Scene,
    across,
    fill_of,
    lead,
    lead_for,
    load_blocks,
)
from steelyard.report.drawings.above.values import Figure, Standing
from steelyard.report.drawings.sheet.canvas import DOTS, number
from steelyard.units import UNITS

_BAR = 10.0  # a beam's thickness
_STEP = 34.0  # from one beam up to the beam it bears
_HANG = 20.0  # from the lowest beam to the weights' rings
_WEIGHT = 46.0  # width of the heaviest weight
_RING = 3.6
_TALL = 0.94  # a weight's height over its width
_ENDS = 0.32  # m of beam beyond the outermost load
_NOTCHES = 200  # on the longest rig
_ABOVE = 18.0  # between the highest beam and the couplings' figures


@dataclass(frozen=True, slots=True)
class Beams:
    """All beams of a rig with what hangs on them, measured and ready to draw."""

    scene: Scene
    hung: tuple[Hung, ...]
    blocks: tuple[Block, ...]
    borne: tuple[Borne, ...]

    @property
    def height(self) -> float:
        """From the couplings' figures to the end of the axles'."""
        labels = max((block.height for block in self.blocks), default=0.0)
        return self._base(self._lowest(0.0)) + labels

    def draw(self, top: float) -> None:
        """Draw downward from ``top``."""
        scene, lowest = self.scene, self._lowest(top)
        for placed in scene.rig.vehicles:
            known = any(hung.vehicle == placed.vehicle.id for hung in self.hung)
            _bar(scene, placed, lowest - scene.rig.level(placed.vehicle.id) * _STEP, ghost=not known)
        for borne in self.borne:
            self._bearing(borne, lowest)
        self._weights(lowest)
        self._couplings(top, lowest)
        if self.hung:
            scene.caption(self._base(lowest) + FIGURE * 0.95, "axles")

    @property
    def _tallest(self) -> float:
        return max((borne.block.height for borne in self.borne), default=0.0)

    def _lowest(self, top: float) -> float:
        """Upper edge of the lowest beam."""
        levels = max(self.scene.rig.level(placed.vehicle.id) for placed in self.scene.rig.vehicles)
        return top + self._tallest + (_ABOVE if self._tallest else 0.0) + levels * _STEP

    @property
    def _places(self) -> list[float]:
        return [self.scene.x(hung.x) for hung in self.hung]

    @property
    def _centres(self) -> list[float]:
        return across(self.scene, self._places, self.blocks)

    def _base(self, lowest: float) -> float:
        """Upper edge of the axles' figures."""
        foot = lowest + _BAR + _HANG + 2 * _RING + _TALL * _widest(self.scene)
        return foot + lead_for(self.scene, self._places, self._centres)

    def _weights(self, lowest: float) -> None:
        """The weights on their hangers, and their figures below."""
        scene, rings, base = self.scene, lowest + _BAR + _HANG, self._base(lowest)
        most = max((hung.figure.farthest for hung in self.hung), default=0.0)
        for hung, x, at, block in zip(self.hung, self._places, self._centres, self.blocks, strict=True):
            scene.canvas.line(x, lowest - hung.level * _STEP + _BAR, x, rings, stroke=scene.palette.ink, width=FINE)
            foot = _weight(scene, x, rings, hung.figure, most)
            block.draw(scene.canvas, at, base)
            lead(scene, x, at, foot + 3, base - 2)

    def _couplings(self, top: float, lowest: float) -> None:
        """The couplings' figures above the beams."""
        scene, shown = self.scene, [borne for borne in self.borne if borne.figure is not None]
        if not shown:
            return
        places = [scene.x(borne.coupling.x) for borne in shown]
        blocks = [borne.block for borne in shown]
        base = top + self._tallest
        for borne, x, at in zip(shown, places, across(scene, places, blocks), strict=True):
            borne.block.draw(scene.canvas, at, base - borne.block.height)
            level = lowest - scene.rig.level(borne.coupling.trailer) * _STEP
            if abs(at - x) < 1.0:
                lead(scene, x, at, level, base + 3)
            else:
                lead(scene, x, at, base + 11, base + 3)
                scene.canvas.line(x, level, x, base + 11, stroke=scene.palette.hair, width=THIN)
        stands = all(borne.coupling.towing is None for borne in shown)
        scene.caption(base - self._tallest + FIGURE * 0.95, "stand" if stands else "coupling")

    def _bearing(self, borne: Borne, lowest: float) -> None:
        """The arrow by which the upper beam bears on the one below it, or on a stand; upward where it pulls."""
        scene, coupling = self.scene, borne.coupling
        palette, x, n = scene.palette, scene.x(coupling.x), number
        colour = palette.accent if borne.figure is not None else palette.hair
        upper = lowest - scene.rig.level(coupling.trailer) * _STEP + _BAR
        if coupling.towing is None:
            lower = upper + 18.0
            scene.canvas.line(x - 9, lower, x + 9, lower, stroke=colour, width=FIRM)
        else:
            lower = lowest - scene.rig.level(coupling.towing) * _STEP
        lifts = borne.figure is not None and borne.figure.value is not None and borne.figure.value < 0
        start, end = (lower, upper) if lifts else (upper, lower)
        back = 10.0 if end > start else -10.0
        head = f"M{n(x - 6)} {n(end - back)}H{n(x + 6)}L{n(x)} {n(end)}Z"
        if borne.figure is not None and not borne.figure.determined:
            ground = palette.ground or palette.on_ink
            scene.canvas.line(x, start, x, end - back, stroke=colour, width=FINE, dash="2 2.5")
            scene.canvas.add("path", d=head, fill=ground, stroke=colour, stroke_width=FINE, stroke_linejoin="round")
            return
        scene.canvas.line(x, start, x, end - back * 0.7, stroke=colour, width=3.0)
        scene.canvas.add("path", d=head, fill=colour)


def beams_of(scene: Scene) -> Beams:
    """The beams of a rig, measured."""
    hung = hung_of(scene)
    return Beams(scene, hung, load_blocks(scene, [item.figure for item in hung]), borne_of(scene))


def notch(scene: Scene) -> tuple[float, int, str]:
    """The step of the notches [m], how many make a long one, and the step in words.

    A foot or a quarter of a metre; on a beam so long that these would crowd, twice, five or ten times that, and so on.
    """
    feet = scene.reader.units.length in ("in", "ft")
    step, long, unit, symbol = (UNITS["ft"].factor, 5, 1.0, "ft") if feet else (0.25, 4, 0.25, "m")
    length = max(last - first for first, last in map(_ends_of, scene.rig.vehicles))
    times, turn = 1.0, 0
    while length > _NOTCHES * step * times:
        times *= (2.0, 2.5, 2.0)[turn % 3]
        turn += 1
    return step * times, long if turn == 0 else 5, f"{unit * times:,.10g} {symbol}"


def _widest(scene: Scene) -> float:
    return min(_WEIGHT, 0.86 * scene.rig.pitch * scene.scale)


def _ends_of(placed: PlacedVehicle) -> tuple[float, float]:
    """Ends of a vehicle's beam [m]."""
    ends = [axle.x for axle in placed.axles]
    ends += [placed.origin + coupling.x.value for coupling in placed.vehicle.couplings.values()]
    if placed.towed:
        ends.append(placed.origin)
    return min(ends) - _ENDS, max(ends) + _ENDS


def _bar(scene: Scene, placed: PlacedVehicle, y: float, *, ghost: bool) -> None:
    """One beam with its notches, counted from the vehicle's own origin."""
    first, last = _ends_of(placed)
    palette, left, right = scene.palette, scene.x(first), scene.x(last)
    light = ghost or scene.predicted
    scene.canvas.add(
        "rect",
        x=left,
        y=y,
        width=right - left,
        height=_BAR,
        rx=3.0,
        fill=palette.ground or palette.on_ink if ghost else palette.wash if light else palette.ink,
        stroke=palette.hair if ghost else palette.ink,
        stroke_width=THIN,
        stroke_dasharray=scene.dash,
    )
    step, long, _ = notch(scene)
    mark = palette.hair if ghost else palette.ink if light else palette.on_ink
    for count in range(math.ceil((first - placed.origin) / step), math.floor((last - placed.origin) / step) + 1):
        x = scene.x(placed.origin + count * step)
        if left + 3 < x < right - 3:
            depth = _BAR * (0.82 if count % long == 0 else 0.42)
            scene.canvas.add("line", x1=x, y1=y, x2=x, y2=y + depth, stroke=mark, stroke_width=1.2, halo=False)


def _weight(scene: Scene, x: float, top: float, figure: Figure, most: float) -> float:
    """A weight on its ring; its area is its load. Returns where it ends below; a change of nothing has none."""
    if figure.up or (scene.reader.change and figure.nothing):
        return top
    palette, canvas = scene.palette, scene.canvas
    share = 1.0 if figure.value is None or most <= 0 else math.sqrt(abs(figure.value) / most)
    wide = max(_widest(scene) * (0.6 if figure.value is None else share), 9.0)
    canvas.add("circle", cx=x, cy=top + _RING, r=_RING, fill="none", stroke=palette.ink, stroke_width=FINE)
    neck, foot, n = top + 2 * _RING, top + 2 * _RING + _TALL * wide, number
    upper, lower, turn = 0.24 * wide, wide / 2, min(4.0, wide / 8)
    d = (
        f"M{n(x - upper)} {n(neck)}H{n(x + upper)}L{n(x + lower)} {n(foot - turn)}"
        f"Q{n(x + lower)} {n(foot)} {n(x + lower - turn)} {n(foot)}H{n(x - lower + turn)}"
        f"Q{n(x - lower)} {n(foot)} {n(x - lower)} {n(foot - turn)}Z"
    )
    loss = scene.reader.change and figure.value is not None and figure.value < 0
    hollow = not figure.determined
    canvas.add(
        "path",
        d=d,
        fill=palette.ground or palette.on_ink if hollow else DOTS if loss else fill_of(scene, figure.standing),
        stroke=palette.ink,
        stroke_width=FIRM if figure.standing is Standing.OVER else FINE,
        stroke_dasharray="2 2.5" if hollow else scene.dash,
        stroke_linejoin="round",
    )
    return foot
