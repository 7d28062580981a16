"""What is written reads back equal."""

from __future__ import annotations

from pathlib import Path

from hypothesis import HealthCheck, given, settings

from steelyard.dayfile import parse_day, read_day, write_day
from steelyard.model import WeighDay
from tests.dayfile.days import weigh_days

EXAMPLE = Path(__file__).parent / "example.toml"


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(weigh_days())
def test_a_weigh_day_reads_back_equal(day: WeighDay) -> None:
    again = parse_day(write_day(day), "written")
    assert again == day
    for section in ("instruments", "vehicles", "cargo", "states"):
        assert list(getattr(again, section)) == list(getattr(day, section))


def test_an_empty_day_reads_back_equal() -> None:
    assert parse_day(write_day(WeighDay()), "written") == WeighDay()


def test_what_is_written_looks_like_what_was_read() -> None:
    read = [line.split("#")[0].strip() for line in EXAMPLE.read_text(encoding="utf-8").splitlines()]
    written = write_day(read_day(EXAMPLE)).splitlines()
    lost = [line for line in read if line and len(line) <= 120 and line not in written]
    assert lost == []


def test_many_readings_stand_one_below_the_other() -> None:
    names = [f"pad-number-{number}" for number in range(1, 5)]
    pads = "".join(
        f'[instruments.{name}]\nkind = "pad"\ncapacity = 9000\ndivision = 10\nheight = 3\n' for name in names
    )
    vehicle = '[vehicles.tow]\nrole = "towing"\naxles = [{ x = 0, track = 60 }, { x = 120, track = 60 }]\n'
    wheels = ["1L", "1R", "2L", "2R"]
    pairs = [f'"tow/{wheel}" = ["{name}", 1000]' for wheel, name in zip(wheels, names, strict=True)]
    text = f'format = 1\n{pads}{vehicle}[states.solo]\nvehicles = ["tow"]\n[[drafts]]\nstate = "solo"\n'
    day = parse_day(f"{text}readings = {{ {', '.join(pairs)} }}", "x")
    assert "[drafts.readings]\n" + "\n".join(pairs) in write_day(day)
    assert parse_day(write_day(day), "written") == day
