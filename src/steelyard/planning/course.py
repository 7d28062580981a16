"""Cost of candidates one after the other, where each changes the state that the next one finds."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Course(Protocol):
    """Cost of candidates one after the other.

    ``start`` is how things stand before the first. Leaving a candidate out of a sequence never makes it dearer.
    """

    @property
    def start(self) -> Hashable:
        """How things stand before anything is done."""
        ...

    def go(self, stands: Hashable, candidate: int) -> Sequence[tuple[float, Hashable]]:
        """Cost of one more candidate and the state after it, for each way to do it that may pay off later."""
        ...

    def regret(self, one: Hashable, other: Hashable) -> float:
        """Largest saving that state ``one`` may bring later over state ``other``."""
        ...


class Alike:
    """A course in which every candidate costs 1, whatever came before."""

    start = 0

    def go(self, stands: Hashable, candidate: int) -> Sequence[tuple[float, Hashable]]:
        """The one way that there is."""
        del candidate
        return ((1.0, stands),)

    def regret(self, one: Hashable, other: Hashable) -> float:
        """Nothing."""
        del one, other
        return 0.0
