"""The wheels' loads: over each wheel a column that fills up to its rating, and the figures beyond.

Columns stand outward from the rig, the right side's above and the left side's below, so that on each side one line
marks 100 % of the rating. In a change they stand on a line of no change: outward for a gain, inward and hatched for a
loss.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from steelyard.model import wheel_load
from steelyard.questions.above import PlacedAxle, PlacedVehicle
from steelyard.report.drawings.above.coupling import borne_of, hung_of
from steelyard.report.drawings.above.scene import (
    FINE,
    FIRM,
    SMALL,
    THIN,
    Block,
    Scene,
    across,
    break_mark,
    fill_of,
    lead,
    lead_for,
    load_blocks,
)
from steelyard.report.drawings.above.values import Figure, Standing
from steelyard.report.drawings.sheet.canvas import DOTS
from steelyard.report.drawings.sheet.type import text_width

_MOST = 1.3  # of the rating; what goes beyond is cut off, the figure says how much
_SWING = 0.53  # of a column's height: the largest change
_STEM = 14.0  # between the widest tyre and the columns' feet
_WIDEST = 28.0


@dataclass(frozen=True, slots=True)
class Wheel:
    """One wheel end to draw; ``figure`` is None where the change has none."""

    owner: PlacedVehicle
    axle: PlacedAxle
    side: str
    figure: Figure | None

    @property
    def place(self) -> str:
        """``tow/1L``."""
        return f"{self.owner.vehicle.id}/{self.axle.number}{self.side}"


def wheels_of(scene: Scene, side: str) -> list[Wheel]:
    """The wheel ends of one side, front to rear."""
    found: list[Wheel] = []
    for placed in scene.rig.vehicles:
        for axle in placed.axles:
            rating = axle.axle.wheel_rating
            if rating is None and axle.axle.rating is not None:
                rating = axle.axle.rating / 2
            load = wheel_load(placed.vehicle.id, f"{axle.number}{side}")
            found.append(Wheel(placed, axle, side, scene.reader.figure(load, rating, names=("wheel_rating",))))
    return sorted(found, key=lambda wheel: wheel.axle.x)


@dataclass(frozen=True, slots=True)
class Other:
    """The figure of something else in a row of wheels: a coupling, from the centreline, or an axle, from its tyres."""

    x: float
    block: Block
    from_middle: bool


@dataclass(frozen=True, slots=True)
class WheelRow:
    """One side's columns and figures, measured and ready to draw. ``out`` is -1 for the right side, which is above."""

    scene: Scene
    wheels: tuple[Wheel, ...]
    words: tuple[Block, ...]
    out: int
    reach: float
    others: tuple[Other, ...] = ()

    @property
    def height(self) -> float:
        """From the widest tyre to the far edge of the figures."""
        return self._foot + self.reach + self._lead + max((block.height for block in self.blocks), default=0.0)

    @property
    def _items(self) -> list[tuple[float, Block, Wheel | Other]]:
        """Places along the sheet with their figures, front to rear, and what they belong to."""
        items: list[tuple[float, Block, Wheel | Other]] = []
        if not self._silent:
            for wheel, block in zip(self.wheels, self.words, strict=True):
                items.append((self.scene.x(wheel.axle.x), block, wheel))
        items += [(self.scene.x(other.x), other.block, other) for other in self.others]
        return sorted(items, key=lambda item: item[0])

    @property
    def blocks(self) -> list[Block]:
        """The figures, front to rear."""
        return [block for _, block, _ in self._items]

    @property
    def places(self) -> list[float]:
        """Positions along the sheet of what they belong to."""
        return [place for place, _, _ in self._items]

    @property
    def centres(self) -> list[float]:
        """Positions of the figures."""
        return across(self.scene, self.places, self.blocks)

    @property
    def _foot(self) -> float:
        return 8.0 if self.scene.sheet.compact else _STEM

    @property
    def _silent(self) -> bool:
        """Whether the wheels have no figures and no columns on this sheet."""
        return not self.scene.sheet.detail.wheels

    @property
    def _swing_height(self) -> float:
        return _SWING * self.scene.column

    @property
    def _lead(self) -> float:
        return lead_for(self.scene, self.places, self.centres)

    def draw(self, edge: float, middle: float, largest: float) -> None:
        """Draw outward from ``edge``, the line of the widest tyre; ``largest`` change [kg] fills a column.

        ``middle`` is the centreline, from which the line to a coupling's figure starts.
        """
        foot = edge + self.out * self._foot
        scene = self.scene
        if not self._silent:
            self._columns(foot, largest)
        far, hair = foot + self.out * self.reach, scene.palette.hair
        for (x, block, owner), at in zip(self._items, self.centres, strict=True):
            if isinstance(owner, Other):
                start = middle if owner.from_middle else edge
            elif owner.figure is None:
                continue
            else:
                start = foot + self.out * self._top(owner.figure)
            near = far + self.out * self._lead
            block.draw(scene.canvas, at, near if self.out > 0 else near - block.height)
            scene.canvas.line(x, start, x, far, stroke=hair, width=THIN)
            lead(scene, x, at, far, near - self.out * 3.0)

    def _columns(self, foot: float, largest: float) -> None:
        if self.scene.reader.change:
            self._along(
                [wheel for wheel in self.wheels if wheel.figure is not None], foot + self.out * self._swing_height
            )
        else:
            self._rating_lines(foot)
        for wheel in self.wheels:
            self._stem(wheel, foot)
            self._column(wheel, foot, largest)

    def _top(self, figure: Figure) -> float:
        """How far out a wheel's column ends."""
        if self.scene.reader.change or figure.rating is None:
            return self.reach
        return self.scene.column * min(max(1.0, figure.share or 0.0), _MOST)

    def _stem(self, wheel: Wheel, foot: float) -> None:
        """From the tyre to the column's foot."""
        if wheel.figure is None or (wheel.figure.rating is None and not self.scene.reader.change):
            return
        scene = self.scene
        x, y = scene.x(wheel.axle.x), self._tyre_edge(wheel, foot)
        end = foot + self.out * self._swing_height if scene.reader.change else foot
        scene.canvas.line(x, y, x, end, stroke=scene.palette.hair, width=THIN)

    def _tyre_edge(self, wheel: Wheel, foot: float) -> float:
        widest = max(axle.outer for placed in self.scene.rig.vehicles for axle in placed.axles)
        inward = (widest - wheel.axle.outer) * self.scene.scale
        return foot - self.out * (self._foot + inward)

    def _width(self) -> float:
        return min(_WIDEST, 0.62 * self.scene.rig.pitch * self.scene.scale)

    def _rating_lines(self, foot: float) -> None:
        """100 % of the rating, along each vehicle that has one."""
        scene, y = self.scene, foot + self.out * self.scene.column
        rated = [wheel for wheel in self.wheels if wheel.figure is not None and wheel.figure.rating is not None]
        self._along(rated, y)
        if rated:
            first = scene.x(rated[0].axle.x) - self._width() / 2 - 14.0
            text = "100 %"
            scene.canvas.text(
                max(first - text_width(text, SMALL), scene.margin),
                y + SMALL * 0.36,
                text,
                SMALL,
                fill=scene.palette.soft,
            )

    def _along(self, wheels: Sequence[Wheel], y: float) -> None:
        """A line along the wheels of each vehicle."""
        scene = self.scene
        for placed in scene.rig.vehicles:
            ends = [scene.x(wheel.axle.x) for wheel in wheels if wheel.owner is placed]
            if ends:
                edge = self._width() / 2 + 9.0
                scene.canvas.line(min(ends) - edge, y, max(ends) + edge, y, stroke=scene.palette.ink, width=FINE)

    def _column(self, wheel: Wheel, foot: float, largest: float) -> None:
        figure = wheel.figure
        if figure is None:
            return
        if self.scene.reader.change:
            self._swing(wheel, figure, foot + self.out * self._swing_height, largest)
            return
        if figure.rating is None:
            return
        palette = self.scene.palette
        self._bar(
            wheel,
            foot,
            self.scene.column,
            fill="none",
            stroke=palette.hair,
            width=THIN,
            dash=None if figure.determined else "1.5 3",
        )
        if figure.share is None or figure.share <= 0:
            return
        over = figure.standing is Standing.OVER
        full = self.scene.column * min(figure.share, _MOST)
        fill = fill_of(self.scene, figure.standing)
        stroke = palette.ink if over or self.scene.predicted else fill
        self._bar(wheel, foot, full, fill=fill, stroke=stroke, width=FIRM if over else THIN, dash=self.scene.dash)
        if is_cut(figure):
            x, half = self.scene.x(wheel.axle.x), self._width() / 2
            break_mark(self.scene, x - half, x + half, foot + self.out * 1.15 * self.scene.column)

    def _swing(self, wheel: Wheel, figure: Figure, zero: float, largest: float) -> None:
        """A change: outward for a gain, inward for a loss, a whisker over the 95 % interval."""
        if figure.value is None or largest <= 0:
            return
        scene, unit = self.scene, self._swing_height / largest
        gain = figure.value > 0
        fill = fill_of(scene, Standing.PLAIN) if gain else DOTS
        if not figure.nothing:
            self._bar(
                wheel, zero, unit * figure.value, fill=fill, stroke=scene.palette.ink, width=THIN, dash=scene.dash
            )
        if not has_whisker(scene, figure, largest):
            return
        x = scene.x(wheel.axle.x)
        ends = [zero + self.out * end * unit for end in (figure.low, figure.high) if end is not None]
        whisker(scene, x, ends[0], ends[1])

    def _bar(
        self, wheel: Wheel, foot: float, height: float, *, fill: str, stroke: str, width: float, dash: str | None
    ) -> None:
        wide, x = self._width(), self.scene.x(wheel.axle.x)
        end = foot + self.out * height
        self.scene.canvas.add(
            "rect",
            x=x - wide / 2,
            y=min(foot, end),
            width=wide,
            height=abs(height),
            fill=fill,
            stroke=stroke,
            stroke_width=width,
            stroke_dasharray=dash,
        )


