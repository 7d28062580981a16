"""A rig as a space frame for a general structural library: stiff beams on springs, nothing of the product's own.

A body is a spine with cross arms. A live axle is a beam between its wheels; its springs may stand wider apart than the
wheels, which gives the roll stiffness of an anti-roll bar. An equalised side is a rocking beam between two wheels, with
one spring on its pivot. Wheels stand on supports that can be moved; a load is a force on the body. Pounds and inches.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

STIFF = 5e12
"""Bending and torsional stiffness of what is meant to be rigid [lb*in2]; springs of 1e3 lb/in bend it by some 1e-5,
and much more would drown in rounding."""


@dataclass(frozen=True)
class LiveAxle:
    """An axle at ``x`` with wheels ``track`` apart and springs of ``rate`` [lb/in] ``seats`` apart."""

    x: float
    track: float
    rate: float
    seats: float

    @property
    def roll_rate(self) -> float:
        """What the springs' wider stance adds in roll [lb*in/rad]: K (s^2 - t^2) / 2."""
        return self.rate * (self.seats**2 - self.track**2) / 2


@dataclass(frozen=True)
class Rocker:
    """Two axles whose wheels hang on rocking beams, each side's pivot on a spring of twice ``rate`` [lb/in]."""

    xs: tuple[float, float]
    track: float
    rate: float

    @property
    def x(self) -> float:
        """Where the pivots are."""
        return sum(self.xs) / 2


@dataclass(frozen=True)
class Hung:
    """On whose coupling a trailer hangs, its place there [in], and the roll tie [lb*in/rad] (0: a ball)."""

    towing: str
    x: float
    tie: float = 0.0


@dataclass(frozen=True)
class Rigid:
    """A vehicle: its running gear front to rear, and what it hangs on."""

    gear: Sequence[LiveAxle | Rocker]
    hung: Hung | None = None


