"""GUM annex H: the thermometer's calibration line (H.3), and resistance and reactance from one bridge (H.2).

Source: JCGM 100:2008, tables H.2 and H.6, clauses H.2.3, H.2.4, H.3.3 to H.3.6. Grade: data and printed results seen in
the tests of open metrology libraries that quote the guide; recomputed figures derived from the data at full precision.
The shared offset extends H.3.6; its figures were seen in a library's manual.
Tolerance: one unit of the last printed digit where the guide rounds on the way (it does in H.2), half a unit else; for
recomputed figures half a unit of the last digit given.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.adjustment import Blocks, Linear, Propagation
from tests.published.least_squares import Array, Fit, fit

# Table H.6: temperature of the thermometer [degC], observed correction [degC].
THERMOMETER = np.array(
    [
        [21.521, -0.171],
        [22.012, -0.169],
        [22.512, -0.166],
        [23.003, -0.159],
        [23.507, -0.164],
        [23.999, -0.165],
        [24.513, -0.156],
        [25.002, -0.157],
        [25.503, -0.159],
        [26.010, -0.161],
        [26.511, -0.160],
    ]
)
PREDICTED = [-0.1679, -0.1668, -0.1657, -0.1646, -0.1635, -0.1625, -0.1614, -0.1603, -0.1592, -0.1581, -0.1570]
LEFT = [-0.0031, -0.0022, -0.0003, 0.0056, -0.0005, -0.0025, 0.0054, 0.0033, 0.0002, -0.0029, -0.0030]

# Table H.2: potential difference [V], current [mA], phase [rad].
BRIDGE = np.array(
    [
        [5.007, 19.663, 1.0456],
        [4.994, 19.639, 1.0438],
        [5.005, 19.640, 1.0468],
        [4.990, 19.685, 1.0428],
        [4.999, 19.678, 1.0433],
    ]
)


def line(*, offset_u: float | None = None) -> Fit:
    """The line b = y1 + y2 (t - 20 degC); with ``offset_u`` [residual deviations] a shared offset as well."""
    t, b = THERMOMETER.T
    columns = [np.ones(11), t - 20.0]
    if offset_u is None:
        return fit(np.column_stack(columns), b)
    return fit(np.column_stack([*columns, np.ones(11)]), b, prior_u=[np.nan, np.nan, offset_u])


def test_h3_line() -> None:
    found = line()
    assert found.dof == 9
    assert found.estimates[0] == pytest.approx(-0.1712, abs=5e-5)
    assert found.estimates[1] == pytest.approx(0.00218, abs=5e-6)
    assert found.sd[0] == pytest.approx(0.0029, abs=5e-5)
    assert found.sd[1] == pytest.approx(0.00067, abs=5e-6)
    assert found.sigma == pytest.approx(0.0035, abs=5e-5)
    r = found.cofactor[0, 1] / (found.factors[0] * found.factors[1])
    assert r == pytest.approx(-0.930, abs=5e-4)


def test_h3_line_recomputed() -> None:
    found = line()
    assert found.estimates == pytest.approx([-0.17120379013135, 0.00218269773989], rel=1e-10)
    assert found.sd[0] == pytest.approx(0.0028776, abs=5e-8)
    assert found.sd[1] == pytest.approx(0.000667938773, abs=5e-13)
    assert found.sigma == pytest.approx(0.00349756396, abs=5e-12)
    assert found.chi2 == pytest.approx(0.000110096583109, abs=5e-16)


def test_h3_predicted_corrections_and_residuals() -> None:
    found = line()
    assert found.design @ found.estimates == pytest.approx(PREDICTED, abs=5.1e-5)
    assert found.residuals == pytest.approx(LEFT, abs=5.1e-5)


def test_h3_correction_at_thirty_degrees() -> None:
    """The correlation counts: without it the printed 0.0041 would be 0.0073."""
    found = line()
    value, factor = found.of(1.0, 10.0)
    assert value == pytest.approx(-0.1494, abs=5e-5)
    assert factor * found.sigma == pytest.approx(0.0041, abs=5e-5)
    assert factor * found.sigma == pytest.approx(0.00413859575, abs=5e-12)
    assert math.hypot(found.sd[0], 10.0 * found.sd[1]) == pytest.approx(0.0073, abs=5e-5)


def test_h3_offset_shared_by_all_readings() -> None:
    """An unknown offset of the reference, u 0.005: the intercept takes it whole, the slope not at all.

    It is what a span or zero error is to the readings of one pad: a pseudo-observation, not more scatter.
    """
    plain = line()
    shared = line(offset_u=0.005 / plain.sigma)
    assert shared.estimates == pytest.approx([*plain.estimates, 0.0], abs=1e-9)
    assert shared.chi2 == pytest.approx(plain.chi2, rel=1e-9)
    u = plain.sigma * shared.factors
    assert u[0] == pytest.approx(0.00576893138, abs=5e-12)
    assert u[1] == pytest.approx(0.000667938773, abs=5e-12)


def test_h3_offset_degrees_of_freedom() -> None:
    """The residual deviation is known to 9 degrees of freedom, the offset fully.

    By Welch and Satterthwaite the intercept has 145.38, and so a factor of 1.976, where the readings bring a quarter of
    its variance; ours adds the squares of both expanded uncertainties, and is wider.
    """
    t, b = THERMOMETER.T
    design = np.column_stack([np.ones(11), t - 20.0, np.ones(11)])
    variance = line().sigma ** 2
    blocks = Blocks([np.array([row]) for row in range(11)], [np.zeros((1, 1))] * 11, [[np.array([[variance]])] * 11])
    found = fit(design, b, blocks=blocks, prior_u=[np.nan, np.nan, 0.005])
    estimates = Propagation(found.solution, blocks, design, np.array([9.0])).of(Linear(found.estimates, np.eye(3)))
    assert estimates.u[0] == pytest.approx(0.00576893138, abs=5e-12)
    share = math.sqrt(9.0 / 145.38)  # what the readings bring
    expanded = math.sqrt(share * 2.262157**2 + (1.0 - share) * 1.959964**2)  # t with 9 degrees of freedom, and normal
    assert estimates.half_widths[0] / estimates.u[0] == pytest.approx(expanded, abs=1e-4)
    assert expanded > 1.976
    assert estimates.dof[1] == pytest.approx(9.0, rel=1e-5)


def bridge_means() -> tuple[Fit, Blocks]:
    """Means of the five triples, each triple one block with the full covariance that the five show."""
    apart = BRIDGE - BRIDGE.mean(axis=0)
    covariance = apart.T @ apart / 4.0
    blocks = Blocks([np.arange(3) + 3 * k for k in range(5)], [covariance] * 5, [])
    return fit(np.tile(np.eye(3), (5, 1)), BRIDGE.ravel(), blocks=blocks), blocks


def correlations(roots: Array, u: Array) -> Array:
    """Correlation matrix of some estimates."""
    return roots @ roots.T / np.outer(u, u)


def test_h2_means_and_their_correlations() -> None:
    found, _ = bridge_means()
    assert found.estimates == pytest.approx([4.9990, 19.6610, 1.04446], abs=5e-6)
    assert found.factors[0] == pytest.approx(0.0032, abs=5e-5)
    assert found.factors[1] == pytest.approx(0.0095, abs=5e-5)
    assert found.factors[2] == pytest.approx(0.00075, abs=5e-6)
    r = found.cofactor / np.outer(found.factors, found.factors)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=0.005)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.35531122, 0.85762421, -0.64511122], abs=5e-9)


def test_h2_resistance_reactance_and_impedance() -> None:
    """Approach 1 (H.2.3): the three output quantities share their inputs, and their correlations are printed."""
    found, blocks = bridge_means()
    volts, amperes, phi = found.estimates[0], found.estimates[1] / 1000.0, found.estimates[2]
    z = volts / amperes
    values = np.array([z * math.cos(phi), z * math.sin(phi), z])
    by_phi = np.array([-values[1], values[0], 0.0])
    gradients = np.column_stack([values / volts, -values / amperes / 1000.0, by_phi])
    propagation = Propagation(found.solution, blocks, found.design, np.array([]))
    estimates = propagation.of(Linear(values, gradients))
    assert estimates.values == pytest.approx([127.732, 219.847, 254.260], abs=5e-4)
    assert estimates.u == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)
    r = correlations(estimates.roots, estimates.u)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=1e-3)
    assert estimates.u == pytest.approx([0.07107141, 0.29558168, 0.23633613], abs=5e-9)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.58842978, -0.48525922, 0.99251165], abs=5e-9)


def test_h2_each_triple_first() -> None:
    """Approach 2 (H.2.4): R, X and Z of each triple, then their means."""
    volts, amperes, phi = BRIDGE[:, 0], BRIDGE[:, 1] / 1000.0, BRIDGE[:, 2]
    triples = (volts / amperes)[:, None] * np.column_stack([np.cos(phi), np.sin(phi), np.ones(5)])
    apart = triples - triples.mean(axis=0)
    blocks = Blocks([np.arange(3) + 3 * k for k in range(5)], [apart.T @ apart / 4.0 + 1e-9 * np.eye(3)] * 5, [])
    found = fit(np.tile(np.eye(3), (5, 1)), triples.ravel(), blocks=blocks)
    assert found.estimates == pytest.approx([127.73163048, 219.84689460, 254.26004959], abs=5e-7)
    assert found.factors == pytest.approx([0.07127354, 0.29548909, 0.23624750], abs=5e-7)
    r = found.cofactor / np.outer(found.factors, found.factors)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.58827686, -0.48506461, 0.99250754], abs=5e-7)
