"""Verdicts: outcome, margin, probability, and advice that does what it says."""

from __future__ import annotations

import math
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.conformity import (
    Measured,
    Outcome,
    Requirement,
    Sense,
    Verdict,
    conformance_probabilities,
    conformance_probability,
    judge,
    judge_all,
    outcome_of,
)
from steelyard.units import Dimension, UnitSystem

LB = 0.45359237
POUNDS, METRIC = UnitSystem("lb", "in"), UnitSystem("kg", "mm")


def load(limit: float = 6000.0, sense: Sense = Sense.MAX, remedy: str = " on this axle") -> Requirement:
    """A limit in pounds."""
    return Requirement("a:rating", "a", "Axle 1 rating", limit * LB, sense, "label", Dimension.MASS, remedy)


def share(limit: float, sense: Sense) -> Requirement:
    """A limit in per cent."""
    return Requirement("s:window", "s", "share", limit / 100, sense, "common practice, no source", Dimension.SHARE)


def read(value: float, u: float, *, limit: float = 6000.0, dof: float = math.inf, unit: float = LB) -> Measured:
    """A finding in the unit of its limit."""
    return Measured(value * unit, u * unit, dof, (value - limit) * unit, u * unit)


@pytest.mark.parametrize(
    ("value", "outcome", "advice"),
    [
        (5900, Outcome.WITHIN, ""),
        (
            5960,
            Outcome.UNDECIDED,
            (
                "more drafts would decide it (standard uncertainty now 30 lb, 24 lb would do), or 10 lb less on this "
                "axle would bring it within at 95 %"
            ),
        ),
        (
            6020,
            Outcome.UNDECIDED,
            (
                "more drafts would decide it (standard uncertainty now 30 lb, 12 lb would do), or 70 lb less on this "
                "axle would bring it within at 95 %"
            ),
        ),
        (
            6000,
            Outcome.UNDECIDED,
            "too close to call however often it is weighed; 50 lb less on this axle would bring it within at 95 %",
        ),
        (6060, Outcome.OUTSIDE, "over by 60 lb; 110 lb less on this axle would bring it within at 95 %"),
    ],
)
def test_a_rating(value: float, outcome: Outcome, advice: str) -> None:
    verdict = judge(load(), read(value, 30.0), POUNDS)
    assert verdict.outcome is outcome
    assert verdict.advice == advice
    assert verdict.margin == pytest.approx((6000 - value) * LB, abs=1e-9)
    assert (verdict.id, verdict.finding, verdict.sense, verdict.source) == ("a:rating", "a", "max", "label")


@pytest.mark.parametrize(
    ("value", "outcome", "advice"),
    [
        (9.0, Outcome.OUTSIDE, "short by 1.0 points; 1.9 points more would bring it within at 95 %"),
        (
            10.4,
            Outcome.UNDECIDED,
            (
                "more drafts would decide it (standard uncertainty now 0.5 points, 0.2 points would do), or 0.5 points "
                "more would bring it within at 95 %"
            ),
        ),
        (12.0, Outcome.WITHIN, ""),
    ],
)
def test_a_least_share(value: float, outcome: Outcome, advice: str) -> None:
    verdict = judge(share(10.0, Sense.MIN), read(value, 0.5, limit=10.0, unit=0.01), POUNDS)
    assert verdict.outcome is outcome
    assert verdict.advice == advice
    assert verdict.margin == pytest.approx((value - 10.0) / 100)


def test_advice_speaks_the_users_units() -> None:
    verdict = judge(load(), read(6060, 30.0), METRIC)
    assert verdict.advice == "over by 27 kg; 50 kg less on this axle would bring it within at 95 %"


def test_nothing_is_judged_without_a_finding() -> None:
    verdict = judge(load(), None, POUNDS)
    assert (verdict.value, verdict.u, verdict.margin, verdict.probability, verdict.outcome) == (None,) * 5
    assert verdict.advice == ""
    assert verdict.limit == pytest.approx(6000 * LB)


def test_few_degrees_of_freedom_make_a_verdict_slower() -> None:
    """Student, 4 degrees of freedom: t of 2 is 0.9419, normal 0.9772."""
    assert conformance_probability(slack=-2.0, slack_u=1.0, dof=4.0, sense=Sense.MAX) == pytest.approx(
        0.94194, abs=5e-6
    )
    assert conformance_probability(slack=-2.0, slack_u=1.0, dof=math.inf, sense=Sense.MAX) == pytest.approx(
        0.97725, abs=5e-6
    )
    slow, quick = judge(load(), read(5940, 30.0, dof=4.0), POUNDS), judge(load(), read(5940, 30.0), POUNDS)
    assert (slow.outcome, quick.outcome) == (Outcome.UNDECIDED, Outcome.WITHIN)


def test_without_doubt_a_limit_is_met_or_not() -> None:
    for slack, sense, met in (
        (0.0, Sense.MAX, 1.0),
        (1e-9, Sense.MAX, 0.0),
        (0.0, Sense.MIN, 1.0),
        (-1e-9, Sense.MIN, 0.0),
    ):
        assert conformance_probability(slack=slack, slack_u=0.0, dof=math.inf, sense=sense) == met


