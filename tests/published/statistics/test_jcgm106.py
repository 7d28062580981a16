"""Conformance probabilities, guard bands and global risks.

Source: JCGM 106:2012, clause 7 (examples of one limit and of two; statements from memory, probabilities derived and
equal to the remembered print); guard bands after ISO 14253-1 (from memory); global risk tables as seen in an open
metrology library's tests, which cite a draft recommended practice and Deaver, page 10.
Tolerance: half a unit of the last digit; the consumer's risk table integrates numerically and is 1e-6 off in one row.
"""

from __future__ import annotations

import math

import pytest
from scipy.integrate import quad

from steelyard.conformity import Measured, Outcome, Sense, conformance_probability, guard, outcome_of


def below(limit: float, *, y: float, u: float) -> float:
    """Probability that a quantity measured as y is at most a limit."""
    return conformance_probability(slack=y - limit, slack_u=u, dof=math.inf, sense=Sense.MAX)


def above(limit: float, *, y: float, u: float) -> float:
    """Probability that it is at least a limit."""
    return conformance_probability(slack=y - limit, slack_u=u, dof=math.inf, sense=Sense.MIN)


def test_two_limits() -> None:
    """Kinematic viscosity 13.6 mm2/s, u 1.8, limits 12.5 and 16.3: 66 %."""
    p = above(12.5, y=13.6, u=1.8) + below(16.3, y=13.6, u=1.8) - 1.0
    assert p == pytest.approx(0.66, abs=0.005)
    assert p == pytest.approx(0.66263, abs=5e-6)


def test_upper_limit() -> None:
    """Breakdown voltage -5.47 V, u 0.05, limit -5.40 V: 92 %."""
    assert below(-5.40, y=-5.47, u=0.05) == pytest.approx(0.92, abs=0.005)
    assert below(-5.40, y=-5.47, u=0.05) == pytest.approx(0.91924, abs=5e-6)


def test_lower_limit() -> None:
    """Burst strength 509.7 kPa, u 8.6, limit 490 kPa: 99 %."""
    assert above(490.0, y=509.7, u=8.6) == pytest.approx(0.99, abs=0.005)
    assert above(490.0, y=509.7, u=8.6) == pytest.approx(0.98901, abs=5e-6)


@pytest.mark.parametrize(
    ("y", "p", "outcome"),
    [
        (5950.0, 0.95221, Outcome.WITHIN),
        (5960.0, 0.90879, Outcome.UNDECIDED),
        (6000.0, 0.5, Outcome.UNDECIDED),
        (6060.0, 0.02275, Outcome.OUTSIDE),
    ],
)
def test_one_limit_and_the_verdict(y: float, p: float, outcome: Outcome) -> None:
    found = below(6000.0, y=y, u=30.0)
    assert found == pytest.approx(p, abs=5.1e-6)
    assert outcome_of(found) is outcome


@pytest.mark.parametrize(("k", "p"), [(1.281552, 0.90), (1.644854, 0.95), (1.959964, 0.975), (2.326348, 0.99)])
def test_guard_factors(k: float, p: float) -> None:
    assert below(0.0, y=-k, u=1.0) == pytest.approx(p, abs=1e-7)
    assert above(0.0, y=k, u=1.0) == pytest.approx(p, abs=1e-7)


def test_guard_band() -> None:
    """The product's own band for 95 %: g = 1.644854 u; a value at limit minus g is just within, and a band of 2 u
    gives 0.97725.
    """
    measured = Measured(value=5950.0, u=30.0, dof=math.inf, slack=-50.0, slack_u=30.0)
    assert guard(measured) == pytest.approx(1.644854 * 30.0, abs=5e-5)
    assert below(6000.0, y=6000.0 - guard(measured), u=30.0) == pytest.approx(0.95, abs=1e-12)
    assert below(6000.0, y=6000.0 - 60.0, u=30.0) == pytest.approx(0.97725, abs=5e-6)
    few = Measured(value=5950.0, u=30.0, dof=4.0, slack=-50.0, slack_u=30.0)
    assert guard(few) == pytest.approx(2.131847 * 30.0, abs=5e-5)  # Student, 4 degrees of freedom, 95 %


