"""Physics of a rig at rest: rigid bodies on springs, balance beams between axles, couplings between bodies.

A suspension is solved as a mechanism: every axle end has a spring of its own, an equalised side hangs its springs on a
balance beam that turns freely (so that all of them feel one force and only the mean of their travel is bound), an
anti-roll bar twists between the ends. Condensed, that gives how wheel loads answer wheel travel. All states of a day
are then one linear system: body motions in every state, coupling loads in every state, and the weight of every
vehicle, which is what its reference loads need to stand still.

Signs: x rearward, y left, sinking and loads positive; pitch `theta` sinks what lies rearward, roll `phi` what is left.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from tests.simulated.describe import (
    Couple,
    Day,
    Draft,
    Vehicle,
    couple_of,
    pairs_of_equalised,
    reference_state,
    trailers,
)

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.floating[Any]]


@dataclass(frozen=True)
class Body:
    """A vehicle with numbers in it: wheel places (n, 3) as rows (1, x, y), loads per travel (n, n) [lb/in]."""

    places: Array
    springs: Array

    @property
    def stiffness(self) -> Array:
        """Force and moments per body motion, (3, 3)."""
        return self.places.T @ self.springs @ self.places


@dataclass(frozen=True)
class Loads:
    """Loads of one state [lb]: wheels by vehicle, coupling loads by trailer, weights (m, m x, m y) by vehicle."""

    wheels: Mapping[str, Array]
    coupling: Mapping[str, float]
    weight: Mapping[str, Array]


@dataclass(frozen=True)
class Response:
    """What one state's loads do for support heights, loads within a group, and forces on the bodies.

    `rows` name the loads (vehicle, wheel) and (trailer, "coupling"); `heights` and `friction` have a column for each
    wheel in the order of the first rows; `forces` has three columns for each vehicle; `gaps` one for each trailer
    whose coupling point is raised against what holds it [lb/in].
    """

    rows: list[tuple[str, str]]
    heights: Array
    friction: Array
    forces: Array
    gaps: Array


def _sides(count: int, groups: Sequence[Sequence[int]]) -> list[list[int]]:
    """Wheels of `count` axles that hang on one beam: the sides of equalised groups, and every other wheel by itself."""
    beamed = {axle for axles in groups for axle in axles}
    found = [[2 * axle + side for axle in axles] for axles in groups for side in (0, 1)]
    found += [[2 * axle + side] for axle in range(count) if axle not in beamed for side in (0, 1)]
    return found


def suspension(vehicle: Vehicle, name: str, values: Mapping[str, float]) -> Body:
    """The vehicle's body with these numbers in it, not to be changed."""
    axles = range(1, len(vehicle.axles) + 1)
    numbers = tuple(tuple(values[f"{name}.{axle}.{key}"] for key in ("x", "track", "ride", "roll")) for axle in axles)
    return _suspension(numbers, tuple(tuple(group) for _, group in pairs_of_equalised(vehicle)))


@lru_cache(maxsize=256)
def _suspension(axles: tuple[tuple[float, ...], ...], groups: tuple[tuple[int, ...], ...]) -> Body:
    """Solve the mechanism: springs `d` under beams with common forces `q`, for a unit travel of each wheel.

    Most derivatives of a day leave its lengths and rates alone, so that one body is asked for again and again.
    """
    count = 2 * len(axles)
    places = np.ones((count, 3))
    springs = np.zeros((count, count))
    for axle, (x, track, ride, _) in enumerate(axles):
        places[2 * axle : 2 * axle + 2, 1:] = [[x, track / 2], [x, -track / 2]]
        springs[2 * axle, 2 * axle] = springs[2 * axle + 1, 2 * axle + 1] = ride
    _add_bars(axles, groups, springs)
    sides = _sides(len(axles), groups)
    beams = np.zeros((len(sides), count))
    for row, wheels in enumerate(sides):
        beams[row, wheels] = 1.0
    system = np.zeros((count + len(sides), count + len(sides)))
    system[:count, :count], system[:count, count:], system[count:, :count] = springs, -beams.T, beams
    right = np.zeros((count + len(sides), count))
    right[count:] = beams
    solved = np.linalg.solve(system, right)
    body = Body(places, beams.T @ solved[count:])
    body.places.flags.writeable = body.springs.flags.writeable = False
    return body


