"""Findings and verdicts as rows for a spreadsheet, in full precision, safe to open there."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from steelyard.conformity import Verdict
from steelyard.findings import Finding, Findings
from steelyard.units import UnitSystem

HEADER = (
    "kind", "file", "id", "label", "value", "u", "low", "high", "unit", "basis", "determined",
    "finding", "limit", "sense", "margin", "probability", "verdict", "source", "contested", "answers",
)  # fmt: skip

# A spreadsheet takes a cell that begins so for a formula or a command; the apostrophe makes it text again.
# Source: the usual advice against formula injection in exported tables, common practice.
_ACTIVE = tuple("=+-@\N{MINUS SIGN}\uff1d\uff0b\uff0d\uff20")  # the last four are the full-width forms
_FIGURES = 10


def csv_header() -> str:
    """The line of column names, with its line end."""
    return _line(HEADER)


def csv_rows(findings: Findings, *, file: str) -> Iterator[str]:
    """One line for each finding, then one for each verdict, in the file's units; each with its line end."""
    units = findings.day.units
    for finding in findings.findings:
        yield _line(_finding(finding, file, units))
    for verdict in findings.verdicts:
        yield _line(_verdict(verdict, file, units))


def _finding(finding: Finding, file: str, units: UnitSystem) -> list[str]:
    scale = units.factor(finding.dimension)
    figures = [_number(item, scale) for item in (finding.value, finding.u, finding.low, finding.high)]
    unit = units.symbol(finding.dimension)
    determined = "yes" if finding.determined else "no"
    return [
        "finding",
        cell_text(file),
        cell_text(finding.id),
        cell_text(finding.label),
        *figures,
        unit,
        finding.basis,
        determined,
        *[""] * 7,
        "yes" if finding.contested else "no",
        _answers(finding, scale),
    ]


def _verdict(verdict: Verdict, file: str, units: UnitSystem) -> list[str]:
    scale = units.factor(verdict.dimension)
    value, u, limit, margin = (
        _number(item, scale) for item in (verdict.value, verdict.u, verdict.limit, verdict.margin)
    )
    outcome = "" if verdict.outcome is None else verdict.outcome.value
    return [
        "verdict", cell_text(file), cell_text(verdict.id), cell_text(verdict.label), value, u, "", "",
        units.symbol(verdict.dimension), "", "no" if verdict.value is None else "yes", cell_text(verdict.finding),
        limit, verdict.sense, margin, _number(verdict.probability, 1.0), outcome, cell_text(verdict.source),
        "yes" if verdict.contested else "no", "",
    ]  # fmt: skip


def _answers(finding: Finding, scale: float) -> str:
    """``14940 without draft 1, tow/2L; 8640 without draft 2, tow/2L``; empty where the finding is not contested."""
    return cell_text(
        "; ".join(f"{_number(answer.value, scale) or 'open'} without {answer.without}" for answer in finding.answers)
    )


def _number(value: float | None, scale: float) -> str:
    """A figure with more places than its doubt warrants, so that sums still add up; empty where none."""
    return "" if value is None else f"{value / scale + 0.0:.{_FIGURES}g}"


def cell_text(text: str) -> str:
    """A text that a spreadsheet takes for nothing else, on one line."""
    seen = text if text.isprintable() else "".join(letter if letter.isprintable() else " " for letter in text)
    return f"'{seen}" if seen.lstrip().startswith(_ACTIVE) else seen


def _line(cells: Iterable[str]) -> str:
    buffer = io.StringIO()
    padded = [*cells]
    csv.writer(buffer, lineterminator="\n").writerow(padded + [""] * (len(HEADER) - len(padded)))
    return buffer.getvalue()
