"""Sums of few outputs against the dense matrix that they stand for."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.adjustment import SparseSums, combined


@pytest.mark.parametrize(("count", "outputs", "unknowns"), [(1, 1, 1), (40, 30, 7), (25_000, 12, 3)])
def test_sums_are_the_product_with_the_dense_matrix(count: int, outputs: int, unknowns: int) -> None:
    random = np.random.default_rng(5)
    terms = [
        {
            int(at): float(random.choice([-1.0, 0.5, 1.0]))
            for at in random.choice(outputs, min(outputs, many), replace=False)
        }
        for many in random.integers(0, 6, count)
    ]
    dense = np.zeros((count, outputs))
    for row, each in enumerate(terms):
        for at, factor in each.items():
            dense[row, at] = factor
    values, jacobian = random.normal(size=outputs), random.normal(size=(outputs, unknowns))
    sums = SparseSums(terms)
    np.testing.assert_allclose(sums.of(values), dense @ values, atol=1e-12)
    np.testing.assert_allclose(sums.sizes(values), np.abs(dense) @ np.abs(values), atol=1e-12)
    np.testing.assert_allclose(sums.derivatives(jacobian), combined(dense, jacobian), atol=1e-12)


def test_what_cancels_is_nothing() -> None:
    jacobian = np.array([[0.1], [0.2], [0.3]])
    assert SparseSums([{0: 1.0, 1: 1.0, 2: -1.0}]).derivatives(jacobian)[0, 0] == 0.0


def test_what_is_left_of_small_terms_is_nothing_beside_what_the_unknown_does_elsewhere() -> None:
    """Two ends of an axle share a millionth of an unknown's whole, and differ in its last bit alone."""
    part = 1.272e-6
    jacobian = np.array([[-part], [part * (1.0 + 1e-8)], [1.0]])
    assert SparseSums([{0: 1.0, 1: 1.0}]).derivatives(jacobian)[0, 0] == 0.0
    assert SparseSums([{0: 1.0}]).derivatives(jacobian)[0, 0] == -part
