"""The user's units: what bare numbers mean and what the output is written in."""

from __future__ import annotations

from steelyard.classes import dataclass
from steelyard.units.quantity import Dimension
from steelyard.units.table import UNITS


@dataclass(frozen=True, slots=True)
class UnitSystem:
    """A mass unit and a length unit; every other unit follows from the two."""

    mass: str = "lb"
    length: str = "in"

    def symbol(self, dimension: Dimension) -> str:
        """The unit in which a quantity of ``dimension`` is shown."""
        match dimension:
            case Dimension.MASS:
                return self.mass
            case Dimension.LENGTH:
                return self.length
            case Dimension.SHARE:
                return "%"
            case Dimension.RATE:
                return f"{self.mass}/{self.length}"
            case Dimension.COUPLE:
                return f"{self.mass}*{self.length}"
            case Dimension.ROLL_RATE:
                return f"{self.mass}*{self.length}/rad"
            case Dimension.ANGLE:
                return "deg"
            case Dimension.VOLUME:
                return "gal" if self.mass == "lb" else "L"
            case Dimension.DENSITY:
                return f"{self.mass}/{self.symbol(Dimension.VOLUME)}"
            case Dimension.MASS_FLOW:
                return f"{self.mass}/h"
            case Dimension.VOLUME_FLOW:
                return f"{self.symbol(Dimension.VOLUME)}/h"
            case Dimension.FORCE:
                return "kN"  # the plates of couplings are marked in it everywhere
            case Dimension.PRESSURE:
                return "psi" if self.mass == "lb" else "bar"  # as gauges show it

    def factor(self, dimension: Dimension) -> float:
        """The SI value of one shown unit of ``dimension``."""
        return UNITS[self.symbol(dimension)].factor

    def show(self, value: float, dimension: Dimension) -> float:
        """An SI value as a number in the shown unit."""
        return value / self.factor(dimension)
