"""Couplings: where one vehicle hangs on another."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from steelyard.units import Quantity


class CouplingType(StrEnum):
    """The kinds of coupling; a fifth wheel also ties roll."""

    BALL = "ball"
    PINTLE = "pintle"
    GOOSENECK = "gooseneck"
    FIFTH_WHEEL = "fifth_wheel"


@dataclass(frozen=True, slots=True)
class Coupling:
    """A coupling on the vehicle in front; the trailer hangs on it by its own coupling point (``x = 0`` there).

    Attributes
    ----------
    x: place on the vehicle that carries it [m], rearward.
    vertical, gross: its ratings [kg]; None where the label gives none.
    roll_rate: stiffness of the roll tie [kg*m/rad], fifth wheels only.
    """

    id: str
    type: CouplingType
    x: Quantity
    vertical: float | None = None
    gross: float | None = None
    roll_rate: Quantity | None = None
