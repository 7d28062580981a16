"""The question whether the chosen rules of the road are kept, and the shape in which the answer is published."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from steelyard.classes import dataclass
from steelyard.conformity import Outcome
from steelyard.findings import Weighed
from steelyard.model import Grade
from steelyard.questions.entry import Entry
from steelyard.questions.figures import NeedShape, need_shape, scaled
from steelyard.questions.findings import FaultyShape
from steelyard.questions.kinds import StateName
from steelyard.questions.rules.judged import JudgedRule, RuleBasis, RulesAnswer, judged_rules
from steelyard.questions.rules.listing import ListedSetsShape, SetShape, on_one_line, set_shape
from steelyard.questions.shape import FORMAT, Units, units_of
from steelyard.requirements import judged_on
from steelyard.units import UnitSystem


@dataclass(frozen=True, slots=True)
class RulesQuestion:
    """Which state to judge by the rules of the road that the day chooses."""

    state: Annotated[str | None, StateName("A state; left out: every state.")] = None


@dataclass(frozen=True, slots=True)
class RulingShape:
    """One rule asked of one thing in one state, with its verdict where there is one."""

    id: Annotated[str, "Id of the rule."]
    set: Annotated[str, "Id of the rule set."]
    edition: Annotated[str, "Edition of the rule set."]
    grade: Annotated[Grade, "How the rule was read: `A` in the primary text, `B` in a secondary text, `C` from memory."]
    verdict_id: Annotated[str, "Id of the verdict; where a finding is limited, as in the findings."]
    state: str
    subject: Annotated[str, "What it speaks of: a load as in the finding ids, a vehicle or a coupling."]
    label: str
    basis: Annotated[
        RuleBasis | None,
        "`weighed`: a limit on a finding, with its doubt. `paper`: figures of the file compared, without a doubt. Null "
        "where it is not judged.",
    ]
    applies: Annotated[bool, "False where the rule does not speak of this state; `note` says why."]
    value: float | None
    u: Annotated[float | None, "Standard uncertainty; null where the value is from papers."]
    low: Annotated[float | None, "Lower end of the 95 % coverage interval."]
    high: Annotated[float | None, "Upper end of the 95 % coverage interval."]
    unit: Annotated[str, "Of the figures; empty where there are none."]
    limit: Annotated[float | None, "Null where there is none, or where nothing is too much."]
    sense: Annotated[Literal["max", "min"] | None, "Null where there is no limit."]
    probability: Annotated[float | None, "That the rule is kept; null where the value is from papers."]
    verdict: Annotated[Outcome | None, "Null where nothing is judged."]
    margin: Annotated[float | None, "Above zero where the rule is kept."]
    contested: Annotated[bool, "Whether it depends on which of the contradicting readings is wrong."]
    answer: Annotated[str, "In words, as the licence that is needed; empty where there is none."]
    advice: Annotated[str, "What would bring it within, or decide it."]
    cite: Annotated[str, "Where the rule stands."]
    words: Annotated[str, "The rule restated."]
    note: str
    needs: Annotated[tuple[str, ...], "Keys of the file whose values are missing."]
    drafts: Annotated[tuple[NeedShape, ...], "Drafts that would determine what is limited."]


@dataclass(frozen=True, slots=True)
class RulesShape:
    """The chosen rules of the road, asked of every state, in the units named in the object. Not legal advice."""

    format: Literal[1]
    file: str
    title: str
    units: Units
    sets: Annotated[tuple[SetShape, ...], "The rule sets that were chosen."]
    rules: tuple[RulingShape, ...]
    cautions: tuple[str, ...]


def _answer(weighed: Weighed, question: RulesQuestion) -> RulesAnswer:
    return judged_rules(weighed, question.state)


def _shaped(answer: RulesAnswer, file: str) -> RulesShape:
    day = answer.day
    return RulesShape(
        format=FORMAT,
        file=file,
        title=day.title,
        units=units_of(day),
        sets=tuple(set_shape(one, judged_on(day)) for one in day.rules.sets),
        rules=tuple(_ruling_shape(one, day.units) for one in answer.rules),
        cautions=answer.cautions,
    )


def _ruling_shape(one: JudgedRule, units: UnitSystem) -> RulingShape:
    ruling, verdict, finding = one.ruling, one.verdict, one.finding
    factor = 1.0 if one.dimension is None else units.factor(one.dimension)
    low, high = (None, None) if finding is None else (finding.low, finding.high)
    limit, margin = (None if part is None or math.isinf(part) else part for part in (one.limit, one.margin))
    return RulingShape(
        id=ruling.rule.id,
        set=ruling.rule_set.id,
        edition=ruling.rule_set.edition,
        grade=ruling.rule.grade,
        verdict_id=one.id,
        state=ruling.state,
        subject=ruling.subject,
        label=ruling.label,
        basis=one.weighing,
        applies=one.applies,
        value=scaled(one.value, factor),
        u=None if verdict is None else scaled(verdict.u, factor),
        low=scaled(low, factor),
        high=scaled(high, factor),
        unit="" if one.dimension is None else units.symbol(one.dimension),
        limit=scaled(limit, factor),
        sense=None if one.sense is None else one.sense.value,
        probability=None if verdict is None else verdict.probability,
        verdict=one.outcome,
        margin=scaled(margin, factor),
        contested=verdict is not None and verdict.contested,
        answer="" if ruling.paper is None else ruling.paper.answer,
        advice="" if verdict is None else verdict.advice,
        cite=ruling.rule.cite,
        words=on_one_line(ruling.rule.words),
        note=on_one_line(ruling.note),
        needs=ruling.needs,
        drafts=tuple(need_shape(need) for need in one.drafts),
    )


RULES = Entry(RulesQuestion, _answer, RulesShape, _shaped, otherwise=(ListedSetsShape, FaultyShape))
