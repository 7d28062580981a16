"""A limit that depends on another finding in doubt: the probability that it is met.

Against Monte Carlo (JCGM 101:2008, 10^6 draws) to 1 %, and where all is normal against the distribution function of two
normal variables in SciPy, which integrates it in another way (Genz, Statistics and Computing 14, 2004).
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from steelyard.conformity import (
    DependentLimit,
    LimitCurve,
    Measured,
    Outcome,
    Requirement,
    Sense,
    judge,
    met_probabilities,
)
from steelyard.conformity.joint import change_needed
from steelyard.units import Dimension, UnitSystem

FREE = (math.inf, 0.0)
DRAWS = 1_000_000


def curve(*parts: float | tuple[float, float], finding: str = "hitched/combination/spread/2-5") -> LimitCurve:
    """Pieces and the breaks between them, in turn: constants, slopes and breaks as they come from left to right."""
    pieces = tuple(part if isinstance(part, tuple) else (part, 0.0) for part in parts[::2])
    breaks = tuple(part for part in parts[1::2] if not isinstance(part, tuple))
    return LimitCurve(finding, breaks, pieces, (False,) * len(breaks))


def least(first: tuple[float, float], second: tuple[float, float], *, greatest: bool = False) -> LimitCurve:
    """The lesser or the greater of two straight lines."""
    cross = (second[0] - first[0]) / (first[1] - second[1])
    low, high = sorted((first, second), key=lambda line: line[1], reverse=not greatest)
    return curve(low, cross, high)


CURVES = {
    "one step": curve(34.0, 8.0, 38.0),
    "steps up": curve(33.0, 7.9, 34.5, 8.1, 36.0, 8.4, 39.0),
    "up and down": curve(36.0, 7.8, 33.0, 8.2, 36.0),
    "only below": curve(34.0, 8.0, FREE),
    "only between": curve(FREE, 7.9, 34.5, 8.2, FREE),
    "a slope": curve((2.0, 4.0)),
    "the least of two": least((2.0, 4.0), (34.5, 0.0)),
    "the greatest of two": least((2.0, 4.0), (34.5, 0.0), greatest=True),
    "steep, then a step": curve((-126.0, 20.0), 8.1, 30.0),
}


def cases() -> Iterator[tuple[str, DependentLimit]]:
    """Every curve with several doubts, correlations and places of the load; half of them a least limit."""
    rng = np.random.default_rng(20261130)
    for name, shape in CURVES.items():
        for sense in Sense:
            for correlation in (-0.95, 0.0, 0.6, 0.999):
                other_u, u = 10.0 ** rng.uniform(-2.0, -0.3), 10.0 ** rng.uniform(-1.0, 0.3)
                dof = float(rng.choice([math.inf, 5.0, 30.0]))
                other = 8.0 + float(rng.normal()) * other_u
                value = (shape.nearest(other) or 0.0) + 1.2 * u * float(rng.normal())
                rest = u * math.sqrt(1.0 - correlation**2)
                yield name, DependentLimit(shape, sense, value, other, other_u, correlation * u / other_u, rest, dof)


CASES = list(cases())


@pytest.fixture(scope="module")
def draws() -> dict[str, np.ndarray]:
    """Of a normal variable for the other finding, and of one for the rest of the load, by its degrees of freedom."""
    rng = np.random.default_rng(7)
    rest = {str(dof): rng.standard_t(dof, DRAWS) for dof in (5.0, 30.0)}
    return {"other": rng.standard_normal(DRAWS), "inf": rng.standard_normal(DRAWS), **rest}


def by_drawing(joint: DependentLimit, draws: dict[str, np.ndarray]) -> float:
    """The share of draws that meet the limit."""
    off = joint.other_u * draws["other"]
    other = joint.other + off
    value = joint.value + joint.slope * off + joint.rest_u * draws[str(joint.dof)]
    piece = np.searchsorted(joint.curve.breaks, other)
    constants, slopes = np.array(joint.curve.pieces).T
    with np.errstate(invalid="ignore"):
        limit = constants[piece] + slopes[piece] * other
    met = value <= limit if joint.sense is Sense.MAX else value >= limit
    return float((met | np.isinf(limit)).mean())


def test_probabilities_are_those_of_a_million_draws(draws: dict[str, np.ndarray]) -> None:
    found = met_probabilities([joint for _, joint in CASES])
    drawn = np.array([by_drawing(joint, draws) for _, joint in CASES])
    assert np.abs(found - drawn).max() < 0.003  # three times what such draws are off by themselves is 0.0015
    assert ((found > 0.02) & (found < 0.98)).sum() > 40  # most cases are in doubt


def test_many_at_once_are_judged_as_each_alone() -> None:
    joints = [joint for _, joint in CASES]
    alone = [float(met_probabilities([joint])[0]) for joint in joints]
    assert met_probabilities(joints).tolist() == pytest.approx(alone, abs=1e-12)
    assert met_probabilities([]).shape == (0,)


@pytest.mark.parametrize("correlation", [-0.9, 0.0, 0.5, 0.99])
@pytest.mark.parametrize("name", ["one step", "steps up", "up and down", "only below", "only between"])
def test_steps_are_rectangles_of_the_distribution_of_two_normal_variables(name: str, correlation: float) -> None:
    shape, u, other_u = CURVES[name], 1.3, 0.21
    rest = u * math.sqrt(1.0 - correlation**2)
    joint = DependentLimit(shape, Sense.MAX, 34.2, 8.05, other_u, correlation * u / other_u, rest, math.inf)
    covariance = [[u**2, correlation * u * other_u], [correlation * u * other_u, other_u**2]]
    both = multivariate_normal(mean=[34.2, 8.05], cov=covariance)
    ends = (-40.0, *shape.breaks, 60.0)
    expected = 0.0
    for low, high, (limit, _) in zip(ends, ends[1:], shape.pieces, strict=False):
        top = 200.0 if math.isinf(limit) else limit
        expected += both.cdf([top, high]) - both.cdf([top, low])
    assert met_probabilities([joint])[0] == pytest.approx(expected, abs=1e-5)


def test_a_straight_limit_is_one_normal_difference() -> None:
    """``X - c - s L`` is normal; its variance by JCGM 100, 5.2.2."""
    joint = DependentLimit(CURVES["a slope"], Sense.MAX, 33.0, 8.0, 0.2, 1.5, 0.9, math.inf)
    doubt = math.hypot(0.9, (1.5 - 4.0) * 0.2)
    expected = 0.5 * math.erfc(-(2.0 + 4.0 * 8.0 - 33.0) / doubt / math.sqrt(2.0))
    assert met_probabilities([joint])[0] == pytest.approx(expected, abs=1e-9)


def test_the_less_and_less_doubt_of_the_other_finding_leads_to_the_limit_at_its_value() -> None:
    near = DependentLimit(CURVES["steps up"], Sense.MAX, 34.2, 8.05, 1e-6, 0.0, 1.3, math.inf)
    expected = 0.5 * math.erfc(-(34.5 - 34.2) / 1.3 / math.sqrt(2.0))
    assert met_probabilities([near])[0] == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("joint", [joint for _, joint in CASES[::5]])
def test_the_change_that_is_asked_for_brings_it_within(joint: DependentLimit) -> None:
    sign = -1.0 if joint.sense is Sense.MAX else 1.0
    change = change_needed(joint, 0.95)
    after, short = met_probabilities([joint.shifted(sign * change), joint.shifted(sign * change * 0.999)])
    assert after >= 0.95
    assert change == 0.0 or short < 0.95


POUNDS = UnitSystem("lb", "in")


def told(shape: LimitCurve, value: float, u: float, other: float, other_u: float):
    """The verdict on a load and a limit in tens of kilograms, as the findings give it."""
    joint = DependentLimit(shape, Sense.MAX, value, other, other_u, 0.0, u, math.inf)
    limit = shape.nearest(other) or 0.0
    met = float(met_probabilities([joint])[0])
    measured = Measured(value, u, math.inf, value - limit, u, 0.0, joint, met)
    named = Requirement("a:b", "a", "axles", limit, Sense.MAX, "law", Dimension.MASS, " on them", shape)
    return judge(named, measured, POUNDS)


STEP = curve(15000.0, 8.0, 17000.0)


def test_advice_is_to_tape_where_that_decides() -> None:
    verdict = told(STEP, 16000.0, 50.0, 8.01, 0.05)
    assert verdict.outcome is Outcome.UNDECIDED
    assert verdict.limit == 17000.0
    assert verdict.advice.startswith(
        "the distance between the axles crosses a step of the rule within its doubt: tape it better and that decides it"
    )
    assert "less on them would bring it within at 95 %" in verdict.advice


def test_advice_is_to_weigh_where_the_tape_decides_nothing() -> None:
    verdict = told(curve(15000.0, 8.0, 15010.0), 15000.0, 50.0, 8.0, 0.05)
    assert verdict.outcome is Outcome.UNDECIDED
    assert "tape" not in verdict.advice


def test_the_verdict_is_sure_on_either_side_of_the_step() -> None:
    assert told(STEP, 16000.0, 50.0, 8.2, 0.05).outcome is Outcome.WITHIN
    assert told(STEP, 16000.0, 50.0, 7.8, 0.05).outcome is Outcome.OUTSIDE


def test_the_limit_is_that_at_the_value_or_the_nearest_one() -> None:
    shape = CURVES["only between"]
    assert [shape.limit(at) for at in (7.0, 8.0, 9.0)] == [math.inf, 34.5, math.inf]
    assert [shape.nearest(at) for at in (7.0, 8.0, 9.0)] == [34.5, 34.5, 34.5]
    sloped = curve((0.0, 2.0), 3.0, FREE)
    assert sloped.nearest(5.0) == 6.0
    assert curve(FREE).nearest(1.0) is None
