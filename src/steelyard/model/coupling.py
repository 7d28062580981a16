"""Couplings: where one vehicle hangs on another."""

from __future__ import annotations

from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.units import Quantity


class CouplingType(StrEnum):
    """The kinds of coupling; a fifth wheel also ties roll."""

    BALL = "ball"
    PINTLE = "pintle"
    GOOSENECK = "gooseneck"
    FIFTH_WHEEL = "fifth_wheel"


@dataclass(frozen=True, slots=True)
class Marked:
    """The values on the plate of one part of a coupling, UN Regulation 55; None where the plate has no such value.

    Attributes
    ----------
    part: its name for people, as ``ball`` or ``bracket``; empty: the coupling as a whole.
    d, dc: horizontal strength [N], of which ``dc`` for a rigid drawbar. v: vertical strength [N].
    s: vertical load [kg]. u: load on a fifth wheel [kg].
    """

    part: str = ""
    d: float | None = None
    dc: float | None = None
    v: float | None = None
    s: float | None = None
    u: float | None = None


@dataclass(frozen=True, slots=True)
class Coupling:
    """A coupling on the vehicle in front; the trailer hangs on it by its own coupling point (``x = 0`` there).

    Attributes
    ----------
    x: place on the vehicle that carries it [m], rearward.
    vertical, gross: its ratings [kg]; None where the label gives none.
    roll_rate: stiffness of the roll tie [kg*m/rad], fifth wheels only.
    marked: what the plates of its parts say; for rules of the road alone.
    """

    id: str
    type: CouplingType
    x: Quantity
    vertical: float | None = None
    gross: float | None = None
    roll_rate: Quantity | None = None
    marked: tuple[Marked, ...] = ()
