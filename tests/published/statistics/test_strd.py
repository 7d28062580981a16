"""NIST Statistical Reference Datasets, linear least squares: estimates and standard errors both.

Source: NIST StRD (US public domain), sets Norris and NoInt1 (lower level), Pontius (lower), Filip and Longley (higher).
Grade: seen, rounded; certified values to 15 digits derived by exact rational arithmetic on the same data.
Tolerance: digits that agree (log relative error). Double precision carries 15.65 digits; an estimate may lose the
decimal logarithm of the condition of the scaled columns (Norris 0.4, Pontius 1.3, NoInt1 0, Longley 4.6, Filip 9.7)
and up to two or three more where a small estimate stands beside large terms or powers of x are rounded. The limits
below are the digits reached, less about one for another processor's order of summation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.published.least_squares import Array, Fit, fit, table

DEGREE = {"norris": 1, "pontius": 2, "filip": 10}
DIGITS = {"norris": 11.5, "pontius": 11.0, "noint1": 13.5, "longley": 9.7, "filip": 6.8}

FILIP_TOLERANCE = 1e-12
"""Filip's eleven columns, scaled, have singular values down to 1.9e-10 of the largest: rank 11 is right and has to be
asked for. Under 1e-12 lies rounding."""


def observed(name: str) -> tuple[Array, Array]:
    """The design matrix and the observations of one set."""
    rows = [[float(cell) for cell in row[2:] if cell] for row in table("strd_linear_data.csv") if row[0] == name]
    y, x = np.array([row[0] for row in rows]), np.array([row[1:] for row in rows])
    if name in DEGREE:
        return x ** np.arange(DEGREE[name] + 1.0), y
    return (x if name == "noint1" else np.column_stack([np.ones(len(y)), x])), y


def certified(name: str) -> tuple[Array, Array, float]:
    """Estimates, their standard deviations, and the residual standard deviation."""
    rows = [row for row in table("strd_linear_certified.csv") if row[0] == name]
    pairs = [(float(row[2]), float(row[3])) for row in rows if row[3]]
    sigma = next(float(row[2]) for row in rows if row[1] == "residual_sd")
    return np.array([value for value, _ in pairs]), np.array([sd for _, sd in pairs]), sigma


def solved(name: str) -> Fit:
    """One set through the product."""
    design, y = observed(name)
    return fit(design, y, tolerance=FILIP_TOLERANCE) if name == "filip" else fit(design, y)


def digits(found: Array | float, right: Array | float) -> float:
    """Fewest digits in which found and certified values agree."""
    apart = np.abs(np.asarray(found) - right) / np.abs(right)
    return float(-np.log10(np.max(apart) + 1e-16))


@pytest.mark.parametrize("name", DIGITS)
def test_estimates(name: str) -> None:
    values, _, _ = certified(name)
    found = solved(name)
    assert len(found.estimates) == len(values)
    assert digits(found.estimates, values) >= DIGITS[name]


@pytest.mark.parametrize("name", DIGITS)
def test_standard_errors(name: str) -> None:
    _, sds, sigma = certified(name)
    found = solved(name)
    assert digits(found.sd, sds) >= DIGITS[name]
    assert digits(found.sigma, sigma) >= DIGITS[name]


def test_filip_is_not_called_determined_without_asking() -> None:
    """At the tolerance for weigh days, nearly dependent powers count as open directions, and no power is determined."""
    design, y = observed("filip")
    found = fit(design, y)
    assert found.solution.rank == 9
    assert not found.solution.determined(np.eye(11)).any()
    assert solved("filip").solution.determined(np.eye(11)).all()


def test_filip_singular_values_are_where_the_tolerance_expects_them() -> None:
    design, _ = observed("filip")
    singular = np.linalg.svd(design / np.linalg.norm(design, axis=0), compute_uv=False)
    assert 1e-10 < singular[-1] / singular[0] < 1e-9
    assert singular[-1] / singular[0] > 100 * FILIP_TOLERANCE


@pytest.mark.parametrize("name", ["norris", "pontius", "noint1", "longley"])
def test_units_of_the_columns_do_not_decide_rank(name: str) -> None:
    """Columns in other units (powers of two, exact) give the same estimates in those units."""
    design, y = observed(name)
    units = 2.0 ** np.linspace(-40, 40, design.shape[1]).round()
    plain, scaled = fit(design, y), fit(design * units, y)
    assert scaled.solution.rank == plain.solution.rank == design.shape[1]
    assert digits(scaled.estimates * units, plain.estimates) > 12
    assert math.isclose(scaled.sigma, plain.sigma, rel_tol=1e-12)
