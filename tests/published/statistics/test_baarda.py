"""Outlier tests: critical values, non-centrality, minimal detectable bias, and the global test's chi-square points.

Source: Baarda, A testing procedure for use in geodetic networks (1968): 3.29, 4.13 and 17.07 for alpha 0.001 and power
0.80 (from memory); the rest derived from the normal and chi-square distributions, as printed in any table.
Tolerance: half a unit of the last digit; the simulated power within four binomial standard deviations.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.adjustment import Blocks, student_quantile
from steelyard.adjustment.misfit.consistency import (
    SIGNIFICANCE,
    Exchanges,
    critical,
    global_probability,
    reference_dof,
    snoop,
)
from tests.published.least_squares import fit

FOREVER = np.array([np.inf])
POWER = 0.80

# alpha: critical value of |w|, delta0, lambda0 (power 80 %)
TABLE = {
    0.05: (1.9600, 2.8016, 7.8489),
    0.01: (2.5758, 3.4175, 11.6790),
    0.001: (3.2905, 4.1321, 17.0746),
    0.0001: (3.8906, 4.7322, 22.3938),
}

# Degrees of freedom: the points exceeded with probability 97.5, 95, 5 and 2.5 %.
CHI_SQUARE = {
    1: (0.000982, 0.003932, 3.841459, 5.023886),
    2: (0.050636, 0.102587, 5.991465, 7.377759),
    3: (0.215795, 0.351846, 7.814728, 9.348404),
    4: (0.484419, 0.710723, 9.487729, 11.143287),
    5: (0.831212, 1.145476, 11.070498, 12.832502),
    10: (3.246973, 3.940299, 18.307038, 20.483177),
}


@pytest.mark.parametrize(("alpha", "printed"), TABLE.items(), ids=str)
def test_critical_values_and_non_centrality(alpha: float, printed: tuple[float, float, float]) -> None:
    k = float(student_quantile(FOREVER, 1.0 - alpha / 2)[0])
    delta = k + float(student_quantile(FOREVER, POWER)[0])
    assert (k, delta, delta**2) == pytest.approx(printed, abs=5.1e-5)


@pytest.mark.parametrize(("readings", "k"), [(1, 2.5758), (10, 3.2905), (100, 3.8906)])
def test_one_per_cent_a_day_is_shared_over_its_readings(readings: int, k: float) -> None:
    """Ten checked readings of known variance are each judged at 0.001, and so on; unchecked ones do not count."""
    assert SIGNIFICANCE == 0.01
    blocks = Blocks.independent(np.full(readings + 2, 9.0))
    limits = critical(blocks, np.array([]), np.array([True] * readings + [False] * 2))
    assert limits == pytest.approx(np.full(readings + 2, k), abs=5.1e-5)


@pytest.mark.parametrize(("dof", "points"), CHI_SQUARE.items(), ids=str)
def test_global_test(dof: int, points: tuple[float, ...]) -> None:
    """Known variances: the probability of each printed point. A point's rounding moves it by density times 5e-7."""
    blocks = Blocks.independent(np.ones(dof))
    found = [global_probability(point, dof, reference_dof(blocks, np.array([]))) for point in points]
    assert found == pytest.approx([0.975, 0.95, 0.05, 0.025], abs=1e-5)


# A loop of levels between five benches, lengths of all sorts; the first bench is given.
NET = np.array(
    [
        [1, 0, 0, 0],
        [-1, 1, 0, 0],
        [0, -1, 1, 0],
        [0, 0, -1, 1],
        [0, 0, 0, -1],
        [0, 1, 0, 0],
        [-1, 0, 1, 0],
        [0, -1, 0, 1],
    ],
    dtype=float,
)
VARIANCES = np.array([4.0, 1.0, 2.25, 1.0, 9.0, 4.0, 1.0, 2.0])


def test_minimal_detectable_bias() -> None:
    """A reading off by delta0 sigma / sqrt(r) has an expected w of delta0, whatever the net."""
    delta = TABLE[0.001][1]
    redundancy = fit(NET, np.zeros(8), variances=VARIANCES).checked().redundancy
    for row in range(8):
        bias = delta * math.sqrt(VARIANCES[row] / redundancy[row])
        w = fit(NET, bias * np.eye(8)[row], variances=VARIANCES).checked().normalised()
        assert w[row] == pytest.approx(delta, rel=1e-9)
        assert np.argmax(np.abs(w)) == row


def test_power_at_the_minimal_detectable_bias() -> None:
    """Such a slip is found in 80 % of days where that reading is tested at 0.001."""
    trials, row = 1500, 5
    rng = np.random.default_rng(1968)
    k, delta, _ = TABLE[0.001]
    clean = fit(NET, np.zeros(8), variances=VARIANCES)
    bias = delta * math.sqrt(VARIANCES[row] / clean.checked().redundancy[row])
    found = 0
    for noise in rng.standard_normal((trials, 8)):
        seen = noise * np.sqrt(VARIANCES) + bias * np.eye(8)[row]
        found += abs(fit(NET, seen, variances=VARIANCES).checked().normalised()[row]) > k
    assert abs(found / trials - POWER) < 4 * math.sqrt(POWER * (1 - POWER) / trials)


def test_false_alarms() -> None:
    """On clean days the search raises an alarm in no more than 1 %, and in not far fewer (readings are correlated)."""
    trials = 2000
    rng = np.random.default_rng(1969)
    alarms = 0
    nowhere = np.zeros(0, dtype=int)
    none = Exchanges(nowhere, nowhere, nowhere, np.zeros(0))
    for noise in rng.standard_normal((trials, 8)):
        checked = fit(NET, noise * np.sqrt(VARIANCES), variances=VARIANCES).checked()
        limits = critical(Blocks.independent(VARIANCES), np.array([]), checked.redundancy > 1e-6)
        alarms += bool(snoop(checked, limits, [1] * 8, none))
    assert alarms / trials < 0.01 + 4 * math.sqrt(0.01 / trials)
    assert alarms / trials > 0.003
