"""Assumptions on springs and supports where the file says nothing, each with a wide standard uncertainty.

All of it is common practice, no source: round figures for light trucks and trailers. What statics alone decides does
not depend on any of them; the rest is reported with the doubt they bring.
"""

from __future__ import annotations

from steelyard.classes import dataclass
from steelyard.model import Axle, Coupling
from steelyard.units import Quantity

TAPE = 0.00635
"""Standard uncertainty of a taped length [m]: a quarter of an inch."""

STATED_RATE = 0.10
"""Relative standard uncertainty of a spring or roll rate that the file states without one."""

MOST_DOUBT = 1.0
"""Relative standard uncertainty of a rate, at most: a rate is uncertain as a factor, and one that is known no better
than to a factor of ``e`` either way is not known at all."""

ASSUMED_RATE = 0.50
"""Relative standard uncertainty of a spring or roll rate that is assumed."""

RATED_DEFLECTION = 0.09
"""Deflection of spring and tyre under the rated load [m], from which a rate is assumed where the axle has a rating."""

RIDE_RATE = 7000.0
"""Spring rate of a wheel end [kg/m] where neither a rate nor a rating is known."""

ROLL_SHARE = 0.5
"""Assumed anti-roll stiffness of an axle, as a share of what its springs alone give in roll."""

TIE_RATE = 15000.0
"""Assumed stiffness of a fifth wheel's roll tie [kg*m/rad]."""

FRICTION = 0.01
"""Standard uncertainty of the split of a side of an equalised group [1]."""


@dataclass(frozen=True, slots=True)
class Rate:
    """A stiffness and its relative standard uncertainty; it is uncertain as a factor, so it can never turn negative."""

    value: float
    relative_u: float


def _stated(quantity: Quantity) -> Rate:
    if quantity.value <= 0.0:
        return Rate(0.0, 0.0)
    relative = STATED_RATE if quantity.u is None else min(quantity.u / quantity.value, MOST_DOUBT)
    return Rate(quantity.value, relative)


def ride_rate(axle: Axle) -> Rate:
    """The spring rate of one wheel end of ``axle`` [kg/m]: stated, else from its rating, else a round figure."""
    if axle.ride_rate is not None:
        return _stated(axle.ride_rate)
    if axle.rating is not None:
        return Rate(axle.rating / 2 / RATED_DEFLECTION, ASSUMED_RATE)
    return Rate(RIDE_RATE, ASSUMED_RATE)


def roll_rate(axle: Axle) -> Rate:
    """The anti-roll stiffness of ``axle`` [kg*m/rad]: stated, else none where the springs are stated, else a share."""
    if axle.roll_rate is not None:
        return _stated(axle.roll_rate)
    if axle.ride_rate is not None:
        return Rate(0.0, 0.0)
    springs = ride_rate(axle).value * axle.track.value**2 / 2
    return Rate(ROLL_SHARE * springs, ASSUMED_RATE)


def tie_rate(coupling: Coupling) -> Rate:
    """The stiffness of a fifth wheel's roll tie [kg*m/rad]: stated, else a round figure."""
    if coupling.roll_rate is not None:
        return _stated(coupling.roll_rate)
    return Rate(TIE_RATE, ASSUMED_RATE)
