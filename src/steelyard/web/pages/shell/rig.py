"""The rig from above for the pads: front up, true to scale, a plate beside every wheel that can be tapped.

It has the look of the report's drawing from above, turned so that it fits a phone and stands as the rig does before
whoever walks along it. All colours come from the style sheet; the script only writes figures and fills into it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from markupsafe import Markup, escape

from steelyard.model import Coupling, CouplingType, Role, State, WeighDay
from steelyard.report import pieces

WIDTH = 366.0
"""Width of the drawing in its own units: those of a phone's screen."""
_PLATE, _HIGH, _PITCH = 116.0, 50.0, 54.0
_TOP, _BOTTOM = 26.0, 10.0
_UNDER = {  # where the platform stands, and under what of the trailer
    CouplingType.BALL: ("on the hitch", "coupler"),
    CouplingType.PINTLE: ("on the hitch", "eye"),
    CouplingType.GOOSENECK: ("in the bed", "ball"),
    CouplingType.FIFTH_WHEEL: ("in the bed", "pin"),
}
_LONGEST = 384.0  # of the rig, so that a phone shows all of it
_WIDEST = 50.0  # of half a body, so that the plates have room beside it


@dataclass(frozen=True, slots=True)
class PadStation:
    """A place where an instrument can stand: what it is called, where it lies and what it may carry [kg].

    ``aboard``: it stands on the towing vehicle, under the coupling point of a trailer, and not on the ground.
    """

    place: str
    name: str
    spoken: str
    side: str
    x: float
    y: float
    rating: float | None
    aboard: bool = False


@dataclass(frozen=True, slots=True)
class RigDrawing:
    """One rig as SVG, with its stations in the order in which a person walks along them."""

    key: str
    svg: Markup
    stations: tuple[PadStation, ...]


def rig_key(state: State) -> str:
    """States of the same key stand in the same drawing."""
    links = [f"{link.towing}.{link.at}.{link.trailer}.{link.distribution.kind}" for link in state.links]
    up = [f"{name}.{axle}" for name, axles in sorted(state.lifted.items()) for axle in sorted(axles)]
    parts = ("+".join(state.vehicles), "+".join(links), "up " + "+".join(up) if up else "")
    return "|".join(part for part in parts if part)


def draw_rig(day: WeighDay, state: State) -> RigDrawing:
    """The rig of one state.

    It has a plate for each wheel on the ground, for the stand of a trailer that hangs on nothing, and for a platform
    under a coupling point.
    """
    rig = pieces.rig_of(day, state)
    scale = min(_LONGEST / (rig.rear - rig.front), _WIDEST / rig.half_width)
    plan = _Plan(rig, state, scale, WIDTH / 2)
    stations = list(plan.stations())
    plates = [pair for side in "LR" for pair in _spread([item for item in stations if item.side == side])]
    plates.sort(key=lambda pair: (pair[0].y, pair[0].side))  # as a person walks along the rig, and as the focus goes
    lowest = max([plan.y(rig.rear), *(y + _HIGH / 2 for _, y in plates)])
    height = lowest + _BOTTOM
    inner = [plan.bodies(), *(_plate(*pair) for pair in plates)]
    title = " and ".join(placed.vehicle.title for placed in rig.vehicles)
    svg = Markup(
        '<svg class="rig" viewBox="0 0 {width:g} {height:.0f}" role="group" aria-label="{title}, from above, front up">'
        "{inner}</svg>"
    ).format(width=WIDTH, height=height, title=title, inner=Markup("").join(inner))
    return RigDrawing(rig_key(state), svg, tuple(station for station, _ in plates))


