"""Rules of the road that no finding shows: those that the papers decide, and those for which a value is missing."""

from __future__ import annotations

from collections.abc import Sequence

from steelyard.conformity import Outcome
from steelyard.findings import Findings
from steelyard.questions.rules import JudgedRule, RuleBasis, rules_of
from steelyard.report.words.grid import rule as heading
from steelyard.report.words.grid import wrapped
from steelyard.report.words.rules import name_of, paper_troubles

_REST = '"steelyard rules" tells every chosen rule with its words, and which values are missing.'


def paper_section(findings: Findings, state: str | None = None) -> list[str]:
    """The rules that the papers decide, those in full that they do not keep; empty where no rule set is chosen.

    ``state`` is the only one that is asked; None: every one.
    """
    if not findings.day.rules.sets:
        return []
    answer = rules_of(findings, state)
    lines = [heading("rules by the papers", _counts(answer.rules)), ""]
    for one, text in paper_troubles(answer):
        lines += wrapped(f"{one.ruling.state}: {name_of(one)}", first="  ", rest="    ")
        lines += wrapped(f"Outside. {text}", first="    ", rest="      ")
        lines += wrapped(f"Limit: {one.ruling.rule.cite} (rule set {one.ruling.rule_set.id}).", first="    ")
    return [*lines, *wrapped(_REST)]


def _counts(rules: Sequence[JudgedRule]) -> str:
    paper = [one for one in rules if one.weighing is RuleBasis.PAPER]
    counts = [(sum(one.outcome is kind for one in paper), kind.value) for kind in (Outcome.OUTSIDE, Outcome.WITHIN)]
    counts.append((sum(bool(one.ruling.needs) for one in rules), "with a value missing"))
    return ", ".join(f"{count} {word}" for count, word in counts if count)
