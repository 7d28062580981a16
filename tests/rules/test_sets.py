"""The bundled rule sets as files, and that nothing is judged that was not chosen."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache

import pytest

from steelyard.conformity import Requirement
from steelyard.dayfile import FORM_KEYS, bundled_set, parse_day
from steelyard.model import RuleSet, WeighDay
from steelyard.requirements import requirements_of
from steelyard.requirements.road import FORMS, rulings
from steelyard.rules import bundled_names
from tests.rules.sample_days import day_text

SETS = tuple(bundled_set(name) for name in bundled_names())
RIG = {
    "axles": ["0 m", "3.6 m", "8 m", "9.2 m"],
    "loads": ["1400 kg", "1500 kg", "1100 kg", "1050 kg"],
    "trailer_from": 3,
    "coupling_load": "160 kg",
    "tow": {"class": "N1", "ratings": {"gvwr": "3500 kg"}},
    "trailer": {"class": "O2", "ratings": {"gvwr": "2500 kg"}},
}


@cache
def rig() -> WeighDay:
    return parse_day(day_text(RIG), "rig.toml")


def with_sets(*sets: RuleSet, from_memory: bool = True) -> WeighDay:
    return replace(rig(), rules=replace(rig().rules, sets=sets, from_memory=from_memory))


def test_a_form_has_keys_exactly_where_it_has_a_meaning() -> None:
    assert set(FORM_KEYS) == set(FORMS)


def test_a_file_is_named_after_the_set_in_it() -> None:
    assert [rule_set.id for rule_set in SETS] == list(bundled_names())


def test_no_rule_has_the_id_of_another_in_any_set() -> None:
    ids = [rule.id for rule_set in SETS for rule in rule_set.rules]
    assert len(set(ids)) == len(ids)


@pytest.mark.parametrize("rule_set", SETS, ids=lambda rule_set: rule_set.id)
def test_a_set_says_what_it_is_and_where_each_rule_stands(rule_set: RuleSet) -> None:
    """The reader asks for the keys; here is what it cannot know: it was looked at, and what it excludes is there."""
    assert datetime.date(2026, 11, 1) <= rule_set.checked
    assert all(text.strip() for text in (rule_set.title, rule_set.edition, rule_set.applies))
    assert all(rule.words.rstrip().endswith(".") for rule in rule_set.rules), "the rule is restated in a sentence"
    assert {name for name in rule_set.excludes if name not in bundled_names()} == set()
    assert not rule_set.own


def test_where_nothing_is_chosen_nothing_of_the_road_is_judged() -> None:
    assert rulings(rig()) == ()
    assert [item for item in requirements_of(rig()) if item.rule] == []


@pytest.mark.parametrize("rule_set", SETS, ids=lambda rule_set: rule_set.id)
def test_a_set_adds_its_own_limits_and_changes_no_other(rule_set: RuleSet) -> None:
    def others(day: WeighDay) -> list[Requirement]:
        return [item for item in requirements_of(day) if not item.rule]

    of_set = {rule.id for rule in rule_set.rules}
    day = with_sets(rule_set)
    assert others(day) == others(rig())
    assert {item.rule for item in requirements_of(day) if item.rule} <= of_set
    assert {ruling.rule.id for ruling in rulings(day)} <= of_set


@pytest.mark.parametrize("rule_set", SETS, ids=lambda rule_set: rule_set.id)
def test_what_is_from_memory_is_judged_only_where_it_is_asked_for(rule_set: RuleSet) -> None:
    day = with_sets(rule_set, from_memory=False)
    assert {ruling.rule.grade.value for ruling in rulings(day)} <= {"A", "B"}
