"""The record of a verification: one PDF to print and to sign, archival, accessible and the same every time."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

from steelyard import __version__
from steelyard.model import (
    EccentricTest,
    LoadTest,
    PermutedTest,
    RepeatTest,
    RoundTest,
    SmallMassTest,
    ToleranceTable,
    VerificationTest,
    ZeroReturnTest,
)
from steelyard.report.drawings.sheet.picture import own_faces
from steelyard.report.drawings.sheet.type import printable
from steelyard.report.print.ticket import PAPERS
from steelyard.report.tables.verdicts import chance
from steelyard.report.tables.verification import (
    KINDS,
    PHASES,
    UNKNOWN,
    figures_of,
    mass,
    repeatability,
    signed,
    tally,
)
from steelyard.units import Dimension, UnitSystem
from steelyard.verification import STANDING, Judgement, VerificationResult, Verified, checked, fineness, source_of

_TEMPLATE = Path(__file__).parent / "verification.typ"

METHOD = (
    """Zero, span and repeatability are those of a straight line through what each indication allows: half a division
    on either side, or the narrow interval that a change point leaves. Intervals hold 95 %.""",
    """Within: the tolerance is kept with a probability of at least 95 %; outside: of at most 5 %; undecided: between,
    or the test is too coarse (JCGM 106). The doubt is that of the known load.""",
    """Compared instruments (one load walked round, or places permuted) show the differences of their spans; what they
    have in common takes a known load.""",
)
"""The method in three lines."""


def verification_pdf(result: VerificationResult, *, paper: str = "letter") -> bytes:
    """The record of a verification as a PDF, PDF/A-2a and PDF/UA-1.

    Parameters
    ----------
    result: of the verification. paper: ``letter`` or ``a4``.

    Raises
    ------
    ValueError: the paper is neither of the two.
    """
    if paper not in PAPERS:
        raise ValueError(f"a record is printed on {' or '.join(PAPERS)}, not on {paper!r}")
    import typst

    content = json.dumps(_content(result), ensure_ascii=False, sort_keys=True)
    return typst.compile(
        _TEMPLATE.read_bytes(),
        font_paths=own_faces(),
        ignore_system_fonts=True,
        format="pdf",
        sys_inputs={"paper": PAPERS[paper], "content": printable(content)},
        pdf_standards=["ua-1"] if result.verification.record.date is None else ["a-2a", "ua-1"],
    )


def _content(result: VerificationResult) -> dict[str, object]:
    """Everything that the record says, as the words and figures that are printed."""
    verification, counts = result.verification, tally(result)
    record = verification.record
    return {
        "title": verification.title or "Verification",
        "date": None if record.date is None else [record.date.year, record.date.month, record.date.day],
        "version": __version__,
        "mass": verification.units.mass,
        "occasion": _occasion(result),
        "note": record.note,
        "tally": [{"name": outcome.value, "count": counts[outcome]} for outcome in counts],
        "instruments": [_instrument(item, result) for item in result.instruments.values()],
        "words": [f"{item.instrument.id}: {_basis(item)}" for item in result.instruments.values()],
        "tests": [_test(number, test, result) for number, test in enumerate(verification.tests, 1)],
        "method": [" ".join(line.split()) for line in METHOD],
        "tolerances": _tolerances(verification.table),
        "cautions": list(result.cautions),
        "standing": list(STANDING),
    }


def _tolerances(table: ToleranceTable) -> str:
    rule = fineness(table)[1]
    return f"{source_of(table)}; last looked at {checked()}. Fineness of the known loads: {rule}."


def _occasion(result: VerificationResult) -> list[dict[str, object]]:
    verification = result.verification
    record, place = verification.record, verification.place
    who = [f"by {record.tester}" if record.tester else "", f"for {record.owner}" if record.owner else ""]
    degrees = UnitSystem()
    latitude = "" if place.latitude is None else f"latitude {degrees.show(place.latitude.value, Dimension.ANGLE):.4g}°"
    elevation = "" if place.elevation is None else f"{place.elevation.value:.0f} m above the sea"
    where = [place.name, ", ".join(text for text in (latitude, elevation) if text), place.conditions]
    when = ["" if record.date is None else record.date.isoformat()]
    when += ["" if verification.due is None else f"due again {verification.due.isoformat()}"]
    entries = (("Who", who), ("Where", where), ("When", when), ("Held to", [PHASES[verification.phase]]))
    return [{"name": name, "lines": [line for line in lines if line] or ["not stated"]} for name, lines in entries]


def _instrument(item: Verified, result: VerificationResult) -> dict[str, object]:
    units = result.verification.units
    name = item.instrument.id
    shown = item.span if item.span is not None else item.relative
    span = figures_of(shown, Dimension.SHARE, units)
    zero = figures_of(item.zero, Dimension.MASS, units)
    mark = " *" if item.span is None and item.relative is not None else ""
    return {
        "cells": [
            name,
            item.instrument.serial or "not stated",
            result.verification.classes[name].value,
            f"{mass(item.instrument.capacity, units)} × {mass(item.instrument.division, units)}",
            f"{span[0]} ± {span[1]}{mark}" if shown is not None else UNKNOWN,
            f"{span[2]} to {span[3]}" if shown is not None else "",
            f"{zero[0]} ± {zero[1]}" if item.zero is not None else UNKNOWN,
            repeatability(item, units),
            "not tested" if item.eccentricity is None else f"{100.0 * item.eccentricity:.2g}",
        ],
        "outcome": "" if item.outcome is None else item.outcome.value,
        "probability": "" if item.probability is None else chance(item.probability),
    }


def _basis(item: Verified) -> str:
    if item.span is not None:
        return f"span by {item.basis}."
    if item.relative is not None:
        return f"the span * is against the mean of the set; {item.basis}."
    return f"span not determined: {item.basis}."


def _test(number: int, test: VerificationTest, result: VerificationResult) -> dict[str, object]:
    units = result.verification.units
    own = [item for item in result.judgements if item.test == number]
    return {
        "number": number,
        "name": _name(test),
        "label": test.label,
        "readings": "; ".join(_readings(test, units)),
        "rows": [_row(item, units) for item in own],
    }


def _row(item: Judgement, units: UnitSystem) -> dict[str, object]:
    return {
        "what": item.what,
        "error": signed(item.error, units),
        "u": mass(item.u, units),
        "tolerance": mass(item.tolerance, units),
        "probability": chance(item.probability),
        "outcome": item.outcome.value,
        "reason": item.reason,
    }


def _name(test: VerificationTest) -> str:
    match test:
        case RoundTest():
            return f"{', '.join(test.readings)}: one load walked round"
        case PermutedTest():
            return "places permuted"
        case LoadTest():
            return f"{test.instrument}: {KINDS['reference' if test.by_reference else 'masses']}"
        case EccentricTest():
            return f"{test.instrument}: {KINDS['eccentric']}"
        case RepeatTest():
            return f"{test.instrument}: {KINDS['repeats']}, {len(test.readings)} times"
        case ZeroReturnTest():
            return f"{test.instrument}: {KINDS['zero_return']}"
        case SmallMassTest():
            return f"{test.instrument}: {KINDS['small_mass']}"


def _readings(test: VerificationTest, units: UnitSystem) -> Iterator[str]:
    """The readings, in the order in which they were taken."""

    def shown(values: tuple[float, ...]) -> str:
        return ", ".join(mass(value, units) for value in values)

    match test:
        case RoundTest():
            yield from (f"{name} {shown(values)}" for name, values in test.readings.items())
        case PermutedTest():
            for draft in test.drafts:
                yield ", ".join(f"{place} {name} {mass(value, units)}" for place, (name, value) in draft.items())
        case LoadTest():
            for step in test.steps:
                added = "" if step.added is None else f", next after {mass(step.added, units)} more"
                yield f"{mass(step.load, units)} read {mass(step.shown, units)}{added}"
        case EccentricTest():
            yield from (f"{place} {mass(value, units)}" for place, value in test.readings.items())
        case RepeatTest():
            yield f"{mass(test.load, units)}: {shown(test.readings)}"
        case ZeroReturnTest():
            yield f"before {mass(test.before, units)}, after {mass(test.load, units)}: {mass(test.after, units)}"
        case SmallMassTest():
            yield f"without: {shown(test.without)}"
            yield f"with {mass(test.mass, units)}: {shown(test.together)}"
