"""Zero, span and scatter from rounded indications.

Held against scipy (the same likelihood, maximised), statsmodels (weighted least squares with rounding as uniform, where
that is a good description) and simulated pads whose faults are known. Tolerances of coverage: four standard deviations
of a count of so many trials about 95 % downwards; nothing is asked upwards, for coarse rounding is bounded.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.special import ndtr

from steelyard.verification import (
    EXPECTED_DOF,
    Estimate,
    ExpectedScatter,
    scatter_likelihood,
    scatter_of,
    straight_line,
)
from steelyard.verification.line import Array
from tests.studies import days, figures
from tests.verification.pads import Pad, a_pad


@cache
def library() -> Any:
    """Its linear models, loaded when a test asks: it is heavy, and every worker imports this file.

    It carries no types, and to infer them from its source takes the type checker seconds.
    """
    from statsmodels.regression import linear_model

    return linear_model


LOADS = np.array([0.0, 1000.0, 2000.0, 4000.0, 6000.0, 8000.0, 6000.0, 4000.0, 2000.0, 1000.0, 0.0])


def at_least(trials: int) -> float:
    """The least share of intervals that must hold the truth."""
    return 0.95 - 4.0 * math.sqrt(0.95 * 0.05 / trials)


def holds(item: Estimate, truth: float) -> bool:
    return item.low <= truth <= item.high


def errors(pad: Pad, loads: Array) -> Array:
    return np.array([pad.shows(float(load)) for load in loads]) - loads


@pytest.mark.parametrize(
    ("scatter", "expected"),
    [
        (0.2, ExpectedScatter(3.0)),
        (1.0, ExpectedScatter(3.0)),
        (3.0, ExpectedScatter(3.0)),
        (10.0, ExpectedScatter(10.0, 20.0)),
    ],
)
def test_intervals_hold_the_truth(scatter: float, expected: ExpectedScatter) -> None:
    """From a pad that hardly scatters, whose rounding errors are no noise at all, to one that scatters a division."""
    rng, trials, held = np.random.default_rng(20260220), days(50, 400), np.zeros(2)
    for _ in range(trials):
        pad = a_pad(rng, scatter=scatter)
        seen = errors(pad, LOADS)
        line = straight_line(LOADS, seen - 5.0, seen + 5.0, expected=expected)
        held += [holds(line.zero, pad.zero), holds(line.slope, pad.span)]
    figures(f"a line, scatter {scatter} kg", trials=trials, zero=held[0] / trials, span=held[1] / trials)
    assert (held / trials).min() >= at_least(trials)


def test_a_scatter_nobody_expected_is_learned() -> None:
    """A pad that scatters a division where a third of one was expected: the intervals come close to their promise."""
    rng, trials, held = np.random.default_rng(7), days(40, 300), 0
    loads = np.tile(LOADS, 2)
    for _ in range(trials):
        pad = a_pad(rng, scatter=10.0)
        seen = errors(pad, loads)
        held += holds(straight_line(loads, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0)).slope, pad.span)
    figures("a scatter nobody expected", trials=trials, span=held / trials)
    assert held / trials >= 0.89


def test_change_points_are_finer_than_the_division() -> None:
    """Small weights of a tenth of the division give the span some ten times as well, and still honestly."""
    rng, trials, held, ratio = np.random.default_rng(11), 40, 0, 0.0
    loads = np.array([0.0, 2000.0, 5000.0, 8000.0, 5000.0, 2000.0, 0.0])
    for _ in range(trials):
        pad = a_pad(rng, scatter=0.0)
        pairs = [pad.tips(float(load), 1.0) for load in loads]
        felt = np.array([shown + 5.0 - added for shown, added in pairs]) - loads
        fine = straight_line(loads, felt, felt + 1.0, expected=ExpectedScatter(0.3))
        seen = np.array([shown for shown, _ in pairs]) - loads
        coarse = straight_line(loads, seen - 5.0, seen + 5.0, expected=ExpectedScatter(0.3))
        held += holds(fine.slope, pad.span)
        ratio += coarse.slope.u / fine.slope.u / trials
    assert held / trials >= at_least(trials)
    assert ratio > 4.0


def test_least_squares_with_rounding_as_uniform_agrees_where_the_scatter_is_large() -> None:
    """EURAMET cg-18's practice: rounding d^2/12 beside s^2; the straight line by statsmodels with known variances."""
    rng = np.random.default_rng(5)
    loads = np.tile(LOADS, 3)
    pad = Pad(10.0, 2.0, 1.5e-3, 8.0, rng)
    seen = errors(pad, loads)
    found = straight_line(loads, seen - 5.0, seen + 5.0, expected=ExpectedScatter(8.0, 1e5, may_be_still=False))
    weights = np.full(len(loads), 1.0 / (8.0**2 + 10.0**2 / 12.0))
    design = np.column_stack([np.ones_like(loads), loads])
    fit = library().WLS(seen, design, weights=weights).fit(cov_type="fixed scale")
    assert found.zero.value == pytest.approx(fit.params[0], abs=0.1 * fit.bse[0])
    assert found.slope.value == pytest.approx(fit.params[1], abs=0.1 * fit.bse[1])
    assert found.zero.u == pytest.approx(fit.bse[0], rel=0.05)
    assert found.slope.u == pytest.approx(fit.bse[1], rel=0.05)


