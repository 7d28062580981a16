"""A verification as ``verify --json`` publishes it, one JSON object in the file's units."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Annotated, Any, Literal

from steelyard.conformity import Outcome
from steelyard.questions.findings import line_schema
from steelyard.questions.rounding import as_they_are
from steelyard.questions.shape import FORMAT, Units, to_json
from steelyard.units import Dimension, UnitSystem
from steelyard.verification import STANDING, Estimate, Judgement, VerificationResult, Verified, checked, source_of


@dataclass(frozen=True, slots=True)
class EstimateShape:
    """The result of the tests for one property of an instrument, all null where they do not determine it."""

    value: float | None
    u: Annotated[float | None, "Standard uncertainty."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    unit: str
    determined: bool


@dataclass(frozen=True, slots=True)
class VerifiedShape:
    """One instrument after its tests."""

    id: str
    serial: str
    class_: Annotated[str, "Accuracy class."]
    capacity: float
    division: float
    span: Annotated[EstimateShape, "How much too much it shows of a load."]
    relative_span: Annotated[EstimateShape, "The same against the mean of the set, where only that is determined."]
    zero: Annotated[EstimateShape, "What it shows without a load."]
    repeatability: Annotated[EstimateShape, "Standard deviation of the same load shown again."]
    eccentricity: Annotated[
        float | None, "Standard uncertainty for the place on the plate, in per cent; null where it was not tested."
    ]
    small_mass: Annotated[EstimateShape | None, "What a small mass showed of itself; null where none was tried."]
    basis: Annotated[str, "What the span rests on; where it is not determined, why."]
    standard: Annotated[
        str | None, "The masses or the reference whose error its span shares with all that were verified with them."
    ]
    standard_uncertainty: Annotated[
        float | None, "Standard uncertainty of that error, in per cent; null where no standard is named."
    ]
    verdict: Annotated[Outcome | None, "Null where nothing was judged."]
    probability: Annotated[float | None, "The least of its judgements."]


@dataclass(frozen=True, slots=True)
class JudgementShape:
    """One thing that a test showed, held against its tolerance."""

    instrument: str
    test: Annotated[int, "Its number in the file, from 1."]
    kind: str
    what: Annotated[str, "In words."]
    load: float
    error: Annotated[float, "Against the tolerance, either way."]
    u: Annotated[float, "Standard uncertainty of that error."]
    tolerance: float
    probability: Annotated[float, "That the tolerance is kept."]
    verdict: Outcome
    reason: Annotated[str, "Why it is undecided; empty where it is not."]


@dataclass(frozen=True, slots=True)
class VerificationShape:
    """Whether the instruments of one file can be believed, in the units named in the object."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    date: str | None
    due: Annotated[str | None, "When the next one is due."]
    table: Annotated[str, "The table of tolerances."]
    phase: str
    source: Annotated[str, "Where the tolerances are published."]
    checked: Annotated[str, "When the tables were last looked at."]
    instruments: tuple[VerifiedShape, ...]
    judgements: tuple[JudgementShape, ...]
    cautions: tuple[str, ...]


def verification_data(result: VerificationResult, *, file: str) -> dict[str, Any]:
    """The published verification, ready for ``json``, every number in full; see docs/reference/verification-file.md."""
    verification = result.verification
    units, record = verification.units, verification.record
    shape = VerificationShape(
        format=FORMAT,
        file=file,
        title=verification.title,
        units=Units(units.mass, units.length),
        date=None if record.date is None else record.date.isoformat(),
        due=None if verification.due is None else verification.due.isoformat(),
        table=verification.table.value,
        phase=verification.phase.value,
        source=source_of(verification.table),
        checked=checked(),
        instruments=tuple(_instrument(item, result, units) for item in result.instruments.values()),
        judgements=tuple(_judgement(item, units) for item in result.judgements),
        cautions=(*result.cautions, *STANDING),
    )
    return to_json(shape, rounding=as_they_are)


@cache
def verification_schema() -> dict[str, Any]:
    """The JSON Schema of one line: the verification of a file, or its faults."""
    return line_schema("Answer to 'verify', format 1", VerificationShape)


def _instrument(item: Verified, result: VerificationResult, units: UnitSystem) -> VerifiedShape:
    name = item.instrument.id
    return VerifiedShape(
        id=name,
        serial=item.instrument.serial,
        class_=result.verification.classes[name].value,
        capacity=units.show(item.instrument.capacity, Dimension.MASS),
        division=units.show(item.instrument.division, Dimension.MASS),
        span=_estimate(item.span, Dimension.SHARE, units),
        relative_span=_estimate(item.relative, Dimension.SHARE, units),
        zero=_estimate(item.zero, Dimension.MASS, units),
        repeatability=_estimate(item.scatter, Dimension.MASS, units),
        eccentricity=None if item.eccentricity is None else item.eccentricity * 100.0,
        small_mass=None if item.small is None else _estimate(item.small[0], Dimension.MASS, units),
        basis=item.basis,
        standard=item.updated.standard,
        standard_uncertainty=None if item.updated.standard is None else item.updated.standard_uncertainty * 100.0,
        verdict=item.outcome,
        probability=item.probability,
    )


def _estimate(item: Estimate | None, dimension: Dimension, units: UnitSystem) -> EstimateShape:
    unit = units.symbol(dimension)
    if item is None:
        return EstimateShape(None, None, None, None, unit, determined=False)
    value, u, low, high = (units.show(part, dimension) for part in (item.value, item.u, item.low, item.high))
    return EstimateShape(value, u, low, high, unit, determined=True)


def _judgement(item: Judgement, units: UnitSystem) -> JudgementShape:
    load, error, u, tolerance = (
        units.show(part, Dimension.MASS) for part in (item.load, item.error, item.u, item.tolerance)
    )
    return JudgementShape(
        instrument=item.instrument,
        test=item.test,
        kind=item.kind,
        what=item.what,
        load=load,
        error=error,
        u=u,
        tolerance=tolerance,
        probability=item.probability,
        verdict=item.outcome,
        reason=item.reason,
    )