def wheel_row(scene: Scene, side: str) -> WheelRow:
    """One side's wheels, measured; where the sheet has no room for them, the couplings above and the axles below."""
    detail, out = scene.sheet.detail, 1 if side == "L" else -1
    wheels = tuple(wheels_of(scene, side))
    if not detail.wheels:
        others = _axles(scene) if side == "L" else _couplings(scene)
        return WheelRow(scene, wheels, tuple(Block(()) for _ in wheels), out, 0.0, tuple(others))
    blocks = load_blocks(scene, [wheel.figure for wheel in wheels])
    reach = 2 * _SWING * scene.column if scene.reader.change else _reach(scene.column, wheels)
    among = side == "L" and detail.bearing and not detail.beams
    return WheelRow(scene, wheels, blocks, out, reach, tuple(_couplings(scene)) if among else ())


def _couplings(scene: Scene) -> Iterator[Other]:
    for borne in borne_of(scene):
        if borne.figure is not None:
            yield Other(borne.coupling.x, borne.block, from_middle=True)


def _axles(scene: Scene) -> Iterator[Other]:
    hung = hung_of(scene)
    for one, block in zip(hung, load_blocks(scene, [item.figure for item in hung]), strict=True):
        yield Other(one.x, block, from_middle=False)


def is_cut(figure: Figure) -> bool:
    """Whether a load is so far over its rating that its column is cut off."""
    return figure.share is not None and figure.share > _MOST