@pytest.mark.parametrize(("y", "out"), [(10.0, 0.01242), (10.5, 0.10574), (12.0, 0.99379)])
def test_specific_risk(y: float, out: float) -> None:
    """Limits 9 and 11, u 0.4: probability of lying outside."""
    inside = above(9.0, y=y, u=0.4) + below(11.0, y=y, u=0.4) - 1.0
    assert 1.0 - inside == pytest.approx(out, abs=5.1e-6)


def density(x: float, sd: float) -> float:
    """Of a normal distribution about zero."""
    return math.exp(-0.5 * (x / sd) ** 2) / (sd * math.sqrt(2 * math.pi))


def accepted(true: float, *, limit: float, u: float) -> float:
    """Probability that a measurement of u reads within plus and minus ``limit``."""
    return below(limit, y=true, u=u) + above(-limit, y=true, u=u) - 1.0


def false_accept(*, tolerance: float, limit: float, u: float, sd: float = 1.0) -> float:
    """Probability that a piece is out of tolerance and passes."""
    return 2 * quad(lambda x: density(x, sd) * accepted(x, limit=limit, u=u), tolerance, tolerance + 8 * sd)[0]


def false_reject(*, tolerance: float, limit: float, u: float, sd: float = 1.0) -> float:
    """Probability that a piece is in tolerance and fails."""
    return 2 * quad(lambda x: density(x, sd) * (1 - accepted(x, limit=limit, u=u)), 0.0, tolerance)[0]


@pytest.mark.parametrize(
    ("in_tolerance", "accept", "conditional"),
    [
        (0.60, 4.83860326, 8.26008199),
        (0.70, 3.92234109, 5.72322042),
        (0.80, 2.85583037, 3.63227145),
        (0.90, 1.59995312, 1.79880430),
        (0.95, 0.87100925, 0.92389664),
        (0.99, 0.19991684, 0.20243866),
    ],
)
def test_consumers_risk(in_tolerance: float, accept: float, conditional: float) -> None:
    """Limits at +-1, process deviation from the share in tolerance, measurement a quarter of it; in per cent."""
    half = 0.5 + in_tolerance / 2
    low, high = 0.0, 10.0
    for _ in range(200):
        middle = (low + high) / 2
        low, high = (middle, high) if below(middle, y=0.0, u=1.0) < half else (low, middle)
    sd = 1.0 / low
    risk = false_accept(tolerance=1.0, limit=1.0, u=sd / 4, sd=sd)
    passing = 2 * quad(lambda x: density(x, sd) * accepted(x, limit=1.0, u=sd / 4), 0.0, 10 * sd)[0]
    assert 100 * risk == pytest.approx(accept, rel=2e-6)
    assert 100 * risk / passing == pytest.approx(conditional, rel=2e-6)


def test_guard_banded_risk() -> None:
    """Deaver: tolerance 2 sd, measurement 0.5 sd, acceptance at 0.91 of tolerance: 0.8 % and 6.6 %."""
    assert false_accept(tolerance=2.0, limit=2.0 * 0.91, u=0.5) == pytest.approx(0.008, abs=5e-4)
    assert false_reject(tolerance=2.0, limit=2.0 * 0.91, u=0.5) == pytest.approx(0.066, abs=5e-4)


@pytest.mark.parametrize(("tolerance", "accept", "reject"), [(2.0, 0.008, 0.015), (2.5, 0.0025, None)])
def test_unguarded_risk(tolerance: float, accept: float, reject: float | None) -> None:
    assert false_accept(tolerance=tolerance, limit=tolerance, u=0.25) == pytest.approx(accept, abs=5e-4)
    if reject is not None:
        assert false_reject(tolerance=tolerance, limit=tolerance, u=0.25) == pytest.approx(reject, abs=5e-4)
