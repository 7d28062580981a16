"""A level net and a triangle: adjusted values, deviations, residuals, redundancy numbers and studentised residuals.

Source: Mikhail and Ackermann, Observations and Least Squares (1976), table 7-1 (p. 147) and example 7.1 (pp. 140-141).
Grade: data seen in a public implementation of the book's examples; results derived.
Tolerance: half a unit of the last digit given.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.published.least_squares import Fit, fit

# From, to, length [km], observed difference of height [m].
LINES = [
    ("A", "B", 18.1, 25.42),
    ("B", "C", 9.4, 10.34),
    ("C", "A", 14.2, -35.20),
    ("B", "D", 17.6, -15.54),
    ("D", "E", 13.5, 21.32),
    ("E", "C", 9.9, 4.82),
    ("E", "A", 13.8, -31.02),
    ("C", "D", 14.0, -26.11),
]
BENCHES = "BCDE"  # above A


def net() -> Fit:
    """Heights above A; the variance of a line is its length, so sigma is per square root of a kilometre."""
    rows = [[float(bench == end) - float(bench == start) for bench in BENCHES] for start, end, _, _ in LINES]
    return fit(rows, [line[3] for line in LINES], variances=[line[2] for line in LINES])


def test_heights_and_deviations() -> None:
    found = net()
    assert found.dof == 4
    assert found.estimates == pytest.approx([25.220624, 35.535430, 9.533928, 30.846029], abs=5.1e-7)
    assert found.sigma == pytest.approx(0.06358335, abs=5e-9)
    assert found.chi2 == pytest.approx(0.01617137, abs=5e-9)
    assert found.sd == pytest.approx([0.180514, 0.161455, 0.200965, 0.171073], abs=5e-7)


def test_residuals() -> None:
    """Printed as adjusted minus observed."""
    expected = [-0.199376, -0.025194, -0.335430, -0.146696, -0.007900, -0.130598, 0.173971, 0.108498]
    assert -net().residuals == pytest.approx(expected, abs=5.1e-7)


def test_redundancy_numbers() -> None:
    redundancy = net().checked().redundancy
    expected = [0.554694, 0.403736, 0.545924, 0.548740, 0.471456, 0.453813, 0.475438, 0.546198]
    assert redundancy == pytest.approx(expected, abs=5.1e-7)
    assert redundancy.sum() == pytest.approx(4.0, abs=1e-12)


def test_studentised_residuals() -> None:
    """Baarda's w for variances as given, divided by the sigma that the residuals show; signs as printed."""
    found = net()
    expected = [-0.989607, -0.203396, -1.894734, -0.742396, -0.049246, -0.969033, 1.068188, 0.617077]
    assert -found.checked().normalised() / found.sigma == pytest.approx(expected, abs=5.1e-7)


@pytest.mark.parametrize("row", range(8))
def test_the_square_of_w_is_what_leaving_the_reading_out_saves(row: int) -> None:
    found = net()
    rest = [index for index in range(8) if index != row]
    less = fit(found.design[rest], [LINES[index][3] for index in rest], variances=[LINES[index][2] for index in rest])
    checked = found.checked()
    assert checked.normalised()[row] ** 2 == pytest.approx(found.chi2 - less.chi2, rel=1e-9)
    checked.free(row)
    left = np.array([LINES[index][3] for index in rest]) - less.design @ less.estimates
    assert checked.weighed[rest] == pytest.approx(left / [LINES[index][2] for index in rest], abs=1e-12)
    assert checked.redundancy.sum() == pytest.approx(3.0, abs=1e-12)


OBSERVED = [(40, 19, 2), (70, 30, 1), (69, 11, 0)]
ADJUSTED = [(40, 19, 1), (70, 30, 0), (69, 10, 59)]


def seconds(angle: tuple[int, int, int]) -> float:
    """Degrees, minutes and seconds in seconds of arc."""
    return 3600.0 * angle[0] + 60.0 * angle[1] + angle[2]


def test_triangle() -> None:
    """Three angles of equal weight, the third 180 degrees less the others: each takes a third of the misclosure."""
    seen = np.array([seconds(angle) for angle in OBSERVED])
    whole = np.array([0.0, 0.0, 180 * 3600.0])
    assert whole[2] - seen.sum() == pytest.approx(-3.0)
    rows = np.array([[1.0, 0.0], [0.0, 1.0], [-1.0, -1.0]])
    found = fit(rows, seen - whole)
    assert rows @ found.estimates + whole == pytest.approx([seconds(angle) for angle in ADJUSTED], abs=1e-6)
    assert -found.residuals == pytest.approx([-1.0, -1.0, -1.0], abs=1e-6)
    assert found.chi2 == pytest.approx(3.0, abs=1e-6)
    expected = [[0.6666667, -0.3333333, -0.3333333], [-0.3333333, 0.6666667, -0.3333333]]
    assert (rows @ found.cofactor @ rows.T)[:2] == pytest.approx(np.array(expected), abs=5e-8)
