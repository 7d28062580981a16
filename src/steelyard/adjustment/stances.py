"""Stances: how a rig stood in a draft. A state on level ground is one stance; pads of several heights make others."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steelyard.model import CouplingType, DistributionKind, Draft, Link, State, WeighDay
from steelyard.statics import Body, Combination, Joint, tie_rate


@dataclass(frozen=True, slots=True)
class Stance:
    """One way a state stood.

    Attributes
    ----------
    heights: by vehicle, how far each wheel stands above the common plane [m]; empty: all in one plane.
    on_pads: by vehicle, which wheels a sinking pad would lower; empty unless it matters.
    sloped: whether the slope of the site and the tilt of the pads shift load here.
    """

    state: str
    heights: tuple[tuple[str, tuple[float, ...]], ...] = ()
    on_pads: tuple[tuple[str, tuple[bool, ...]], ...] = ()
    sloped: bool = False

    @property
    def level(self) -> bool:
        """Whether this is the state as findings mean it."""
        return not self.heights and not self.sloped


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


def combination_of(day: WeighDay, state: State, bodies: Mapping[str, Body]) -> Combination:
    """The operator of ``state``.

    Raises
    ------
    TipsOverError: its supports do not hold it up.
    """
    return Combination({name: bodies[name] for name in state.vehicles}, joints_of(day, state))


def stance_of(day: WeighDay, draft: Draft) -> Stance:
    """How the rig stood in ``draft``: pad heights against the common plane, and whether slope matters."""
    state = day.states[draft.state]
    pads = {
        wheel: day.instruments[reading.instrument].height
        for reading in day.readings_of(draft)
        for wheel in reading.place.wheels
    }
    mean = sum(pads.values()) / len(pads) if pads else 0.0
    base = 0.0 if draft.on_ground else mean
    heights: list[tuple[str, tuple[float, ...]]] = []
    on_pads: list[tuple[str, tuple[bool, ...]]] = []
    by_wheel = {(wheel.vehicle, wheel.id): height for wheel, height in pads.items()}
    for name in state.vehicles:
        wheels = day.vehicles[name].wheels
        above = tuple(by_wheel.get((name, wheel), base) - base for wheel in wheels)
        heights.append((name, above))
        on_pads.append((name, tuple(by_wheel.get((name, wheel), 0.0) > 0.0 for wheel in wheels)))
    flat = all(abs(height) < 1e-9 for _, above in heights for height in above)
    sinks = draft.on_ground and day.site.pad_sink is not None and not flat
    tall = any(day.vehicles[name].cg_height is not None for name in state.vehicles)
    sloping = day.site.slope_long is not None or day.site.slope_lat is not None
    return Stance(
        draft.state,
        () if flat else tuple(heights),
        tuple(on_pads) if sinks else (),
        tall and (sloping or not flat),
    )
