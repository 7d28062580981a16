"""A straight line through points in doubt both ways: Pearson's points with York's weights, and its correlated cousins.

Sources: K. Pearson, On lines and planes of closest fit, Phil. Mag. 2 (1901), the points; D. York, Least-squares fitting
of a straight line, Can. J. Phys. 44 (1966), the weights; B. C. Reed, Linear least-squares fits with errors in both
coordinates II, Am. J. Phys. 60 (1992), slope -0.480533407 and intercept 5.479910224; D. York et al., Am. J. Phys. 72
(2004), standard errors 0.058 and 0.295. All from memory; the slope and the intercept are found again below by a general
optimiser, and the standard errors by ODRPACK, neither of which shares anything with the fit.
Tolerance: half a unit of the last printed digit.
"""

from __future__ import annotations

import warnings

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import minimize

from steelyard.learning import FittedLine, NoLineError, york

with warnings.catch_warnings():
    warnings.simplefilter("ignore", DeprecationWarning)
    from scipy import odr

Array = NDArray[np.float64]

X = np.array([0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4])
Y = np.array([5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5])
WEIGHT_X = np.array([1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0])
WEIGHT_Y = np.array([1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0])
SLOPE, INTERCEPT = -0.480533407, 5.479910224


def fitted(covariance: Array | None = None) -> FittedLine:
    nothing = np.zeros(len(X))
    return york(
        X, Y, var_x=1.0 / WEIGHT_X, var_y=1.0 / WEIGHT_Y, covariance=nothing if covariance is None else covariance
    )


def squares(line: Array, covariance: Array) -> float:
    """What the best line makes smallest, with the points' own places already at their best."""
    slope, intercept = line
    left = Y - intercept - slope * X
    return float((left**2 / (1.0 / WEIGHT_Y + slope**2 / WEIGHT_X - 2.0 * slope * covariance)).sum())


def test_the_published_line() -> None:
    line = fitted()
    assert line.slope == pytest.approx(SLOPE, abs=5e-10)
    assert line.intercept == pytest.approx(INTERCEPT, abs=5e-10)
    assert (line.u_slope, line.u_intercept) == (pytest.approx(0.058, abs=5e-4), pytest.approx(0.295, abs=5e-4))
    assert line.chi2 == pytest.approx(11.8663531941, abs=1e-9)
    assert line.dof == 8


@pytest.mark.parametrize("share", [0.0, 0.4, -0.7])
def test_a_general_optimiser_finds_the_same_line(share: float) -> None:
    covariance = share / np.sqrt(WEIGHT_X * WEIGHT_Y)
    line = fitted(covariance)
    found = minimize(
        squares, [-0.5, 5.5], args=(covariance,), method="Nelder-Mead", options={"xatol": 1e-12, "fatol": 1e-15}
    )
    assert line.slope == pytest.approx(found.x[0], abs=2e-8)
    assert line.intercept == pytest.approx(found.x[1], abs=1e-7)
    assert line.chi2 == pytest.approx(found.fun, abs=1e-12)


def test_orthogonal_distance_regression_finds_the_same_line_and_errors() -> None:
    model = odr.Model(lambda line, x: line[0] * x + line[1])
    data = odr.RealData(X, Y, sx=1.0 / np.sqrt(WEIGHT_X), sy=1.0 / np.sqrt(WEIGHT_Y))
    found = odr.ODR(data, model, beta0=[-0.5, 5.5], sstol=1e-14, partol=1e-14, maxit=500).run()
    line = fitted()
    assert line.slope == pytest.approx(found.beta[0], abs=1e-7)
    assert line.intercept == pytest.approx(found.beta[1], abs=1e-6)
    # ODRPACK's covariance is not scaled by the scatter; it linearises at the points as seen, hence the wider tolerance
    assert line.u_slope == pytest.approx(np.sqrt(found.cov_beta[0, 0]), rel=0.02)
    assert line.u_intercept == pytest.approx(np.sqrt(found.cov_beta[1, 1]), rel=0.02)


def test_turned_around_it_is_the_same_line() -> None:
    nothing = np.zeros(len(X))
    turned = york(Y, X, var_x=1.0 / WEIGHT_Y, var_y=1.0 / WEIGHT_X, covariance=nothing)
    assert turned.slope == pytest.approx(1.0 / SLOPE, rel=1e-8)


@pytest.mark.parametrize(
    ("x", "message"), [([1.0], "a line takes two points or more"), ([2.0, 2.0], "the points do not move along x")]
)
def test_points_that_make_no_line(x: list[float], message: str) -> None:
    ones = np.ones(len(x))
    with pytest.raises(NoLineError) as caught:
        york(np.array(x), np.linspace(0.0, 1.0, len(x)), var_x=ones * 0.0, var_y=ones, covariance=ones * 0.0)
    assert str(caught.value) == message
