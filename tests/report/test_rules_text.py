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
from steelyard.questions.rebalance import Rebalanced, Status, rebalance_reason
from steelyard.questions.rules import JudgedRule, RulesAnswer
from steelyard.report.tables.rules import judged_text
from steelyard.report.words.rules import sentence
from steelyard.report.words.to_write import examples
from steelyard.requirements import Paper, Ruling, requirements_of
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


# -- the answer in the first line -----------------------------------------------------------------------------------


LICENCE = replace(RULE, form="licence_by_mass")


@pytest.mark.parametrize(
    ("rulings", "words"),
    [
        ([on_paper(3400.0, met=True)], "Yes, by the chosen rules: every chosen rule that applies is kept."),
        (
            [on_paper(3400.0, met=True), on_paper(None, met=False, answer="a pass is needed")],
            "No: 1 rule is not kept. Licence: a pass is needed. Outside:",
        ),
        ([on_paper(3700.0, met=False)], "No: 1 rule is not kept. Licence: 200 kg over by the papers. Outside:"),
        (
            [
                on_paper(3400.0, met=True),
                Ruling(SET, OTHER, "coupled", "van", "Nursery van: other", needs=("vehicles.van.class",)),
            ],
            "Not sure: 1 rule is not judged, for the reason below.",
        ),
        (
            [replace(on_paper(None, met=None, answer="BE"), rule=LICENCE)],
            "Not sure: the licence decides, which the file does not say (licence in [rules]). Licence: BE.",
        ),
    ],
)
def test_the_answer_stands_first(rulings: list[Ruling], words: str) -> None:
    assert words in said(*rulings)


def test_nothing_is_answered_where_no_rule_speaks() -> None:
    text = said(Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", note="it tows no trailer"))
    assert not any(word in text for word in ("Yes", "No:", "Not sure"))


def test_a_threshold_of_other_rules_is_no_ban() -> None:
    passed = replace(on_paper(5000.0, met=False), rule=replace(RULE, form="carrier_us", title="Threshold"))
    text = said(passed, replace(on_paper(3400.0, met=True), rule=OTHER))
    assert "Yes, by the chosen rules: every chosen rule that applies is kept. Threshold: passed" in text


# -- how much is told -----------------------------------------------------------------------------------------------


def test_rules_that_are_kept_are_restated_only_where_asked() -> None:
    judged = (JudgedRule("coupled/van:club.licence", on_paper(3400.0, met=True)),)
    answer = RulesAnswer(findings(), ("coupled",), judged, ())
    short, whole = judged_text(answer), judged_text(answer, words=True)
    assert RULE.words not in short
    assert f"a  {RULE.cite}; read in a secondary text." in short
    assert '"--words" restates' in short
    assert RULE.words in whole
    assert "--words" not in whole


def test_a_missing_value_comes_with_what_to_write() -> None:
    text = said(Ruling(SET, RULE, "coupled", "van", "Nursery van: licence", needs=("vehicles.van.class",)))
    assert 'Licence (rule a) Write, for example: class = "M1".' in text


@pytest.mark.parametrize(("mass", "number"), [("kg", "75 kg"), ("lb", "170 lb")])
def test_an_example_is_a_round_number_in_the_units_of_the_file(mass: str, number: str) -> None:
    day = parse_day(NURSERY, "nursery.toml")
    day = replace(day, units=replace(day.units, mass=mass))
    assert examples(["vehicles.tow.papers.coupling"], day) == f'papers.coupling = "{number}"'


def test_a_key_of_the_file_keeps_its_small_letter() -> None:
    assert sentence("vehicles.van.papers.seats would tell too") == "vehicles.van.papers.seats would tell too."
    assert sentence("it tows nothing.") == "It tows nothing."


def test_an_impossible_change_names_the_limit_and_not_its_id() -> None:
    day = parse_day(NURSERY, "nursery.toml")
    limit = next(one for one in requirements_of(day, "coupled"))
    found = Rebalanced(Status.IMPOSSIBLE, None, None, worst=limit.id, short=12.0)
    text = rebalance_reason(day, "coupled", found)
    assert f'"{limit.label}" stays short' in text
    assert limit.id not in text
