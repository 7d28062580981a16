"""The text of ``steelyard rules``: every kind of ruling is told, in 80 columns, with its rule's words and place."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import pytest

from steelyard.conformity import Sense
from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import Grade, Rule, RuleSet
from steelyard.questions.rules import JudgedRule, RulesAnswer
from steelyard.report.tables.rules import judged_text
from steelyard.requirements import Paper, Ruling
from steelyard.units import Dimension
from tests.cli.days import NURSERY

RULE = Rule("club.licence", "Licence", "any", "Club rules, section 7", Grade.B, "Heavy rigs ask for a pass.")
OTHER = replace(RULE, id="club.other", title="Other", cite="Club rules, section 8")
SET = RuleSet("club", "Rules of the club", "2026", datetime.date(2026, 11, 1), "members", (RULE, OTHER))


@cache
def findings() -> Findings:
    """The nursery day, whose file chooses the set."""
    day = parse_day(NURSERY, "nursery.toml")
    return replace(weigh(day), day=replace(day, rules=replace(day.rules, sets=(SET,))))


def said(*rulings: Ruling) -> str:
    """The text of some rulings on the state ``coupled``, its line ends taken out."""
    judged = tuple(JudgedRule(f"coupled/{one.subject}:{one.rule.id}.{n}", one) for n, one in enumerate(rulings))
    text = judged_text(RulesAnswer(findings(), ("coupled",), judged, ("Not legal advice.",)))
    assert max(map(len, text.splitlines())) <= 80
    return " ".join(text.split())


def on_paper(value: float | None, *, met: bool | None, answer: str = "", sense: Sense = Sense.MAX) -> Ruling:
    paper = Paper(value, 3500.0 if value is not None else None, sense, Dimension.MASS, met, answer)
    return Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", paper=paper)


@pytest.mark.parametrize(
    ("ruling", "words"),
    [
        (on_paper(3700.0, met=False), "1 outside"),
        (on_paper(3700.0, met=False), "Nursery van: licence (by the papers) 3,700 kg, at most 3,500 kg; 200 kg over."),
        (on_paper(3400.0, met=False, sense=Sense.MIN), "3,400 kg, at least 3,500 kg; 100 kg short."),
        (
            on_paper(3700.0, met=False),
            "a Heavy rigs ask for a pass. Club rules, section 7; read in a secondary text.",
        ),
        (on_paper(3400.0, met=True), "Nursery van: licence 3,400 max 3,500 100 papers a"),
        (on_paper(3700.0, met=False), "200 kg over. Rule a: Club rules, section 7."),
        (
            on_paper(None, met=True, answer="the pass is held"),
            "Within, in words: Nursery van: licence (by the papers) The pass is held.",
        ),
        (
            on_paper(3700.0, met=None, answer="a pass is needed"),
            "The rules also say: Nursery van: licence (by the papers) 3,700 kg, at most 3,500 kg; 200 kg over. A pass",
        ),
        (on_paper(3700.0, met=None), "What is judged by the papers compares figures that stand in the file"),
        (
            Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", needs=("vehicles.van.class", "rules.licence")),
            "file does not say it: vehicles.van.class and rules.licence: Licence (rule a)",
        ),
        (
            Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", note="it tows no trailer"),
            "Does not apply: it tows no trailer: Licence",
        ),
    ],
)
def test_a_ruling_is_told(ruling: Ruling, words: str) -> None:
    assert words in said(ruling)


def test_missing_values_stand_once_with_all_that_need_them() -> None:
    rulings = [
        Ruling(SET, rule, "coupled", "van", f"Nursery van: {rule.title}", needs=("vehicles.van.class",))
        for rule in (RULE, OTHER)
    ]
    text = said(*rulings)
    assert "2 not judged" in text
    assert text.count("vehicles.van.class") == 1
    assert "(rule a); Other (rule b)" in text


def test_papers_are_not_told_of_where_none_were_compared() -> None:
    assert "by the papers" not in said(Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", note="none"))
