"""The page on the rule-set file has every form with all its keys and a sound example; the example file holds."""

from __future__ import annotations

import ast
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from steelyard.dayfile import FORM_KEYS, parse_rule_set, read_rule_set
from tests.rules.judged import differences
from tests.rules.sample_days import toml

ROOT = Path(__file__).resolve().parents[2]
PAGE = (ROOT / "docs" / "reference" / "rule-set-file.md").read_text(encoding="utf-8")
CLUB = read_rule_set(ROOT / "examples" / "club-rules.toml")
READER = ROOT / "src" / "steelyard" / "dayfile" / "rule_sets" / "reader.py"

ROWS = {row[0]: row[1:] for row in re.findall(r"^\| `(\w+)` \| (.*?) \| ?(.*?) ?\|$", PAGE, re.MULTILINE)}
EXAMPLES: list[dict[str, Any]] = [
    rule
    for block in re.findall(r"```toml file=\w+\.toml\n(.*?)```", PAGE, re.DOTALL)
    for rule in tomllib.loads(block)["rules"]
]
COMMON = {"title": "Some rule", "cite": "section 1", "grade": "A", "words": "It is a rule."}
HEAD = {"format": 1, "kind": "rules", "id": "page", "title": "Page", "edition": "1", "applies": "all"}


def test_every_form_has_a_row_with_all_its_keys() -> None:
    assert set(FORM_KEYS) - set(ROWS) == set()
    told = {name: set(re.findall(r"`(\w+)`", ROWS[name][1])) for name in FORM_KEYS}
    assert {name: missing for name, keys in FORM_KEYS.items() if (missing := set(keys) - told[name])} == {}


def test_the_page_has_no_form_that_there_is_not() -> None:
    tables = PAGE.split("## Axles and groups of axles")[1]
    assert set(re.findall(r"^\| `(\w+)` \|", tables, re.MULTILINE)) == set(FORM_KEYS)


def test_every_form_has_an_example_once() -> None:
    assert sorted(rule["form"] for rule in EXAMPLES) == sorted(FORM_KEYS)


@pytest.mark.parametrize("rule", EXAMPLES, ids=lambda rule: rule["form"])
def test_the_example_of_a_form_is_sound(rule: dict[str, Any]) -> None:
    text = toml(
        {**HEAD, "checked": tomllib.loads("d = 2026-11-20")["d"], "rules": [{**COMMON, "id": "page.rule", **rule}]}
    )
    assert parse_rule_set(text, "page.toml").rules[0].form == rule["form"]


def test_every_key_of_the_file_and_of_a_rule_is_on_the_page() -> None:
    tree = ast.parse(READER.read_text(encoding="utf-8"))
    tables = {
        node.target.id: {key.value for key in node.value.keys if isinstance(key, ast.Constant)}
        for node in tree.body
        if isinstance(node, ast.AnnAssign) and isinstance(node.target, ast.Name) and isinstance(node.value, ast.Dict)
    }
    assert {"id", "checked", "excludes"} <= tables["_KEYS"]
    assert {"cite", "grade", "examples"} <= tables["_RULE_KEYS"]
    assert (tables["_KEYS"] | tables["_RULE_KEYS"]) - set(ROWS) == set()


def test_the_examples_of_the_club_come_out_as_they_say() -> None:
    wrong = [
        f"{rule.id}: {each}"
        for rule in CLUB.rules
        for example in rule.examples
        for each in differences(example, CLUB, rule)
    ]
    assert wrong == []
    assert CLUB.own
    assert all(rule.examples for rule in CLUB.rules)
