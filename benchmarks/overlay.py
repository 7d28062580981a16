"""Ten minutes of frames over a video: the whole beside drawing and writing the distinct pictures alone.

Run alone it prints its own lines: ``python -m benchmarks.overlay``.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

from click.testing import CliRunner

from benchmarks.days import BUNDLED
from benchmarks.measure import Row
from steelyard.cli import cli
from steelyard.dayfile import read_day, read_log
from steelyard.questions.moments import timeline_of_log
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.shape import SHAPES
from steelyard.report.overlay.frame import OverlayLook, drawn_runs
from steelyard.report.overlay.schedule import runs_of

GROUP = "frames over a video"
MINUTES, FPS, EVERY = 10, 30, 2
"""Length of the video, frames a second, and seconds from one sample of the log to the next."""


def log_text() -> str:
    """A load that grows on the ball for ten minutes, as pads of 20 lb show it: a new picture every few samples."""
    rows = [
        f"{at},{2180 - at // 60 * 20},{2100 - at // 75 * 20},{1560 + at // 6 * 20},{1560 + at // 5 * 20}"
        for at in range(0, 60 * MINUTES + 1, EVERY)
    ]
    return "t,truck/1L,truck/1R,truck/2L,truck/2R\n" + "\n".join(rows) + "\n"


def rows() -> Iterator[Row]:
    """The command in this process, and the pictures that it keeps drawn and written without frames or lists."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "log.csv").write_text(log_text(), encoding="utf-8")
        start = time.perf_counter(), time.process_time()
        words = ("overlay", BUNDLED, "--log", folder / "log.csv", "--state", "solo", "--duration", f"{MINUTES}:00")
        done = CliRunner().invoke(cli, [*map(str, words), "--fps", str(FPS), "-o", str(folder / "made")])
        took = _since(start)
        if done.exit_code != 0:
            raise RuntimeError(done.output)
        frames = len(list((folder / "made" / "frames").iterdir()))
        pictures = len(list((folder / "made" / "pictures").iterdir()))
        start = time.perf_counter(), time.process_time()
        _pictures(folder)
        floor = _since(start)
    what = f"{MINUTES} min at {FPS} a second: {frames:,} frames, {pictures} pictures"
    yield Row(GROUP, what, took[1], "drawing and writing these pictures", floor[1])
    yield Row(GROUP, f"{what}, wall", took[0], "the same, wall", floor[0], aim="60000 ms")


def _pictures(folder: Path) -> None:
    day = read_day(BUNDLED)
    log = read_log((folder / "log.csv").read_bytes(), "log.csv", day, day.states["solo"], {})
    timeline = timeline_of_log(day, day.states["solo"], log)
    runs = list(runs_of(timeline.moments, timeline.start, 60 * MINUTES * FPS, Fraction(FPS)))
    seen: set[str] = set()
    for number, drawn in enumerate(drawn_runs(runs, timeline.clock, OverlayLook())):
        if drawn.svg not in seen:
            seen.add(drawn.svg)
            (folder / f"{number}.png").write_bytes(svg_to_png(drawn.svg, SHAPES["16:9"].wide_px))


def _since(start: tuple[float, float]) -> tuple[float, float]:
    """Wall and processor time [ms] since ``start`` [s]."""
    return 1e3 * (time.perf_counter() - start[0]), 1e3 * (time.process_time() - start[1])


if __name__ == "__main__":
    for row in rows():
        print(f"{row.what:60}{row.took:10.1f} {row.unit}  {row.beside:36}{row.floor:10.1f}{row.ratio:8.2f}x  {row.aim}")