def _add_bars(axles: Sequence[Sequence[float]], groups: Sequence[Sequence[int]], springs: Array) -> None:
    """Anti-roll bars twist between the ends of an axle, or between the mean travels of an equalised group's sides."""
    beamed = {axle for group in groups for axle in group}
    for group in [*groups, *([axle] for axle in range(len(axles)) if axle not in beamed)]:
        twist = np.zeros(len(springs))
        for axle in group:
            track = axles[axle][1]
            twist[2 * axle] = 1 / (track * len(group))
            twist[2 * axle + 1] = -1 / (track * len(group))
        springs += sum(axles[axle][3] for axle in group) * np.outer(twist, twist)


def cargo_mass(day: Day, name: str, state: str, values: Mapping[str, float]) -> float:
    """Mass of a cargo in a state [lb]."""

    def of(key: str) -> float:
        changed = f"cargo.{name}.{key}@{state}"
        return values[changed] if changed in values else values[f"cargo.{name}.{key}"]

    if day.cargo[name].tank is not None:
        return of("volume") * of("density") * of("level") / 100
    return of("mass")


def cargo_weight(day: Day, name: str, state: str, values: Mapping[str, float]) -> Array:
    """Weight vector (m, m x, m y) of a cargo in a state [lb, lb*in, lb*in]."""
    mass = cargo_mass(day, name, state, values)
    vector = [mass]
    for key in ("x", "y"):
        changed = f"cargo.{name}.{key}@{state}"
        if changed in values:
            vector.append(mass * values[changed])
        elif f"cargo.{name}.{key}" in values:
            vector.append(mass * values[f"cargo.{name}.{key}"])
        else:
            vector.append(values[f"cargo.{name}.m{key}"])
    return np.array(vector)


def distribution(state: str, couple: Couple, values: Mapping[str, float]) -> float:
    """Weight-distributing couple in a state [lb*in], positive where it loads the front axle."""
    if couple.distribution is None:
        return 0.0
    source = couple.distribution if isinstance(couple.distribution, str) else state
    return values[f"wd.{source}.{couple.trailer}"]


def ties_roll(day: Day, couple: Couple) -> bool:
    """Whether a coupling holds the two bodies together in roll."""
    return day.vehicles[couple.towing].couplings[couple.at].type == "fifth_wheel"


