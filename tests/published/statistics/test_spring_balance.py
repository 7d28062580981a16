"""Spring-balance designs: several objects weighed together tell more of each than one by one.

Source: Hotelling, Some improvements in weighing and other experimental techniques, Ann. Math. Stat. 15 (1944); Mood
(1946). Grade: derived; the formulas 4 n / (n+1)^2 and (n+1)^((n+1)/2) / 2^n are the textbook result (from memory).
Tolerance: exact results, held to 1e-9; one comes through a whole weigh day, held to 1e-6.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.units import Dimension
from tests.published.least_squares import Array, fit

SIZES = [3, 7, 11, 15]


def s_matrix(n: int) -> Array:
    """The circulant design of order n: quadratic residues for a prime n, a shift register's sequence for 15."""
    if n == 15:
        first = [1, 0, 0, 0]
        while len(first) < n:
            first.append(first[-4] ^ first[-3])
        marks = {place for place, bit in enumerate(first) if bit}
    else:
        squares = {k * k % n for k in range(1, n)}
        marks = {0} | (set(range(1, n)) - squares)
    return np.array([[float((column - row) % n in marks) for column in range(n)] for row in range(n)])


@pytest.mark.parametrize("n", SIZES)
def test_the_design_is_what_the_theory_asks(n: int) -> None:
    x = s_matrix(n)
    assert (x.sum(axis=1) == (n + 1) // 2).all()
    assert abs(np.linalg.det(x)) == pytest.approx((n + 1) ** ((n + 1) / 2) / 2**n, rel=1e-9)
    assert abs(np.linalg.det(x)) == pytest.approx({3: 2, 7: 32, 11: 1458, 15: 131072}[n], rel=1e-9)


@pytest.mark.parametrize("n", SIZES)
def test_covariance(n: int) -> None:
    """Variance 4 n / (n+1)^2 of every object and covariance -4 / (n+1)^2 of every two, against 1 one by one."""
    cofactor = fit(s_matrix(n), np.zeros(n)).cofactor
    expected = 4.0 / (n + 1) * np.eye(n) - 4.0 / (n + 1) ** 2 * np.ones((n, n))
    assert cofactor == pytest.approx(expected, abs=1e-9)
    assert np.diag(cofactor) == pytest.approx({3: 0.75, 7: 0.4375, 11: 0.3055555556, 15: 0.234375}[n], abs=1e-9)


@pytest.mark.parametrize(("order", "variance"), [(4, 0.25), (8, 0.125)])
def test_two_pan_balance(order: int, variance: float) -> None:
    """A chemical balance with a Hadamard design: sigma^2 / n each, and no covariance."""
    design = np.ones((1, 1))
    while len(design) < order:
        design = np.block([[design, design], [design, -design]])
    assert fit(design, np.zeros(order)).cofactor == pytest.approx(variance * np.eye(order), abs=1e-12)


DAY = """
format = 1
units = { mass = "lb", length = "in" }
[site]
unevenness = "0 mm"
[instruments.table]
kind = "platform"
capacity = "20000 lb"
division = "1 lb"
span_uncertainty = "0 %"
repeatability = "30 lb"
[vehicles.cart]
role = "trailer"
[[vehicles.cart.axles]]
x = "150 in"
track = "70 in"
[states.parked]
vehicles = ["cart"]
[[drafts]]
state = "parked"
readings = { "cart/1L+cart/1R" = ["table", 2500] }
[[drafts]]
state = "parked"
readings = { "cart/1L+cart/coupling" = ["table", 1700] }
[[drafts]]
state = "parked"
readings = { "cart/1R+cart/coupling" = ["table", 1600] }
"""


def test_three_supports_of_a_trailer_two_at_a_time() -> None:
    """The design of order 3 through a whole weigh day: two wheels and a stand, always two of them on one platform."""
    findings = weigh(parse_day(DAY, "day.toml"))
    pound = findings.day.units.factor(Dimension.MASS)
    reading = math.hypot(30.0, 1.0 / math.sqrt(12.0))
    ids = ["parked/cart/wheel/1L", "parked/cart/wheel/1R", "parked/coupling/load"]
    found = [findings.by_id[name] for name in ids]
    assert [item.value / pound for item in found if item.value is not None] == pytest.approx(
        [1300, 1200, 400], rel=1e-6
    )
    assert [item.u / pound for item in found if item.u is not None] == pytest.approx(
        [math.sqrt(0.75) * reading] * 3, rel=1e-6
    )
    gross = findings.by_id["parked/cart/gross"]  # three variances and six covariances: 3 (0.75) - 6 (0.25)
    assert gross.u is not None
    assert gross.u / pound == pytest.approx(math.sqrt(0.75) * reading, rel=1e-6)
