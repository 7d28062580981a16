"""The quadratic under every search: its roots against a walk along the curve, its cases one by one."""

from __future__ import annotations

import numpy as np
import pytest

from steelyard.loading import Limits, predicted
from steelyard.loading.room import Curves, curves_at, kept_without, most_at


def random_limits(seed: int, count: int = 12, roots: int = 5) -> Limits:
    rng = np.random.default_rng(seed)
    return Limits(
        tuple(f"s/v/axle/{number}:rating" for number in range(count)),
        tuple(f"limit {number}" for number in range(count)),
        rng.uniform(50.0, 900.0, count),
        rng.normal(0.0, 6.0, (count, roots)),
        rng.normal(0.0, [0.5, 0.2, 0.2], (count, 3)),
        rng.normal(0.0, 0.01, (count, 3, roots)),
        rng.uniform(1.65, 2.2, count),
    )


def spare(limits: Limits, mass: float, x: float, y: float) -> np.ndarray:
    """What is left of each limit beyond its guard, from the definition alone."""
    load = mass * np.array([1.0, x, y])
    room = limits.room + limits.rate @ load
    root = limits.root + np.einsum("ncq,c->nq", limits.rate_root, load)
    return room - limits.quantile * np.sqrt((root**2).sum(axis=1))


@pytest.mark.parametrize("seed", range(6))
def test_the_most_is_where_the_guard_is_met_and_not_before(seed: int) -> None:
    limits = random_limits(seed)
    x, y = np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9])
    most = most_at(limits, x, y)
    assert kept_without(limits).all()
    assert np.isfinite(most).any()
    assert np.isinf(most).any()
    for place, by_limit in enumerate(most):
        for number, mass in enumerate(by_limit):
            walk = np.linspace(0.0, mass * (1 - 1e-9) if np.isfinite(mass) else 1e6, 200)
            assert min(spare(limits, step, x[place], y[place])[number] for step in walk) >= -1e-5
            if np.isfinite(mass):
                assert spare(limits, mass * 1.0001, x[place], y[place])[number] < 0.0


@pytest.mark.parametrize("seed", range(6))
def test_the_short_way_and_the_general_one_agree(seed: int) -> None:
    limits = random_limits(seed)
    x, y = np.array([0.3, 4.0, 7.5]), np.array([-0.8, 0.1, 0.9])
    least, most = curves_at(limits, x, y).interval()
    assert (least == 0.0).all()
    np.testing.assert_allclose(most, most_at(limits, x, y), rtol=1e-9)


def curve(**values: float) -> Curves:
    names = ("room", "rate", "variance", "covariance", "rate_variance", "quantile")
    return Curves(*(np.array([values.get(name, 1.645 if name == "quantile" else 0.0)]) for name in names))


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
        assert (found.kept[row] == (spare(limits, masses[row], x[row], y[row]) >= 0.0)).all()
