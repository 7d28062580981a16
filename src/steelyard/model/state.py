"""States: which vehicles, how coupled, which cargo aboard, weight distribution on or off."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.units import Quantity


class DistributionKind(StrEnum):
    """How the weight-distributing couple of a link is known."""

    NONE = "none"
    UNKNOWN = "unknown"  # an unknown couple of this state
    STATED = "stated"  # the file gives its value
    SAME = "same"  # the couple of another state


@dataclass(frozen=True, slots=True)
class Distribution:
    """A weight-distributing couple [kg*m]; positive loads the front axle and the trailer's axles."""

    kind: DistributionKind = DistributionKind.NONE
    value: Quantity | None = None
    state: str | None = None
    rate: Quantity = Quantity(0.0)  # kg*m/rad


@dataclass(frozen=True, slots=True)
class Link:
    """One coupling made: ``trailer`` hangs on coupling ``at`` of ``towing``.

    ``height_change`` [m] is how much higher the trailer's coupling point is than on its stand, where any state of the
    day parks the trailer; else how much was changed at the hitch, against other states of the same coupling.
    ``height_as`` names a state of the same coupling instead, of which this one keeps the height, known or not.
    """

    towing: str
    at: str
    trailer: str
    distribution: Distribution = Distribution()
    height_change: Quantity | None = None
    height_as: str | None = None


@dataclass(frozen=True, slots=True)
class State:
    """One loading condition.

    Attributes
    ----------
    links: front to rear. change: overrides quantities of cargo in this state.
    lifted: axles that are up, by vehicle, counted from 1: they carry nothing.
    """

    id: str
    vehicles: tuple[str, ...]
    links: tuple[Link, ...] = ()
    cargo: tuple[str, ...] = ()
    change: Mapping[str, Mapping[str, Quantity]] = field(default_factory=dict[str, Mapping[str, Quantity]])
    lifted: Mapping[str, frozenset[int]] = field(default_factory=dict[str, frozenset[int]])

    def is_up(self, vehicle: str, axle: int) -> bool:
        """Whether an axle, counted from 1, is lifted."""
        return axle in self.lifted.get(vehicle, ())

    def wheels_up(self, vehicle: str) -> frozenset[int]:
        """Indices of the wheels of a vehicle that are up with their axles, left before right, front to rear."""
        return frozenset(2 * axle - 2 + end for axle in self.lifted.get(vehicle, ()) for end in (0, 1))

    def link_of_trailer(self, vehicle: str) -> Link | None:
        """The link by which ``vehicle`` hangs on another in this state, if it does."""
        return next((link for link in self.links if link.trailer == vehicle), None)
