"""The findings of one weigh day as text: every section in order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from steelyard.findings import Findings
from steelyard.model import FindingId
from steelyard.report.tables.agreement import agreement_section, caution_section
from steelyard.report.tables.contested import contested_section
from steelyard.report.tables.gaps import gap_section
from steelyard.report.tables.moves import move_section, pairs
from steelyard.report.tables.rig import head_section, rig_section
from steelyard.report.tables.rules.papers import paper_section
from steelyard.report.tables.states import cargo_section, state_section
from steelyard.report.tables.verdicts import verdict_section


def findings_text(findings: Findings) -> str:
    """Everything a person wants to read of one weigh day, in its units, at most 80 columns, ending in a line end."""
    present = {where.states for where in map(FindingId.parse, findings.by_id)}
    sections = [head_section(findings), rig_section(findings)]
    sections += [state_section(findings, state) for state in findings.day.states]
    sections.append(cargo_section(findings))
    sections += [move_section(findings, *pair) for pair in pairs(findings.day) if pair in present]
    sections += [verdict_section(findings), paper_section(findings), gap_section(findings)]
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
