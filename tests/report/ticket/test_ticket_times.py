"""The times on a ticket: in the zone that they were written in, where they share one."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import replace

import pytest

from steelyard.findings import Findings
from steelyard.model import WeighDay
from steelyard.report.print.record import date_of, drafts, occasion
from steelyard.report.print.ticket import ticket_pdf
from tests.report.sample import quarry_day, sample

EAST = datetime.timezone(datetime.timedelta(hours=2))
WEST = datetime.timezone(-datetime.timedelta(hours=7, minutes=30))


def at(hour: int, minute: int, zone: datetime.tzinfo | None, day: int = 14) -> datetime.datetime:
    return datetime.datetime(2026, 5, day, hour, minute, tzinfo=zone)


def with_times(times: Sequence[datetime.datetime | None], *, date: datetime.date | None) -> WeighDay:
    """The quarry day, its drafts at these times."""
    day = quarry_day()
    written = tuple(replace(draft, at=time) for draft, time in zip(day.drafts, times, strict=False))
    return replace(day, drafts=written, record=replace(day.record, date=date), corrections=())


def when(day: WeighDay) -> object:
    return next(entry["lines"] for entry in occasion(day) if entry["name"] == "When")


def printed(day: WeighDay) -> list[object]:
    return [draft["time"] for draft in drafts(day, ())]


MAY = datetime.date(2026, 5, 14)


@pytest.mark.parametrize(
    ("times", "said", "each"),
    [
        (
            [at(9, 12, EAST), at(10, 50, EAST)],
            ["2026-05-14", "drafts 09:12 to 10:50 UTC+02:00"],
            ["09:12", "10:50"],
        ),
        ([at(9, 12, None), at(8, 50, None)], ["2026-05-14", "drafts 08:50 to 09:12"], ["09:12", "08:50"]),
        (
            [at(9, 12, EAST), at(2, 0, WEST)],
            ["2026-05-14", "drafts 07:12 to 09:30 UTC"],
            ["07:12 UTC", "09:30 UTC"],
        ),
        (
            [at(9, 12, EAST), at(8, 0, None), at(9, 0, None)],
            ["2026-05-14", "drafts 09:12 to 09:12 UTC+02:00", "drafts 08:00 to 09:00, no zone given"],
            ["09:12 UTC+02:00", "08:00", "09:00"],
        ),
        (
            [at(1, 0, EAST), at(22, 0, WEST)],
            ["2026-05-14", "2026-05-13 23:00 to 2026-05-15 05:30 UTC"],
            ["05-13 23:00 UTC", "05-15 05:30 UTC"],
        ),
        ([None], ["2026-05-14"], [""]),
    ],
)
def test_times_are_printed_in_the_zone_they_share(
    times: list[datetime.datetime | None], said: list[str], each: list[str]
) -> None:
    day = with_times(times, date=MAY)
    assert when(day) == said
    assert printed(day) == each


def test_without_a_date_the_first_draft_gives_it_in_the_zone_that_is_printed() -> None:
    assert date_of(with_times([at(1, 0, EAST), at(9, 0, EAST)], date=None)) == MAY
    assert date_of(with_times([at(1, 0, EAST), at(9, 0, WEST)], date=None)) == datetime.date(2026, 5, 13)


def test_a_day_with_some_times_without_a_zone_has_a_ticket() -> None:
    findings: Findings = replace(sample(), day=with_times([at(9, 12, EAST), at(8, 0, None)], date=None))
    assert ticket_pdf(findings).startswith(b"%PDF")
