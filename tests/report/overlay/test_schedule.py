"""Which frame shows which moment, and the lists that say so: held against times reckoned frame by frame."""

from __future__ import annotations

import csv
import io
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from steelyard.model import WeighDay
from steelyard.questions.moments import SECOND, Moment
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.overlay.frame import DrawnRun
from steelyard.report.overlay.rendered import rendered_runs
from steelyard.report.overlay.schedule import FrameRun, frame_list, frames_in, milliseconds, playlist, runs_of

RATES = st.sampled_from([Fraction(1), Fraction(30), Fraction(30000, 1001), Fraction("29.97"), Fraction(240)])
DAY = WeighDay()


@given(
    ats=st.lists(st.integers(-5 * SECOND, 5 * SECOND), min_size=1, max_size=8, unique=True),
    start=st.integers(-6 * SECOND, 6 * SECOND),
    length=st.integers(1, 3 * SECOND),
    fps=RATES,
)
def test_each_frame_shows_the_last_moment_not_after_it(ats: list[int], start: int, length: int, fps: Fraction) -> None:
    moments = [Moment(at, DAY, "here") for at in sorted(ats)]
    count = frames_in(length, fps)
    assert (count - 1) / fps < Fraction(length, SECOND) <= count / fps
    shown = [run.moment for run in runs_of(moments, start, count, fps) for _ in range(run.count)]
    assert len(shown) == count
    for number in {0, 1, count // 2, count - 1} & set(range(count)):
        time = Fraction(start) + SECOND * number / fps
        past = [moment for moment in moments if moment.at <= time]
        assert shown[number] is (past[-1] if past else None)


@given(counts=st.lists(st.integers(1, 40), min_size=1, max_size=6), fps=RATES)
def test_the_lists_say_what_is_shown(counts: list[int], fps: Fraction) -> None:
    firsts = [sum(counts[:place]) for place in range(len(counts))]
    shown = [
        (FrameRun(first, count, None), f"pictures/{first}.png") for first, count in zip(firsts, counts, strict=True)
    ]
    rows = list(csv.DictReader(io.StringIO(frame_list(shown, fps))))
    assert [row["file"] for row in rows] == [file for _, file in shown]
    frames = [number for row in rows for number in range(int(row["first"]), int(row["last"]) + 1)]
    assert frames == list(range(sum(counts)))
    for row, first, count in zip(rows, firsts, counts, strict=True):
        assert int(row["first"]) == first
        assert float(row["from"]) == pytest.approx(float(first / fps), abs=6e-4)
        assert float(row["until"]) == pytest.approx(float((first + count) / fps), abs=6e-4)
    head, *lines, last = playlist(shown, fps).splitlines()
    assert head == "ffconcat version 1.0"
    assert [line.removeprefix("file ") for line in lines[::2]] == [file for _, file in shown]
    assert last == lines[-2]
    durations = [float(line.removeprefix("duration ")) for line in lines[1::2]]
    assert sum(durations) == pytest.approx(float(sum(counts) / fps), abs=1e-5)


@given(frame=st.integers(0, 999_999), fps=RATES)
def test_no_frame_is_shorter_than_captions_can_tell(frame: int, fps: Fraction) -> None:
    assert milliseconds(frame, fps) < milliseconds(frame + 1, fps)


def test_equal_pictures_are_drawn_once_and_all_stay_in_order() -> None:
    """More runs than are drawn ahead; the widths of the pictures tell which is which."""
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="{0}" height="{0}"><rect width="{0}" height="1"/></svg>'
    sizes = [3, 4, 3, 5, 4, 6, 7, 3, 8]
    drawn = [DrawnRun(FrameRun(place, 1, None), svg.format(size), ()) for place, size in enumerate(sizes)]
    rendered = list(rendered_runs(drawn, 8))
    assert [each.drawn.run.first for each in rendered] == list(range(len(sizes)))
    assert [each.number for each in rendered] == [1, 2, 1, 3, 2, 4, 5, 1, 6]
    assert [each.png is not None for each in rendered] == [size not in sizes[:at] for at, size in enumerate(sizes)]
    for each, size in zip(rendered, sizes, strict=True):
        assert each.png is None or each.png == svg_to_png(svg.format(size), 8)
