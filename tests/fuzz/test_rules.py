"""Whole days of any kind, judged by every rule set: in words, in 80 columns, with numbers that are numbers."""

from __future__ import annotations

import json
import random
import warnings
from collections import Counter
from dataclasses import replace
from functools import cache
from typing import Any

from hypothesis import given

from steelyard.dayfile import DayFileError, bundled_set, parse_day
from steelyard.findings import solve
from steelyard.model import Role, Use, WeighDay
from steelyard.questions.rules import RULES, judged_rules
from steelyard.report.tables.findings import findings_text
from steelyard.report.tables.rules import judged_text
from steelyard.rules import bundled_names
from tests.fuzz.asking import Answer, wrong
from tests.fuzz.run import UNITS
from tests.fuzz.test_whole_days import days
from tests.fuzz.whole_days import whole_days
from tests.fuzz.writing import written
from tests.schemas import validator_of

CLASSES = {Role.TOWING: ("M1", "M2", "N1", "N2", "N3", ""), Role.TRAILER: ("O1", "O2", "O3", "O4", "")}


@cache
def shape() -> Any:
    """What the JSON is held against."""
    return validator_of(RULES.answer_schema("rules"))


def with_rules(day: WeighDay, dice: random.Random) -> WeighDay:
    """The day with every set chosen, its vehicles of any class."""
    vehicles = {
        name: replace(one, papers=replace(one.papers, category=dice.choice(CLASSES[one.role])))
        for name, one in day.vehicles.items()
    }
    chosen = replace(
        day.rules,
        sets=tuple(bundled_set(name) for name in bundled_names()),
        use=dice.choice([*Use, None]),
        licence=dice.choice([None, (), ("B",), ("C1E", "A")]),
        from_memory=dice.choice([True, False]),
    )
    return replace(day, vehicles=vehicles, rules=chosen)


@days(8)
@given(whole_days())
def test_every_set_judges_every_day(tree: dict[str, Any]) -> None:
    text = written(tree, UNITS[len(str(tree)) % len(UNITS)])
    try:
        day = with_rules(parse_day(text, "day.toml"), random.Random(len(text)))
    except DayFileError:
        return
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        weighed = solve(day)
        answer = judged_rules(weighed)
        told, found = judged_text(answer), findings_text(weighed.findings())
        data = json.dumps(RULES.data(answer, file="day.toml"))
    faults = [*wrong(Answer(("rules",), 0, told, "")), *wrong(Answer(("rules", "--json"), 0, data, ""))]
    assert faults == [], text
    assert list(shape().iter_errors(json.loads(data))) == [], text
    assert [line for line in (*told.splitlines(), *found.splitlines()) if len(line) > 80] == [], text
    assert [name for name, count in Counter(one.id for one in answer.rules).items() if count > 1] == [], text
