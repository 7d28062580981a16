"""Vehicles and their axles: geometry, springs and the numbers off the labels."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field
from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.model.coupling import Coupling, Marked
from steelyard.model.papers import Papers
from steelyard.model.tyre import Tyre
from steelyard.units import Quantity


class Role(StrEnum):
    """Whether a vehicle tows or is towed."""

    TOWING = "towing"
    TRAILER = "trailer"


class Sharing(StrEnum):
    """How the axles of a group share load."""

    EQUALISED = "equalised"
    INDEPENDENT = "independent"


@dataclass(frozen=True, slots=True)
class Axle:
    """One axle, its two wheel ends, and its springs.

    Attributes
    ----------
    x: place [m], rearward from axle 1 of a towing vehicle or from the coupling point of a trailer.
    track: distance between the wheel-end centres [m].
    rating, wheel_rating: GAWR and the load limit of one wheel end [kg].
    ride_rate: spring rate of one wheel end [kg/m].
    roll_rate: roll stiffness beyond the springs' own [kg*m/rad].
    friction: of an equalised group, the standard uncertainty of the split on a side [1].
    dual: two tyres on each end; changes the drawing, not the arithmetic.
    driven, steered: whether it drives and whether it steers; air: whether it has air suspension, or one that counts as
    equivalent. None: not said. Rules of the road alone ask for the three.
    loaded_radius: height of the wheel centres above the ground [m], the tyres carrying their load; None: unknown.
    tyre: its tyres, for rules of the road alone; the load limit of a wheel end stands in ``wheel_rating``.
    """

    x: Quantity
    track: Quantity
    rating: float | None = None
    wheel_rating: float | None = None
    ride_rate: Quantity | None = None
    roll_rate: Quantity | None = None
    group: str | None = None
    sharing: Sharing = Sharing.INDEPENDENT
    friction: float | None = None
    dual: bool = False
    driven: bool | None = None
    steered: bool | None = None
    air: bool | None = None
    loaded_radius: Quantity | None = None
    tyre: Tyre | None = None


@dataclass(frozen=True, slots=True)
class Ratings:
    """The owner's numbers off the labels [kg]; None where there is none."""

    gvwr: float | None = None
    gcwr: float | None = None
    towed: float | None = None
    payload: float | None = None


@dataclass(frozen=True, slots=True)
class Unloaded:
    """Mass of a vehicle with nothing aboard, as on its label or papers; it never enters the adjustment.

    Attributes
    ----------
    mass: [kg]. x, y: its centre of gravity [m]; None where the papers do not tell.
    """

    mass: Quantity
    x: Quantity | None = None
    y: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A towing vehicle or a trailer.

    Attributes
    ----------
    cg_height: height of the centre of gravity above the ground [m]; None where nobody knows it.
    coupling_height: of a trailer's coupling point above the ground, standing level [m]; None: unknown.
    load_floor: outline of the load floor [m], corners ``(x, y)``.
    unloaded: its mass with nothing aboard, off a label or its papers; None where none is given.
    serial: the number that no other vehicle bears; with it, the same vehicle is known in several files.
    plate: its registration plate, for the ticket alone.
    papers: its class and what its documents say, for rules of the road alone.
    marked: of a trailer: what the plates at its own coupling point say, likewise.
    """

    id: str
    role: Role
    axles: tuple[Axle, ...]
    couplings: Mapping[str, Coupling] = field(default_factory=dict[str, Coupling])
    name: str = ""
    ratings: Ratings = Ratings()
    cg_height: Quantity | None = None
    coupling_height: Quantity | None = None
    load_floor: tuple[tuple[float, float], ...] = ()
    unloaded: Unloaded | None = None
    serial: str = ""
    plate: str = ""
    papers: Papers = Papers()
    marked: tuple[Marked, ...] = ()

    @property
    def title(self) -> str:
        """The name for people: the stated one, else the id."""
        return self.name or self.id

    @property
    def unladen(self) -> Quantity | None:
        """Its mass [kg] with nobody and nothing aboard: as stated, else the GVWR less the payload on the label.

        None where neither is given. Source: 49 CFR 567.4(g)(3) (a GVWR is at least the unloaded vehicle weight, the
        rated cargo load and the occupants) and 571.110 S4.3 (the label: "the combined weight of occupants and cargo
        should never exceed"), the wording from memory.
        """
        if self.unloaded is not None:
            return self.unloaded.mass
        if self.ratings.gvwr is None or self.ratings.payload is None:
            return None
        return Quantity(self.ratings.gvwr - self.ratings.payload)

    @property
    def wheels(self) -> tuple[str, ...]:
        """Wheel ids front to rear, left before right: ``1L, 1R, 2L, ...``."""
        return tuple(f"{number}{side}" for number in range(1, len(self.axles) + 1) for side in "LR")


def support_lines(vehicle: Vehicle) -> tuple[tuple[int | None, ...], ...]:
    """Supports of a vehicle that stands alone, front to rear: the coupling point (None) and its axles by number.

    Axles that share load through an equaliser are one line, at the mean of their places.
    """
    lines: list[tuple[int | None, ...]] = [(None,)] if vehicle.role is Role.TRAILER else []
    before: str | None = None
    for number, axle in enumerate(vehicle.axles, start=1):
        group = axle.group if axle.sharing is Sharing.EQUALISED else None
        if group is not None and group == before:
            lines[-1] = (*lines[-1], number)
        else:
            lines.append((number,))
        before = group
    return tuple(lines)
