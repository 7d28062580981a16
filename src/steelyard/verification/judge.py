"""Each reading of a verification against its tolerance, with the probability that the tolerance is kept.

Source: JCGM 106:2012, clause 7. An error that a change point shows before rounding is judged as it stands. R 76 judges
the error before rounding, so where no change point was sought the rounding is one more doubt, uniform over a division;
Handbook 44 judges what is shown.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from steelyard.conformity import Outcome, Sense, conformance_probability, outcome_of
from steelyard.model import (
    AccuracyClass,
    EccentricTest,
    Instrument,
    LoadStep,
    LoadTest,
    RepeatTest,
    SmallMassTest,
    ToleranceTable,
    Verification,
    ZeroReturnTest,
)
from steelyard.units import Dimension, format_number
from steelyard.verification.gravity import corrected
from steelyard.verification.line import Estimate
from steelyard.verification.result import Judgement
from steelyard.verification.tolerances import fineness, source_of, tolerance_of, zero_return_of

_NODES = 401


def kept_probability(error: float, u: float, tolerance: float, *, rounding: float = 0.0) -> float:
    """Probability that an error lies within its tolerance, either way, all in one unit.

    ``rounding`` is the width over which the error may lie anywhere besides, as a rounded one does. An error that meets
    its tolerance exactly keeps it.
    """
    edge = 1e-9 * tolerance
    if u <= 0.0 and rounding > 0.0:
        inside = min(error + rounding / 2.0, tolerance) - max(error - rounding / 2.0, -tolerance)
        return min(max(inside / rounding, 0.0), 1.0)
    if rounding <= 0.0:
        return _between(error, u, tolerance + edge)
    offsets = (np.arange(_NODES) + 0.5) / _NODES - 0.5
    return float(np.mean([_between(error + rounding * float(part), u, tolerance + edge) for part in offsets]))


def _between(error: float, u: float, tolerance: float) -> float:
    below = conformance_probability(slack=error - tolerance, slack_u=u, dof=math.inf, sense=Sense.MAX)
    above = conformance_probability(slack=error + tolerance, slack_u=u, dof=math.inf, sense=Sense.MIN)
    return max(below + above - 1.0, 0.0)


def change_point(step: LoadStep, division: float) -> float:
    """Indication before rounding [kg]: ``I + d/2 - added``; without a change point what was shown.

    Source: OIML R 76-1:2006, A.4.4.3 (from memory); NMI P 108 gives the same.
    """
    return step.shown if step.added is None else step.shown + division / 2.0 - step.added


class Judge:
    """Judges one verification."""

    def __init__(self, verification: Verification) -> None:
        self.verification = verification
        self._share, self._rule = fineness(verification.table)
        self._source = source_of(verification.table)

    def judgements(self, small: dict[int, Estimate]) -> tuple[Judgement, ...]:
        """All judgements in file order; ``small`` has what each test with a small mass found of it [kg]."""
        return tuple(self._all(small))

    def _all(self, small: dict[int, Estimate]) -> Iterator[Judgement]:
        for number, test in enumerate(self.verification.tests, 1):
            match test:
                case LoadTest():
                    yield from self._loads(number, test)
                case EccentricTest():
                    yield from self._eccentric(number, test)
                case RepeatTest():
                    yield self._repeats(number, test)
                case ZeroReturnTest():
                    yield self._zero_return(number, test)
                case SmallMassTest():
                    yield self._small(number, test, small[number])
                case _:
                    pass

    def _of(self, name: str) -> tuple[Instrument, AccuracyClass]:
        return self.verification.instruments[name], self.verification.classes[name]

    def _mass(self, value: float) -> str:
        units = self.verification.units
        shown = units.show(value, Dimension.MASS)
        places = 0 if abs(shown - round(shown)) < 1e-6 else 1
        return f"{format_number(shown, places)} {units.mass}"

    def _judged(self, made: Judgement, *, rounding: float = 0.0) -> Judgement:
        """The probability and the outcome of a judgement that has the rest."""
        probability = kept_probability(made.error, made.u, made.tolerance, rounding=rounding)
        outcome, reason = outcome_of(probability), ""
        limit_u = made.tolerance / self._share / 2.0
        if made.u > limit_u * (1 + 1e-9):
            outcome = Outcome.UNDECIDED
            reason = (
                f"the test is too coarse: its known load is good to {self._mass(2.0 * made.u)} (k = 2), and a verdict "
                f"takes {self._mass(2.0 * limit_u)} ({self._rule})"
            )
            if probability <= 0.05:
                reason += "; it looks outside: do not use the instrument until a finer test says otherwise"
        elif outcome is Outcome.UNDECIDED and rounding > 0.0:
            reason = "the division rounds away what would decide it: seek the change point with small weights"
        elif outcome is Outcome.UNDECIDED:
            reason = "too close to the tolerance for the doubt of the known load"
        return replace(made, probability=probability, outcome=outcome, limit_u=limit_u, reason=reason)

    def _open(self, name: str, number: int, kind: str, what: str, load: float) -> Judgement:
        instrument, grade = self._of(name)
        tolerance = tolerance_of(self.verification.phase, grade, instrument, load)
        return Judgement(name, number, kind, what, load, 0.0, 0.0, tolerance, 1.0, Outcome.WITHIN, 0.0, self._source)

    def _loads(self, number: int, test: LoadTest) -> Iterator[Judgement]:
        instrument, _ = self._of(test.instrument)
        steps = corrected(test, self.verification.place)
        kind = "reference" if test.by_reference else "masses"
        first = steps[0]
        before_rounding = self.verification.table is ToleranceTable.R76
        known_zero = before_rounding and first.load == 0.0 and first.added is not None
        zero = change_point(first, instrument.division) if known_zero else 0.0
        way = ""
        for place, step in enumerate(steps):
            before = steps[place - 1].load if place else step.load
            way = "up" if step.load > before else "down" if step.load < before else way
            error = change_point(step, instrument.division) - step.load - (zero if place else 0.0)
            smallest = (test.smallest or instrument.division / 10.0) if step.added is not None else 0.0
            u = math.hypot(test.shared_u * step.load, test.own_u if step.load else 0.0, smallest / math.sqrt(12.0))
            what = f"{self._mass(step.load)}{', going ' + way if way and not test.by_reference else ''}"
            made = replace(self._open(test.instrument, number, kind, what, step.load), error=error, u=u)
            rounded = before_rounding and step.added is None
            yield self._judged(made, rounding=instrument.division if rounded else 0.0)

    def _eccentric(self, number: int, test: EccentricTest) -> Iterator[Judgement]:
        first, start = next(iter(test.readings.items()))
        for place, shown in test.readings.items():
            if test.load_u is None and place == first:
                continue
            against = f", against {first}" if test.load_u is None else ""
            error = shown - (start if test.load_u is None else test.load)
            made = self._open(test.instrument, number, "eccentric", f"{place}{against}", test.load)
            yield self._judged(replace(made, error=error, u=test.load_u or 0.0))

    def _repeats(self, number: int, test: RepeatTest) -> Judgement:
        """The largest reading less the smallest (T.N.5 of Handbook 44; 3.6.1 of R 76; both from memory)."""
        instrument, grade = self._of(test.instrument)
        tolerance = tolerance_of(self.verification.phase, grade, instrument, test.load, maintenance=True)
        made = self._open(test.instrument, number, "repeats", f"range of {len(test.readings)} readings", test.load)
        return self._judged(replace(made, error=max(test.readings) - min(test.readings), tolerance=tolerance))

    def _zero_return(self, number: int, test: ZeroReturnTest) -> Judgement:
        instrument, grade = self._of(test.instrument)
        tolerance = zero_return_of(self.verification.phase, grade, instrument)
        made = self._open(test.instrument, number, "zero_return", f"zero after {self._mass(test.load)}", test.load)
        return self._judged(replace(made, error=test.after - test.before, tolerance=tolerance))

    def _small(self, number: int, test: SmallMassTest, found: Estimate) -> Judgement:
        made = self._open(test.instrument, number, "small_mass", f"{self._mass(test.mass)} more", 0.0)
        return self._judged(replace(made, load=test.mass, error=found.value - test.mass, u=found.u))