class Frame:
    """The frame of some vehicles, front to rear, with one load on one of them at a place [in].

    Axes: x rearward from the front axle of the first vehicle, y up, z to the left (sign is all that matters).
    """

    def __init__(self, vehicles: Mapping[str, Rigid], on: str, *, x: float, y: float) -> None:
        from Pynite import FEModel3D

        self.vehicles = vehicles
        self.model = FEModel3D()
        self.model.add_material("rigid", 1.0, 1.0, 0.0, 1e-12)
        self.model.add_section("beam", STIFF, STIFF, STIFF, STIFF)
        self.origin: dict[str, float] = {}
        self.height = {name: 1.0 + number for number, name in enumerate(vehicles)}
        self.wheels: dict[str, dict[str, str]] = {name: {} for name in vehicles}
        for name, vehicle in vehicles.items():
            places = {gear.x for gear in vehicle.gear} | ({x} if name == on else set())
            places |= {hung.x - 1.0 for hung in self._hanging_on(name)}
            self._spine(name, vehicle.hung, sorted(places | {0.0}))
            for gear in vehicle.gear:
                if isinstance(gear, LiveAxle):
                    self._live(name, gear)
                else:
                    self._rocking(name, gear)
        self.spot = self._arm(on, x, y, "load")

    def _hanging_on(self, name: str) -> list[Hung]:
        return [other.hung for other in self.vehicles.values() if other.hung is not None and other.hung.towing == name]

    def _node(self, key: str, name: str, *, x: float, z: float, high: bool = True) -> str:
        """A node on the body or at the ground; every body has its own height, so that none touches another."""
        return self.model.add_node(key, self.origin[name] + x, self.height[name] if high else 0.0, z)

    def _beam(self, start: str, end: str, section: str = "beam") -> str:
        return self.model.add_member(f"{start} to {end}", start, end, "rigid", section)

    def _spine(self, name: str, hung: Hung | None, places: list[float]) -> None:
        self.origin[name] = 0.0 if hung is None else self.origin[hung.towing] + hung.x
        nodes = [self._node(f"{name} {x:g}", name, x=x, z=0.0) for x in places]
        beams = [self._beam(start, end) for start, end in pairwise(nodes)]
        if hung is None:
            self.model.def_support(nodes[0], True, False, True, False, True, False)
            return
        # From the vehicle in front a post, and an arm of one inch: a roll tie is the arm's twist. The hinge is at its
        # end.
        section = "beam"
        if hung.tie:
            section = f"tie of {name}"
            self.model.add_section(section, STIFF, STIFF, STIFF, hung.tie)
        post = self._node(f"{name} post", name, x=-1.0, z=0.0)
        self._beam(f"{hung.towing} {hung.x - 1.0:g}", post)
        self._beam(post, nodes[0], section)
        self.model.def_releases(beams[0], Rxi=not hung.tie, Ryi=True, Rzi=True)
        self.model.def_support(nodes[-1], support_DZ=True)

    def _arm(self, name: str, x: float, z: float, what: str) -> str:
        """A place on the body beside its spine."""
        if z == 0.0:
            return f"{name} {x:g}"
        end = self._node(f"{name} {what} {x:g} {z:g}", name, x=x, z=z)
        self._beam(f"{name} {x:g}", end)
        return end

    def _wheel(self, name: str, place: str, x: float, z: float) -> str:
        self.wheels[name][place] = self._node(f"{name} wheel {place}", name, x=x, z=z, high=False)
        return self.wheels[name][place]

    def _live(self, name: str, gear: LiveAxle) -> None:
        number = len(self.wheels[name]) // 2 + 1
        left = self._wheel(name, f"{number}L", gear.x, gear.track / 2)
        right = self._wheel(name, f"{number}R", gear.x, -gear.track / 2)
        self._beam(left, right)
        self.model.def_support(left, True, True, True, False, False, True)
        self.model.def_support(right, True, True, False, False, False, False)
        for wheel, z in ((left, gear.seats / 2), (right, -gear.seats / 2)):
            seat = wheel
            if gear.seats != gear.track:
                seat = self._node(f"{wheel} seat", name, x=gear.x, z=z, high=False)
                self._beam(wheel, seat)
            self.model.add_spring(f"{wheel} spring", seat, self._arm(name, gear.x, z, "spring"), gear.rate)

    def _rocking(self, name: str, gear: Rocker) -> None:
        number = len(self.wheels[name]) // 2 + 1
        for side, z in (("L", gear.track / 2), ("R", -gear.track / 2)):
            front = self._wheel(name, f"{number}{side}", gear.xs[0], z)
            rear = self._wheel(name, f"{number + 1}{side}", gear.xs[1], z)
            pivot = self._node(f"{front} pivot", name, x=gear.x, z=z, high=False)
            self._beam(front, pivot)
            self._beam(pivot, rear)
            self.model.def_support(front, True, True, True, True, False, False)
            self.model.def_support(rear, False, True, True, False, False, False)
            self.model.add_spring(f"{front} spring", pivot, self._arm(name, gear.x, z, "spring"), 2 * gear.rate)

    def load(self, pounds: float) -> None:
        """Put a weight on the load's place."""
        self.model.add_node_load(self.spot, "FY", -pounds)

    def couple(self, trailer: str, moment: float) -> None:
        """Spring bars at the hitch of ``trailer`` [lb*in]: the front of what tows it down, its own tail down."""
        hung = self.vehicles[trailer].hung
        if hung is None:
            raise ValueError(f"{trailer} hangs on nothing")
        for name, turned in ((hung.towing, moment), (trailer, -moment)):
            self.model.add_node_load(f"{name} {self.vehicles[name].gear[-1].x:g}", "MZ", turned)

    def raise_support(self, name: str, wheel: str, inches: float) -> None:
        """Move one wheel's support up."""
        self.model.def_node_disp(self.wheels[name][wheel], "DY", inches)

    def solve(self) -> dict[str, list[float]]:
        """Wheel loads [lb] by vehicle, front to rear and left before right."""
        self.model.analyze_linear(check_stability=False)
        return {
            name: [float(self.model.nodes[wheels[place]].RxnFY["Combo 1"]) for place in sorted(wheels)]
            for name, wheels in self.wheels.items()
        }
