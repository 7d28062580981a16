"""Findings as text for a person and as rows for a spreadsheet. The public face of every ``tables_*`` file beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from steelyard.findings import Findings
from steelyard.model import FindingId
from steelyard.report.tables.agreement import agreement_section, caution_section
from steelyard.report.tables.contested import contested_lines, contested_section, explained
from steelyard.report.tables.csv_rows import csv_header, csv_rows
from steelyard.report.tables.distribution import distribution_text
from steelyard.report.tables.gaps import gap_section
from steelyard.report.tables.ledger import ledger_text
from steelyard.report.tables.load_map import load_map_text
from steelyard.report.tables.moves import move_section, pairs
from steelyard.report.tables.plan import impossible_lines, plan_text
from steelyard.report.tables.rebalance import rebalance_text
from steelyard.report.tables.rig import head_section, rig_section
from steelyard.report.tables.site import site_text
from steelyard.report.tables.states import cargo_section, state_section
from steelyard.report.tables.survey import survey_text
from steelyard.report.tables.sweep import expected_shown, learned_comment, learned_shown, sweep_text
from steelyard.report.tables.trailer import trailer_text
from steelyard.report.tables.verdicts import verdict_section
from steelyard.report.tables.verification import (
    drift_text,
    verification_csv_header,
    verification_csv_rows,
    verification_text,
)
from steelyard.report.tables.what_if import what_if_text

__all__ = [
    "contested_lines",
    "csv_header",
    "csv_rows",
    "distribution_text",
    "drift_text",
    "expected_shown",
    "explained",
    "findings_text",
    "impossible_lines",
    "in_states",
    "learned_comment",
    "learned_shown",
    "ledger_text",
    "load_map_text",
    "pairs",
    "plan_text",
    "rebalance_text",
    "site_text",
    "survey_text",
    "sweep_text",
    "trailer_text",
    "verification_csv_header",
    "verification_csv_rows",
    "verification_text",
    "what_if_text",
]


def findings_text(findings: Findings) -> str:
    """Everything a person wants to read of one weigh day, in its units, at most 80 columns, ending in a line end."""
    present = {where.states for where in map(FindingId.parse, findings.by_id)}
    sections = [head_section(findings), rig_section(findings)]
    sections += [state_section(findings, state) for state in findings.day.states]
    sections.append(cargo_section(findings))
    sections += [move_section(findings, *pair) for pair in pairs(findings.day) if pair in present]
    sections += [verdict_section(findings), gap_section(findings)]
    sections += [agreement_section(findings), contested_section(findings), caution_section(findings)]
    return "\n\n".join("\n".join(lines).strip("\n") for lines in sections if lines) + "\n"


def in_states(findings: Findings, states: Sequence[str]) -> Findings:
    """The same day with only the findings and verdicts of these states, changes between them, and cargo."""
    kept = frozenset(states)
    chosen = tuple(item for item in findings.findings if kept.issuperset(FindingId.parse(item.id).states))
    names = {item.id for item in chosen}
    verdicts = tuple(verdict for verdict in findings.verdicts if verdict.finding in names)
    day = replace(findings.day, states={name: state for name, state in findings.day.states.items() if name in kept})
    return replace(findings, day=day, findings=chosen, verdicts=verdicts)
