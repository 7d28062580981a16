"""A whole verification: span, zero and scatter of each instrument, every reading judged, and what to keep of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from steelyard.adjustment import PAD_SPAN, PLATFORM_SPAN, REPEATABILITY
from steelyard.conformity import Outcome
from steelyard.model import (
    EccentricTest,
    Instrument,
    InstrumentKind,
    LoadTest,
    PermutedTest,
    RepeatTest,
    RoundTest,
    SmallMassTest,
    Verification,
    VerificationTest,
    ZeroReturnTest,
)
from steelyard.units import UNITS, Dimension
from steelyard.verification.cautions import cautions_of
from steelyard.verification.gravity import corrected
from steelyard.verification.judge import Judge, change_point
from steelyard.verification.line import (
    DECLARED_DOF,
    Array,
    CalibrationLine,
    Estimate,
    ExpectedScatter,
    scatter_likelihood,
    scatter_of,
    straight_line,
)
from steelyard.verification.relative import Comparison, compare
from steelyard.verification.result import Judgement, VerificationResult, Verified

HIDDEN_BELOW = 0.5
"""A scatter under this share of a division is hidden by the rounding: only its upper end counts."""

_FEWEST = 4
"""Fewer readings than this beyond what is needed say too little of the scatter to be kept for weigh days."""

_NO_LOAD = "no known load was put on it"
_COMMON = "only its difference from the rest of the set was tested; the span that all share takes a known load"


def verify(verification: Verification) -> VerificationResult:
    """Everything that the tests of a verification show, in SI units.

    Spans, zeros and scatters come from known loads as a straight line through what the indications allow; spans that
    no known load gave come from comparison, against a member that has one or against the mean of the set.
    """
    parts = {name: _Tests(verification, item) for name, item in verification.instruments.items()}
    lines = {name: part.line() for name, part in parts.items()}
    scatters = {name: part.scatter(lines[name]) for name, part in parts.items()}
    compared = _compared(verification, lines, scatters, parts)
    small = {
        number: _small_mass(test, parts[test.instrument])
        for number, test in enumerate(verification.tests, 1)
        if isinstance(test, SmallMassTest)
    }
    judgements = Judge(verification).judgements(small)
    common = _Common(_shared(parts, lines), _anchoring(verification, parts, lines))
    found: dict[str, Verified] = {}
    for name, part in parts.items():
        own = [item for item in judgements if item.instrument == name]
        found[name] = part.verified(lines[name], scatters[name], compared, own, small, common)
    return VerificationResult(verification, found, judgements, cautions_of(verification, found, judgements, compared))


@dataclass(frozen=True, slots=True)
class _Shared:
    """The set of instruments verified with known loads of one doubt but of no name, and what its members share [1]."""

    name: str
    u: float
    members: frozenset[str]


@dataclass(frozen=True, slots=True)
class _Standard:
    """Masses or a reference with a name on the certificate, and the standard uncertainty of what they share [1]."""

    name: str
    u: float


@dataclass(frozen=True, slots=True)
class _Common:
    """The set of instruments, where no standard is named, and the standard that a comparison rests on."""

    set: _Shared | None
    anchor: _Standard | None


def _anchoring(
    verification: Verification, parts: Mapping[str, _Tests], lines: Mapping[str, CalibrationLine | None]
) -> _Standard | None:
    """The standard of all instruments that tie a comparison to known loads; None where they have several, or none."""
    compared = {name for test in verification.tests for name in _members(test)}
    anchors = {part.standard for name, part in parts.items() if name in compared and lines[name] is not None}
    return anchors.pop() if len(anchors) == 1 else None


def _members(test: VerificationTest) -> set[str]:
    """The instruments of a comparison; none of another test."""
    if isinstance(test, RoundTest):
        return set(test.readings)
    if isinstance(test, PermutedTest):
        return {name for draft in test.drafts for name, _ in draft.values()}
    return set()


def _shared(parts: Mapping[str, _Tests], lines: Mapping[str, CalibrationLine | None]) -> _Shared | None:
    """The doubt of known loads without a name where several instruments have the same; None where each has its own."""
    unnamed = {name: part for name, part in parts.items() if lines[name] is not None and part.standard is None}
    us = {name: part.shared_u for name, part in unnamed.items() if part.shared_u > 0.0}
    if len(us) < 2 or len(set(us.values())) > 1:
        return None
    date = next(iter(parts.values())).verification.record.date
    sets = {parts[name].instrument.set for name in us} - {None}
    name = sets.pop() if len(sets) == 1 else None
    return _Shared(name or f"verified-{date}", next(iter(us.values())), frozenset(us))


def _compared(
    verification: Verification,
    lines: Mapping[str, CalibrationLine | None],
    scatters: Mapping[str, Estimate | None],
    parts: Mapping[str, _Tests],
) -> Comparison | None:
    tests = [test for test in verification.tests if isinstance(test, RoundTest | PermutedTest)]
    if not tests:
        return None
    spread = {name: part.expected.scatter for name, part in parts.items()}
    spread |= {name: item.value for name, item in scatters.items() if item is not None}
    anchor = _anchoring(verification, parts, lines)
    # the error of one standard moves all spans alike: it is no reason to trust one anchor less than another
    own = {name: 0.0 if anchor is not None else part.shared_u for name, part in parts.items()}
    known = {name: line.slope.widened(own[name]) for name, line in lines.items() if line is not None}
    found = compare(tests, verification.instruments, spread, known)
    if anchor is None:
        return found
    spans = {name: None if span is None else span.widened(anchor.u) for name, span in found.spans.items()}
    return replace(found, spans=spans)


def _small_mass(test: SmallMassTest, part: _Tests) -> Estimate:
    """The size of a small mass [kg] as the instrument shows it, by the statistics of dithered rounding."""
    shown = np.array([*test.without, *test.together])
    shown = shown - shown[: len(test.without)].mean()
    at = np.repeat([0.0, 1.0], [len(test.without), len(test.together)])
    half = part.instrument.division / 2.0
    return straight_line(at, shown - half, shown + half, expected=part.expected).slope


class _Tests:
    """The tests of one instrument."""

    def __init__(self, verification: Verification, instrument: Instrument) -> None:
        self.verification, self.instrument = verification, instrument
        tests = [test for _, test in verification.tests_of(instrument.id)]
        self.loads = [test for test in tests if isinstance(test, LoadTest)]
        self.eccentric = [test for test in tests if isinstance(test, EccentricTest)]
        self.shared_u = max((test.shared_u for test in self.loads), default=0.0)
        names = {test.standard for test in self.loads}
        name = names.pop() if len(names) == 1 else None
        self.standard = None if name is None else _Standard(name, self.shared_u)
        groups = [test.readings for test in tests if isinstance(test, RepeatTest)]
        groups += [test.readings[instrument.id] for test in tests if isinstance(test, RoundTest)]
        self.repeats: list[Array] = [np.array(group) for group in groups if len(group) > 1]
        self.zeros = [test for test in tests if isinstance(test, ZeroReturnTest)]
        stated = instrument.repeatability
        least = 0.02 * instrument.division
        self.expected = (
            ExpectedScatter(REPEATABILITY * instrument.division)
            if stated is None
            # a scatter that the rounding hides was never seen to be there
            else ExpectedScatter(
                max(stated, least), DECLARED_DOF, may_be_still=stated < HIDDEN_BELOW * instrument.division
            )
        )

    def line(self) -> CalibrationLine | None:
        """Zero, span and scatter from the known loads; None without any."""
        if not self.loads:
            return None
        loads, low, high = self._intervals()
        repeats = scatter_likelihood(self.repeats, self.instrument.division) if self.repeats else None
        own_u = max(test.own_u for test in self.loads)
        return straight_line(loads, low, high, expected=self.expected, own_u=own_u, repeats=repeats)

    def _intervals(self) -> tuple[Array, Array, Array]:
        """Loads, and the intervals that hold their errors [kg]; what was read empty is a load of nothing."""
        half = self.instrument.division / 2.0
        rows: list[tuple[float, float, float]] = []
        for test in self.loads:
            smallest = test.smallest or self.instrument.division / 10.0
            for step in corrected(test, self.verification.place):
                error = step.shown - step.load
                if step.added is None:
                    rows.append((step.load, error - half, error + half))
                else:  # the last small weight tipped it: the change lies between it and the one before
                    felt = change_point(step, self.instrument.division) - step.load
                    rows.append((step.load, felt, felt + smallest))
        rows += [(0.0, shown - half, shown + half) for test in self.zeros for shown in (test.before, test.after)]
        table = np.array(rows)
        return table[:, 0], table[:, 1], table[:, 2]

    def scatter(self, line: CalibrationLine | None) -> Estimate | None:
        """The scatter of one reading [kg]; None where nothing was read twice."""
        if line is not None:
            return line.scatter
        return scatter_of(self.repeats, self.instrument.division, self.expected) if self.repeats else None

    def _redundant(self) -> int:
        """How many readings there are beyond those that zero, span and the loads of repeats take."""
        return sum(len(group) - 1 for group in self.repeats) + sum(len(test.steps) for test in self.loads) - 2

    def eccentricity(self) -> float | None:
        """Standard uncertainty for the place on the plate [1].

        Source: EURAMET cg-18 v4.0, 7.1.1.4 (from memory): the largest departure over twice the load, uniform.
        """
        found: list[float] = []
        for test in self.eccentric:
            start = next(iter(test.readings.values()))
            most = max(abs(shown - start) for shown in test.readings.values())
            found.append(most / (2.0 * test.load * math.sqrt(3.0)))
        return max(found, default=None)

    def verified(
        self,
        line: CalibrationLine | None,
        scatter: Estimate | None,
        compared: Comparison | None,
        own: list[Judgement],
        small: Mapping[int, Estimate],
        common: _Common,
    ) -> Verified:
        """All that is known of the instrument."""
        name = self.instrument.id
        span = None if line is None else line.slope.widened(self.shared_u)
        other = None if compared is None or line is not None else compared.spans.get(name)
        anchored = other is not None and compared is not None and compared.anchored
        relative = None if anchored else other
        hidden = scatter is not None and scatter.value < HIDDEN_BELOW * self.instrument.division
        if scatter is not None and hidden:
            scatter = replace(scatter, low=0.0)
        felt = [
            (small[number], test.mass)
            for number, test in self.verification.tests_of(name)
            if isinstance(test, SmallMassTest)
        ]
        return Verified(
            self.instrument,
            other if anchored else span,
            None if line is None else line.zero,
            scatter,
            relative,
            self._basis(line, anchored=anchored, relative=relative),
            self.shared_u,
            hidden,
            felt[-1] if felt else None,
            self.eccentricity(),
            _outcome(own),
            min((item.probability for item in own), default=None),
            self._updated(line, other, scatter, common, anchored=anchored),
        )

    def _basis(self, line: CalibrationLine | None, *, anchored: bool, relative: Estimate | None) -> str:
        if line is not None:
            kinds = {
                ("a reference scale" if test.by_reference else "known masses", test.standard) for test in self.loads
            }
            return " and ".join(sorted(kind if name is None else f"{kind} {name}" for kind, name in kinds))
        if anchored:
            return "comparison with instruments that carried a known load"
        return _NO_LOAD if relative is None else _COMMON

    def _updated(
        self,
        line: CalibrationLine | None,
        other: Estimate | None,
        scatter: Estimate | None,
        common: _Common,
        *,
        anchored: bool,
    ) -> Instrument:
        """The instrument with what is now known of it; it shares errors with others as this verification has it."""
        found = replace(self._dated(), set=None, set_uncertainty=0.0, standard=None, standard_uncertainty=0.0)
        if scatter is not None and self._redundant() >= _FEWEST:
            found = replace(found, repeatability=self._mass(scatter.value))
        eccentricity = self.eccentricity()
        if eccentricity is not None:
            found = replace(found, eccentricity=_share(eccentricity))
        if line is not None:
            return self._by_loads(found, line, common.set)
        if other is None:
            return self.instrument
        found = replace(found, span=_share(other.value), span_uncertainty=_share(other.u))
        if not anchored:
            usual = PAD_SPAN if self.instrument.kind is InstrumentKind.PAD else PLATFORM_SPAN
            name = self.instrument.set or f"compared-{self.verification.record.date}"
            return replace(found, set=name, set_uncertainty=self.instrument.set_uncertainty or _share(usual))
        if common.anchor is None:
            return found
        return _by_standard(found, math.sqrt(max(other.u**2 - common.anchor.u**2, 0.0)), common.anchor)

    def _by_loads(self, found: Instrument, line: CalibrationLine, shared: _Shared | None) -> Instrument:
        """The instrument with the span and the zero that known loads gave."""
        zero_u = self._mass(math.hypot(line.zero.value, line.zero.u))
        found = replace(found, span=_share(line.slope.value), zero_uncertainty=zero_u)
        if self.standard is not None:
            return _by_standard(found, line.slope.u, self.standard)
        if shared is not None and self.instrument.id in shared.members:
            u = _share(line.slope.u)
            return replace(found, span_uncertainty=u, set=shared.name, set_uncertainty=shared.u)
        return replace(found, span_uncertainty=_share(math.hypot(line.slope.u, self.shared_u)))

    def _mass(self, value: float) -> float:
        """A mass [kg] to a tenth of the file's unit: what is kept is read by people."""
        factor = self.verification.units.factor(Dimension.MASS)
        return round(value / factor, 1) * factor

    def _dated(self) -> Instrument:
        place, record = self.verification.place, self.verification.record
        return replace(
            self.instrument,
            verified=record.date,
            verified_latitude=place.latitude,
            verified_elevation=place.elevation,
            due=self.verification.due,
        )


def _by_standard(found: Instrument, own_u: float, standard: _Standard) -> Instrument:
    """An instrument whose span has a doubt of its own [1], and shares the error of a standard with others."""
    return replace(
        found, span_uncertainty=_share(own_u), standard=standard.name, standard_uncertainty=_share(standard.u)
    )


def _share(value: float) -> float:
    """A share to a ten-thousandth of a percent."""
    percent = UNITS["%"].factor
    return (round(value / percent, 4) + 0.0) * percent


def _outcome(own: list[Judgement]) -> Outcome | None:
    outcomes = {item.outcome for item in own}
    for outcome in (Outcome.OUTSIDE, Outcome.UNDECIDED, Outcome.WITHIN):
        if outcome in outcomes:
            return outcome
    return None