class _Everything:
    """One linear system for all states: motions, coupling loads, and weights of the vehicles."""

    def __init__(self, day: Day, values: Mapping[str, float]) -> None:
        self.day = day
        self.values = values
        self.bodies = {name: suspension(vehicle, name, values) for name, vehicle in day.vehicles.items()}
        self.reference = {name: reference_state(day, name) for name in day.vehicles}
        self.start = {
            name: np.array([values[f"ref.{name}.{wheel}"] for wheel in vehicle.wheels])
            for name, vehicle in day.vehicles.items()
        }
        self.columns: dict[tuple[str, ...], int] = {}
        size = 0
        for key, width in self._unknowns():
            self.columns[key] = size
            size += width
        self.matrix = np.zeros((size, size))
        self.right = np.zeros(size)
        self.row = 0

    def _unknowns(self) -> list[tuple[tuple[str, ...], int]]:
        keys: list[tuple[tuple[str, ...], int]] = [(("weight", name), 3) for name in self.day.vehicles]
        for state, content in self.day.states.items():
            keys += [(("motion", state, name), 3) for name in content.vehicles]
            keys += [(("coupling", state, name), 1) for name in trailers(self.day, state)]
        return keys

    def hitch(self, couple: Couple) -> Array:
        """Row (1, x, 0) of the coupling's place on the vehicle in front."""
        return np.array([1.0, self.values[f"{couple.towing}.{couple.at}.x"], 0.0])

    def assemble(self) -> None:
        for state, content in self.day.states.items():
            for name in content.vehicles:
                self._stand_still(state, name)
            for couple in content.couples:
                self._push(state, couple)
            for name in trailers(self.day, state):
                self._close(state, name)
        for name, state in self.reference.items():
            at = self.columns["motion", state, name]
            self.matrix[self.row : self.row + 3, at : at + 3] = np.eye(3)
            self.row += 3

    def _stand_still(self, state: str, name: str) -> None:
        """Springs carry the vehicle, its cargo, and give up what its own coupling or stand carries."""
        rows = slice(self.row, self.row + 3)
        self.columns["rows", state, name] = self.row
        at, weight = self.columns["motion", state, name], self.columns["weight", name]
        body = self.bodies[name]
        # Rows are in pounds and pound-inches, columns in inches and radians: scaled by eye, the solver does the rest.
        self.matrix[rows, at : at + 3] = body.stiffness
        self.matrix[rows, weight : weight + 3] = -np.eye(3)
        if self.day.vehicles[name].role == "trailer":
            self.matrix[self.row, self.columns["coupling", state, name]] = 1.0
        aboard = [cargo for cargo in self.day.states[state].cargo if self.day.cargo[cargo].on == name]
        self.right[rows] = -body.places.T @ self.start[name]
        for cargo in aboard:
            self.right[rows] += cargo_weight(self.day, cargo, state, self.values)
        self.row += 3

    def _push(self, state: str, couple: Couple) -> None:
        """The coupling load comes down on the vehicle in front; couples act on both."""
        front, rear = self.columns["rows", state, couple.towing], self.columns["rows", state, couple.trailer]
        self.matrix[front : front + 3, self.columns["coupling", state, couple.trailer]] -= self.hitch(couple)
        moment = distribution(state, couple, self.values)
        self.right[front + 1] -= moment
        self.right[rear + 1] += moment
        if ties_roll(self.day, couple):
            stiff = self.values[f"{couple.towing}.{couple.at}.roll"]
            latched = self.values[f"latch.{couple.trailer}"]
            ahead = self.columns["motion", state, couple.towing] + 2
            behind = self.columns["motion", state, couple.trailer] + 2
            for row, sign in ((front + 2, 1.0), (rear + 2, -1.0)):  # roll couple: + on the front, - on the trailer
                self.matrix[row, behind] -= sign * stiff
                self.matrix[row, ahead] += sign * stiff
                self.right[row] += sign * latched

    def _relative(self, state: str, couple: Couple, sign: float) -> None:
        """Trailer's coupling point sinks minus the place it rests on, added to the row at hand."""
        behind, ahead = self.columns["motion", state, couple.trailer], self.columns["motion", state, couple.towing]
        self.matrix[self.row, behind] += sign
        self.matrix[self.row, ahead : ahead + 3] -= sign * self.hitch(couple)

    def _close(self, state: str, name: str) -> None:
        """One condition for each coupling load: known in the reference state, else the height of the coupling point."""
        couple = couple_of(self.day.states[state], name)
        origin = couple_of(self.day.states[self.reference[name]], name)
        raised = self.values.get(f"hitch.{state}.{name}", 0.0)
        if state == self.reference[name]:
            self.matrix[self.row, self.columns["coupling", state, name]] = 1.0
            self.right[self.row] = self.values[f"ref.{name}.coupling"]
        elif origin is None:  # measured against the stand: all of the change is known, whatever carries it
            self.matrix[self.row, self.columns["motion", state, name]] = 1.0
            self.right[self.row] = -raised
        elif couple is not None:
            self._relative(state, couple, 1.0)
            self._relative(self.reference[name], origin, -1.0)
            self.right[self.row] = -raised
        else:
            message = f"{name} is parked in {state} after it was hitched: the height of its stand is not described"
            raise NotImplementedError(message)
        self.row += 1

    def loads(self) -> dict[str, Loads]:
        self.assemble()
        # Moments are some hundred times larger than forces; equal scales keep the last digits.
        scale = np.abs(self.matrix).max(axis=1)
        solved = np.linalg.solve(self.matrix / scale[:, None], self.right / scale)
        found: dict[str, Loads] = {}
        for state, content in self.day.states.items():
            wheels: dict[str, Array] = {}
            weight: dict[str, Array] = {}
            for name in content.vehicles:
                at, own = self.columns["motion", state, name], self.columns["weight", name]
                body = self.bodies[name]
                wheels[name] = self.start[name] + body.springs @ body.places @ solved[at : at + 3]
                aboard = [cargo for cargo in content.cargo if self.day.cargo[cargo].on == name]
                weight[name] = solved[own : own + 3] + sum(
                    (cargo_weight(self.day, cargo, state, self.values) for cargo in aboard), start=np.zeros(3)
                )
            carried = {name: float(solved[self.columns["coupling", state, name]]) for name in trailers(self.day, state)}
            found[state] = Loads(wheels, carried, weight)
        return found


