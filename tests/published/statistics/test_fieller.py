"""The interval of a ratio of two correlated estimates: exact coverage, where first order is too sure.

Source: Fieller, Some problems in interval estimation, J. R. Stat. Soc. B 16 (1954): the interval holds every ratio rho
for which a - rho b lies within the quantile of its own standard uncertainty. Coverage by Monte Carlo (JCGM 101).
Tolerance: the defining equation to 1e-9; coverage within four binomial standard deviations.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.adjustment import fieller, student_quantile
from steelyard.findings import KNOWN_PLACE
from tests.published.montecarlo import share_error

NORMAL = 1.959963985
REAL = st.floats(-50.0, 50.0)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(a=REAL, b=REAL, u_a=st.floats(0.01, 10.0), u_b=st.floats(0.01, 10.0), r=st.floats(-0.99, 0.99))
def test_bounds_are_where_the_pivot_reaches_the_quantile(a: float, b: float, u_a: float, u_b: float, r: float) -> None:
    covariance = r * u_a * u_b
    bounds = fieller(a, b, variances=(u_a**2, u_b**2), covariance=covariance, quantile=NORMAL)
    if abs(b) < 0.999 * NORMAL * u_b:
        assert bounds is None
    if abs(b) < 1.001 * NORMAL * u_b:
        return  # on the edge the interval reaches to infinity
    assert bounds is not None
    low, high = bounds
    assert low <= a / b <= high
    for rho in bounds:
        spread = math.sqrt(max(u_a**2 - 2 * rho * covariance + (rho * u_b) ** 2, 0.0))
        assert abs(a - rho * b) == pytest.approx(NORMAL * spread, rel=1e-4, abs=1e-6 * (abs(a) + u_a))


def covered(
    quantile: float, *, u_b: float, scales: np.ndarray | None = None, least: float = 0.0, seed: int
) -> tuple[float, float, int]:
    """Shares of intervals that hold the true ratio 0.2, Fieller's and the first-order one, and how many there were.

    Of 20 000 trials those count whose denominator shows at least ``least`` of its standard uncertainties.
    """
    a, b, u_a, r = 200.0, 1000.0, 30.0, 0.6
    rng = np.random.default_rng(seed)
    held: list[bool] = []
    linear: list[bool] = []
    for number, (z, more) in enumerate(rng.standard_normal((20_000, 2))):
        top, bottom = a + u_a * z, b + u_b * (r * z + math.sqrt(1 - r**2) * more)
        s = 1.0 if scales is None else float(scales[number])
        if abs(bottom) < least * s * u_b:
            continue
        variances, covariance = ((s * u_a) ** 2, (s * u_b) ** 2), s**2 * r * u_a * u_b
        bounds = fieller(top, bottom, variances=variances, covariance=covariance, quantile=quantile)
        assert bounds is not None
        held.append(bounds[0] <= a / b <= bounds[1])
        rho = top / bottom
        half = quantile * math.sqrt(variances[0] - 2 * rho * covariance + rho**2 * variances[1]) / abs(bottom)
        linear.append(abs(rho - a / b) <= half)
    return float(np.mean(held)), float(np.mean(linear)), len(held)


def test_coverage_with_known_variances() -> None:
    held, _, trials = covered(NORMAL, u_b=120.0, seed=1)
    assert trials == 20_000
    assert abs(held - 0.95) < 4 * share_error(0.95, trials)


def test_coverage_at_the_edge_of_what_is_called_determined() -> None:
    """A denominator of 4 u, reported where it shows 4 u (half of the days): first order would hold 88 % only."""
    held, linear, trials = covered(NORMAL, u_b=250.0, least=KNOWN_PLACE, seed=4)
    assert trials == pytest.approx(10_000, abs=300)
    assert abs(held - 0.95) < 4 * share_error(0.95, trials)
    assert linear < 0.90


def test_coverage_with_learned_variances() -> None:
    """The scale learned from 6 degrees of freedom, with Student's quantile."""
    rng = np.random.default_rng(2)
    scales = np.sqrt(rng.chisquare(6.0, 20_000) / 6.0)
    quantile = float(student_quantile(np.array([6.0]))[0])
    assert quantile == pytest.approx(2.4469, abs=5e-5)
    held, _, _ = covered(quantile, u_b=120.0, scales=scales, seed=3)
    assert abs(held - 0.95) < 4 * share_error(0.95, 20_000)
    too_sure, _, _ = covered(NORMAL, u_b=120.0, scales=scales, seed=3)
    assert too_sure < 0.95 - 4 * share_error(0.95, 20_000)


def test_sure_denominator_is_first_order() -> None:
    bounds = fieller(120.0, 1000.0, variances=(25.0, 0.0), covariance=0.0, quantile=2.0)
    assert bounds == pytest.approx((0.110, 0.130), abs=1e-12)
