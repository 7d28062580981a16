"""The data of a sweep: readings of many places over one placement, and the uncertainty of each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class SweepError(ValueError):
    """Readings that no line can be learned from; the message says why and what would be right."""


@dataclass(frozen=True)
class Channels:
    """The readings of a sweep: loads [kg], and heights [m] where these were taken, side by side.

    Attributes
    ----------
    names: of the columns. values: shape (n, m), in the order of time.
    division: step of each channel, shape (m,); zero where it shows every value.
    repeatability: standard uncertainty of one reading beyond rounding, shape (m,); dof: to how many degrees of freedom
        that is known, shape (m,).
    span: standard uncertainty of the span of each instrument [1], shape (m,).
    sets: for instruments verified together, the channels that share a span error and its standard uncertainty [1].
    loads: whether a channel is a load and not a height, shape (m,).
    """

    names: tuple[str, ...]
    values: Array
    division: Array
    repeatability: Array
    dof: Array
    span: Array
    sets: tuple[tuple[NDArray[np.bool_], float], ...]
    loads: NDArray[np.bool_]

    @property
    def step(self) -> Array:
        """Size of one step of each channel, above zero: its division, else its repeatability; shape (m,)."""
        smallest = 1e-9 * np.maximum(np.abs(self.values).max(axis=0), 1e-6)
        return np.maximum(np.where(self.division > 0.0, self.division, self.repeatability), smallest)
