"""Cargo: a thing with a mass and a place; either may be unknown."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from steelyard.classes import dataclass
from steelyard.units import Quantity


class CargoError(ValueError):
    """A cargo whose keys contradict one another."""


@dataclass(frozen=True, slots=True)
class Cargo:
    """People, tools, a tank, bales: aboard one vehicle, at one place.

    ``rate`` or ``volume_rate`` is how fast the amount changes by itself, as fuel does while an engine runs; what is
    stated is then the amount at the first draft with it aboard.

    The mass is ``mass``, or volume x density x level (level 1 where left out). A missing mass or place is unknown and
    is estimated if the drafts allow.

    Attributes
    ----------
    mass [kg], volume [m3], density [kg/m3], level [1], x, y, z [m], rate [kg/s], volume_rate [m3/s].
    roof: it lies on the roof, which rules of the road ask for.
    """

    id: str
    on: str
    mass: Quantity | None = None
    volume: Quantity | None = None
    density: Quantity | None = None
    level: Quantity | None = None
    x: Quantity | None = None
    y: Quantity | None = None
    z: Quantity | None = None
    name: str = ""
    movable: bool = False
    rate: Quantity | None = None
    volume_rate: Quantity | None = None
    roof: bool = False

    @property
    def title(self) -> str:
        """The name for people: the stated one, else the id."""
        return self.name or self.id

    @property
    def is_tank(self) -> bool:
        """Whether the mass comes from a volume and a density."""
        return self.mass is None and self.volume is not None and self.density is not None

    @property
    def mass_known(self) -> bool:
        """Whether the mass is stated, directly or as a tank's contents."""
        return self.mass is not None or self.is_tank

    def mass_value(self) -> Quantity:
        """The stated mass [kg] with its standard uncertainty by first-order propagation (JCGM 100, 5.1.2).

        Raises
        ------
        CargoError: the mass is unknown.
        """
        if self.mass is not None:
            return self.mass
        if self.volume is None or self.density is None:
            raise CargoError(f"the mass of cargo {self.id!r} is unknown")
        factors = [self.volume, self.density] + ([self.level] if self.level is not None else [])
        value = math.prod(factor.value for factor in factors)
        variance = 0.0
        for index, factor in enumerate(factors):
            others = math.prod(other.value for place, other in enumerate(factors) if place != index)
            variance += (others * factor.u_or(0.0)) ** 2
        return Quantity(value, math.sqrt(variance))

    @property
    def drifts(self) -> bool:
        """Whether the amount changes by itself with time."""
        return self.rate is not None or self.volume_rate is not None

    def changed(self, overrides: Mapping[str, Quantity]) -> Cargo:
        """This cargo with some of its quantities replaced, as a state may ask."""
        return replace(self, **overrides) if overrides else self
