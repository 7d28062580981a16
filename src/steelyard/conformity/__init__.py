"""Conformity: limits on findings and the verdicts on them.

Owns the probability that a requirement is met. Knows no rule by name (``rules`` does). Read ``rules`` next.
"""

from steelyard.conformity.joint import REACH, DependentLimit, met_probabilities
from steelyard.conformity.requirement import LimitCurve, Piece, Requirement, Sense
from steelyard.conformity.verdict import (
    CONFIDENT,
    Judged,
    Measured,
    Outcome,
    Verdict,
    conformance_probabilities,
    conformance_probability,
    contested_verdict,
    guard,
    judge,
    judge_all,
    outcome_of,
    probability_met,
)

__all__ = [
    "CONFIDENT",
    "REACH",
    "DependentLimit",
    "Judged",
    "LimitCurve",
    "Measured",
    "Outcome",
    "Piece",
    "Requirement",
    "Sense",
    "Verdict",
    "conformance_probabilities",
    "conformance_probability",
    "contested_verdict",
    "guard",
    "judge",
    "judge_all",
    "met_probabilities",
    "outcome_of",
    "probability_met",
]
