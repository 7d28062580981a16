"""Findings where readings contradict one another: answers side by side, and intervals that span them.

A finding is contested where its answer depends on which reading is taken to be wrong. Its interval is then the hull of
the answers' intervals, from the lowest end to the highest, that of all readings as they are among them; its value stays
that of all readings.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from steelyard.adjustment import Explanation
from steelyard.conformity import Requirement, Verdict, contested_verdict
from steelyard.findings.result import Answer, Finding

Array = NDArray[np.float64]
Ends = tuple[float, float]
"""The lower and the upper end of an interval."""

PULLED = 0.25
"""An answer that lies off by more than this share of the half-width, or reaches further by it, contests a finding."""

NOTHING = "nothing: all readings as they are"
"""``without`` of the answer that uses all readings."""


class Asked(Protocol):
    """Quantities of a day that can be asked again under an explanation; arrays have one element an entry (n,)."""

    def under(self, explanation: Explanation) -> Asked:
        """The same entries as an explanation has them."""
        ...

    def spans(self) -> tuple[Array, Array]:
        """Values and half-widths of the 95 % intervals, both of shape (n,)."""
        ...

    def answer(self, place: int, without: str) -> Answer:
        """The answer of the entry at index ``place``; ``without`` says which readings or changes it leaves out."""
        ...

    def verdicts(self, requirements: Sequence[Requirement]) -> tuple[Verdict, ...]:
        """The verdict on each requirement."""
        ...


class Contest:
    """The quantities of a day under each explanation of its contradictions."""

    def __init__(self, quantities: Asked, explanations: Sequence[Explanation]) -> None:
        self._plain, self._explanations = quantities, explanations
        self._under = [quantities.under(one) for one in explanations]

    def marked(self, findings: Sequence[Finding]) -> list[Finding]:
        """The findings of the quantities, in order, with those contested that the explanations move."""
        if not self._under:
            return list(findings)
        value, half = self._plain.spans()
        spans = [under.spans() for under in self._under]
        moved = np.array([exceeds(value, half, *other) for other in spans])
        found = list(findings)
        for place in np.flatnonzero(moved.any(axis=0)).tolist():
            answers = [
                under.answer(place, one.words)
                for one, under, moves in zip(self._explanations, self._under, moved[:, place], strict=True)
                if moves
            ]
            found[place] = contested(findings[place], answers)
        return found

    def verdicts(self, requirements: Sequence[Requirement], findings: Iterable[Finding]) -> tuple[Verdict, ...]:
        """The verdict on each requirement: sure only where it is so whichever explanation is right."""
        plain = self._plain.verdicts(requirements)
        if not self._under:
            return plain
        others = [under.verdicts(requirements) for under in self._under]
        marked = {finding.id for finding in findings if finding.contested}
        return tuple(
            contested_verdict(
                one, [other[at] for other in others], self._decider(at, one, others), marked=one.finding in marked
            )
            for at, one in enumerate(plain)
        )

    def _decider(self, at: int, plain: Verdict, others: Sequence[Sequence[Verdict]]) -> str:
        """The draft that would tell which explanation is right: of what those who disagree have in common."""
        disagree = [
            one
            for one, verdicts in zip(self._explanations, others, strict=True)
            if verdicts[at].outcome is not plain.outcome
        ]
        return deciding_draft(disagree or self._explanations)


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
    """Where an answer lies off by too much, or reaches too far beyond the interval; all of shape (n,)."""
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
    return replace(finding, low=low, high=high, answers=said)
