"""One broken rule set per fault, with the exact message beside it."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

from steelyard.dayfile import FORM_KEYS, DayFileError, parse_rule_set, read_rule_set

HERE = Path(__file__).parent
SOUND = (HERE / "rule_set.toml").read_text(encoding="utf-8")
CASES: list[dict[str, Any]] = tomllib.loads((HERE / "rule_set_faults.toml").read_text(encoding="utf-8"))["case"]


def complaint(text: str) -> list[str]:
    with pytest.raises(DayFileError) as caught:
        parse_rule_set(text, "club.toml")
    return caught.value.lines()


def test_the_file_that_the_cases_break_is_sound() -> None:
    rules = parse_rule_set(SOUND, "rule_set.toml")
    assert [rule.id for rule in rules.rules] == ["harbour.gross", "harbour.pontoon"]
    assert read_rule_set(HERE / "rule_set.toml").own


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["name"])
def test_each_fault_is_said_exactly(case: dict[str, Any]) -> None:
    text = SOUND
    for edit in case["edits"]:
        assert edit["old"] in text, f"{edit['old']!r} does not stand in rule_set.toml"
        text = text.replace(edit["old"], edit["new"], 1)
    forms = f"{len(FORM_KEYS)} forms are {', '.join([*FORM_KEYS][:12])}, ..."
    assert complaint(text) == [line.replace("FORMS", forms) for line in case["lines"]]


def test_no_two_cases_have_one_name() -> None:
    assert len({case["name"] for case in CASES}) == len(CASES)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "format = 1\nvehicles = {}",
            ' kind: is missing; a rule set has kind = "rules", and this looks like a weigh day',
        ),
        (
            'format = 1\nkind = "verification"\ntests = []',
            '2: kind: "verification": is not a rule set, which has kind = "rules"; ask "steelyard verify"',
        ),
        ("format = 1\x00", " is a binary file; it must be TOML text in UTF-8"),
        (
            SOUND.split("[[rules]]")[0] + "rules = [" + "{}, " * 501 + "]",
            "13: rules: has 501 rules; a rule set has at most 500, several sets may be chosen",
        ),
        (SOUND + "#" * 1_000_001, " is over 1 MB; a rule set has at most 1 MB and is not read beyond that"),
    ],
    ids=["weigh day", "verification", "binary", "many rules", "large"],
)
def test_a_file_of_another_kind_is_told_in_one_line(text: str, line: str) -> None:
    assert complaint(text) == [f"club.toml:{line}"]
