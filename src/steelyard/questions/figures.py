"""Findings, verdicts and drafts to take as every answer publishes them, in the units of the reader."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Annotated, Literal, Protocol

from steelyard.classes import dataclass
from steelyard.conformity import Verdict
from steelyard.findings import Answer, Basis, Finding
from steelyard.requirements import Ruling
from steelyard.units import UnitSystem


@dataclass(frozen=True, slots=True)
class NeedShape:
    """One draft to take: these places at the same time, in this state."""

    state: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AnswerShape:
    """A contested finding worked out without some readings; null where the others do not determine it."""

    without: str
    value: float | None
    low: float | None
    high: float | None


@dataclass(slots=True)  # hundreds are made for an answer, and a frozen one takes ten times as long
class FindingShape:
    """A quantity with its uncertainty, all null where it is not determined."""

    id: str
    label: str
    value: float | None
    u: Annotated[float | None, "Standard uncertainty."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    unit: str
    basis: Basis
    determined: bool
    needs: Annotated[tuple[NeedShape, ...], "Drafts that would determine it."]
    contested: Annotated[
        bool, "Whether the answer depends on which of the contradicting readings is wrong; low and high then span all."
    ]
    answers: Annotated[tuple[AnswerShape, ...], "The competing answers of a contested finding."]


@dataclass(frozen=True, slots=True)
class PaperShape:
    """The answer of a rule of the road from papers alone, or the values of the file that it lacks."""

    rule: Annotated[str, "Its id."]
    set: Annotated[str, "The rule set that it is in."]
    label: str
    cite: str
    answer: Annotated[str, "As the licence that is needed; empty where the rule only compares."]
    met: Annotated[bool | None, "Whether the rule is met; null where that is not said."]
    needs: Annotated[tuple[str, ...], "Keys of the file that are missing."]


def paper_shape(ruling: Ruling) -> PaperShape:
    """The answer of one rule as it is published."""
    paper = ruling.paper
    return PaperShape(
        rule=ruling.rule.id,
        set=ruling.rule_set.id,
        label=ruling.label,
        cite=ruling.rule.cite,
        answer="" if paper is None else paper.answer,
        met=None if paper is None else paper.met,
        needs=ruling.needs,
    )


@dataclass(slots=True)  # as the one above
class VerdictShape:
    """A limit judged: a margin above zero is room; the probability is that of the requirement being met."""

    id: str
    finding: Annotated[str, "Id of the finding that is limited."]
    limit: float
    sense: Annotated[str, "`max` or `min`."]
    value: float | None
    u: float | None
    margin: float | None
    probability: float | None
    verdict: Annotated[Literal["within", "undecided", "outside"] | None, "Null where the finding is not determined."]
    source: Annotated[str, "Where the limit comes from."]
    label: str
    advice: Annotated[str, "What would help, where it is not within."]
    contested: bool


class _Need(Protocol):
    @property
    def state(self) -> str: ...
    @property
    def places(self) -> Sequence[str]: ...


def need_shape(need: _Need) -> NeedShape:
    """A draft to take."""
    return NeedShape(need.state, tuple(need.places))


def scaled(value: float | None, factor: float) -> float | None:
    """A value in SI units as a number of units of ``factor``; None stays None."""
    return None if value is None else value / factor


def finding_shape(finding: Finding, units: UnitSystem) -> FindingShape:
    """A finding in the units of the reader."""
    dimension = finding.dimension
    factor, value, u, low, high = units.factor(dimension), finding.value, finding.u, finding.low, finding.high
    return FindingShape(
        id=finding.id,
        label=finding.label,
        value=None if value is None else value / factor,
        u=None if u is None else u / factor,
        low=None if low is None else low / factor,
        high=None if high is None else high / factor,
        unit=units.symbol(dimension),
        basis=finding.basis,
        determined=value is not None,
        needs=tuple(map(need_shape, finding.needs)) if finding.needs else (),
        contested=finding.contested,
        answers=tuple(_answer_shape(item, factor) for item in finding.answers) if finding.answers else (),
    )


def _answer_shape(item: Answer, factor: float) -> AnswerShape:
    return AnswerShape(item.without, scaled(item.value, factor), scaled(item.low, factor), scaled(item.high, factor))


def verdict_shape(verdict: Verdict, units: UnitSystem) -> VerdictShape:
    """A verdict in the units of the reader."""
    factor = units.factor(verdict.dimension)
    return VerdictShape(
        id=verdict.id,
        finding=verdict.finding,
        limit=verdict.limit / factor,
        sense=verdict.sense,
        value=scaled(verdict.value, factor),
        u=scaled(verdict.u, factor),
        margin=scaled(verdict.margin, factor),
        probability=verdict.probability,
        verdict=None if verdict.outcome is None else verdict.outcome.value,
        source=verdict.source,
        label=verdict.label,
        advice=verdict.advice,
        contested=verdict.contested,
    )
