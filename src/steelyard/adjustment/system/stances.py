"""Stances: how a rig stood in a draft. A state on level ground is one stance; pads of several heights make others."""

from __future__ import annotations

from steelyard.classes import dataclass
from steelyard.model import CouplingType, DistributionKind, Draft, Link, State, WeighDay, drift_hours
from steelyard.statics import Joint, tie_rate

BLOCK = "/block"
"""Stands for an instrument where a wheel stands on a block as high as the draft's pads; no instrument has this name."""


@dataclass(frozen=True, slots=True)
class Stance:
    """One way a state stood.

    Attributes
    ----------
    pads: by vehicle, the instrument under each wheel, ``BLOCK`` or None; empty: all supports in one plane.
    on_ground: wheels without a pad stand on the ground; else at the mean height of the pads.
    sloped: whether the slope of the site and the tilt of the pads shift load here.
    reversed: whether the rig faced the other way, so that the slope has the other sign.
    drifted: cargo that has changed by itself, with the hours since its stated amount held.
    decks: trailers whose coupling point rests on an instrument on the vehicle in front, with that instrument.
    """

    state: str
    pads: tuple[tuple[str, tuple[str | None, ...]], ...] = ()
    on_ground: bool = False
    sloped: bool = False
    reversed: bool = False
    drifted: tuple[tuple[str, float], ...] = ()
    decks: tuple[tuple[str, str], ...] = ()

    @property
    def level(self) -> bool:
        """Whether this is the state as findings mean it."""
        return not self.pads and not self.sloped and not self.drifted and not self.decks

    def deck(self, trailer: str) -> str | None:
        """The instrument on the vehicle in front that carries the coupling point of ``trailer``, if one does."""
        return next((instrument for name, instrument in self.decks if name == trailer), None)


def joints_of(day: WeighDay, state: State) -> list[Joint]:
    """The joints of ``state``: a coupling for each trailer that hangs on one, a stand for each that does not."""
    joints: list[Joint] = []
    for vehicle in state.vehicles:
        if day.vehicles[vehicle].role != "trailer":
            continue
        link = state.link_of_trailer(vehicle)
        if link is None:
            joints.append(Joint(vehicle))
            continue
        coupling = day.vehicles[link.towing].couplings[link.at]
        tie = tie_rate(coupling).value if coupling.type is CouplingType.FIFTH_WHEEL else 0.0
        joints.append(Joint(vehicle, link.towing, coupling.x.value, tie, bars_of(link)))
    return _front_to_rear(joints, state)


def _front_to_rear(joints: list[Joint], state: State) -> list[Joint]:
    order = {link.trailer: position for position, link in enumerate(state.links)}
    return sorted(joints, key=lambda joint: order.get(joint.trailer, len(order)))


def bars_of(link: Link) -> float:
    """Stiffness of the weight-distributing bars [kg*m/rad]; zero where they hang loose."""
    return 0.0 if link.distribution.kind is DistributionKind.NONE else link.distribution.rate.value


def both_ways(day: WeighDay) -> frozenset[str]:
    """The vehicles that were weighed facing one way and the other: their own readings tell what the slope does."""
    if not any(draft.reversed for draft in day.drafts):
        return frozenset()
    seen: dict[bool, set[str]] = {False: set(), True: set()}
    for draft in day.drafts:
        for reading in day.counted(draft):
            seen[draft.reversed].update(wheel.vehicle for wheel in reading.place.wheels)
    return frozenset(seen[False] & seen[True])


def stances_of(day: WeighDay) -> dict[int, Stance]:
    """How the rig stood in each draft that tells of loads on level ground, by number."""
    turned = both_ways(day)
    hours = drift_hours(day.cargo, day.states, day.drafts)
    drifted: dict[int, list[tuple[str, float]]] = {}
    for (number, cargo), since in hours.items():
        drifted.setdefault(number, []).append((cargo, since))
    return {
        draft.number: _stance(day, draft, turned, tuple(drifted.get(draft.number, ())))
        for draft in day.drafts
        if not draft.raised
    }


def _stance(day: WeighDay, draft: Draft, turned: frozenset[str], drifted: tuple[tuple[str, float], ...]) -> Stance:
    """The support under each wheel where heights matter, whether slope matters, and the amounts drained."""
    state = day.states[draft.state]
    under = {
        (wheel.vehicle, wheel.id): reading.instrument
        for reading in day.readings_of(draft)
        for wheel in reading.place.wheels
    }
    blocked = {(wheel.vehicle, wheel.id): BLOCK for wheel in draft.blocks} if draft.on_ground else {}
    pads = tuple(
        (name, tuple((blocked | under).get((name, wheel)) for wheel in day.vehicles[name].wheels))
        for name in state.vehicles
    )
    wheels = sum(len(day.vehicles[name].wheels) for name in state.vehicles)
    flat = _one_plane(day, draft, list(under.values()), wheels - len(blocked.keys() - under.keys()))
    tall = any(day.vehicles[name].cg_height is not None for name in state.vehicles)
    leaning = not turned.isdisjoint(state.vehicles)
    sloping = day.site.slope_long is not None or day.site.slope_lat is not None or bool(turned)
    sloped = (tall and (sloping or not flat)) or leaning
    return Stance(
        draft.state,
        () if flat else pads,
        draft.on_ground and not flat,
        sloped,
        draft.reversed and sloped,
        drifted,
        decks_of(day, draft),
    )


def decks_of(day: WeighDay, draft: Draft) -> tuple[tuple[str, str], ...]:
    """Trailers that are coupled in ``draft`` while an instrument reads their coupling load, with the instrument."""
    state = day.states[draft.state]
    return tuple(
        (trailer, reading.instrument)
        for reading in day.readings_of(draft)
        for trailer in reading.place.couplings
        if state.link_of_trailer(trailer) is not None
    )


def _one_plane(day: WeighDay, draft: Draft, under: list[str], wheels: int) -> bool:
    """Whether all supports of ``draft`` stand in one plane for certain."""
    heights = [day.instruments[name].height for name in under]
    if draft.on_ground and len(under) < wheels:
        sinks = day.site.pad_sink is not None
        return not sinks and all(height.value == 0.0 and height.u_or(0.0) == 0.0 for height in heights)
    same = len(set(under)) == 1 or all(height.u_or(0.0) == 0.0 for height in heights)
    return same and len({height.value for height in heights}) <= 1
