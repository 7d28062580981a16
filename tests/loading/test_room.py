"""The interval under every search: its ends against a walk along the curve, its cases one by one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import special, stats

from steelyard.adjustment import effective_dof, excess_of
from steelyard.loading import Limits, predicted
from steelyard.loading.room import Curves, curves_of, kept_without, most_at

Array = NDArray[np.float64]
DOF = (3.0, 25.0)
"""Degrees of freedom of two components, which bring the first two and the next two columns of each root."""


def curves_at(limits: Limits, x: Array, y: Array) -> Curves:
    """The room of every limit over a mass put at each place: ``x`` and ``y`` [m] of shape (k,); curves (k, n)."""
    places, rows = np.divmod(np.arange(len(x) * len(limits.ids)), len(limits.ids))
    return curves_of(limits, rows, x[places], y[places]).shaped((len(x), len(limits.ids)))


def random_limits(seed: int, count: int = 12, roots: int = 5) -> Limits:
    rng = np.random.default_rng(seed)
    room, root = rng.uniform(50.0, 900.0, count), rng.normal(0.0, 6.0, (count, roots))
    rate, rate_root = rng.normal(0.0, [0.5, 0.2, 0.2], (count, 3)), rng.normal(0.0, 0.01, (count, 3, roots))
    terms = np.concatenate([root[:, None], rate_root], axis=1)
    parts = [terms[:, :, columns] @ terms[:, :, columns].transpose(0, 2, 1) for columns in (slice(0, 2), slice(2, 4))]
    return Limits(
        tuple(f"s/v/axle/{number}:rating" for number in range(count)),
        tuple(f"limit {number}" for number in range(count)),
        room,
        root,
        rate,
        rate_root,
        quantiles(root),
        np.stack(parts, axis=1),
        DOF,
        taped=0.02,
    )


def quantiles(root: Array, more: Array | float = 0.0) -> Array:
    """From the definition, by the shares of the two components in the variance.

    Root of shape (n, 5), and a variance that nobody learned.
    """
    whole = (root**2).sum(axis=1) + more
    parts = [(root[:, columns] ** 2).sum(axis=1) for columns in (slice(0, 2), slice(2, 4))]
    excess = sum(part / whole * excess_of(np.array([dof])) for part, dof in zip(parts, DOF, strict=True))
    # what stats.t asks too, after a long look at its arguments
    return np.asarray(special.stdtrit(effective_dof(np.asarray(excess)), 0.95), dtype=np.float64)


def spare(limits: Limits, mass: float, x: float, y: float, *, taped: float = 0.02) -> Array:
    """What is left of each limit beyond its guard, from the definition alone."""
    load = mass * np.array([1.0, x, y])
    root = limits.root + np.einsum("ncq,c->nq", limits.rate_root, load)
    more = (mass * taped) ** 2 * (limits.rate[:, 1] ** 2 + limits.rate[:, 2] ** 2)
    return limits.room + limits.rate @ load - quantiles(root, more) * np.sqrt((root**2).sum(axis=1) + more)


@pytest.mark.parametrize("seed", range(6))
def test_the_most_is_where_the_guard_is_met_and_not_before(seed: int) -> None:
    limits = random_limits(seed)
    x, y = np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9])
    most = curves_at(limits, x, y).interval()[1]
    assert kept_without(limits).all()
    assert np.isfinite(most).any()
    assert np.isinf(most).any()
    for place, by_limit in enumerate(most):
        for number, mass in enumerate(by_limit):
            walk = np.linspace(0.0, mass if np.isfinite(mass) else 1e6, 200)
            assert min(spare(limits, step, x[place], y[place])[number] for step in walk) >= -1e-6
            if np.isfinite(mass):
                assert spare(limits, mass * (1 + 1e-6), x[place], y[place])[number] < 0.0


@pytest.mark.parametrize("seed", range(6))
def test_a_held_quantile_encloses_the_answer(seed: int) -> None:
    limits = random_limits(seed)
    x, y = np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9])
    curves = curves_at(limits, x, y)
    least, most = curves.interval()
    assert (least == 0.0).all()
    assert (most_at(limits, x, y, float(stats.t.ppf(0.95, 3.0))) <= most * (1 + 1e-9)).all()
    assert (most_at(limits, x, y, float(stats.norm.ppf(0.95))) >= most * (1 - 1e-9)).all()


@pytest.mark.parametrize("seed", range(6))
def test_of_limits_that_may_bind_the_most_is_the_same(seed: int) -> None:
    curves = curves_at(random_limits(seed), np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9]))
    most, binding = curves.interval()[1], curves.binding()
    np.testing.assert_allclose(binding.min(axis=1), most.min(axis=1), rtol=1e-8)
    assert (binding.argmin(axis=1) == most.argmin(axis=1)).all()
    assert (binding <= most * (1 + 1e-9)).all()


@pytest.mark.parametrize("seed", range(8))
def test_a_missed_limit_asks_for_enough_and_no_more(seed: int) -> None:
    limits = random_limits(seed)
    limits = replace(limits, room=-0.2 * limits.room)
    x, y = np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9])
    least, most = curves_at(limits, x, y).interval()
    mended = 0
    for place, number in np.ndindex(*least.shape):
        at = (float(x[place]), float(y[place]))
        low, high = float(least[place, number]), float(most[place, number])
        if np.isinf(low):
            assert high == 0.0
            assert max(spare(limits, float(mass), *at)[number] for mass in np.geomspace(1.0, 1e6, 200)) < 0.0
            continue
        mended += 1
        assert spare(limits, low, *at)[number] >= -1e-6
        assert spare(limits, low * (1 - 1e-6), *at)[number] < 0.0
        if np.isfinite(high):
            assert spare(limits, high, *at)[number] >= -1e-6
            assert spare(limits, high * (1 + 1e-6), *at)[number] < 0.0
    assert mended > 3


def curve(**values: float) -> Curves:
    names = ("room", "rate", "variance", "covariance", "rate_variance")
    room, rate, variance, covariance, rate_variance = (np.array([values.get(name, 0.0)]) for name in names)
    return Curves(room, rate, variance, covariance, rate_variance, np.zeros((0, 3, 1)), ())


@pytest.mark.parametrize(
    ("given", "least", "most"),
    [
        ({"room": 100.0, "rate": -1.0}, 0.0, 100.0),  # no doubt: a double root
        ({"room": 100.0, "rate": 1.0}, 0.0, np.inf),  # a load that only helps
        ({"room": 100.0, "rate": 0.0, "variance": 1.0}, 0.0, np.inf),  # a load that does nothing
        ({"room": -100.0, "rate": -1.0}, np.inf, 0.0),  # missed, and a load makes it worse
        ({"room": -100.0, "rate": 0.5, "variance": 1.0}, 203.29, np.inf),  # missed, until so much is put on
        ({"room": 100.0, "rate": -1.0, "variance": 100.0}, 0.0, 83.55),  # 100 - 1.645 x 10
        ({"room": 100.0, "rate": 0.0, "rate_variance": 1.0}, 0.0, 60.79),  # the doubt alone grows: 100 / 1.645
        ({"room": -1.0, "rate": 0.1, "rate_variance": 1.0}, np.inf, 0.0),  # the doubt grows faster than the room
    ],
)
def test_each_case_of_the_quadratic(given: dict[str, float], least: float, most: float) -> None:
    found = curve(**given).interval()
    assert (float(found[0][0]), float(found[1][0])) == pytest.approx((least, most), abs=0.01)


def test_many_loads_in_one_product_are_each_of_them_alone() -> None:
    limits = random_limits(3)
    rng = np.random.default_rng(0)
    masses, x, y = rng.uniform(-300, 300, 50), rng.uniform(0, 8, 50), rng.uniform(-1, 1, 50)
    found = predicted(limits, np.column_stack([masses, masses * x, masses * y]))
    assert found.room.shape == found.u.shape == found.kept.shape == (50, 12)
    for row in range(50):
        load = masses[row] * np.array([1.0, x[row], y[row]])
        root = limits.root + np.einsum("ncq,c->nq", limits.rate_root, load)
        np.testing.assert_allclose(found.room[row], limits.room + limits.rate @ load, rtol=1e-9)
        np.testing.assert_allclose(found.u[row], np.sqrt((root**2).sum(axis=1)), rtol=1e-9)
        assert (found.kept[row] == (spare(limits, masses[row], x[row], y[row], taped=0.0) >= 0.0)).all()
