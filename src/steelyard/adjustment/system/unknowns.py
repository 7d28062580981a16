"""The unknowns of a weigh day: what is solved for freely, and what is known beforehand with a doubt.

Free: reference wheel loads, reference coupling loads of trailers, unknown couples, masses and moments of cargo.
Known with a doubt (pseudo-observations): spans, zeros, the taped geometry, stiffness (as logarithms), heights, slope.
A quantity known exactly is no unknown at all.
"""

from __future__ import annotations

from collections.abc import Hashable
from dataclasses import field

import numpy as np
from numpy.typing import NDArray

from steelyard.classes import dataclass

Array = NDArray[np.float64]


@dataclass()
class Unknowns:
    """A growing list of unknowns by key. ``prior_u`` is NaN where an unknown is free."""

    index: dict[Hashable, int] = field(default_factory=dict[Hashable, int])
    start: list[float] = field(default_factory=list[float])
    prior_u: list[float] = field(default_factory=list[float])
    _priors: Array | None = field(default=None, init=False, repr=False, compare=False)

    def free(self, key: Hashable) -> int:
        """The index of a free unknown, added if new."""
        return self._add(key, 0.0, float("nan"))

    def known(self, key: Hashable, value: float, u: float) -> int | None:
        """The index of an unknown with prior ``value`` and standard uncertainty ``u``; None where ``u`` is zero."""
        return self._add(key, value, u) if u > 0.0 else None

    def _add(self, key: Hashable, value: float, u: float) -> int:
        if key not in self.index:
            self.index[key] = len(self.start)
            self.start.append(value)
            self.prior_u.append(u)
        return self.index[key]

    def __len__(self) -> int:
        return len(self.start)

    def starts(self) -> Array:
        """Starting values, shape (unknowns,): priors, and zero for what is free."""
        return np.array(self.start)

    def priors(self) -> Array:
        """Prior standard uncertainties, shape (unknowns,), NaN where free."""
        made = self._priors
        if made is None or len(made) != len(self.prior_u):
            made = self._priors = np.array(self.prior_u)
        return made.copy()


@dataclass(frozen=True, slots=True)
class Term:
    """A number that enters the equations: exact (``index`` None) or an unknown."""

    value: float
    index: int | None = None

    def at(self, unknowns: Array) -> float:
        """Its value at one set of unknowns, shape (unknowns,)."""
        return self.value if self.index is None else float(unknowns[self.index])
