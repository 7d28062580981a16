"""Numbers that a height follows from: those of the adjustment, and those with an uncertainty of their own."""

from __future__ import annotations

import numpy as np

from steelyard.adjustment.adjust import Adjustment
from steelyard.adjustment.system.unknowns import Array
from steelyard.classes import dataclass


@dataclass(frozen=True, slots=True)
class _Origin:
    """Where a number comes from: an unknown, a sum of loads, or a statement with an uncertainty of its own [SI]."""

    unknown: int | None = None
    loads: tuple[int, ...] = ()
    own_u: float = 0.0


class GivenNumbers:
    """Numbers by key, each added once, and their covariance.

    Attributes
    ----------
    values: of each number [SI], in order of addition.
    """

    def __init__(self, adjustment: Adjustment) -> None:
        self._adjustment = adjustment
        self.values: list[float] = []
        self._origins: list[_Origin] = []
        self._at: dict[object, int] = {}

    def __len__(self) -> int:
        return len(self.values)

    def add(self, key: object, value: float, *, u: float = 0.0) -> int:
        """The place of a number that is stated, with an uncertainty of its own [SI]."""
        return self._placed(key, value, _Origin(own_u=u))

    def unknown(self, key: tuple[object, ...], stated: float) -> int:
        """The place of an unknown of the adjustment, or of its exact value where it is none."""
        at = self._adjustment.rig.unknowns.index.get(key)
        value = stated if at is None else float(self._adjustment.unknowns[at])
        return self._placed(key, value, _Origin(at))

    def loads(self, key: object, outputs: list[int]) -> int:
        """The place of a sum of loads."""
        value = float(self._adjustment.loads.values[outputs].sum())
        return self._placed(key, value, _Origin(loads=tuple(outputs)))

    def _placed(self, key: object, value: float, origin: _Origin) -> int:
        if key not in self._at:
            self._at[key] = len(self.values)
            self.values.append(value)
            self._origins.append(origin)
        return self._at[key]

    def roots(self) -> Array:
        """Root of the part of the covariance that the adjustment gives, shape (numbers, columns)."""
        gradients = np.zeros((len(self), len(self._adjustment.unknowns)))
        for row, origin in enumerate(self._origins):
            if origin.unknown is not None:
                gradients[row, origin.unknown] = 1.0
            elif origin.loads:
                gradients[row] = self._adjustment.loads.jacobian[list(origin.loads)].sum(axis=0)
        return gradients @ self._adjustment.solution.root

    def covariance(self) -> Array:
        """Of all of them, shape (numbers, numbers)."""
        roots = self.roots()
        return roots @ roots.T + np.diag([origin.own_u**2 for origin in self._origins])

    def true(self, unknowns: Array, loads: Array, own: Array) -> Array:
        """The numbers of true days, shape (n, numbers).

        Parameters
        ----------
        unknowns, loads: true values, shapes (n, unknowns) and (n, outputs). own: standard normal, shape (n, numbers).
        """
        found = np.empty((len(unknowns), len(self)))
        for column, (value, origin) in enumerate(zip(self.values, self._origins, strict=True)):
            if origin.unknown is not None:
                found[:, column] = unknowns[:, origin.unknown]
            elif origin.loads:
                found[:, column] = loads[:, list(origin.loads)].sum(axis=1)
            else:
                found[:, column] = value + origin.own_u * own[:, column]
        return found
