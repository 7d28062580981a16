"""Height of the centre of gravity from drafts with one end raised.

Method: ISO 10392:2011, axle lift. Several raises of one vehicle in one state are fitted together by least squares; what
they share (level loads, spans, wheelbase, radii) enters with its covariance, so that a pad's span, which is in the
level and in the raised reading alike, drops out as it should. The level loads come from the adjustment of the other
drafts; raised drafts tell nothing back to it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from enum import StrEnum

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.assumed import repeatability
from steelyard.adjustment.given import GivenNumbers
from steelyard.adjustment.gravity import gravity_factor
from steelyard.adjustment.student import effective_dof, excess_of, student_quantile
from steelyard.adjustment.system.tilted import Supports
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass
from steelyard.distributions import functions
from steelyard.model import CountedReading, Draft, Vehicle, support_lines
from steelyard.statics import TAPE, ride_rate

SPRUNG = 0.7
"""How much of the tilt that ``ride_rate`` allows reaches the weight: the tyres' part of it is in the measured raise
already, and wheels and axles do not move on the springs. Common practice, no source; standard uncertainty 0.3."""

_SPRUNG_U = 0.3
_STEPS = 8


class Lacking(StrEnum):
    """Why a height is not determined."""

    NOTHING = ""
    RADIUS = "loaded_radius"
    COUPLING_HEIGHT = "coupling_height"
    LEVEL = "level drafts"
    READINGS = "readings of a raised draft"


@dataclass(frozen=True)
class CentreHeight:
    """The height of a vehicle's centre of gravity in one state [m]; None where ``lacking`` says what is missing.

    Attributes
    ----------
    half_width: of the 95 % coverage interval. dof: degrees of freedom of ``u``.
    drafts: those with something raised. angles: by how much each of them tilted the vehicle [rad], rear up positive.
    chi2, redundancy: do the raises lie on one line.
    x: place of the centre of gravity along the vehicle [m]. mass [kg]. supports: what it stood on.
    """

    state: str
    vehicle: str
    drafts: tuple[int, ...]
    lacking: Lacking = Lacking.NOTHING
    value: float | None = None
    u: float | None = None
    half_width: float | None = None
    dof: float = math.inf
    angles: tuple[float, ...] = ()
    chi2: float = 0.0
    redundancy: int = 0
    x: float = 0.0
    mass: float = 0.0
    supports: Supports | None = None

    @property
    def straight(self) -> bool:
        """Whether the raises agree with one height, at 1 %."""
        if self.redundancy == 0:
            return True
        return float(functions().chdtrc(self.redundancy, self.chi2)) >= 0.01


def centre_heights(adjustment: Adjustment) -> tuple[CentreHeight, ...]:
    """One for each vehicle in each state that has drafts with it raised, in file order."""
    return tuple(one.solve() if isinstance(one, RaisedFit) else one for one in raised_fits(adjustment))


def raised_fits(adjustment: Adjustment) -> Iterator[RaisedFit | CentreHeight]:
    """One for each vehicle in each state that has drafts with it raised, in file order; else why there is no height."""
    found: dict[tuple[str, str], list[Draft]] = {}
    for draft in adjustment.rig.day.drafts:
        if draft.raised and adjustment.rig.day.readings_of(draft):
            found.setdefault((draft.state, draft.raised[0].vehicle), []).append(draft)
    for (state, vehicle), drafts in found.items():
        lacking = _lacking(adjustment, state, vehicle)
        if lacking is Lacking.NOTHING:
            fit = RaisedFit(adjustment, state, vehicle, drafts)
            if fit.seen:
                yield fit
                continue
            lacking = Lacking.READINGS
        yield CentreHeight(state, vehicle, tuple(draft.number for draft in drafts), lacking)


def _lacking(adjustment: Adjustment, state: str, name: str) -> Lacking:
    vehicle = adjustment.rig.day.vehicles[name]
    for line in support_lines(vehicle):
        if line == (None,):
            if vehicle.coupling_height is None:
                return Lacking.COUPLING_HEIGHT
        elif any(axle is None or vehicle.axles[axle - 1].loaded_radius is None for axle in line):
            return Lacking.RADIUS
    layout = adjustment.layout
    if state in adjustment.tipped or state not in layout.level:
        return Lacking.LEVEL
    index = layout.level[state]
    out = layout.wheels_out[index][name]
    rows = adjustment.loads.jacobian[out].sum(axis=0, keepdims=True)
    parts = [rows]
    for line in support_lines(vehicle):
        at = _outputs(adjustment, index, name, line)
        parts.append(adjustment.loads.jacobian[at].sum(axis=0, keepdims=True))
    known = adjustment.solution.determined(np.vstack(parts))
    return Lacking.NOTHING if bool(known.all()) else Lacking.LEVEL


def _outputs(adjustment: Adjustment, index: int, name: str, line: tuple[int | None, ...]) -> list[int]:
    """Positions of the loads of one support line among the outputs of a stance."""
    layout = adjustment.layout
    if line == (None,):
        return [layout.coupling_out[index][name]]
    first = layout.wheels_out[index][name].start
    return [first + 2 * (axle - 1) + side for axle in line if axle is not None for side in (0, 1)]


@dataclass(frozen=True)
class RaisedLine:
    """The readings of one support line in one raised draft."""

    draft: Draft
    rear: bool
    readings: tuple[CountedReading, ...]

    @property
    def value(self) -> float:
        """Their sum [kg]."""
        return sum(reading.value for reading in self.readings)


class RaisedFit:
    """One vehicle in one state: its supports, its readings, and the height that fits best.

    Attributes
    ----------
    seen: every support line that a raised draft read as a whole. given: the numbers that the height follows from.
    """

    def __init__(self, adjustment: Adjustment, state: str, name: str, drafts: list[Draft]) -> None:
        self._adjustment = adjustment
        self._day = adjustment.rig.day
        self._state, self._drafts = state, drafts
        self._vehicle = self._day.vehicles[name]
        self._front, self._rear = support_lines(self._vehicle)
        self.given = GivenNumbers(adjustment)
        index = adjustment.layout.level[state]
        self._loads = [
            self.given.loads(("load", line), _outputs(adjustment, index, name, line))
            for line in (self._front, self._rear)
        ]
        self._places = [self._place(line) for line in (self._front, self._rear)]
        self._tilt = self._slope()
        self._rises = {draft.number: self._rise(draft) for draft in drafts}
        self._sprung = self.given.add("sprung", SPRUNG, u=math.hypot(_SPRUNG_U, SPRUNG * self._rate_u()))
        self.seen = list(self._observed())
        for one in self.seen:  # every instrument's span and zero have their place before any array is made
            for reading in one.readings:
                self.shown(np.zeros(10_000), reading, 0.0)

    def _place(self, line: tuple[int | None, ...]) -> tuple[list[int], list[int]]:
        """Positions of the ``x`` of a line's axles and of its supports' heights among the inputs."""
        given, vehicle = self.given, self._vehicle
        if line == (None,):
            height = vehicle.coupling_height
            value, u = (0.0, 0.0) if height is None else (height.value, height.u_or(TAPE))
            return [given.add("origin", 0.0)], [given.add("coupling_height", value, u=u)]
        xs: list[int] = []
        zs: list[int] = []
        for axle in line:
            stated = vehicle.axles[(axle or 1) - 1]
            xs.append(given.unknown(("x", vehicle.id, axle), stated.x.value))
            radius = stated.loaded_radius
            value, u = (0.0, 0.0) if radius is None else (radius.value, radius.u_or(TAPE))
            zs.append(given.add(("radius", axle), value, u=u))
        return xs, zs

    def _slope(self) -> int | None:
        """The slope that the level loads are free of and the raised readings are not; None: both have it, or none."""
        slope = self._day.site.slope_long
        if self._vehicle.cg_height is None or slope is None:
            return None
        return self.given.unknown(("slope_long",), slope.value)

    def _rise(self, draft: Draft) -> int:
        """By how much the rear stood higher than the front [m]; each raise was measured by itself."""
        heights = {item.axle: item.height for item in draft.raised}
        front, rear = heights.get(self._front[0]), heights.get(self._rear[0])
        value = (0.0 if rear is None else rear.value) - (0.0 if front is None else front.value)
        u = math.hypot(*(height.u_or(TAPE) for height in (front, rear) if height is not None))
        return self.given.add(("rise", draft.number), value, u=u)

    def _rate_u(self) -> float:
        return max((ride_rate(axle).relative_u for axle in self._vehicle.axles), default=0.0)

    def _compliance(self) -> float:
        """By how much a kilogram moved from one support to the other tilts the body on its springs [m]."""
        total = 0.0
        for line in (self._front, self._rear):
            rate = sum(2.0 * ride_rate(self._vehicle.axles[axle - 1]).value for axle in line if axle is not None)
            total += 1.0 / rate if rate > 0.0 else 0.0
        return total

    def _observed(self) -> Iterator[RaisedLine]:
        """Every support line that a raised draft read as a whole."""
        for draft in self._drafts:
            for rear, line in ((False, self._front), (True, self._rear)):
                mine = tuple(one for one in self._day.readings_of(draft) if self._within(one, line))
                ends = sum(len(one.place.wheels) + len(one.place.couplings) for one in mine)
                if mine and ends == (1 if line == (None,) else 2 * len(line)):
                    yield RaisedLine(draft, rear, mine)

    def _within(self, reading: CountedReading, line: tuple[int | None, ...]) -> bool:
        parts = [wheel.axle for wheel in reading.place.wheels] + [None] * len(reading.place.couplings)
        return all(part in line for part in parts)

    # -- the equations ----------------------------------------------------------------------------------------------

    def _supports(self, given: Array) -> Supports:
        (front_x, front_z), (rear_x, rear_z) = (
            (float(given[xs].mean()), float(given[zs].mean())) for xs, zs in self._places
        )
        return Supports(front_x, front_z, rear_x, rear_z)

    def _centre(self, given: Array) -> tuple[float, float, Supports]:
        """Mass [kg], place along the vehicle [m], supports."""
        supports = self._supports(given)
        front, rear = given[self._loads[0]], given[self._loads[1]]
        return float(front + rear), float(supports.front_x + supports.base * rear / (front + rear)), supports

    def _angle(self, draft: Draft, given: Array) -> float:
        angle = self._supports(given).angle(float(given[self._rises[draft.number]]))
        if self._tilt is not None:
            angle -= (-1.0 if draft.reversed else 1.0) * float(given[self._tilt])
        return angle

    def mass(self, given: Array) -> float:
        """Mass of the vehicle with its cargo [kg] by the given numbers."""
        return self._centre(given)[0]

    def line_loads(self, given: Array, height: float) -> Array:
        """Load of each line [kg] with the centre of gravity at a height [m] and the given numbers, shape (seen,)."""
        mass, x, supports = self._centre(given)
        loads: list[float] = []
        for one in self.seen:
            angle = self._angle(one.draft, given)
            z = height
            if not one.draft.blocked:  # the body tilts further on its springs: as if its weight stood higher
                more = mass * (height - supports.front_z) * self._compliance() / supports.base**2
                z += (height - supports.front_z) * float(given[self._sprung]) * more
            share = supports.rear_share(angle, x=x, z=z)
            loads.append(mass * (share if one.rear else 1.0 - share))
        return np.array(loads)

    def _expected(self, given: Array, height: float) -> Array:
        """Expected sum of each line's readings [kg], shape (seen,)."""
        return np.array(
            [
                sum(self.shown(given, reading, load * reading.value / one.value) for reading in one.readings)
                for one, load in zip(self.seen, self.line_loads(given, height).tolist(), strict=True)
            ]
        )

    def outputs_of(self, reading: CountedReading) -> list[int]:
        """Which loads of the vehicle on level ground the ends carry that a reading stands under."""
        index = self._adjustment.layout.level[self._state]
        if reading.place.couplings:
            return _outputs(self._adjustment, index, self._vehicle.id, (None,))
        first = _outputs(self._adjustment, index, self._vehicle.id, (1,))[0]
        return [first + 2 * (wheel.axle - 1) + (wheel.side == "R") for wheel in reading.place.wheels]

    def shown(self, given: Array, reading: CountedReading, load: float) -> float:
        """Indication of an instrument for a load [kg]."""
        item = self._day.instruments[reading.instrument]
        keys = (("span", item.id), *((kind, name) for kind, name, _ in item.shared))
        span = sum(float(given[self.given.unknown(key, 0.0)]) for key in keys)
        gravity = gravity_factor(self._day.site, item)
        factor = self._adjustment.rig.level_factor() * (1.0 if gravity is None else gravity[0])
        return factor * (1.0 + span) * load + float(given[self.given.unknown(("zero", item.id), 0.0)])

    def _noise(self) -> tuple[Array, dict[float, Array]]:
        """Variance of each line's sum, shape (seen,): rounding and place on the plate, and repeatability by its dof."""
        known = np.zeros(len(self.seen))
        learned: dict[float, Array] = {}
        for row, one in enumerate(self.seen):
            for reading in one.readings:
                item = self._day.instruments[reading.instrument]
                known[row] += item.division**2 / 12.0 + (item.eccentricity * reading.value) ** 2
                u, dof = repeatability(item)
                learned.setdefault(dof, np.zeros(len(self.seen)))[row] += u**2
        return known, learned

    # -- the fit ----------------------------------------------------------------------------------------------------

    def solve(self) -> CentreHeight:
        """The height that fits all raises best."""
        values = np.array([one.value for one in self.seen])
        given = np.array(self.given.values)
        mass, x, supports = self._centre(given)
        height = max(supports.front_z, supports.rear_z) + 0.3
        known, learned = self._noise()
        noise = known + sum(learned.values(), np.zeros(len(values)))
        slope, by_given, weight = np.zeros(len(values)), np.zeros((len(values), len(given))), np.eye(len(values))
        for _ in range(_STEPS):
            slope = _derivative(lambda moved: self._expected(given, moved), height, 1e-3)
            by_given = self._by_given(given, height)
            weight = np.linalg.inv(by_given @ self.given.covariance() @ by_given.T + np.diag(noise))
            step = float(slope @ weight @ (values - self._expected(given, height))) / float(slope @ weight @ slope)
            height += step
            if abs(step) < 1e-7:
                break
        left = values - self._expected(given, height)
        information = float(slope @ weight @ slope)
        gain = (slope @ weight) / information
        u = math.sqrt(1.0 / information)
        dof = self._dof(u, gain, by_given, learned)
        return CentreHeight(
            self._state,
            self._vehicle.id,
            tuple(draft.number for draft in self._drafts),
            value=height,
            u=u,
            half_width=float(student_quantile(np.array([dof]))[0]) * u,
            dof=dof,
            angles=tuple(self._angle(draft, given) for draft in self._drafts),
            chi2=float(left @ weight @ left),
            redundancy=len(values) - 1,
            x=x,
            mass=mass,
            supports=supports,
        )

    def _by_given(self, given: Array, height: float) -> Array:
        """Derivatives by what is given, shape (seen, given), from central differences.

        The steps are wide: what is smooth loses nothing by it, and the last bits, in which processors differ, stay
        small.
        """
        columns: list[Array] = []
        for at in range(len(given)):
            step = max(1e-4, 1e-4 * abs(float(given[at])))
            unit = np.zeros(len(given))
            unit[at] = step
            columns.append((self._expected(given + unit, height) - self._expected(given - unit, height)) / (2.0 * step))
        return np.column_stack(columns)

    def _dof(self, u: float, gain: Array, by_given: Array, learned: dict[float, Array]) -> float:
        """Effective degrees of freedom (see ``student``)."""
        of_readings = excess_of(np.array(list(learned)))
        parts = zip(of_readings.tolist(), learned.values(), strict=True)
        excess = sum(float(gain**2 @ part) / u**2 * one for one, part in parts)
        roots = (gain @ by_given) @ self.given.roots()
        variance = np.array([float(roots @ roots)])
        if variance[0] > 0.0:
            of_level = excess_of(self._adjustment.propagation.dof_of(roots[None], variance))
            excess += float(variance[0] / u**2 * of_level[0])
        return float(effective_dof(np.array([excess]))[0])


def _derivative(function: Callable[[float], Array], at: float, step: float) -> Array:
    return (function(at + step) - function(at - step)) / (2.0 * step)


def line_name(vehicle: Vehicle, *, rear: bool) -> str:
    """Name of the front or rear support of a vehicle: ``axle 1``, ``axles 2 and 3``, ``coupling point``."""
    line = support_lines(vehicle)[1 if rear else 0]
    if line == (None,):
        return "coupling point"
    names = [str(axle) for axle in line]
    return f"axle {names[0]}" if len(names) == 1 else f"axles {' and '.join(names)}"
