"""Findings as data: one JSON object a weigh day, in the file's units, described by the schema that ships with it."""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import cache
from importlib.resources import files
from typing import Any, Protocol

from steelyard.conformity import Verdict
from steelyard.findings.cautions import STANDING
from steelyard.findings.result import Finding, Findings
from steelyard.units import Dimension, UnitSystem

FORMAT = 1


class FaultLike(Protocol):
    """A fault of a weigh-day file, as the reader of files reports it."""

    @property
    def line(self) -> int | None:
        """Line in the file, from 1; None where it cannot be had."""
        ...

    @property
    def path(self) -> str:
        """Key path."""
        ...

    @property
    def value(self) -> str:
        """What stands there."""
        ...

    @property
    def message(self) -> str:
        """What is wrong and what would be right."""
        ...


def to_data(findings: Findings, *, file: str, units: UnitSystem | None = None) -> dict[str, Any]:
    """The published shape of one weigh day's findings, ready for JSON.

    Parameters
    ----------
    file: the name to print. units: the user's units; None: the file's own.
    """
    shown = findings.day.units if units is None else units
    consistency = findings.consistency
    return {
        "format": FORMAT,
        "file": file,
        "title": findings.day.title,
        "units": {"mass": shown.mass, "length": shown.length},
        "findings": [finding_to_data(finding, shown) for finding in findings.findings],
        "verdicts": [verdict_to_data(verdict, shown) for verdict in findings.verdicts],
        "consistency": {
            "chi2": _number(consistency.chi2),
            "dof": consistency.dof,
            "p": None if consistency.p is None else _number(consistency.p),
            "consistent": consistency.consistent,
            "reference_dof": _number(consistency.reference_dof) if consistency.reference_dof < 1e6 else None,
            "suspects": [
                {
                    "draft": suspect.draft,
                    "place": suspect.place,
                    "instrument": suspect.instrument,
                    "reading": _number(shown.show(suspect.reading, Dimension.MASS)),
                    "normalised_residual": _number(suspect.normalised_residual),
                    "explanations": list(suspect.explanations),
                }
                for suspect in consistency.suspects
            ],
            "changes": [
                {
                    "vehicle": change.vehicle,
                    "amount": _number(shown.show(change.amount, Dimension.MASS)),
                    "first": change.first,
                    "last": change.last,
                    "words": change.words,
                    "toml": change.toml,
                }
                for change in consistency.changes
            ],
        },
        "cautions": [*findings.cautions, *STANDING],
    }


def _number(value: float) -> float:
    """Ten significant figures: more than any reading carries, and no rounding noise in the files."""
    return float(f"{value:.10g}") + 0.0


def _shown(value: float | None, factor: float) -> float | None:
    return None if value is None else float(f"{value / factor:.10g}") + 0.0


def finding_to_data(finding: Finding, units: UnitSystem) -> dict[str, Any]:
    """The published shape of one finding."""
    factor = units.factor(finding.dimension)
    return {
        "id": finding.id,
        "label": finding.label,
        "value": _shown(finding.value, factor),
        "u": _shown(finding.u, factor),
        "low": _shown(finding.low, factor),
        "high": _shown(finding.high, factor),
        "unit": units.symbol(finding.dimension),
        "basis": finding.basis.value,
        "determined": finding.determined,
        "needs": [{"state": need.state, "places": list(need.places)} for need in finding.needs],
        "contested": finding.contested,
        "answers": [
            {
                "without": answer.without,
                "value": _shown(answer.value, factor),
                "low": _shown(answer.low, factor),
                "high": _shown(answer.high, factor),
            }
            for answer in finding.answers
        ],
    }


def verdict_to_data(verdict: Verdict, units: UnitSystem) -> dict[str, Any]:
    """The published shape of one verdict."""
    factor = units.factor(verdict.dimension)
    return {
        "id": verdict.id,
        "finding": verdict.finding,
        "limit": _shown(verdict.limit, factor),
        "sense": verdict.sense,
        "value": _shown(verdict.value, factor),
        "u": _shown(verdict.u, factor),
        "margin": _shown(verdict.margin, factor),
        "probability": None if verdict.probability is None else _number(verdict.probability),
        "verdict": None if verdict.outcome is None else verdict.outcome.value,
        "source": verdict.source,
        "label": verdict.label,
        "advice": verdict.advice,
        "contested": verdict.contested,
    }


def errors_to_data(file: str, faults: Iterable[FaultLike]) -> dict[str, Any]:
    """The published shape for a file with faults, so that lines match files."""
    errors = [
        {"line": fault.line, "path": fault.path, "value": fault.value, "message": fault.message} for fault in faults
    ]
    return {"format": FORMAT, "file": file, "errors": errors}


@cache
def schema() -> dict[str, Any]:
    """The JSON Schema of both shapes."""
    return json.loads(files("steelyard.findings").joinpath("findings.schema.json").read_text(encoding="utf-8"))