@dataclass(frozen=True, slots=True)
class _Plan:
    """The rig on the sheet: ``scale`` units for a metre, the centreline at ``middle``."""

    rig: pieces.DrawnRig
    state: State
    scale: float
    middle: float

    def y(self, x: float) -> float:
        """Down the sheet for a place along the rig [m]."""
        return _TOP + (x - self.rig.front) * self.scale

    def stations(self) -> Iterator[PadStation]:
        for placed in self.rig.vehicles:
            for axle in placed.axles:
                if self.state.is_up(placed.vehicle.id, axle.number):
                    continue
                rating = axle.axle.wheel_rating
                if rating is None and axle.axle.rating is not None:
                    rating = axle.axle.rating / 2
                for side, word, sign in (("L", "left", -1), ("R", "right", 1)):
                    spoken = f"{placed.vehicle.title}, axle {axle.number} {word}"
                    name = f"{axle.number}{side}"
                    x = self.middle + sign * axle.outer * self.scale
                    yield PadStation(f"{placed.vehicle.id}/{name}", name, spoken, side, x, self.y(axle.x), rating)
        for coupling in self.rig.couplings:
            if coupling.towing is None:
                name = f"{coupling.trailer}/coupling"
                spoken = f"{coupling.trailer}, stand at the coupling"
                yield PadStation(name, "stand", spoken, "L", self.middle, self.y(coupling.x), None)
            elif coupling.coupling is not None and not coupling.distributing:
                yield self._aboard(coupling, coupling.coupling)

    def _aboard(self, made: pieces.PlacedCoupling, coupling: Coupling) -> PadStation:
        """A platform on the towing vehicle, which carries the pin or ball while the coupling is not made.

        Bars need the coupling made: with them on there is no such place.
        """
        titles = {placed.vehicle.id: placed.vehicle.title for placed in self.rig.vehicles}
        where, part = _UNDER[coupling.type]
        spoken = f"Platform {where} of {titles[made.towing or '']}, under the {part} of {titles[made.trailer]}"
        place, height = f"{made.trailer}/coupling", self.y(made.x)
        return PadStation(place, f"under {part}", spoken, "L", self.middle, height, coupling.vertical, aboard=True)

    def bodies(self) -> Markup:
        parts = [self._body(placed) for placed in self.rig.vehicles]
        parts += [self._frame(placed) for placed in self.rig.vehicles]
        for coupling in self.rig.couplings:
            kind = "coupling" if coupling.towing is not None else "coupling open"
            parts.append(
                Markup('<circle class="{}" cx="{:.1f}" cy="{:.1f}" r="5.5"/>').format(
                    kind, self.middle, self.y(coupling.x)
                )
            )
        parts.append(
            Markup(
                '<path class="front" d="M{0:.1f} 4l6 11h-12z"/><text class="small" x="{1:.1f}" y="14">front</text>'
            ).format(self.middle, self.middle + 12)
        )
        return Markup('<g aria-hidden="true">{}</g>').format(Markup("").join(parts))

    def _body(self, placed: pieces.PlacedVehicle) -> Markup:
        half = placed.half_width * self.scale
        front, rear = self.y(placed.front), self.y(placed.rear)
        left, right, m = self.middle - half, self.middle + half, self.middle
        if placed.vehicle.role is Role.TOWING:
            r = 0.45 * half
            path = (
                f"M{left:.1f} {rear:.1f}V{front + 1.4 * r:.1f}Q{left:.1f} {front:.1f} {left + r:.1f} {front:.1f}"
                f"H{right - r:.1f}Q{right:.1f} {front:.1f} {right:.1f} {front + 1.4 * r:.1f}V{rear:.1f}Z"
            )
        elif placed.neck is not None:
            neck, nose = self.y(placed.neck), 0.62 * half
            path = (
                f"M{m - nose:.1f} {front:.1f}H{m + nose:.1f}V{neck - half + nose:.1f}L{right:.1f} {neck:.1f}"
                f"V{rear:.1f}H{left:.1f}V{neck:.1f}L{m - nose:.1f} {neck - half + nose:.1f}Z"
            )
        else:
            tip = self.y(placed.origin)
            path = (
                f"M{left:.1f} {front:.1f}H{right:.1f}V{rear:.1f}H{left:.1f}ZM{m - 0.6 * half:.1f} {front:.1f}"
                f"L{m:.1f} {tip:.1f}L{m + 0.6 * half:.1f} {front:.1f}"
            )
        return Markup('<path class="body{}" d="{}"/>').format("" if placed.neck is None else " over", path)

    def _frame(self, placed: pieces.PlacedVehicle) -> Markup:
        ends = [axle.x for axle in placed.axles]
        ends += [placed.origin + coupling.x.value for coupling in placed.vehicle.couplings.values()]
        ends += [placed.origin] if placed.towed else []
        parts = [
            Markup('<path class="frame" d="M{0:.1f} {1:.1f}V{2:.1f}"/>').format(
                self.middle, self.y(min(ends)), self.y(max(ends))
            )
        ]
        length, tread = min(pieces.TYRE, 0.86 * self.rig.pitch) * self.scale, pieces.TREAD * self.scale
        for axle in placed.axles:
            half, y = axle.half * self.scale, self.y(axle.x)
            parts.append(
                Markup('<path class="frame" d="M{:.1f} {:.1f}H{:.1f}"/>').format(
                    self.middle - half, y, self.middle + half
                )
            )
            for sign in (-1, 1):
                for offset in axle.tyres:
                    x = self.middle + sign * (axle.half + offset) * self.scale
                    parts.append(
                        Markup(
                            '<rect class="tyre" x="{:.1f}" y="{:.1f}" width="{:.1f}" height="{:.1f}" rx="2"/>'
                        ).format(x - tread / 2, y - length / 2, tread, length)
                    )
        return Markup("").join(parts)


