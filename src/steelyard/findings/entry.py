"""An entry of the catalogue: the recipe of one finding, from loads and from numbers that are known beforehand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import field

from steelyard.adjustment import Term
from steelyard.classes import dataclass
from steelyard.findings.result import Basis
from steelyard.units import Dimension


@dataclass(slots=True)  # a day has hundreds, each used once; a frozen one takes ten times as long to make
class CatalogueEntry:
    """A finding to be calculated: its id, its label, and the loads that it is made from.

    Attributes
    ----------
    terms: sum of load outputs, by index, with a factor each.
    over: the same for a denominator; empty: the quantity is the sum itself.
    arms: unknowns that enter the numerator as an arm: index of the unknown and the load outputs it multiplies.
    known: numbers that are known beforehand, with a doubt or exactly, each with a factor; added to the sum.
    fixed: value of a quantity that is known and does not come from the readings.
    unknown: an unknown that is the quantity itself, or the numerator of a ratio.
    """

    id: str
    label: str
    dimension: Dimension
    basis: Basis
    state: str
    terms: Mapping[int, float] = field(default_factory=dict[int, float])
    over: Mapping[int, float] = field(default_factory=dict[int, float])
    arms: tuple[tuple[int, Mapping[int, float]], ...] = ()
    known: tuple[tuple[Term, float], ...] = ()
    fixed: tuple[float, float] | None = None
    unknown: int | None = None
    over_unknown: int | None = None

    @property
    def told(self) -> bool:
        """Whether it is made of anything: a cargo that is in no state is not."""
        return bool(self.terms or self.known) or self.unknown is not None


def difference(now: Mapping[int, float], then: Mapping[int, float]) -> dict[int, float]:
    """Terms of one sum minus those of another."""
    change = dict(now)
    for at, factor in then.items():
        change[at] = change.get(at, 0.0) - factor
    return change
