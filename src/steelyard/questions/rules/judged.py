"""Every ruling of the chosen rules with its verdict: on a finding with its doubt, or on the papers without."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from enum import StrEnum

from steelyard.classes import dataclass
from steelyard.conformity import Outcome, Sense, Verdict
from steelyard.findings import Finding, Findings, Weighed
from steelyard.model import WeighDay
from steelyard.planning import Need
from steelyard.requirements import Ruling, rule_cautions, rulings
from steelyard.units import Dimension


class RuleBasis(StrEnum):
    """The basis of a verdict on a rule: what was weighed, or the papers."""

    WEIGHED = "weighed"
    PAPER = "paper"


@dataclass(frozen=True, slots=True)
class JudgedRule:
    """One ruling, and the verdict on it.

    Attributes
    ----------
    id: of the verdict, as in the findings; that of a ruling without a finding is made alike and is no verdict there.
    verdict: on a limit on a finding; None for all others. finding: the limited one; None where the day has none.
    """

    id: str
    ruling: Ruling
    verdict: Verdict | None = None
    finding: Finding | None = None

    @property
    def weighing(self) -> RuleBasis | None:
        """None where the rule is not judged at all."""
        if self.ruling.requirement is not None:
            return RuleBasis.WEIGHED
        return None if self.ruling.paper is None else RuleBasis.PAPER

    @property
    def outcome(self) -> Outcome | None:
        """None where nothing is judged: values are missing, nothing is determined, or the rule only says something."""
        if self.verdict is not None:
            return self.verdict.outcome
        paper = self.ruling.paper
        if paper is None or paper.met is None:
            return None
        return Outcome.WITHIN if paper.met else Outcome.OUTSIDE

    @property
    def applies(self) -> bool:
        """Whether the rule speaks of this state at all."""
        return self.weighing is not None or bool(self.ruling.needs)

    @property
    def says(self) -> bool:
        """Whether it says something and limits nothing, as which licence is needed."""
        return self.ruling.paper is not None and self.ruling.paper.met is None

    @property
    def value(self) -> float | None:
        """The figure that is limited [SI]; None where it is not known."""
        if self.verdict is not None:
            return self.verdict.value
        return None if self.ruling.paper is None else self.ruling.paper.value

    @property
    def limit(self) -> float | None:
        """The limit [SI], infinite where nothing is too much; None where there is none to tell."""
        if self.ruling.requirement is not None:
            return self.ruling.requirement.limit if self.verdict is None else self.verdict.limit
        return None if self.ruling.paper is None else self.ruling.paper.limit

    @property
    def sense(self) -> Sense | None:
        """Which way the limit works; None where there is none."""
        if self.ruling.requirement is not None:
            return self.ruling.requirement.sense
        return None if self.ruling.paper is None or self.ruling.paper.limit is None else self.ruling.paper.sense

    @property
    def dimension(self) -> Dimension | None:
        """Of its figures; None where it has none."""
        one = self.ruling.requirement or self.ruling.paper
        return None if one is None else one.dimension

    @property
    def margin(self) -> float | None:
        """The room under the limit, or over it where that is the least [SI]; None where it is not known."""
        if self.verdict is not None:
            return self.verdict.margin
        if self.value is None or self.limit is None or self.sense is None:
            return None
        return self.limit - self.value if self.sense is Sense.MAX else self.value - self.limit

    @property
    def drafts(self) -> tuple[Need, ...]:
        """The drafts that would determine the finding; empty where it is determined, or no drafts would."""
        return () if self.finding is None or self.finding.determined else tuple(self.finding.needs)


@dataclass(frozen=True)
class RulesAnswer:
    """The rulings of the chosen rules on the states that were asked about, in their order."""

    findings: Findings
    states: tuple[str, ...]
    rules: tuple[JudgedRule, ...]
    cautions: tuple[str, ...]

    @property
    def day(self) -> WeighDay:
        """The weigh day."""
        return self.findings.day

    def of(self, state: str) -> tuple[JudgedRule, ...]:
        """The rulings on one state."""
        return tuple(one for one in self.rules if one.ruling.state == state)


def judged_rules(weighed: Weighed, state: str | None = None) -> RulesAnswer:
    """Every chosen rule on every state, or on one."""
    return rules_of(weighed.findings(), state)


def rules_of(findings: Findings, state: str | None = None) -> RulesAnswer:
    """The same from the findings of a day."""
    states = tuple(findings.day.states) if state is None else (state,)
    found = tuple(_judged(findings, state))
    return RulesAnswer(findings, states, found, tuple(rule_cautions(findings.day)))


def _judged(findings: Findings, state: str | None) -> Iterator[JudgedRule]:
    verdicts = {verdict.id: verdict for verdict in findings.verdicts}
    found = rulings(findings.day, state)
    taken = Counter(ruling.requirement.id for ruling in found if ruling.requirement is not None)
    for ruling in found:
        requirement = ruling.requirement
        if requirement is not None:
            finding = findings.get(requirement.finding)
            yield JudgedRule(requirement.id, ruling, verdicts.get(requirement.id), finding)
            continue
        name = f"{ruling.state}/{ruling.subject}:{ruling.rule.id}"
        taken[name] += 1
        yield JudgedRule(name if taken[name] == 1 else f"{name}.{taken[name]}", ruling)