def solve(day: Day, values: Mapping[str, float]) -> dict[str, Loads]:
    """True loads of every state, on level ground with all supports in one plane."""
    return _Everything(day, values).loads()


def respond(day: Day, state: str, values: Mapping[str, float]) -> Response:
    """How the loads of one state answer support heights [lb/in], loads within groups, and forces [lb, lb*in].

    Couplings tie the bodies; stands keep their height.
    """
    names = list(day.states[state].vehicles)
    hung = trailers(day, state)
    bodies = [suspension(day.vehicles[name], name, values) for name in names]
    places, springs = _diagonal([body.places for body in bodies]), _diagonal([body.springs for body in bodies])
    ties = np.zeros((len(hung), 3 * len(names)))
    stiffness = places.T @ springs @ places
    for row, trailer in enumerate(hung):
        behind = 3 * names.index(trailer)
        ties[row, behind] = 1.0
        couple = couple_of(day.states[state], trailer)
        if couple is None:
            continue
        ahead = 3 * names.index(couple.towing)
        ties[row, ahead : ahead + 2] = [-1.0, -values[f"{couple.towing}.{couple.at}.x"]]
        if ties_roll(day, couple):
            twist = np.zeros(3 * len(names))
            twist[[behind + 2, ahead + 2]] = [1.0, -1.0]
            stiffness += values[f"{couple.towing}.{couple.at}.roll"] * np.outer(twist, twist)
    count, tied = len(places), len(hung)
    system = np.block([[stiffness, ties.T], [ties, np.zeros((tied, tied))]])
    sources = np.hstack([-places.T @ springs, -places.T, np.eye(len(stiffness)), np.zeros((len(stiffness), tied))])
    apart = np.hstack([np.zeros((tied, sources.shape[1] - tied)), -np.eye(tied)])
    solved = np.linalg.solve(system, np.vstack([sources, apart]))
    direct = np.hstack([springs, np.eye(count), np.zeros((count, len(stiffness) + tied))])
    answers = np.vstack([springs @ places @ solved[: len(stiffness)] + direct, solved[len(stiffness) :]])
    rows = [(name, wheel) for name in names for wheel in day.vehicles[name].wheels]
    rows += [(name, "coupling") for name in hung]
    heights, friction, forces, gaps = np.split(answers, np.cumsum([count, count, len(stiffness)]), axis=1)
    return Response(rows, heights, friction, forces, gaps)


