"""States that are renamed, put away and brought back in the file: what is shown, and what never changes by that."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, parse_day, read_correction, refuse_hiding, write_correction, write_day
from steelyard.findings import Findings, weigh
from steelyard.model import FindingId
from steelyard.questions.plan import PLAN
from tests.cli.days import NURSERY

MORE = """
[cargo.soil]
on = "beds"
mass = "200 kg"
x = "3000 mm"
[states.full]
vehicles = ["van", "beds"]
couple = { towing = "van", at = "ball", trailer = "beds" }
cargo = ["soil"]
"""
AWAY = '[[corrections]]\nstate = "full"\naway = true\nreason = "asked by mistake"\n'
BACK = AWAY.replace("true", "false")
CALLED = '[[corrections]]\nstate = "full"\nlabel = "Beds full of soil"\nreason = "words"\n'
WITH = NURSERY + MORE


def figures(found: Findings) -> dict[str, tuple[object, ...]]:
    return {one.id: (one.value, one.u, one.low, one.high) for one in found.findings}


def test_a_state_that_is_put_away_is_not_shown_and_no_other_figure_changes() -> None:
    whole, less = weigh(parse_day(WITH, "day")), weigh(parse_day(WITH + AWAY, "day"))
    gone = {name for name in figures(whole) if "full" in FindingId.parse(name).states}
    assert gone
    assert figures(less) == {name: said for name, said in figures(whole).items() if name not in gone}
    assert list(less.day.states) == ["empty", "coupled"]
    assert not any("full" in FindingId.parse(one.finding).states for one in less.verdicts)
    asked = weigh(parse_day(WITH + AWAY, "day"), shown=["full"])
    assert figures(asked) == figures(whole)
    back = parse_day(WITH + AWAY + BACK, "day")
    assert not back.put_away()
    assert figures(weigh(back)) == figures(whole)


def test_a_state_with_a_draft_that_counts_is_shown_whatever_the_records_say() -> None:
    day = parse_day(NURSERY + AWAY.replace("full", "empty"), "day")
    assert day.put_away() == {}
    assert figures(weigh(day)) == figures(weigh(parse_day(NURSERY, "day")))


def test_another_name_stands_for_the_state_and_the_last_one_counts() -> None:
    day = parse_day(WITH + CALLED + CALLED.replace("Beds full of soil", "Heavy"), "day")
    assert day.state_title("full") == "Heavy"
    assert day.state_title("empty") == "empty"
    assert parse_day(write_day(day), "again").corrections == day.corrections
    block = write_correction(day, day.corrections[0])
    assert parse_day(WITH + "\n" + block, "block").corrections == day.corrections[:1]


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"state": "ful", "away": True, "reason": "x"}, "did you mean 'full'?"),
        ({"state": "full", "away": "yes", "reason": "x"}, "write true or false"),
        ({"state": "full", "reason": "x"}, "says nothing of its state; write label"),
        ({"state": "full", "reason": "x", "away": True, "label": "a"}, "says both label and away; write two"),
        ({"state": "full", "away": True}, "is missing; a correction of a state needs it"),
        ({"state": "full", "away": True, "reason": "x", "draft": 1}, "a correction of a state does not have it"),
    ],
)
def test_a_record_that_cannot_be_is_told_with_its_place(data: dict[str, object], said: str) -> None:
    with pytest.raises(DayFileError) as caught:
        read_correction(parse_day(WITH, "day"), data)
    assert said in str(caught.value)


def test_neither_readings_nor_the_last_state_are_hidden() -> None:
    day = parse_day(WITH, "day")
    refuse_hiding(day, read_correction(day, {"state": "full", "away": True, "reason": "x"}))
    with pytest.raises(DayFileError, match="has drafts that count; no reading is hidden"):
        refuse_hiding(day, read_correction(day, {"state": "empty", "away": True, "reason": "x"}))
    bare = parse_day(NURSERY.partition("[states.coupled]")[0], "day")
    with pytest.raises(DayFileError, match="is the only state that is shown"):
        refuse_hiding(bare, read_correction(bare, {"state": "empty", "away": True, "reason": "x"}))


def test_no_draft_is_planned_in_a_state_that_is_put_away() -> None:
    day = parse_day(NURSERY.partition("[[drafts]]")[0] + MORE + AWAY.replace("full", "coupled"), "day")
    answer = PLAN.answer(
        day, PLAN.read(day, {"want": ["full/beds/gross"], "more": False, "pads": ["a", "b", "c", "d"]}, "question", {})
    )
    assert {draft.state for draft in answer.drafts} <= {"empty", "full"}
    assert answer.drafts
    asked = PLAN.answer(
        day,
        PLAN.read(day, {"want": ["coupled/beds/gross"], "more": False, "pads": ["a", "b", "c", "d"]}, "question", {}),
    )
    assert [one.id for one in asked.expected] == ["coupled/beds/gross"]  # whoever names it asks for it
