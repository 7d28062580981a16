"""Conformity: limits on findings and the verdicts on them.

Owns the probability that a requirement is met. Knows no rule by name (``rules`` does). Read ``rules`` next.
"""

from steelyard.conformity.requirement import LimitCurve, Requirement, Sense
from steelyard.conformity.verdict import (
    CONFIDENT,
    Measured,
    Outcome,
    Verdict,
    conformance_probability,
    contested_verdict,
    guard,
    judge,
    outcome_of,
)

__all__ = [
    "CONFIDENT",
    "LimitCurve",
    "Measured",
    "Outcome",
    "Requirement",
    "Sense",
    "Verdict",
    "conformance_probability",
    "contested_verdict",
    "guard",
    "judge",
    "outcome_of",
]
