"""Student's t, and the effective degrees of freedom of a doubt only part of which is learned.

Method: a part of a variance that was learned has a quantile of its own, that of t at its degrees of freedom. The square
of the 95 % quantile of the whole is the mean of the squares of those of its parts, weighted by their shares of the
variance, so that the squares of expanded uncertainties add up. Effective degrees of freedom are those at which t has
that quantile. Held against the distribution of the sum (JCGM 101:2008, 6.4.9), such intervals hold 95.0 to 95.2 % for
any shares; with the formula of Welch and Satterthwaite (JCGM 100:2008, G.4) they hold 92.7 % where half of the variance
is known to 4 degrees of freedom and the rest is known, and 94.9 % where it is 60.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from steelyard.distributions import functions

Array = NDArray[np.float64]

COVERAGE = 0.95

SIGNIFICANCE = 0.01
"""Chance of a false alarm on a day without a slip, shared over its readings."""

NODES = 512
"""Places at which the inverse of a quantile is kept; between them effective degrees of freedom are off by 2e-6."""

FEWEST = 0.5
"""Degrees of freedom down to which it is kept."""


def student_quantile(dof: Array, probability: float = 0.5 + COVERAGE / 2) -> Array:
    """Quantile of Student's t, shape of ``dof``; infinite degrees of freedom give the normal quantile."""
    special = functions()
    found = np.full(dof.shape, special.ndtri(probability))
    few = dof <= 1e8
    found[few] = special.stdtrit(dof[few], probability)
    return found


def student_probability(dof: float, deviate: float) -> float:
    """Probability that a t variable is at most ``deviate``."""
    special = functions()
    return float(special.ndtr(deviate) if dof > 1e8 else special.stdtr(dof, deviate))


def student_probabilities(dof: Array, deviates: Array) -> Array:
    """The same of many variables, each with degrees of freedom of its own; both of one shape."""
    special = functions()
    far: Array = special.ndtr(deviates)
    few = dof <= 1e8
    if few.any():
        far[few] = special.stdtr(dof[few], deviates[few])
    return far


def excess_of(dof: Array) -> Array:
    """By how much the square of the 95 % quantile of t exceeds that of the normal, as a share of it, shape of ``dof``
    (n,).
    """
    return (student_quantile(dof) / _normal()) ** 2 - 1.0


@cache
def _normal() -> float:
    return float(student_quantile(np.array([np.inf]))[0])


def effective_dof(excess: Array) -> Array:
    """Degrees of freedom at which t has such an excess; infinite without any.

    ``excess`` is the sum over the learned parts of their share of the variance times ``excess_of`` their degrees of
    freedom; any shape.
    """
    logarithms, ratios = _inverse()
    size = np.log1p(np.maximum(excess, 0.0))
    inverse = size * np.interp(size, logarithms, ratios)
    return np.where(inverse > 1e-9, 1.0 / np.maximum(inverse, 1e-9), np.inf)


@cache
def _inverse() -> tuple[Array, Array]:
    """Logarithms of the square of the quantile over that of the normal, and the inverse of the degrees of freedom as a
    multiple of them: nearly constant, so that a line between few nodes is close.
    """
    inverse = np.linspace(0.0, 1.0 / FEWEST, NODES)[1:] ** 1.5 * FEWEST**0.5
    size = np.log1p(excess_of(1.0 / inverse))
    # t = z + (z + z^3) / (4 dof) + ..., so that the ratio of both tends to this
    return np.append(0.0, size), np.append(2.0 / (1.0 + _normal() ** 2), inverse / size)
