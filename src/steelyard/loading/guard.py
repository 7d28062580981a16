"""The guard band of a limit: its quantile from the degrees of freedom of a doubt that is partly learned.

Sources: JCGM 106:2012, 8.3.3 (guard band); for the degrees of freedom see ``adjustment.effective_dof``.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import effective_dof, excess_of, student_quantile
from steelyard.conformity import CONFIDENT

Array = NDArray[np.float64]

NODES = 8193
FEWEST = 2.0
"""Degrees of freedom down to which quantiles are read from a table; between its nodes they are off by 1e-9 at most."""


def quantile_of(learned: Array, variance: Array, dof: Sequence[float]) -> Array:
    """One-sided 95 % quantile of each of many quantities, of any one shape.

    Parameters
    ----------
    learned: the part of the variance that each learned component brings, shape (components, ...). variance: all of it.
    dof: degrees of freedom of each component.
    """
    excess = np.tensordot(excess_of(np.array(dof)), learned, axes=1)
    inverse = 1.0 / effective_dof(excess / np.maximum(variance, 1e-140))
    places, quantiles = _table()
    found = np.interp(inverse, places, quantiles)
    few = inverse > places[-1]
    if few.any():
        found[few] = student_quantile(1.0 / inverse[few], CONFIDENT)
    return found


def quantile_range(dof: Sequence[float]) -> tuple[float, float]:
    """The least and the greatest quantile that any mixture of components with these degrees of freedom can have."""
    least, greatest = student_quantile(np.array([np.inf, min(dof, default=np.inf)]), CONFIDENT)
    return float(least), float(greatest)


@cache
def _table() -> tuple[Array, Array]:
    """Quantiles over the inverse of the degrees of freedom."""
    places = np.linspace(0.0, 1.0 / FEWEST, NODES)
    with np.errstate(divide="ignore"):
        return places, student_quantile(1.0 / places, CONFIDENT)
