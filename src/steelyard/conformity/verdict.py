"""Verdicts: is a limit on a finding met, with what probability, and what would change that.

Source: JCGM 106:2012, clause 7: the conformance probability from the distribution of the measured quantity; the limits
0.95 and 0.05 are this program's own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from enum import StrEnum
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import student_probabilities, student_probability, student_quantile
from steelyard.classes import dataclass
from steelyard.conformity.joint import DependentLimit, change_needed, met_on_parts
from steelyard.conformity.requirement import Requirement, Sense
from steelyard.units import Dimension, UnitSystem, format_number

Array = NDArray[np.float64]

CONFIDENT = 0.95
"""A requirement is met, or not met, where its probability reaches this on either side."""


class Outcome(StrEnum):
    """The possible verdicts on a requirement."""

    WITHIN = "within"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"


class Side(StrEnum):
    """Which way an amount in an advice is rounded."""

    NEAREST = "nearest"
    UP = "up"
    DOWN = "down"


@dataclass(frozen=True, slots=True)
class Verdict:
    """A requirement judged against a finding; numbers in SI units.

    ``margin`` is positive where there is room. ``probability`` is that of the requirement being met. All but the limit
    are None where the finding is not determined. ``advice`` says what would decide an undecided verdict or bring an
    outside one within. ``contested``: readings contradict one another, and which of them is wrong decides the finding
    or the verdict; the probability is then the mean over the answers.
    """

    id: str
    finding: str
    label: str
    limit: float
    sense: str  # "max" or "min"
    value: float | None
    u: float | None
    margin: float | None
    probability: float | None
    outcome: Outcome | None
    source: str
    dimension: Dimension
    advice: str = ""
    contested: bool = False


class Measured(NamedTuple):
    """A determined finding as a verdict sees it (SI); a tuple, for a day has a hundred and each is used once.

    ``slack_u`` is the standard uncertainty of value minus limit times what the value is a share of, ``dof`` its degrees
    of freedom; for a plain quantity it is ``u``. ``slack`` is that difference itself, so that a share is judged as
    exactly as a load.
    ``floor_u`` is the part of ``u`` that more drafts cannot take away. Where the limit depends on another finding whose
    doubt reaches over several of its pieces, ``joint`` has both findings. ``met`` is the probability that the limit is
    met, None where that is yet to be worked out from the rest.
    """

    value: float
    u: float
    dof: float
    slack: float
    slack_u: float
    floor_u: float = 0.0
    joint: DependentLimit | None = None
    met: float | None = None


def conformance_probability(*, slack: float, slack_u: float, dof: float, sense: Sense) -> float:
    """Probability that a quantity meets its limit.

    Parameters
    ----------
    slack: quantity minus limit. slack_u: its standard uncertainty (same unit). dof: degrees of freedom of it.
    """
    below = -slack if sense is Sense.MAX else slack
    if slack_u <= 0.0:
        return 1.0 if below >= 0.0 else 0.0
    return student_probability(dof, below / slack_u)


def conformance_probabilities(slacks: Array, slack_us: Array, dofs: Array, greatest: NDArray[np.bool_]) -> Array:
    """The same of many, each with its own doubt; ``greatest``: whether its limit is a greatest one, shape (n,).

    The others are of shape (n,) or (m, n), as the result is.
    """
    below = np.where(greatest, -slacks, slacks)
    sure = slack_us <= 0.0
    deviates = np.divide(below, slack_us, out=np.zeros(below.shape), where=~sure)
    return np.where(sure, below >= 0.0, student_probabilities(dofs, deviates))


def outcome_of(probability: float) -> Outcome:
    """The verdict that a probability of being met amounts to."""
    if probability >= CONFIDENT:
        return Outcome.WITHIN
    return Outcome.OUTSIDE if probability <= 1.0 - CONFIDENT else Outcome.UNDECIDED


def probability_met(requirement: Requirement, measured: Measured) -> float:
    """Probability that a determined finding meets its limit."""
    if measured.met is not None:
        return measured.met
    return conformance_probability(
        slack=measured.slack, slack_u=measured.slack_u, dof=measured.dof, sense=requirement.sense
    )


def judge(requirement: Requirement, measured: Measured | None, units: UnitSystem) -> Verdict:
    """The verdict on one requirement; ``measured`` is None where the finding is not determined."""
    if measured is None:
        return _verdict(requirement, None, None, None, "")
    probability = probability_met(requirement, measured)
    outcome = outcome_of(probability)
    return _verdict(requirement, measured, probability, outcome, _advice(requirement, measured, outcome, units))


def judge_all(requirements: Sequence[Requirement], measured: Sequence[Measured], units: UnitSystem) -> list[Verdict]:
    """The verdicts on many requirements, each with what was measured of its finding and its probability in ``met``.

    Most limits of a day are met, and nothing is to be advised there: their verdicts are made without a detour.
    """
    return [
        Verdict(
            item.id,
            item.finding,
            item.label,
            item.limit,
            "max" if item.sense is Sense.MAX else "min",
            one.value,
            one.u,
            item.limit - one.value if item.sense is Sense.MAX else one.value - item.limit,
            one.met,
            Outcome.WITHIN,
            item.source,
            item.dimension,
        )
        if one.met is not None and one.met >= CONFIDENT
        else judge(item, one, units)
        for item, one in zip(requirements, measured, strict=True)
    ]


class Judged(Protocol):
    """Outcome and probability of a requirement, as a verdict has them, None where the finding is not determined."""

    @property
    def outcome(self) -> Outcome | None:
        """The verdict."""
        ...

    @property
    def probability(self) -> float | None:
        """The probability of the requirement being met."""
        ...


def contested_verdict(plain: Verdict, others: Sequence[Judged], decider: str, *, marked: bool) -> Verdict:
    """A verdict on a day whose readings contradict one another: sure only where it is so under every explanation.

    Parameters
    ----------
    plain: of all readings. others: of the same requirement under each explanation. decider: the draft that would tell
    which is right, in words. marked: whether the finding is contested.
    """
    if plain.probability is None:
        return plain
    outcomes = {one.outcome for one in (plain, *others)}
    if outcomes == {plain.outcome} and not marked:
        return plain
    answers = [0.5 if one.probability is None else one.probability for one in (plain, *others)]
    probability = sum(answers) / len(answers)
    if len(outcomes) == 1 and plain.outcome is not Outcome.UNDECIDED:
        return replace(plain, probability=probability, contested=True)
    advice = f"the readings contradict one another, and which is wrong decides it: {decider} would tell"
    return replace(plain, outcome=Outcome.UNDECIDED, probability=probability, advice=advice, contested=True)


def _verdict(
    requirement: Requirement, measured: Measured | None, probability: float | None, outcome: Outcome | None, advice: str
) -> Verdict:
    margin = None
    if measured is not None:
        over = measured.value - requirement.limit
        margin = -over if requirement.sense is Sense.MAX else over
    return Verdict(
        requirement.id,
        requirement.finding,
        requirement.label,
        requirement.limit,
        "max" if requirement.sense is Sense.MAX else "min",
        None if measured is None else measured.value,
        None if measured is None else measured.u,
        margin,
        probability,
        outcome,
        requirement.source,
        requirement.dimension,
        advice,
    )


def guard(measured: Measured, *, dependent: bool = False) -> float:
    """How far inside the limit the value must lie for a confident verdict (SI): the one-sided guard band.

    ``dependent``: the limit depends on another finding, whose doubt then counts too.
    """
    doubt = measured.slack_u if dependent else measured.u
    return float(student_quantile(np.array([measured.dof]), CONFIDENT)[0]) * doubt


def _advice(requirement: Requirement, measured: Measured, outcome: Outcome, units: UnitSystem) -> str:
    """Advice on a verdict: how to decide an undecided one, and the excess of an outside one."""
    if outcome is Outcome.WITHIN:
        return ""
    over = measured.value - requirement.limit
    short = over if requirement.sense is Sense.MAX else -over
    band = guard(measured, dependent=requirement.curve is not None)
    excess = short + band if measured.joint is None else change_needed(measured.joint, CONFIDENT)
    needed = _amount(excess, requirement.dimension, units, side=Side.UP)
    change = f"{needed} {'less' if requirement.sense is Sense.MAX else 'more'}{requirement.remedy}"
    if outcome is Outcome.OUTSIDE:
        off = _amount(short, requirement.dimension, units)
        side = "over" if requirement.sense is Sense.MAX else "short"
        return f"{side} by {off}; {change} would bring it within at 95 %"
    taped = "" if measured.joint is None else _tape_advice(measured.joint)
    if taped:
        return f"{taped}, or {change} would bring it within at 95 %"
    wanted = abs(over) * measured.u / band if band > 0.0 else 0.0
    if _too_small(wanted, requirement.dimension, units):
        return f"too close to call however often it is weighed; {change} would bring it within at 95 %"
    if wanted <= measured.floor_u:
        return (
            "more drafts alone would not decide it, for the doubt is in the instruments' span and the taped lengths; "
            f"{change} would bring it within at 95 %"
        )
    have = _amount(measured.u, requirement.dimension, units)
    want = _amount(wanted, requirement.dimension, units, side=Side.DOWN)
    return (
        f"more drafts would decide it (standard uncertainty now {have}, {want} would do), or {change} would bring it "
        "within at 95 %"
    )


LIKELY = 1e-3
"""A piece of a limit that is less probable than this has no say in an advice."""


def _tape_advice(joint: DependentLimit) -> str:
    """Advice where a taped distance lies within its doubt of a step of the rule; empty where that decides nothing."""
    if not joint.curve.taped:
        return ""
    answers = [outcome_of(met) for _, chance, met in met_on_parts(joint) if chance >= LIKELY]
    if len(set(answers)) == 1:
        return ""
    would = "that may decide it" if Outcome.UNDECIDED in answers else "that decides it"
    return f"the distance between the axles crosses a step of the rule within its doubt: tape it better and {would}"


def _too_small(value: float, dimension: Dimension, units: UnitSystem) -> bool:
    """Whether an amount means nothing: under one of the user's units, half a tenth of a point, a hundredth of a kN."""
    least = {Dimension.SHARE: 0.05, Dimension.FORCE: 0.01}
    return abs(units.show(value, dimension)) < least.get(dimension, 1.0)


def _amount(value: float, dimension: Dimension, units: UnitSystem, *, side: Side = Side.NEAREST) -> str:
    """An amount in whole units, tenths of a point or hundredths of a kN, rounded to the safe side if there is one."""
    shown = max(units.show(value, dimension), 0.0)
    places = {Dimension.SHARE: 1, Dimension.FORCE: 2}.get(dimension, 0)
    steps = shown * 10.0**places
    whole = {
        Side.NEAREST: round(steps),
        Side.UP: math.ceil(steps - 1e-9),
        Side.DOWN: math.floor(steps + 1e-9),
    }[side]
    unit = "points" if dimension is Dimension.SHARE else units.symbol(dimension)
    return f"{format_number(whole / 10.0**places, places)} {unit}"
