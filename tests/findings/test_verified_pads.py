"""What a verification says of a pad reaches the numbers of a weigh day, and an overdue one is said.

The figures of the corrections are by hand: a pad that shows 1 + span of the load.
"""

from __future__ import annotations

import datetime
import math

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.report.print.ticket import ticket_pdf
from tests.published.days import HEAD, draft, pad, truck

READ = {f"tow/{wheel}": (f"p{number}", 2000.0) for number, wheel in enumerate(("1L", "1R", "2L", "2R"), 1)}


def day(first: str, *, record: str = "") -> str:
    pads = pad("p1", more=first) + "".join(pad(f"p{number}") for number in (2, 3, 4))
    state = '[states.full]\nvehicles = ["tow"]\n'
    return "\n".join([HEAD, record, pads, truck(0, 140), state, draft("full", READ)])


def value(text: str, name: str) -> tuple[float, float]:
    result = weigh(parse_day(text, "day.toml"))
    found = result.by_id[name]
    assert found.value is not None
    assert found.u is not None
    factor = 0.45359237
    return found.value / factor, found.u / factor


def test_readings_are_corrected_by_a_known_span() -> None:
    """2000 lb shown by a pad that reads 1.5 % high is 2000 / 1.015 on it: the three others are as read."""
    plain, high = value(day(""), "full/tow/gross"), value(day('span = "1.5 %"'), "full/tow/gross")
    assert plain[0] == pytest.approx(8000.0, abs=1e-6)
    assert high[0] == pytest.approx(6000.0 + 2000.0 / 1.015, abs=1e-6)
    low = value(day('span = "-0.8 %"'), "full/tow/gross")
    assert low[0] == pytest.approx(6000.0 + 2000.0 / 0.992, abs=1e-6)


def test_the_doubt_of_the_span_stays() -> None:
    """Of the corrected pad its span and its rounding count, over 1.015; of the three others their rounding alone."""
    stated = 'span_uncertainty = "0.3 %"\nrepeatability = "0 lb"\nspan = "1.5 %"\n'
    rounding = 20.0 / math.sqrt(12.0)
    own = math.hypot(0.003 * 2000.0, rounding) / 1.015
    assert value(day(stated), "full/tow/gross")[1] == pytest.approx(math.sqrt(own**2 + 3 * rounding**2), rel=1e-4)
    exact = 'span_uncertainty = "0 %"\nrepeatability = "0 lb"\nspan = "1.5 %"\n'
    assert value(day(exact), "full/tow/gross")[0] == pytest.approx(6000.0 + 2000.0 / 1.015, abs=1e-6)


def overdue(record: str, due: str = "due = 2026-05-01\n") -> list[str]:
    text = day("verified = 2025-05-01\n" + due, record=record)
    return [line for line in weigh(parse_day(text, "day.toml")).cautions if "due for verification" in line]


def test_an_overdue_pad_is_said_to_the_day() -> None:
    said = (
        "p1: was due for verification on 2026-05-01, {} before this weigh day. Its span may have drifted since it was "
        "last verified; check it before anybody relies on these numbers."
    )
    assert overdue("[record]\ndate = 2026-05-02\n") == [said.format("1 day")]
    assert overdue("[record]\ndate = 2026-06-10\n") == [said.format("40 days")]


@pytest.mark.parametrize("date", ["2026-05-01", "2025-05-02"])
def test_on_the_day_itself_and_before_nothing_is_said(date: str) -> None:
    assert overdue(f"[record]\ndate = {date}\n") == []


def test_without_a_date_or_without_a_due_day_nothing_is_said() -> None:
    assert overdue("") == []
    assert overdue("[record]\ndate = 2027-01-01\n", due="") == []


def test_the_first_draft_dates_a_day_without_a_record() -> None:
    text = day("due = 2026-05-01\n").replace('state = "full"\n', 'state = "full"\nat = 2026-05-03T08:00:00Z\n', 1)
    assert any("2 days before" in line for line in weigh(parse_day(text, "day.toml")).cautions)


def test_a_pad_that_read_nothing_is_not_reminded_of() -> None:
    text = day("", record="[record]\ndate = 2026-06-01\n") + pad("spare", more="due = 2026-01-01\n")
    assert [line for line in weigh(parse_day(text, "day.toml")).cautions if "spare" in line] == []


def test_the_ticket_of_an_overdue_pad_says_more() -> None:
    made = [
        weigh(parse_day(day("due = 2026-05-01\n", record=f"[record]\ndate = {date}\n"), "day.toml"))
        for date in (datetime.date(2026, 5, 1), datetime.date(2026, 5, 2))
    ]
    assert len(made[1].cautions) == len(made[0].cautions) + 1
    assert ticket_pdf(made[0]) != ticket_pdf(made[1])