@pytest.mark.parametrize(
    ("probability", "outcome"),
    [
        (1.0, Outcome.WITHIN),
        (0.95, Outcome.WITHIN),
        (0.9499, Outcome.UNDECIDED),
        (0.0501, Outcome.UNDECIDED),
        (0.05, Outcome.OUTSIDE),
        (0.0, Outcome.OUTSIDE),
    ],
)
def test_outcomes(probability: float, outcome: Outcome) -> None:
    assert outcome_of(probability) is outcome


PROFILE = settings(max_examples=200, deadline=None, derandomize=True)
DOF = st.one_of(st.just(math.inf), st.floats(3.0, 200.0))


@PROFILE
@given(slack=st.floats(-100, 100), u=st.floats(0.1, 50.0), dof=DOF)
def test_the_two_senses_are_complements(slack: float, u: float, dof: float) -> None:
    up = conformance_probability(slack=slack, slack_u=u, dof=dof, sense=Sense.MAX)
    down = conformance_probability(slack=slack, slack_u=u, dof=dof, sense=Sense.MIN)
    assert up + down == pytest.approx(1.0, abs=1e-12)
    assert 0.0 <= up <= 1.0


def amounts(verdict: Verdict) -> dict[str, float]:
    """The numbers that an advice names."""
    patterns = {
        "change": r"([\d,.]+) (?:lb|points) (?:less|more)",
        "off": r"(?:over|short) by ([\d,.]+)",
        "wanted": r"([\d,.]+) (?:lb|points) would do",
    }
    found = {name: re.search(pattern, verdict.advice) for name, pattern in patterns.items()}
    return {name: float(match[1].replace(",", "")) for name, match in found.items() if match is not None}


@PROFILE
@given(value=st.floats(5600, 6400), u=st.floats(5.0, 80.0), dof=DOF, sense=st.sampled_from(list(Sense)))
def test_the_change_that_is_advised_brings_it_within(value: float, u: float, dof: float, sense: Sense) -> None:
    """And no more than a pound of it is for nothing."""
    verdict = judge(load(sense=sense, remedy=""), read(value, u, dof=dof), POUNDS)
    if verdict.outcome is Outcome.WITHIN:
        return
    change = amounts(verdict)["change"]
    toward = -1.0 if sense is Sense.MAX else 1.0
    assert judge(load(sense=sense), read(value + toward * change, u, dof=dof), POUNDS).outcome is Outcome.WITHIN
    assert (
        judge(load(sense=sense), read(value + toward * (change - 1.001), u, dof=dof), POUNDS).outcome
        is not Outcome.WITHIN
    )


@PROFILE
@given(value=st.floats(5800, 6200), u=st.floats(10.0, 80.0), dof=DOF, sense=st.sampled_from(list(Sense)))
def test_the_uncertainty_that_would_do_does(value: float, u: float, dof: float, sense: Sense) -> None:
    """Weighed until u is what the advice says, an undecided verdict is decided, one way or the other."""
    verdict = judge(load(sense=sense), read(value, u, dof=dof), POUNDS)
    wanted = amounts(verdict).get("wanted")
    if verdict.outcome is not Outcome.UNDECIDED or wanted is None:
        return
    again = judge(load(sense=sense), read(value, wanted, dof=dof), POUNDS)
    assert again.outcome is not Outcome.UNDECIDED, (value, u, wanted, again.probability)


def test_a_share_is_judged_by_its_difference_and_not_by_its_own_u() -> None:
    """5 of 40 with a part and a whole that err together: the share is sure where the difference part - 0.1 whole is."""
    measured = Measured(value=0.125, u=0.05, dof=math.inf, slack=1.0, slack_u=0.1)
    verdict = judge(share(10.0, Sense.MIN), measured, POUNDS)
    assert verdict.outcome is Outcome.WITHIN
    assert verdict.probability == pytest.approx(1.0, abs=1e-12)
    assert verdict.margin == pytest.approx(0.025)


@pytest.mark.parametrize("sense", Sense)
def test_many_limits_are_judged_as_each_is_alone(sense: Sense) -> None:
    values, us = (5200.0, 5960.0, 6000.0, 6020.0, 6900.0), (0.0, 12.0, 30.0)
    found = [read(value, u, dof=dof) for value in values for u in us for dof in (2.5, 40.0, math.inf)]
    requirements = [load(sense=sense)] * len(found)
    slacks, doubts, dofs = (
        np.array(part) for part in zip(*((one.slack, one.slack_u, one.dof) for one in found), strict=True)
    )
    met = conformance_probabilities(slacks, doubts, dofs, np.full(len(found), sense is Sense.MAX))
    together = [one._replace(met=float(chance)) for one, chance in zip(found, met, strict=True)]
    assert judge_all(requirements, together, POUNDS) == [
        judge(*each, POUNDS) for each in zip(requirements, found, strict=True)
    ]
