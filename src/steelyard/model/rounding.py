"""How a rule of the road rounds a figure: by a named rule, for laws leave it open and tables differ in the ties."""

from __future__ import annotations

import math
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fractions import Fraction


class Rounding(StrEnum):
    """Named ways to round to a whole number of steps."""

    HALF_UP = "nearest, half up"
    HALF_DOWN = "nearest, half down"
    DOWN = "down"
    NONE = "none"

    def steps(self, exact: Fraction) -> Fraction:
        """A number of steps, rounded; as it is where nothing is rounded."""
        from fractions import Fraction  # slow to load, and few rules round

        match self:
            case Rounding.HALF_UP:
                return Fraction(math.floor(exact + Fraction(1, 2)))
            case Rounding.HALF_DOWN:
                return Fraction(math.ceil(exact - Fraction(1, 2)))
            case Rounding.DOWN:
                return Fraction(math.floor(exact))
            case Rounding.NONE:
                return exact

    @property
    def jump(self) -> Fraction:
        """Where between two whole numbers the rounded value changes."""
        from fractions import Fraction

        return Fraction(1) if self is Rounding.DOWN else Fraction(1, 2)

    @property
    def jump_goes_up(self) -> bool:
        """Whether the value exactly there is rounded up."""
        return self is not Rounding.HALF_DOWN
