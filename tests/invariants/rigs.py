"""Rigs of all sorts for property-based tests: vehicles, their bodies, joints and loads, in kilograms and metres."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from hypothesis import strategies as st

from steelyard.model import Axle, Role, Sharing, Vehicle
from steelyard.statics import Array, Body, BodyLayout, Change, Combination, Joint, Response, Springs, springs_of
from steelyard.units import Quantity

NAMES = ("tow", "cart", "boat")


@dataclass(frozen=True)
class Made:
    """A drawn combination with what it was made of; ``factors`` make the springs of some vehicles' axles other ones."""

    vehicles: Mapping[str, Vehicle]
    joints: tuple[Joint, ...]
    factors: Mapping[str, Sequence[float]] = field(default_factory=dict)

    @property
    def bodies(self) -> dict[str, Body]:
        """Every vehicle on its springs."""
        return {name: self._body(name, vehicle) for name, vehicle in self.vehicles.items()}

    def _body(self, name: str, vehicle: Vehicle) -> Body:
        springs = springs_of(vehicle)
        factors = np.array(self.factors.get(name, [1.0] * 4)[: len(vehicle.axles)])
        other = Springs(springs.x, springs.track, springs.ride * factors, springs.roll * factors[::-1])
        return BodyLayout(vehicle).build(other)

    @property
    def operator(self) -> Combination:
        """The operator of the whole."""
        return Combination(self.bodies, self.joints)

    def places(self) -> dict[str, tuple[Array, Array]]:
        """Where every wheel stands, x and y, by vehicle [m]."""
        found: dict[str, tuple[Array, Array]] = {}
        for name, vehicle in self.vehicles.items():
            x = np.repeat([axle.x.value for axle in vehicle.axles], 2)
            y = np.repeat([axle.track.value / 2 for axle in vehicle.axles], 2) * np.tile(
                [1.0, -1.0], len(vehicle.axles)
            )
            found[name] = (x, y)
        return found


def _exact(value: float) -> Quantity:
    return Quantity(value, 0.0)


@st.composite
def vehicles(
    draw: st.DrawFn, name: str, *, axles: st.SearchStrategy[int] | None = None, sharing: Sharing | None = None
) -> Vehicle:
    """One vehicle: one to four axles (a towing vehicle two or three), equalised or not, stiff or soft, with bars or
    without.
    """
    towing = name == "tow"
    count = draw(axles if axles is not None else st.integers(2, 3) if towing else st.integers(1, 4))
    start = 0.0 if towing else draw(st.floats(2.5, 8.0))
    steps = [draw(st.floats(2.2, 4.0)) if towing else draw(st.floats(0.8, 1.5)) for _ in range(count - 1)]
    xs = start + np.concatenate([[0.0], np.cumsum(steps)])
    shares = draw(st.sampled_from(list(Sharing))) if sharing is None else sharing
    group = None if towing or count == 1 else "rear"
    made = [
        Axle(
            x=_exact(float(x)),
            track=_exact(draw(st.floats(1.4, 2.2))),
            ride_rate=_exact(draw(st.floats(3e3, 3e4))),
            roll_rate=_exact(draw(st.sampled_from([0.0, 3e3, 1.2e4]))),
            group=group,
            sharing=shares if group is not None else Sharing.INDEPENDENT,
        )
        for x in xs
    ]
    return Vehicle(name, Role.TOWING if towing else Role.TRAILER, tuple(made))


@st.composite
def combinations(draw: st.DrawFn, *, ties: bool = True, bars: bool = True, stands: bool = True) -> Made:
    """A truck alone or with one or two trailers behind it, or a trailer alone on its stand."""
    hung = draw(st.integers(-1 if stands else 0, 2))
    if hung < 0:
        return Made({"cart": draw(vehicles("cart"))}, (Joint("cart"),))
    made = {name: draw(vehicles(name)) for name in NAMES[: hung + 1]}
    joints: list[Joint] = []
    for front, rear in pairwise(NAMES[: hung + 1]):
        x = made[front].axles[-1].x.value + draw(st.floats(-0.8, 1.6))
        tie = draw(st.sampled_from([0.0, 1.5e4])) if ties else 0.0
        stiff = draw(st.sampled_from([0.0, 5e3])) if bars else 0.0
        joints.append(Joint(rear, front, x, tie, stiff))
    return Made(made, tuple(joints))


@st.composite
def changes(draw: st.DrawFn, made: Made) -> Change:
    """Loads, couples, support heights and a rise of a coupling point, all at once."""
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    loads = {name: tuple(rng.uniform([-900, -3000, -800], [900, 3000, 800])) for name in made.vehicles}
    hung = [joint.trailer for joint in made.joints]
    couples = {joint.trailer: float(rng.uniform(-800, 800)) for joint in made.joints if joint.towing is not None}
    supports = {name: rng.normal(0.0, 0.01, 2 * len(vehicle.axles)) for name, vehicle in made.vehicles.items()}
    return Change(loads, couples, supports, {name: float(rng.normal(0.0, 0.03)) for name in hung})


def out_of_balance(made: Made, change: Change, found: Response) -> dict[str, Array]:
    """Force and two moments [kg, kg*m] that are left on each vehicle: what is put on it, less what holds it up."""
    left: dict[str, Array] = {}
    for name, (x, y) in made.places().items():
        wheels = found.wheels[name]
        left[name] = np.array(change.loads.get(name, (0.0, 0.0, 0.0)), dtype=float)
        left[name] -= [wheels.sum(), x @ wheels, y @ wheels]
    for joint in made.joints:
        load = found.couplings.get(joint.trailer, 0.0)
        couple = change.couples.get(joint.trailer, 0.0)
        left[joint.trailer] += [-load, couple, 0.0]
        if joint.towing is None:
            continue
        twist = found.motion[joint.trailer] - found.motion[joint.towing]
        held = np.array([0.0, joint.bars * twist[1], joint.tie * twist[2]])
        left[joint.trailer] -= held
        left[joint.towing] += held + np.array([load, load * joint.x - couple, 0.0])
    return left
