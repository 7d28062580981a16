"""Which frames of a video show which moment of a weigh day, and the lists that say so to other programs.

Frame ``n`` is shown from ``n / fps`` seconds on and shows what was known at that time: the last moment not after it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from steelyard.questions.moments import SECOND, Moment

SLOWEST, FASTEST = 1, 240
"""Bounds of the frame rate [1/s]; each frame lasts longer than the thousandth of a second that captions resolve."""

MOST_FRAMES = 1_000_000
"""The most frames of one overlay: their names have six digits."""

FRAME = "frame-{:06}.png"
"""The name of a frame by its number, from 0."""


@dataclass(frozen=True, slots=True)
class FrameRun:
    """Frames in a row that show one moment: the number of the first, how many; ``moment`` None before the first one."""

    first: int
    count: int
    moment: Moment | None


def frames_in(length: int, fps: Fraction) -> int:
    """How many frames begin within ``length`` microseconds."""
    return -(-length * fps.numerator // (fps.denominator * SECOND))


def runs_of(moments: Sequence[Moment], start: int, count: int, fps: Fraction) -> Iterator[FrameRun]:
    """The runs of ``count`` frames from ``start`` [microseconds] on; a moment too short for a frame has none."""
    firsts = [min(max(frames_in(moment.at - start, fps), 0), count) for moment in moments]
    if firsts[0] > 0:
        yield FrameRun(0, firsts[0], None)
    for moment, first, end in zip(moments, firsts, [*firsts[1:], count], strict=True):
        if end > first:
            yield FrameRun(first, end - first, moment)


def milliseconds(frame: int, fps: Fraction) -> int:
    """When a frame begins, in whole milliseconds of the video."""
    return round(1000 * frame / fps)


def frame_list(shown: Sequence[tuple[FrameRun, str]], fps: Fraction) -> str:
    """A table as CSV, one row for each run: its first and its last frame, from when to when [s], and its file.

    A row for each frame would take more room than the pictures of a video in which little changes.
    """
    rows = ["first,last,from,until,file\r\n"]
    for run, file in shown:
        end = run.first + run.count
        times = ",".join(f"{milliseconds(frame, fps) / 1000:.3f}" for frame in (run.first, end))
        rows.append(f"{run.first},{end - 1},{times},{file}\r\n")
    return "".join(rows)


def playlist(shown: Sequence[tuple[FrameRun, str]], fps: Fraction) -> str:
    """Each file with how long it shows, as the concatenating reader of FFmpeg takes it.

    Files have names without quotes or blanks. The last one is named twice, for that reader ends a file that has no
    successor early (common practice, no source).
    """
    lines = ["ffconcat version 1.0"]
    for run, file in shown:
        lines += [f"file {file}", f"duration {float(run.count / fps):.6f}"]
    lines += [f"file {file}" for _, file in shown[-1:]]
    return "\n".join(lines) + "\n"
