"""The driving and the steered axles of a vehicle, and how the driving ones are sprung, as the file says."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.classes import dataclass
from steelyard.model import Role, Vehicle
from steelyard.requirements.road.europe.asked import ROUNDED
from steelyard.requirements.road.train import RoadAxle


@dataclass(frozen=True, slots=True)
class SaidAxles:
    """Axles of a vehicle by number from 1, or the keys of the file that would tell which they are."""

    numbers: tuple[int, ...] = ()
    needs: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Softer:
    """Whether axles are kind enough to the road for a higher limit, or the keys of the file that would tell."""

    yes: bool = False
    needs: tuple[str, ...] = ()


def driven_axles(vehicle: Vehicle) -> SaidAxles:
    """The driving axles. Where one says that it drives, those that say nothing do not; a trailer's do not either."""
    said = tuple(number for number, axle in enumerate(vehicle.axles, start=1) if axle.driven)
    if said or vehicle.role is Role.TRAILER:
        return SaidAxles(said)
    return SaidAxles(needs=_unsaid(vehicle, "driven"))


def steered_axles(vehicle: Vehicle) -> SaidAxles:
    """The steered axles at the front of a motor vehicle: axle 1, and those next to it that say that they steer.

    Only where a vehicle has four axles must the second say whether it does: that of a shorter one is rarely steered.
    """
    count = 1
    while count < len(vehicle.axles) and vehicle.axles[count].steered:
        count += 1
    if len(vehicle.axles) >= _LORRY and vehicle.axles[1].steered is None:
        return SaidAxles(needs=(f"vehicles.{vehicle.id}.axles[2].steered",))
    return SaidAxles(tuple(range(1, count + 1)))


_LORRY = 4
"""Axles from which on a second steered one is usual."""


def softer_axles(axles: Sequence[RoadAxle], driven: Sequence[int], most: float) -> Softer:
    """Whether driving axles have twin tyres and air suspension, or twin tyres and no axle rated over ``most`` [kg].

    Source: Directive 96/53/EC, Annex I, 2.2 and 3.5, as read in StVZO section 34.
    """
    driving = [axle for axle in axles if axle.number in driven]
    if not driving or not all(axle.axle.dual for axle in driving):
        return Softer()
    if all(axle.axle.air for axle in driving):
        return Softer(yes=True)
    ratings = [axle.axle.rating for axle in axles]
    if all(rating is not None and rating <= most * (1.0 + ROUNDED) for rating in ratings):
        return Softer(yes=True)
    return Softer(needs=tuple(f"{axle.path}.air" for axle in driving if axle.axle.air is None))


def _unsaid(vehicle: Vehicle, key: str) -> tuple[str, ...]:
    return tuple(
        f"vehicles.{vehicle.id}.axles[{number}].{key}"
        for number, axle in enumerate(vehicle.axles, start=1)
        if getattr(axle, key) is None
    )
