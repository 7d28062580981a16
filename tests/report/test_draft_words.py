"""How a draft was taken is said in words wherever drafts are listed, and its time is printed whatever it is."""

from __future__ import annotations

import datetime
from dataclasses import replace

from steelyard.model import Raise, WheelRef, digest_of, in_utc
from steelyard.report import pieces
from steelyard.report.print.record import drafts
from steelyard.units import Quantity
from tests.report.sample import quarry_day

_EAST, _WEST = (datetime.timezone(datetime.timedelta(hours=hours)) for hours in (14, -14))


def test_a_plain_draft_needs_no_words() -> None:
    day = quarry_day()
    assert pieces.circumstances(day, replace(day.drafts[0], placement=None)) == ()


def test_what_sets_a_draft_apart_is_said() -> None:
    day = quarry_day()
    lifted = Raise("tow", 2, Quantity(0.508, 0.0))
    draft = replace(
        day.drafts[0],
        placement="a",
        reversed=True,
        on_ground=True,
        blocks=(WheelRef("stock", 1, "L"), WheelRef("stock", 1, "R")),
        raised=(lifted,),
        blocked=True,
    )
    length = "20.0 in" if day.units.length == "in" else "508.0 mm"
    second = replace(day.drafts[1], placement="a")
    day = replace(day, drafts=(draft, second, *day.drafts[2:]))
    said = pieces.circumstances(day, draft)
    assert said == (
        f"same placement as draft {second.number}",
        "facing the other way",
        "wheels without a pad on the ground",
        "stock/1L, stock/1R on blocks as high as the pads",
        f"tow/2 raised {length}, suspension blocked: for the height of the centre of gravity alone",
    )
    printed = drafts(replace(day, drafts=(draft, second), corrections=()), ())[0]["notes"]
    assert isinstance(printed, list)
    assert printed[-5:] == list(said)


def test_the_ends_of_the_calendar_have_no_other_zone_and_are_printed_as_written() -> None:
    day = quarry_day()
    first, last = datetime.datetime(1, 1, 1, tzinfo=_EAST), datetime.datetime(9999, 12, 31, 23, 59, tzinfo=_WEST)
    assert in_utc(first) == first
    assert in_utc(datetime.datetime(2026, 5, 14, 2, tzinfo=_EAST)).isoformat() == "2026-05-13T12:00:00+00:00"
    odd = replace(day, drafts=(replace(day.drafts[0], at=first), replace(day.drafts[1], at=last)), corrections=())
    assert len(drafts(odd, ())) == 2
    assert len(digest_of(odd)) == 64


def test_a_placement_that_no_other_draft_shares_is_no_news() -> None:
    day = quarry_day()
    alone = replace(day.drafts[0], placement="a")
    assert pieces.circumstances(replace(day, drafts=(alone, *day.drafts[1:])), alone) == ()
