"""Results of a verification, as values in SI units."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steelyard.conformity import Outcome
from steelyard.model import Instrument, Verification
from steelyard.verification.line import Estimate


@dataclass(frozen=True, slots=True)
class Judgement:
    """One thing that a test showed, held against its tolerance.

    Attributes
    ----------
    test: number of the test, from 1. kind: ``masses``, ``reference``, ``eccentric``, ``repeats``, ``zero_return`` or
        ``small_mass``. what: in words.
    load [kg]. error [kg]: against the tolerance, either way; u [kg]: of that error, from the test itself.
    probability: that the tolerance is kept. limit_u [kg]: the largest ``u`` with which the test may judge.
    reason: why it is undecided; empty where it is not.
    """

    instrument: str
    test: int
    kind: str
    what: str
    load: float
    error: float
    u: float
    tolerance: float
    probability: float
    outcome: Outcome
    limit_u: float
    source: str
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Verified:
    """One instrument after its tests.

    Attributes
    ----------
    span [1], zero [kg], scatter [kg]: estimates; None where they are not determined.
    relative: span against the mean of the set [1], where only that is determined.
    basis: what the span rests on, in words; where it is None, why it is not determined.
    shared_u: the part of the span's standard uncertainty that the known loads bring, common to the set [1].
    hidden: whether the scatter is hidden by the rounding, so that only its upper end counts.
    small: what a small mass showed of itself [kg], with the mass [kg].
    eccentricity: standard uncertainty for the place on the plate [1]; None where it was not tested.
    probability: the least of its judgements; outcome: ``outside`` where one is, ``within`` where all are.
    updated: the instrument as it goes into a weigh day from now on.
    """

    instrument: Instrument
    span: Estimate | None
    zero: Estimate | None
    scatter: Estimate | None
    relative: Estimate | None
    basis: str
    shared_u: float
    hidden: bool
    small: tuple[Estimate, float] | None
    eccentricity: float | None
    outcome: Outcome | None
    probability: float | None
    updated: Instrument


@dataclass(frozen=True, slots=True)
class VerificationResult:
    """A whole verification: its instruments by name, its judgements in file order, its cautions."""

    verification: Verification
    instruments: Mapping[str, Verified]
    judgements: tuple[Judgement, ...]
    cautions: tuple[str, ...]

    @property
    def tested(self) -> tuple[Verified, ...]:
        """The instruments of which the tests showed a span, absolute or against the set."""
        found = self.instruments.values()
        return tuple(item for item in found if item.span is not None or item.relative is not None)
