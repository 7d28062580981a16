"""What was on record at each moment: nothing later, nothing interpolated, and times that mean one moment only."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from steelyard.dayfile import SweepLog, parse_day, read_log
from steelyard.model import Correction, Raise, WeighDay
from steelyard.questions.moments import (
    SECOND,
    MomentError,
    RecordClock,
    duration,
    timeline_of_drafts,
    timeline_of_log,
)
from steelyard.units import Quantity
from tests.cli.days import NURSERY

EAST = datetime.timezone(datetime.timedelta(hours=2))
DAY = parse_day(NURSERY, "nursery.toml")
TEN = datetime.datetime.fromisoformat("2026-05-14T10:00:00")


def timed(*times: datetime.datetime | None) -> WeighDay:
    """The nursery day, its three drafts at these times."""
    return replace(DAY, drafts=tuple(replace(one, at=at) for one, at in zip(DAY.drafts, times, strict=True)))


def later(seconds: float, zone: datetime.tzinfo | None = None) -> datetime.datetime:
    return TEN.replace(tzinfo=zone) + datetime.timedelta(seconds=seconds)


def test_a_moment_knows_the_drafts_up_to_it_and_none_after() -> None:
    corrections = (
        Correction(1, "van/1L", 715.0, "misread", at=later(900)),
        Correction(3, "beds/1L", None, "not settled"),
    )
    timeline = timeline_of_drafts(replace(timed(later(60), later(0), later(120)), corrections=corrections))
    assert [[draft.number for draft in moment.day.drafts] for moment in timeline.moments] == [[2], [1, 2], [1, 2, 3]]
    assert [[item.draft for item in moment.day.corrections] for moment in timeline.moments] == [[], [1], [1, 3]]
    assert [moment.state for moment in timeline.moments] == ["coupled", "empty", "coupled"]
    assert [timeline.clock.text(moment.at) for moment in timeline.moments] == ["10:00:00", "10:01:00", "10:02:00"]


def test_a_raised_rig_makes_no_moment_and_counts_from_then_on() -> None:
    day = timed(later(0), later(60), later(120))
    raised = replace(day.drafts[1], raised=(Raise("van", 1, Quantity(0.3)),))
    timeline = timeline_of_drafts(replace(day, drafts=(day.drafts[0], raised, day.drafts[2])))
    assert [[draft.number for draft in moment.day.drafts] for moment in timeline.moments] == [[1], [1, 2, 3]]


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (replace(DAY, drafts=()), "has no draft, so there is no moment to show"),
        (DAY, "drafts 1 (draft 1), 2 (draft 2), 3 (draft 3) have no time, so nobody can tell when it was known"),
        (timed(later(0), None, later(60)), "draft 2 (draft 2) has no time"),
        (timed(later(0), later(5, EAST), later(60)), "drafts 1 (draft 1), 3 (draft 3) have no zone"),
        (
            timed(later(7200, EAST), later(0, datetime.UTC), later(60, EAST)),
            "drafts 1 (draft 1) and 2 (draft 2) are both at 2026-05-14T12:00:00+02:00; give each its own time",
        ),
        (
            replace(
                DAY,
                drafts=tuple(replace(one, at=TEN, raised=(Raise("van", 1, Quantity(0.3)),)) for one in DAY.drafts[:1]),
            ),
            "has drafts of a raised rig only",
        ),
        (
            timed(datetime.datetime(1, 1, 1, tzinfo=EAST), later(0, datetime.UTC), later(1, EAST)),
            "has times beyond the calendar's ends",
        ),
    ],
)
def test_times_that_tell_no_order_are_refused(day: WeighDay, said: str) -> None:
    with pytest.raises(MomentError) as refused:
        timeline_of_drafts(day)
    assert said in str(refused.value)


def test_a_time_of_day_is_in_the_zone_of_the_drafts() -> None:
    clock = timeline_of_drafts(timed(later(0, EAST), later(60, EAST), later(120, EAST))).clock
    assert clock.read("10:00:30") == clock.read("2026-05-14T10:00:30") == clock.read("2026-05-14 08:00:30Z")
    assert clock.read("10:00:30") - clock.read("10:00") == 30 * SECOND
    assert clock.read("9:05") == clock.read("09:05:00.000")
    assert clock.text(clock.read("08:00:30.25z")) == "10:00:30.25"
    assert clock.read("22:00:30-10:00") == clock.read("2026-05-13T22:00:30-10:00") == clock.read("10:00:30")


@pytest.mark.parametrize(
    ("times", "text", "said"),
    [
        ((0, 60, 120), "10.5", "'10.5' is not a time; write for example 10:32:05 or 2026-05-14T10:32:05"),
        ((0, 60, 120), "25:00", "'25:00' is not a time"),
        ((0, 60, 120), "2026-05-14", "is not a time"),
        ((0, 60, 120), "2026-02-30T10:00", "is not a time"),
        ((0, 60, 120), "", "'' is not a time"),
        ((0, 60, 120), "10:00Z", "'10:00Z' has a zone, and the times of the record have none; leave it out"),
        (
            (0, 60, 51000),
            "10:00",
            "from 2026-05-14 to 2026-05-15, so '10:00' may be either day; write the whole moment, as in 2026-05-14T1",
        ),
    ],
)
def test_a_text_that_is_no_moment_of_the_record_is_refused(times: tuple[int, ...], text: str, said: str) -> None:
    clock = timeline_of_drafts(timed(*map(later, times))).clock
    with pytest.raises(MomentError) as refused:
        clock.read(text)
    assert said in str(refused.value)


def test_times_in_several_zones_are_given_in_utc_and_wanted_with_a_zone() -> None:
    clock = timeline_of_drafts(timed(later(0, EAST), later(60, datetime.UTC), later(120, datetime.UTC))).clock
    assert clock.text(clock.read("2026-05-14T12:00:00+02:00")) == "10:00:00 UTC"
    with pytest.raises(MomentError, match="has no zone, and the drafts are written in several"):
        clock.read("10:00:00")


def test_a_record_over_midnight_writes_the_date() -> None:
    timeline = timeline_of_drafts(timed(later(0), later(60), later(51000)))
    assert timeline.clock.text(timeline.end) == "2026-05-15 00:10:00"


@pytest.mark.parametrize(
    ("text", "seconds"), [("90", 90), ("1:30", 90), ("0:01:30", 90), ("2.5", 2.5), ("1:00:00", 3600)]
)
def test_a_duration_is_seconds_or_minutes_and_seconds(text: str, seconds: float) -> None:
    assert duration(text) == seconds * SECOND


@pytest.mark.parametrize("text", ["", "0", "-5", "soon", "1:2", "1e400", "0:00", "nan", "1,500"])
def test_no_duration_is_refused(text: str) -> None:
    with pytest.raises(MomentError, match="is not a duration; write seconds, as in 90, or"):
        duration(text)


LOADS = "van/1L,van/1R,van/2L,van/2R"
ROWS = ("720,705,615,620", "720,705,615,620", "715,700,640,640", "720,705,615,620")


def log_of(times: tuple[str, ...]) -> SweepLog:
    rows = "\n".join(f"{time},{row}" for time, row in zip(times, ROWS, strict=True))
    return read_log(f"t,{LOADS}\n{rows}\n".encode(), "log.csv", DAY, DAY.states["empty"], {})


def test_a_sample_holds_until_the_next_that_differs() -> None:
    timeline = timeline_of_log(DAY, DAY.states["empty"], log_of(("0", "2", "4.5", "6")))
    assert [moment.at for moment in timeline.moments] == [0, 4_500_000, 6_000_000]
    assert [moment.day.drafts[0].readings[2].value for moment in timeline.moments] == [615.0, 640.0, 615.0]
    assert all(len(moment.day.drafts) == 1 for moment in timeline.moments)
    assert timeline.end == 6_000_000
    assert (timeline.clock.text(4_500_000), timeline.clock.read("4.5")) == ("4.5 s", 4_500_000)
    with pytest.raises(MomentError, match="is not a number of seconds, which the log counts"):
        timeline.clock.read("10:00:00")


def test_of_samples_at_one_time_the_last_counts() -> None:
    timeline = timeline_of_log(DAY, DAY.states["empty"], log_of(("0", "2", "2", "2")))
    assert [moment.at for moment in timeline.moments] == [0, 2_000_000]
    assert timeline.moments[-1].day.drafts[0].readings[2].value == 615.0


@pytest.mark.parametrize("zone", ["", "+02:00", "Z"])
def test_a_log_of_moments_has_their_clock(zone: str) -> None:
    times = tuple(f"2026-05-14T10:00:{second:02}{zone}" for second in (0, 2, 4, 6))
    clock = timeline_of_log(DAY, DAY.states["empty"], log_of(times)).clock
    assert clock.text(clock.read("10:00:04")) == "10:00:04"
    assert clock.read("2026-05-14T10:00:04") == clock.read(times[2])


def test_numbers_as_times_are_seconds_even_in_quotes() -> None:
    log = log_of(("0", '"2"', "4", "6"))
    assert log.began is None
    assert np.array_equal(log.times, [0.0, 2.0, 4.0, 6.0])


def test_the_clock_of_seconds_writes_them_plainly() -> None:
    clock = RecordClock(counted=True)
    assert [clock.text(at) for at in (0, 12_500_000, -1_000_000)] == ["0 s", "12.5 s", "-1 s"]
