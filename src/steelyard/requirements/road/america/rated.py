"""The gross combination weight rating as 49 CFR 383.5 and 390.5 count it, and where weighed loads raise it.

Source: 49 CFR 383.5 and 390.5 as they read since 79 FR 15245 (2014): the greater of the value on the certification
label of the power unit, if it is there, and the sum over the vehicles of their GVWRs or their actual weights, whichever
combination is highest. It does not count where nothing is towed.
"""

from __future__ import annotations

from collections.abc import Iterator

from steelyard.classes import dataclass
from steelyard.model import Measurand, Vehicle, gross_load
from steelyard.requirements.road.ruling import AskedRule, Ruling
from steelyard.requirements.road.train import RoadUnit

_SAME = 1e-6
"""Masses [kg] no further apart than this are the same: sums of ratings are off by their last bits."""


def reaches(mass: float, limit: float) -> bool:
    """Whether a mass is a limit or more [kg]."""
    return mass >= limit - _SAME


def exceeds(mass: float, limit: float) -> bool:
    """Whether a mass is more than a limit [kg]."""
    return mass > limit + _SAME


@dataclass(frozen=True, slots=True)
class Rated:
    """The ratings of a unit's vehicles [kg], the power unit first; None where the file gives none."""

    vehicles: tuple[Vehicle, ...]

    @property
    def label(self) -> float:
        """The GCWR of the power unit; zero where nothing is towed, for then it does not count, or none is given."""
        return (self.vehicles[0].ratings.gcwr or 0.0) if self.towed else 0.0

    @property
    def towed(self) -> tuple[Vehicle, ...]:
        """The towed vehicles, front to rear."""
        return self.vehicles[1:]

    @property
    def own(self) -> float | None:
        """The GVWR of the power unit."""
        return self.vehicles[0].ratings.gvwr

    @property
    def needs(self) -> tuple[str, ...]:
        """The keys of the GVWRs that are missing."""
        return tuple(f"vehicles.{one.id}.ratings.gvwr" for one in self.vehicles if one.ratings.gvwr is None)

    @property
    def least_sum(self) -> float:
        """The sum of the GVWRs that are given."""
        return sum(one.ratings.gvwr or 0.0 for one in self.vehicles)

    @property
    def least_towed(self) -> float:
        """The sum of the GVWRs that are given of what is towed."""
        return sum(one.ratings.gvwr or 0.0 for one in self.towed)

    @property
    def towed_is_known(self) -> bool:
        """Whether every GVWR of what is towed is given."""
        return all(one.ratings.gvwr is not None for one in self.towed)

    @property
    def least(self) -> float:
        """The GCWR as far as the given ratings tell; the GVWR where nothing is towed."""
        return max(self.label, self.least_sum)


def weighed_limits(unit: RoadUnit, rated: Rated, limit: float) -> Iterator[tuple[Measurand, str, float]]:
    """The weighed loads that each reach a GCWR of ``limit`` [kg] where the ratings do not: what, its name, its limit.

    Every GVWR is given and they come to less. The actual weight counts for each vehicle on its own or for all; where
    two trailers are towed, mixed sums of weights and ratings are not looked at.
    """
    for vehicle in rated.vehicles:
        others = rated.least_sum - (vehicle.ratings.gvwr or 0.0)
        yield gross_load(vehicle.id), vehicle.title, limit - others
    if rated.towed:
        yield unit.gross, unit.title, limit


def parked(asked: AskedRule, unit: RoadUnit) -> Ruling:
    """The ruling on a trailer that nothing tows."""
    return asked.silent(unit.owner, subject=unit.title, note="nothing tows it here; it is judged where it is coupled")
