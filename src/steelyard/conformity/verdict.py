"""Verdicts: is a limit on a finding met, with what probability, and what would change that.

Source: JCGM 106:2012, clause 7: the conformance probability from the distribution of the measured quantity.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from steelyard.units import Dimension


class Outcome(StrEnum):
    """What can be said of a requirement."""

    WITHIN = "within"
    OUTSIDE = "outside"
    UNDECIDED = "undecided"


@dataclass(frozen=True, slots=True)
class Verdict:
    """A requirement judged against a finding; numbers in SI units.

    ``margin`` is positive where there is room. ``probability`` is that of the requirement being met. All but the limit
    are None where the finding is not determined. ``advice`` says what would decide an undecided verdict or bring an
    outside one within.
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
