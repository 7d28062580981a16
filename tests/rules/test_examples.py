"""Every worked example of every bundled rule set, on a weigh day made of what it gives."""

from __future__ import annotations

import pytest

from steelyard.dayfile import bundled_set
from steelyard.model import Rule, RuleExample
from steelyard.rules import bundled_names
from tests.rules.judged import differences

SETS = bundled_names()


def _told(rule: Rule, number: int, wrong: list[str]) -> list[str]:
    return [f"{rule.id}, example {number}: {each}" for each in wrong]


@pytest.mark.parametrize("name", SETS)
def test_the_examples_of_a_set_come_out_as_they_say(name: str) -> None:
    rule_set = bundled_set(name)
    wrong: list[str] = []
    for rule in rule_set.rules:
        for number, example in enumerate(rule.examples, start=1):
            wrong += _told(rule, number, differences(example, rule_set, rule))
    assert wrong == []


@pytest.mark.parametrize("name", SETS)
def test_every_rule_with_a_figure_has_an_example(name: str) -> None:
    assert [rule.id for rule in bundled_set(name).rules if rule.values and not rule.examples] == []


def test_an_example_that_is_wrong_is_found() -> None:
    """The comparison itself must be able to fail."""
    rule_set = bundled_set("us-interstate")
    rule = next(rule for rule in rule_set.rules if rule.id == "us.interstate.gross")
    given = {"axles": ["0 ft", "16 ft"], "loads": ["40000 lb", "40001 lb"]}
    right = {"limit": "80000 lb", "value": "80001 lb", "verdict": "outside", "subject": "tow/gross"}
    assert differences(RuleExample(given, right), rule_set, rule) == []
    wrong: list[dict[str, object]] = [
        {"limit": "80001 lb"},
        {"value": "80002 lb"},
        {"verdict": "within"},
        {"verdict": "not determined"},
        {"answer": "B"},
        {"needs": ["vehicles.tow.class"]},
        {"applies": False},
        {"subject": "combination/gross", "limit": "80000 lb"},
        {"limits": "80000 lb"},
        {},
    ]
    assert [expect for expect in wrong if not differences(RuleExample(given, expect), rule_set, rule)] == []
