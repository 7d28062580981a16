"""Verifications on the pages: what the page that walks one begins with, and the record of one that was kept."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from typing import Any, cast

from steelyard.conformity import Outcome
from steelyard.dayfile import parse_verification
from steelyard.report.tables.verdicts import chance
from steelyard.report.tables.verification import KINDS, PHASES, figures_of, mass, repeatability, signed
from steelyard.store import Kept
from steelyard.units import Dimension, UnitSystem
from steelyard.verification import STANDING, VerificationResult, Verified, checked, source_of, verify
from steelyard.web.pages.shell.contracts import PageLink, To
from steelyard.web.pages.yard.contracts import JudgedLine, JudgedTest, RecordOfVerification, VerifiedPad, VerifyPage
from steelyard.web.station.yard import read_kept, units_of_kept

_CLASSES = ("IIII", "III", "III L", "II", "I")
_WORST_FIRST = (Outcome.OUTSIDE, Outcome.UNDECIDED, Outcome.WITHIN)
_DUE = datetime.timedelta(days=365)


def verify_page(pads: Iterable[Kept], kept: Sequence[Kept], today: datetime.date, to: To) -> VerifyPage:
    """The page that walks a verification, with the pads of the yard to choose from."""
    given = [_pad(one) for one in pads]
    data = {
        "pads": given,
        "links": {
            "judge": to("judge"),
            "keep": to("keep_verification"),
            "channels": to("get_channels"),
            "record": to("verification", name="NAME"),
        },
    }
    past = tuple(PageLink(to("verification", name=one.name), _named(one)) for one in reversed(kept))
    return VerifyPage(
        tuple(str(one["name"]) for one in given),
        _CLASSES,
        tuple((f"{phase.table.value} {phase.value}", words) for phase, words in PHASES.items()),
        today.isoformat(),
        (today + _DUE).isoformat(),
        past,
        data,
    )


def _named(kept: Kept) -> str:
    """A verification in a list: its date and its pads."""
    told: Any = kept.learned.get("instruments")
    pads = [str(name) for name in cast("list[Any]", told)] if isinstance(told, list) else []
    return f"{kept.name[:10]}: {', '.join(pads)}" if pads else kept.name[:10]


def _pad(kept: Kept) -> dict[str, Any]:
    """A pad as the script takes it: its block of the file, and its figures in the units that it was written in."""
    pad, units = read_kept(kept).instruments[kept.name], units_of_kept([kept])
    scale = units.factor(Dimension.MASS)
    return {
        "name": kept.name,
        "text": kept.text,
        "unit": units.mass,
        "length": units.length,
        "factor": scale,
        "division": float(f"{pad.division / scale:.10g}"),
        "capacity": float(f"{pad.capacity / scale:.10g}"),
    }


def record_page(kept: Kept, to: To) -> RecordOfVerification:
    """The record of a verification that was kept, judged once more from its file."""
    result = verify(parse_verification(kept.text, kept.name))
    verification, units = result.verification, result.verification.units
    record, place = verification.record, verification.place
    facts = [
        "" if record.date is None else f"verified {record.date.isoformat()}",
        "" if verification.due is None else f"due again {verification.due.isoformat()}",
        f"by {record.tester}" if record.tester else "",
        place.name,
        place.conditions,
    ]
    pdf = to("verification_record", name=kept.name)
    return RecordOfVerification(
        kept.name,
        verification.title or "Verification",
        ", ".join(fact for fact in facts if fact),
        f"{PHASES[verification.phase]}. Tolerances: {source_of(verification.table)}; last looked at {checked()}.",
        units.mass,
        tuple(_verified(name, item, result, units) for name, item in result.instruments.items()),
        tuple(_tests(result, units)),
        (*result.cautions, *STANDING),
        (
            PageLink(pdf, "The record, letter"),
            PageLink(f"{pdf}?paper=a4", "The record, A4"),
            PageLink(to("verification_file", name=kept.name), "The verification file"),
        ),
    )


def _verified(name: str, item: Verified, result: VerificationResult, units: UnitSystem) -> VerifiedPad:
    span = item.span if item.span is not None else item.relative
    shown = figures_of(span, Dimension.SHARE, units)
    zero = figures_of(item.zero, Dimension.MASS, units)
    what = "" if item.span is not None else " against the mean of the set"
    return VerifiedPad(
        name,
        result.verification.classes[name].value,
        "not determined" if span is None else f"{shown[0]} %{what}",
        "" if span is None else f"{shown[2]} to {shown[3]} %",
        "not determined" if item.zero is None else f"{zero[0]} {units.mass}",
        repeatability(item, units),
        "not judged" if item.outcome is None else item.outcome.value,
        "" if item.probability is None else chance(item.probability),
        f"by {item.basis}" if item.span is not None else item.basis,
    )


def _tests(result: VerificationResult, units: UnitSystem) -> Iterable[JudgedTest]:
    for number in dict.fromkeys(item.test for item in result.judgements):
        own = [item for item in result.judgements if item.test == number]
        lines = tuple(
            JudgedLine(
                item.what,
                signed(item.error, units),
                mass(item.tolerance, units),
                chance(item.probability),
                item.outcome.value,
                item.reason,
            )
            for item in own
        )
        worst = next(one for one in _WORST_FIRST if any(item.outcome is one for item in own))
        yield JudgedTest(f"{own[0].instrument}, {KINDS[own[0].kind]}", worst.value, lines)