def _spread(stations: Sequence[PadStation]) -> list[tuple[PadStation, float]]:
    """Each station of one side with the height of its plate: as near as can be, none on another, none off the sheet."""
    ordered = sorted(stations, key=lambda item: item.y)
    least = _HIGH / 2 + 2.0
    heights = [max(item.y, least) for item in ordered]
    for _ in range(4 * len(heights)):  # pushed apart in pairs until they stand clear
        for index, (above, below) in enumerate(pairwise(list(heights))):
            short = _PITCH - (below - above)
            if short > 0.0:
                heights[index] = max(heights[index] - short / 2, least)
                heights[index + 1] += short / 2
    for index, (above, below) in enumerate(pairwise(list(heights))):
        heights[index + 1] = max(below, above + _PITCH, heights[index] + _PITCH)
    return list(zip(ordered, heights, strict=True))


def _plate(station: PadStation, y: float) -> Markup:
    """A plate with name, pad, figure and the fill up to the rating; the line leads to its wheel."""
    left = 2.0 if station.side == "L" else WIDTH - 2.0 - _PLATE
    near = left + _PLATE if station.side == "L" else left
    bar, full = left + 8.0, _PLATE - 24.0
    name_y = y - (10.0 if station.aboard else 8.0)  # a longer name stands above the figure, not beside it
    load_y = y + (10.0 if station.aboard else 5.0)
    place, spoken, name = (escape(text) for text in (station.place, station.spoken, station.name))
    return Markup(  # noqa: S704 - its texts are escaped; ``format`` takes ten times as long for all these figures
        f'<g class="wheel{" aboard" if station.aboard else ""}" role="button" tabindex="0" data-place="{place}" '
        f'data-spoken="{spoken}" aria-label="{spoken}">'
        f'<path class="lead" d="M{station.x:.1f} {station.y:.1f}L{near:.1f} {y:.1f}"/>'
        f'<rect class="plate" x="{left:.1f}" y="{y - _HIGH / 2:.1f}" width="{_PLATE:g}" height="{_HIGH:g}" rx="7"/>'
        f'<rect class="trough" x="{bar:.1f}" y="{y + 14.0:.1f}" width="{full:g}" height="6"/>'
        f'<rect class="fill" x="{bar:.1f}" y="{y + 14.0:.1f}" width="0" height="6"/>'
        f'<path class="limit" d="M{bar + full:.1f} {y + 12.0:.1f}v10"/>'
        f'<text class="name" x="{bar:.1f}" y="{name_y:.1f}">{name}</text>'
        f'<text class="pad" x="{bar:.1f}" y="{y + 8.0:.1f}"></text>'
        f'<text class="load" x="{left + _PLATE - 9.0:.1f}" y="{load_y:.1f}">\N{EN DASH}</text>'
        "</g>"
    )


_NARROW, _TALL, _SMALL_HALF = 170.0, 300.0, 26.0


@dataclass(frozen=True, slots=True)
class SmallRig:
    """One rig as a small drawing without figures; ``places`` are those where an instrument can be marked."""

    key: str
    svg: Markup
    places: tuple[str, ...]


def draw_small(day: WeighDay, state: State) -> SmallRig:
    """The rig of one state, small, with a mark for a pad and one for a block at each wheel, both hidden."""
    rig = pieces.rig_of(day, state)
    scale = min(_TALL / (rig.rear - rig.front), _SMALL_HALF / rig.half_width)
    plan = _Plan(rig, state, scale, _NARROW / 2)
    stations = list(plan.stations())
    marks = Markup("").join(_mark(station) for station in stations)
    height = max([plan.y(rig.rear), *(station.y for station in stations)]) + 2 * _BOTTOM
    svg = Markup('<svg class="rig smallrig" viewBox="0 0 {:g} {:.0f}" aria-hidden="true">{}{}</svg>').format(
        _NARROW, height, plan.bodies(), marks
    )
    return SmallRig(rig_key(state), svg, tuple(station.place for station in stations))


def _mark(station: PadStation) -> Markup:
    sign = -1 if station.side == "L" else 1
    x = station.x + sign * 4.0
    end = x + sign * 17.0
    return Markup(
        '<g data-at="{place}"><rect class="padmark" x="{left:.1f}" y="{top:.1f}" width="15" height="15" rx="2"/>'
        '<text class="padname" x="{end:.1f}" y="{base:.1f}" text-anchor="{anchor}"></text>'
        '<path class="blockmark" d="M{left:.1f} {foot:.1f}h15l-4 -9h-7z"/></g>'
    ).format(
        place=station.place,
        left=x - 7.5,
        top=station.y - 7.5,
        end=end - sign * 5.0,
        base=station.y + 4.5,
        anchor="end" if sign < 0 else "start",
        foot=station.y + 4.5,
    )