def test_the_likelihood_is_the_one_that_scipy_maximises() -> None:
    """With many readings the mean of the posterior lies at the maximum of the likelihood, within a tenth of u."""
    rng = np.random.default_rng(3)
    loads = np.tile(LOADS, 6)
    pad = Pad(10.0, -3.0, -2e-3, 4.0, rng)
    seen = errors(pad, loads)

    def minus(at: Array) -> float:
        expected, scatter = at[0] + at[1] * loads / 8000.0, math.exp(at[2])
        inside = ndtr((seen + 5.0 - expected) / scatter) - ndtr((seen - 5.0 - expected) / scatter)
        return -float(np.log(np.maximum(inside, 1e-300)).sum())

    best = minimize(minus, [0.0, 0.0, 1.0], method="Nelder-Mead", options={"xatol": 1e-6, "fatol": 1e-9}).x
    found = straight_line(loads, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0))
    assert found.zero.value == pytest.approx(best[0], abs=0.1 * found.zero.u)
    assert found.slope.value == pytest.approx(best[1] / 8000.0, abs=0.1 * found.slope.u)
    assert found.scatter.value == pytest.approx(math.exp(best[2]), rel=0.1)


def test_the_ends_of_the_interval_are_those_of_the_posterior() -> None:
    """Against the plainest sum there is, 400 zeros by 801 spans, the scatter known: to 2 % of the half-width."""
    seen = np.array([0.0, 0.0, 10.0, 10.0, 20.0, 30.0, 20.0, 10.0, 10.0, 0.0, 0.0])
    zeros, spans = np.meshgrid(np.linspace(-20, 20, 400), np.linspace(-8e-3, 1.2e-2, 801), indexing="ij")
    logs = np.zeros(zeros.shape)
    for load, error in zip(LOADS, seen, strict=True):
        away = error - zeros - spans * load
        logs += np.log(np.maximum(ndtr((away + 5.0) / 3.0) - ndtr((away - 5.0) / 3.0), 1e-300))
    weights = np.exp(logs - logs.max())
    reached = np.cumsum(weights.sum(axis=0)) / weights.sum()
    low, high = (float(np.interp(part, reached, spans[0])) for part in (0.025, 0.975))
    found = straight_line(LOADS, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0, 1e6, may_be_still=False)).slope
    assert found.value == pytest.approx(float((weights * spans).sum() / weights.sum()), abs=0.01 * (high - low))
    assert (found.low, found.high) == pytest.approx((low, high), abs=0.01 * (high - low))


def test_a_perfect_pad_is_not_taken_for_certain() -> None:
    """Every indication right: the span may still be off by what rounding hides, half a division at the largest load."""
    seen = np.zeros(len(LOADS))
    found = straight_line(LOADS, seen - 5.0, seen + 5.0, expected=ExpectedScatter(0.3, 20.0))
    assert found.slope.value == pytest.approx(0.0, abs=1e-5)
    assert 0.5 * 5.0 / 8000.0 < found.slope.high < 2.5 * 5.0 / 8000.0
    assert found.slope.low == pytest.approx(-found.slope.high, rel=0.05)


def test_a_small_mass_is_felt_through_the_rounding() -> None:
    """4 kg on a division of 10 kg, on and off forty times with some sway: known to a kilogram or two, honestly."""
    rng, trials, held, widths = np.random.default_rng(17), days(24, 200), 0, 0.0
    at = np.repeat([0.0, 1.0], 40)
    for _ in range(trials):
        pad = a_pad(rng, scatter=4.0)
        base = float(rng.uniform(2990.0, 3010.0))
        seen = np.array([pad.shows(base + 4.0 * float(on)) for on in at])
        seen = seen - seen[:40].mean()
        found = straight_line(at, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0)).slope
        held += holds(found, 4.0 * (1.0 + pad.span))
        widths += (found.high - found.low) / 2.0 / trials
    figures("a small mass", trials=trials, mass=held / trials, half_width=widths)
    assert held / trials >= at_least(trials)
    assert 1.0 < widths < 3.5


