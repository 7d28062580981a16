"""A draft that is called otherwise from then on, and one that is put away and brought back: records beside it."""

from __future__ import annotations

import pytest

from steelyard.dayfile import DayFileError, extended, parse_day, read_correction, write_correction, write_day
from steelyard.model import WeighDay, digest_of, running_digests
from steelyard.web.pages.pads.page import pads_page
from tests.browser.conftest import EXAMPLE


@pytest.fixture(scope="module", name="day")
def _day() -> WeighDay:
    return parse_day(EXAMPLE.read_text(encoding="utf-8"), "day.toml")


def _grown(day: WeighDay, *corrections: dict[str, object]) -> WeighDay:
    for data in corrections:
        day = extended(day, write_correction(day, read_correction(day, dict(data))))
    return day


def _on_page(day: WeighDay, number: int) -> dict[str, object]:
    def to(_handler: str, /, **_parts: str) -> str:
        return ""

    page = pads_page("d", day, to=to, seq=0, may_weigh=True)
    return page.data["drafts"][number - 1]


def test_the_last_label_holds_and_the_first_stays_on_record(day: WeighDay) -> None:
    later = _grown(
        day,
        {"draft": 3, "label": "the trailer again", "reason": "typed in haste"},
        {"draft": 3, "label": "", "reason": "none is better"},
        {"draft": 2, "label": "früh \N{BREAD}", "reason": "as it is known"},
    )
    assert (later.label_of(later.drafts[1]), later.label_of(later.drafts[2])) == ("früh \N{BREAD}", "")
    assert later.drafts == day.drafts, "what was written stays as it was written"
    assert [later.readings_of(draft) for draft in later.drafts] == [day.readings_of(draft) for draft in day.drafts]
    assert parse_day(write_day(later), "day.toml").corrections == later.corrections
    assert digest_of(later) != digest_of(day)
    assert running_digests(later)[: len(day.drafts) + 1] == running_digests(day)
    assert _on_page(later, 2)["label"] == "früh \N{BREAD}"


@pytest.mark.parametrize(
    ("data", "said"),
    [
        ({"draft": 3, "label": "x", "place": "oven/1L", "reason": "r"}, "place"),
        ({"draft": 3, "label": "x", "value": 20, "reason": "r"}, "value"),
        ({"draft": 3, "label": "x"}, "reason"),
        ({"draft": 30, "label": "x", "reason": "r"}, "there is no draft of that number"),
        ({"draft": 3, "label": 7, "reason": "r"}, "label"),
    ],
)
def test_a_label_is_of_a_whole_draft_and_has_a_reason(day: WeighDay, data: dict[str, object], said: str) -> None:
    with pytest.raises(DayFileError) as caught:
        read_correction(day, data)
    assert any(said in f"{fault.path} {fault.message}" for fault in caught.value.faults)


def test_a_draft_put_away_counts_no_more_and_comes_back_as_it_counted(day: WeighDay) -> None:
    """One reading was corrected and one set aside before: the first comes back corrected, the other stays aside."""
    places = [item.place.text for item in day.drafts[2].readings]
    before = _grown(
        day,
        {"draft": 3, "place": places[0], "value": 2000, "reason": "digits swapped"},
        {"draft": 3, "place": places[1], "reason": "on the edge of the pad"},
    )
    away = _grown(before, *({"draft": 3, "place": place, "reason": "twice"} for place in (places[0], *places[2:])))
    assert away.readings_of(away.drafts[2]) == ()
    told = _on_page(away, 3)["away"]
    assert isinstance(told, dict)
    assert told["reason"] == "twice"
    assert set(told["values"]) == {places[0], *places[2:]}
    assert told["values"][places[0]] == 2000
    named = _grown(away, {"draft": 3, "label": "put away", "reason": "so that it is found"})
    assert _on_page(named, 3)["away"] == told, "another label changes nothing of that"
    back = _grown(away, *({"draft": 3, "place": p, "value": v, "reason": "back"} for p, v in told["values"].items()))
    counted = [(one.place, one.value) for one in back.readings_of(back.drafts[2])]
    assert counted == [(one.place, one.value) for one in before.readings_of(before.drafts[2])]
    assert _on_page(back, 3)["away"] is None