def _diagonal(blocks: list[Array]) -> Array:
    """Blocks along the diagonal."""
    whole = np.zeros((sum(b.shape[0] for b in blocks), sum(b.shape[1] for b in blocks)))
    row = column = 0
    for block in blocks:
        whole[row : row + block.shape[0], column : column + block.shape[1]] = block
        row, column = row + block.shape[0], column + block.shape[1]
    return whole


def slope_forces(day: Day, state: str, loads: Loads, values: Mapping[str, float], facing: float = 1.0) -> Array:
    """Change of the forces on each vehicle of a state when the ground slopes, three for each vehicle [lb, lb*in].

    Gravity leans: its part along the ground acts at the height of the centre of gravity, and rests on the ground
    under the same vehicle; front higher loads the rear, left higher loads the right. `facing` is -1 where the rig
    faces the other way.
    """
    along = facing * math.tan(math.radians(values.get("site.slope_long", 0.0)))
    across = facing * math.tan(math.radians(values.get("site.slope_lat", 0.0)))
    upright = 1 / math.sqrt(1 + along**2 + across**2)
    forces: list[float] = []
    for name in day.states[state].vehicles:
        mass, pitch, roll = loads.weight[name]
        height = values.get(f"{name}.cg_height", 0.0)
        forces += [
            mass * (upright - 1),
            upright * (pitch + height * mass * along) - pitch,
            upright * (roll - height * mass * across) - roll,
        ]
    return np.array(forces)


def drift_forces(day: Day, draft: Draft, values: Mapping[str, float]) -> Array:
    """What has come aboard or drained by itself before a draft, three for each vehicle [lb, lb*in]."""
    forces = {name: np.zeros(3) for name in day.states[draft.state].vehicles}
    for name in day.states[draft.state].cargo:
        rate = values.get(f"cargo.{name}.rate", 0.0)
        there = [other for other in day.drafts if name in day.states[other.state].cargo]
        times = [other.hours for other in there if other.hours is not None]
        if rate == 0.0 or draft.hours is None:
            continue
        place = np.array([1.0, values[f"cargo.{name}.x"], values[f"cargo.{name}.y"]])
        forces[day.cargo[name].on] += rate * (draft.hours - min(times)) * place
    return np.concatenate(list(forces.values()))


def decks(day: Day, draft: Draft) -> dict[str, str]:
    """The platform that stands on the vehicle in front under the coupling point of each hitched trailer."""
    hung = {couple.trailer for couple in day.states[draft.state].couples}
    read = {place.removesuffix("/coupling"): name for place, name in draft.readings if place.endswith("/coupling")}
    return {trailer: name for trailer, name in read.items() if trailer in hung}


def deck_forces(day: Day, draft: Draft, values: Mapping[str, float]) -> Array:
    """The weight of platforms that stand on a vehicle, three for each vehicle [lb, lb*in]."""
    forces = {name: np.zeros(3) for name in day.states[draft.state].vehicles}
    for trailer, name in decks(day, draft).items():
        couple = couple_of(day.states[draft.state], trailer)
        assert couple is not None
        x = values[f"{couple.towing}.{couple.at}.x"]
        forces[couple.towing] += values.get(f"mass.{name}", 0.0) * np.array([1.0, x, 0.0])
    return np.concatenate(list(forces.values()))


def gravity(latitude: float, elevation: float) -> float:
    """Normal gravity [m/s2] at a latitude [deg] and elevation [m].

    Somigliana's formula with the constants of the Geodetic Reference System 1980 (Moritz), and its height terms to
    second order (same source, section 4.3, from memory).
    """
    squared = math.sin(math.radians(latitude)) ** 2
    on_ellipsoid = 9.7803267715 * (1 + 0.001931851353 * squared) / math.sqrt(1 - 0.00669438002290 * squared)
    flattening, ratio, radius = 0.00335281068118, 0.00344978600308, 6378137.0
    lower = 2 / radius * (1 + flattening + ratio - 2 * flattening * squared) * elevation
    return on_ellipsoid * (1 - lower + 3 * elevation**2 / radius**2)
