"""A quantity: a value in SI with the standard uncertainty its writer stated, if any."""

from __future__ import annotations

from enum import StrEnum

from steelyard.classes import dataclass


class Dimension(StrEnum):
    """The dimension of a quantity; each has one SI unit (loads are in mass units, as a scale shows them)."""

    MASS = "mass"  # kg
    LENGTH = "length"  # m
    RATE = "spring rate"  # kg/m, load in mass units
    ROLL_RATE = "roll rate"  # kg*m/rad
    COUPLE = "couple"  # kg*m
    ANGLE = "angle"  # rad
    DENSITY = "density"  # kg/m3
    VOLUME = "volume"  # m3
    SHARE = "share"  # 1
    MASS_FLOW = "mass per time"  # kg/s
    VOLUME_FLOW = "volume per time"  # m3/s
    FORCE = "force"  # N; only what the plate of a coupling says
    PRESSURE = "pressure"  # Pa, above that of the air


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value and its standard uncertainty, both in the SI unit of its dimension.

    ``u`` is None where the writer stated none: absent is not zero.
    """

    value: float
    u: float | None = None

    def u_or(self, default: float) -> float:
        """The stated standard uncertainty, or ``default`` where none was stated."""
        return default if self.u is None else self.u