@pytest.mark.parametrize("expected", [ExpectedScatter(3.0), ExpectedScatter(0.2, 20.0)])
def test_a_small_mass_without_any_sway_is_a_difference_of_two_roundings(expected: ExpectedScatter) -> None:
    """Nothing ever tips over: two roundings that repeat, so a triangle of two divisions, whose 95 % are 0.776 of each.

    ``1 - sqrt(0.05)`` of a division to either side, by the area of the triangle.
    """
    seen = np.zeros(24)
    found = straight_line(np.repeat([0.0, 1.0], 12), seen - 5.0, seen + 5.0, expected=expected).slope
    half = 10.0 * (1.0 - math.sqrt(0.05))
    assert (found.low, found.high) == pytest.approx((-half, half), rel=0.03)
    assert found.u == pytest.approx(10.0 / math.sqrt(6.0), rel=0.03)


def test_a_small_mass_on_a_still_instrument() -> None:
    """The same for masses of up to two divisions at loads anywhere: 95 %, where two in three used to hold."""
    rng, trials, held = np.random.default_rng(31), days(40, 300), 0
    at = np.repeat([0.0, 1.0], 10)
    for _ in range(trials):
        mass, base = float(rng.uniform(0.0, 20.0)), float(rng.uniform(2990.0, 3010.0))
        seen = 10.0 * np.floor((base + mass * at) / 10.0 + 0.5)
        seen = seen - seen[0]
        held += holds(straight_line(at, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0)).slope, mass)
    assert held / trials >= at_least(trials)


def test_two_readings_of_a_still_instrument_give_a_span_no_wider_than_their_roundings() -> None:
    """Empty and one load: within the triangle of two roundings and the assumed scatter, and never nothing."""
    seen = np.zeros(2)
    found = straight_line(np.array([0.0, 8000.0]), seen - 5.0, seen + 5.0, expected=ExpectedScatter(0.1, 20.0)).slope
    half = 10.0 * (1.0 - math.sqrt(0.05)) / 8000.0
    assert (found.low, found.high) == pytest.approx((-half, half), rel=0.05)


@pytest.mark.parametrize("scatter", [4.0, 10.0])
def test_the_scatter_of_repeats(scatter: float) -> None:
    rng, trials, held = np.random.default_rng(23), days(50, 400), 0
    for _ in range(trials):
        pad = a_pad(rng, scatter=scatter)
        load = float(rng.uniform(2000.0, 6000.0))
        group = np.array([pad.shows(load) for _ in range(10)])
        held += holds(scatter_of([group], 10.0, ExpectedScatter(3.0)), scatter)
    assert held / trials >= at_least(trials)


def test_repeats_narrow_the_scatter_of_a_line() -> None:
    rng = np.random.default_rng(29)
    pad = Pad(10.0, 0.0, 0.0, 6.0, rng)
    few = np.array([0.0, 4000.0, 8000.0])
    seen = errors(pad, few)
    group = np.array([pad.shows(4000.0) for _ in range(60)])
    alone = straight_line(few, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0)).scatter
    helped = straight_line(
        few, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0), repeats=scatter_likelihood([group], 10.0)
    ).scatter
    assert helped.u < 0.25 * alone.u
    assert holds(helped, 6.0)


def test_a_reference_with_a_doubt_of_its_own_widens_the_line() -> None:
    seen = np.zeros(len(LOADS))
    sharp = straight_line(LOADS, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0, 50.0))
    blunt = straight_line(LOADS, seen - 5.0, seen + 5.0, expected=ExpectedScatter(3.0, 50.0), own_u=12.0)
    assert blunt.slope.u > 2.0 * sharp.slope.u


def test_loads_that_hardly_differ_leave_the_span_open() -> None:
    """5000 kg and a gram more, nothing read empty: no span to speak of, and no certainty either."""
    loads = np.array([5000.0, 5000.001, 5000.0])
    found = straight_line(loads, np.full(3, -5.0), np.full(3, 5.0), expected=ExpectedScatter(3.0)).slope
    assert found.high - found.low > 1.0


def test_what_is_expected_weighs_less_than_a_reading() -> None:
    assert EXPECTED_DOF < 1.0


def test_a_further_doubt_widens_the_interval_about_the_value() -> None:
    item = Estimate(1.0, 3.0, -5.0, 8.0).widened(4.0)
    assert (item.value, item.u) == (1.0, 5.0)
    ends = (1.0 - math.hypot(6.0, 1.959964 * 4.0), 1.0 + math.hypot(7.0, 1.959964 * 4.0))
    assert (item.low, item.high) == pytest.approx(ends)
    assert Estimate(1.0, 0.0, 1.0, 1.0).widened(2.0).high == pytest.approx(1.0 + 1.959964 * 2.0)
