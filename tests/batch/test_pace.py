"""The line that says how far many days are: how many, how quickly, the time left, and the faults."""

from __future__ import annotations

import sys
from typing import Any

import pytest

from steelyard.cli.pace import Pace


class _Clock:
    """Seconds as they are wanted."""

    now = 1000.0

    def __call__(self) -> float:
        return self.now


def test_where_nobody_watches_a_line_comes_now_and_then(capsys: pytest.CaptureFixture[str]) -> None:
    clock = _Clock()
    pace = Pace(10_000, clock=clock)
    pace.step(2000, 3, before=True)
    for seconds, days in ((10.0, 500), (25.0, 500), (31.0, 550), (40.0, 500)):
        clock.now = 1000.0 + seconds
        pace.step(days, 1, before=False)
    pace.end()
    # 500 + 500 + 550 days in 31 s are 50 a second; 10,000 - 3,550 are left
    assert capsys.readouterr().err == "3,550 of 10,000 days, 50.0 a second, 2 min left, 6 with faults\n"


def test_a_terminal_has_one_line_that_is_written_over(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def yes(*_: Any) -> bool:
        return True

    monkeypatch.setattr(sys.stderr, "isatty", yes, raising=False)
    clock = _Clock()
    pace = Pace(8, clock=clock)
    for _ in range(2):
        clock.now += 2.0
        pace.step(4, 1, before=False)
    pace.end()
    first, second = capsys.readouterr().err.removeprefix("\r").removesuffix("\n").split("\r")
    assert first.rstrip() == "4 of 8 days, 2.0 a second, 2 s left, 1 with faults"
    assert second.rstrip() == "8 of 8 days, 2.0 a second, 2 with faults"
    assert len(first) == len(second) == 78


def test_quiet_says_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    clock = _Clock()
    pace = Pace(8, quiet=True, clock=clock)
    clock.now += 100.0
    pace.step(4, 1, before=False)
    pace.end()
    assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("left", "said"), [(1, "1 s left"), (89, "89 s left"), (600, "10 min left"), (36000, "10.0 h")]
)
def test_the_time_left_is_no_finer_than_it_is_known(left: int, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    clock = _Clock()
    pace = Pace(100 + left, clock=clock)
    clock.now += 100.0
    pace.step(100, 0, before=False)
    assert said in capsys.readouterr().err
