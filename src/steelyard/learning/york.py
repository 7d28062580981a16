"""A straight line through points whose both coordinates are in doubt: York's best fit, by closed-form iteration."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_SETTLED = 1e-13
_MOST_STEPS = 500


@dataclass(frozen=True)
class FittedLine:
    """The line ``y = intercept + slope x``.

    Attributes
    ----------
    u_slope, u_intercept, covariance: standard uncertainties and covariance of the two, by the stated doubt of the
        points alone. chi2, dof: weighted sum of squares of what is left, and its degrees of freedom.
    weights: of each point, shape (n,). adjusted: where each point lies along x, counted from their weighted mean,
        shape (n,).
    """

    slope: float
    intercept: float
    u_slope: float
    u_intercept: float
    covariance: float
    chi2: float
    dof: int
    weights: Array
    adjusted: Array


class NoLineError(ValueError):
    """The points do not make a line: they are fewer than two, or do not move along x."""


def york(x: Array, y: Array, *, var_x: Array, var_y: Array, covariance: Array) -> FittedLine:
    """The line of largest likelihood through points with doubt in both coordinates, correlated where it is.

    Source: D. York, N. M. Evensen, M. Lopez Martinez, J. De Basabe Delgado, Unified equations for the slope, intercept,
    and standard errors of the best straight line, Am. J. Phys. 72 (2004), equations 13.

    Parameters
    ----------
    x, y: the points, shape (n,). var_x, var_y, covariance: variances and covariance of each, shape (n,).

    Raises
    ------
    NoLineError: fewer than two points, or none of them moves along x.
    """
    if len(x) < 2:
        raise NoLineError("a line takes two points or more")
    slope = _start(x, y, float(var_x.mean()), float(var_y.mean()), float(covariance.mean()))
    along = np.zeros_like(x)
    for _ in range(_MOST_STEPS):
        weights = _weights(slope, var_x, var_y, covariance)
        mean_x, mean_y = (float(weights @ part / weights.sum()) for part in (x, y))
        u, v = x - mean_x, y - mean_y
        along = weights * (var_y * u + slope * var_x * v - (slope * u + v) * covariance)
        below = float(weights @ (along * u))
        if not math.isfinite(below) or below == 0.0:
            raise NoLineError("the points do not move along x")
        last, slope = slope, float(weights @ (along * v)) / below
        if abs(slope - last) <= _SETTLED * max(abs(slope), abs(last)):
            break
    return _line(x, y, slope, _weights(slope, var_x, var_y, covariance), along)


def _weights(slope: float, var_x: Array, var_y: Array, covariance: Array) -> Array:
    return 1.0 / np.maximum(var_y + slope**2 * var_x - 2.0 * slope * covariance, 1e-300)


def _line(x: Array, y: Array, slope: float, weights: Array, along: Array) -> FittedLine:
    whole = float(weights.sum())
    mean_x, mean_y = (float(weights @ part / whole) for part in (x, y))
    adjusted = mean_x + along
    middle = float(weights @ adjusted / whole)
    from_middle = adjusted - middle
    spread = float(weights @ from_middle**2)
    if spread <= 0.0:
        raise NoLineError("the points do not move along x")
    intercept = mean_y - slope * mean_x
    left = y - intercept - slope * x
    return FittedLine(
        slope,
        intercept,
        math.sqrt(1.0 / spread),
        math.sqrt(1.0 / whole + middle**2 / spread),
        -middle / spread,
        float(weights @ left**2),
        len(x) - 2,
        weights,
        from_middle,
    )


def _start(x: Array, y: Array, var_x: float, var_y: float, covariance: float) -> float:
    """First guess: the line for points of equal uncertainty, the root of a quadratic (Deming)."""
    u, v = x - x.mean(), y - y.mean()
    xx, yy, xy = float(u @ u), float(v @ v), float(u @ v)
    if var_x <= 0.0:
        return xy / xx if xx > 0.0 else 0.0
    lead = xy * var_x - covariance * xx
    half = (var_y * xx - var_x * yy) / 2.0
    last = covariance * yy - xy * var_y
    if lead == 0.0:
        return 0.0 if half == 0.0 else -last / (2.0 * half)
    root = math.sqrt(max(half**2 - lead * last, 0.0))
    return (-half + root) / lead