def largest_change(wheels: Sequence[Wheel]) -> float:
    """The largest change of a wheel [kg], the ends of its interval included: a change in doubt never fills a column."""
    return max((wheel.figure.farthest for wheel in wheels if wheel.figure is not None), default=0.0)


def has_whisker(scene: Scene, figure: Figure, largest: float) -> bool:
    """Whether the 95 % interval of a change is wide enough on the sheet to be seen."""
    if figure.low is None or figure.high is None or largest <= 0:
        return False
    return (figure.high - figure.low) * _SWING * scene.column / largest >= 5.0


def whisker(scene: Scene, x: float, start: float, end: float) -> None:
    """An interval as an upright line with caps, cased so that it stands off any fill."""
    palette = scene.palette
    for colour, width, more in ((palette.on_ink, 4.5, 1.5), (palette.ink, 1.5, 0.0)):
        scene.canvas.line(x, start, x, end, stroke=colour, width=width)
        for y in (start, end):
            scene.canvas.line(x - 4 - more, y, x + 4 + more, y, stroke=colour, width=width)


def _reach(column: float, wheels: Sequence[Wheel]) -> float:
    """How far the columns reach out."""
    shares = [wheel.figure.share for wheel in wheels if wheel.figure is not None and wheel.figure.share is not None]
    rated = any(wheel.figure is not None and wheel.figure.rating is not None for wheel in wheels)
    return column * min(max([1.0, *shares]), _MOST) + 4.0 if rated else 0.0
