"""Findings where readings contradict one another: answers side by side, and intervals that span them.

A finding is contested where its answer depends on which reading is taken to be wrong. Its interval is then the hull of
the answers' intervals, from the lowest end to the highest, that of all readings as they are among them; its value stays
that of all readings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from math import isnan
from typing import NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Explanation
from steelyard.conformity import Outcome, Requirement, Verdict, contested_verdict, outcome_of
from steelyard.findings.competing import Competing
from steelyard.findings.result import Answer, Finding

Array = NDArray[np.float64]
Ends = tuple[float, float]
"""The lower and the upper end of an interval."""

PULLED = 0.25
"""An answer that lies off by more than this share of the half-width, or reaches further by it, contests a finding."""

NOTHING = "nothing: all readings as they are"
"""``without`` of the answer that uses all readings."""


class Asked(Protocol):
    """Quantities of a day that can be asked again under explanations; arrays have one element an entry (n,)."""

    def competing(self, explanations: Sequence[Explanation]) -> Competing:
        """The same entries as each explanation has them."""
        ...

    def spans(self) -> tuple[Array, Array]:
        """Values and half-widths of the 95 % intervals, both of shape (n,)."""
        ...

    def verdicts(self, requirements: Sequence[Requirement]) -> tuple[Verdict, ...]:
        """The verdict on each requirement."""
        ...

    def met_under(
        self, requirements: Sequence[Requirement], explanations: Sequence[Explanation], competing: Competing
    ) -> Array:
        """Probability of each requirement being met under each explanation, shape (explanations, requirements).

        NaN where its finding is not determined.
        """
        ...


class JudgedAnswer(NamedTuple):
    """Outcome and probability of a requirement under one explanation, None where its finding is not determined."""

    outcome: Outcome | None
    probability: float | None


OPEN = JudgedAnswer(None, None)


class Contest:
    """The quantities of a day under each explanation of its contradictions."""

    def __init__(self, quantities: Asked, explanations: Sequence[Explanation]) -> None:
        self._plain, self._explanations = quantities, explanations
        self._competing = quantities.competing(explanations) if explanations else None
        self._deciders: dict[tuple[int, ...], str] = {}

    def marked(self, findings: Sequence[Finding]) -> list[Finding]:
        """The findings of the quantities, in order, with those contested that the explanations move."""
        found = list(findings)
        if self._competing is None:
            return found
        moved = exceeds(*self._plain.spans(), *self._competing.spans())
        words = [one.words for one in self._explanations]
        for place, answers in self._competing.answers(words, moved).items():
            found[place] = contested(findings[place], answers)
        return found

    def verdicts(self, requirements: Sequence[Requirement], findings: Iterable[Finding]) -> tuple[Verdict, ...]:
        """The verdict on each requirement: sure only where it is so whichever explanation is right."""
        plain = self._plain.verdicts(requirements)
        if self._competing is None:
            return plain
        met = self._plain.met_under(requirements, self._explanations, self._competing)
        marked = {finding.id for finding in findings if finding.contested}
        found: list[Verdict] = []
        for one, chances in zip(plain, met.T.tolist(), strict=True):
            others = [OPEN if isnan(chance) else JudgedAnswer(outcome_of(chance), chance) for chance in chances]
            decider = self._decider(one, others)
            found.append(contested_verdict(one, others, decider, marked=one.finding in marked))
        return tuple(found)

    def _decider(self, plain: Verdict, others: Sequence[JudgedAnswer]) -> str:
        """The draft that would tell which explanation is right: of what those who disagree have in common."""
        disagree = tuple(at for at, other in enumerate(others) if other.outcome is not plain.outcome)
        if disagree not in self._deciders:
            some = [self._explanations[at] for at in disagree] or self._explanations
            self._deciders[disagree] = deciding_draft(some)
        return self._deciders[disagree]


def deciding_draft(explanations: Iterable[Explanation]) -> str:
    """The draft that would tell which explanation is right, in words: of the places that most of them are about.

    Places that as many are about are all named, so that which comes first in the file or on which side it is does not
    matter.
    """
    counted = Counter((named.state, named.place) for one in explanations for named in one.readings)
    if not counted:
        return "one more draft"
    most = max(counted.values())
    places: dict[str, list[str]] = {}
    for (state, place), count in counted.items():
        if count == most:
            places.setdefault(state, []).append(place)
    said = [f"of {' and '.join(sorted(some))} in state {state}" for state, some in sorted(places.items())]
    return f"one more draft {' or '.join(said)}"


def exceeds(value: Array, half: Array, other: Array, other_half: Array) -> NDArray[np.bool_]:
    """Where an answer lies off by too much, or reaches too far beyond the interval.

    ``value`` and ``half`` are of shape (n,), those of the answers and the result of shape (n,) or (m, n).
    """
    apart = np.abs(other - value)
    return (apart > PULLED * half) | (apart + other_half > (1.0 + PULLED) * half)


def merged(plain: Finding, others: Iterable[tuple[str, Finding]]) -> Finding:
    """A finding of all readings, contested by what the same finding is under each explanation, given with its words.

    An explanation under which the finding is not determined contests nothing.
    """
    answers = [
        Answer(words, other.value, other.low, other.high)
        for words, other in others
        if other.value is not None and _apart(plain, other)
    ]
    return contested(plain, answers)


def _apart(plain: Finding, other: Finding) -> bool:
    if plain.low is None or plain.high is None or other.low is None or other.high is None:
        return False
    return contests((plain.low, plain.high), (other.low, other.high))


def contests(plain: Ends, other: Ends) -> bool:
    """Whether the interval of an answer lies off that of all readings by too much, or reaches too far beyond it."""
    ends = np.array([plain, other])
    middle, half = ends.mean(axis=1, keepdims=True), np.diff(ends, axis=1) / 2.0
    return bool(exceeds(middle[0], half[0], middle[1], half[1])[0])


def hull(intervals: Iterable[Ends]) -> Ends:
    """The interval that spans several, from the lowest end to the highest."""
    lows, highs = zip(*intervals, strict=True)
    return min(lows), max(highs)


def contested(finding: Finding, answers: Sequence[Answer]) -> Finding:
    """A finding with the answers that contest it, and the hull of their intervals as its own."""
    if finding.value is None or finding.low is None or finding.high is None or not answers:
        return finding
    said = (Answer(NOTHING, finding.value, finding.low, finding.high), *answers)
    low, high = hull((one.low, one.high) for one in said if one.low is not None and one.high is not None)
    return Finding(  # of hundreds of them, ``replace`` would cost more than all else here
        finding.id,
        finding.label,
        finding.dimension,
        finding.basis,
        finding.value,
        finding.u,
        low,
        high,
        finding.dof,
        finding.needs,
        finding.why,
        said,
    )
