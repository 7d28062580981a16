"""A verification as data: one JSON object, in the file's units."""

from __future__ import annotations

from typing import Any

from steelyard.units import Dimension, UnitSystem
from steelyard.verification.cautions import STANDING
from steelyard.verification.line import Estimate
from steelyard.verification.result import Judgement, VerificationResult, Verified
from steelyard.verification.tolerances import checked, source_of

FORMAT = 1


def verification_to_data(result: VerificationResult, *, file: str) -> dict[str, Any]:
    """The published shape of one verification, ready for JSON; see docs/reference/verification-file.md."""
    verification = result.verification
    units, record = verification.units, verification.record
    return {
        "format": FORMAT,
        "file": file,
        "title": verification.title,
        "units": {"mass": units.mass, "length": units.length},
        "date": None if record.date is None else record.date.isoformat(),
        "due": None if verification.due is None else verification.due.isoformat(),
        "table": verification.table.value,
        "phase": verification.phase.value,
        "source": source_of(verification.table),
        "checked": checked(),
        "instruments": [_instrument(item, result, units) for item in result.instruments.values()],
        "judgements": [_judgement(item, units) for item in result.judgements],
        "cautions": [*result.cautions, *STANDING],
    }


def _instrument(item: Verified, result: VerificationResult, units: UnitSystem) -> dict[str, Any]:
    name = item.instrument.id
    return {
        "id": name,
        "serial": item.instrument.serial,
        "class": result.verification.classes[name].value,
        "capacity": units.show(item.instrument.capacity, Dimension.MASS),
        "division": units.show(item.instrument.division, Dimension.MASS),
        "span": _estimate(item.span, Dimension.SHARE, units),
        "relative_span": _estimate(item.relative, Dimension.SHARE, units),
        "zero": _estimate(item.zero, Dimension.MASS, units),
        "repeatability": _estimate(item.scatter, Dimension.MASS, units),
        "eccentricity": None if item.eccentricity is None else item.eccentricity * 100.0,
        "small_mass": None if item.small is None else _estimate(item.small[0], Dimension.MASS, units),
        "basis": item.basis,
        "verdict": None if item.outcome is None else item.outcome.value,
        "probability": item.probability,
    }


def _estimate(item: Estimate | None, dimension: Dimension, units: UnitSystem) -> dict[str, Any]:
    unit = units.symbol(dimension)
    if item is None:
        return {"value": None, "u": None, "low": None, "high": None, "unit": unit, "determined": False}
    shown = {name: units.show(getattr(item, name), dimension) for name in ("value", "u", "low", "high")}
    return {**shown, "unit": unit, "determined": True}


def _judgement(item: Judgement, units: UnitSystem) -> dict[str, Any]:
    masses = {name: units.show(getattr(item, name), Dimension.MASS) for name in ("load", "error", "u", "tolerance")}
    return {
        "instrument": item.instrument,
        "test": item.test,
        "kind": item.kind,
        "what": item.what,
        **masses,
        "probability": item.probability,
        "verdict": item.outcome.value,
        "reason": item.reason,
    }
