"""Ten thousand days in one folder of answers: by one process and by two, their memory, and the cost of the engine.

Processor time is what a day costs, on however many cores: two processes that need no more of it than one are as
efficient as two can be, whatever else the machine does. The engine's own cost is that of days over which nothing is
done: found, read, named by their digest, cut into parts, sent to another process and written in the manifest.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from pathlib import Path

from benchmarks.days import bundled, of_all_kinds, written
from benchmarks.measure import Row, Run, process, program, python
from steelyard import __version__
from steelyard.batch.filling import fill
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import PartDone, PartJob, part_job, weigh_part
from steelyard.batch.pool import ProcessPool
from steelyard.batch.sources import Sources

GROUP = "thousands of days"
MANY, FEW = 10_000, 1_000
_PART = 500


def rows(folder: Path) -> Iterator[Row]:
    """The comparisons; days and answers are written under ``folder``."""
    folder = folder / "many"
    folder.mkdir()
    written(bundled(MANY), folder / "days")
    written(of_all_kinds(FEW), folder / "kinds")
    floor = _by_itself(folder)
    one, two = (_batch(folder, folder / "days", jobs) for jobs in (1, 2))
    what = f"{MANY} x the bundled day"
    yield Row(GROUP, f"{what}, 1 process: a day", 1e3 * one.cpu / MANY, "one part of them by itself", floor)
    yield Row(
        GROUP, f"{what}, 2 processes: a day", 1e3 * two.cpu / MANY, "1 process", 1e3 * one.cpu / MANY, aim="1.18x"
    )
    few = _batch(folder, folder / "kinds", 1)
    sizes = [run.largest / 1e6 for run in (one, few)]
    yield Row(GROUP, f"{what}: largest process", sizes[0], f"{FEW} days of all kinds", sizes[1], "MB", "flat")
    kinds = 1e3 * few.cpu / FEW
    yield Row(GROUP, f"{FEW} days of all kinds, 1 process: a day", kinds, "the bundled day", 1e3 * one.cpu / MANY)
    own = _engine(folder)
    yield Row(GROUP, "the engine's own cost a day", own, "a day", 1e3 * one.cpu / MANY, aim="1.5 %")


def _batch(folder: Path, days: Path, jobs: int) -> Run:
    out = folder / f"{days.name}-{jobs}"
    options = ("--jobs", str(jobs), "--part-days", str(_PART), "--quiet")
    return process(program("batch", str(days), "-o", str(out), *options), folder=folder)


def _by_itself(folder: Path) -> float:
    """A part in this process, its start left out [ms a day]."""
    sources = Sources([str(folder / "days")], folder / "alone")
    days = [day for bunch in sources.bunches() for _, day in zip(range(_PART), bunch.days, strict=False)]
    job = part_job(days, folder / "alone", BatchOptions())
    weigh_part(job)
    start = time.process_time()
    weigh_part(job)
    return 1e3 * (time.process_time() - start) / len(days)


def _engine(folder: Path) -> float:
    """All days of one folder over which nothing is done, less a run of one day [ms a day]."""
    one = folder / "one"
    written(bundled(1), one)
    code = "import sys; from benchmarks.many import nothing_done; nothing_done(*sys.argv[1:])"
    runs = [process(python(code, str(days), f"{days}-nothing")).cpu for days in (folder / "days", one)]
    return 1e3 * (runs[0] - runs[1]) / MANY


def nothing_done(days: str, out: str) -> None:
    """Fill a folder with parts that are not made."""
    sources, folder = Sources([days], Path(out)), Path(out)
    count = sources.count()
    fill(sources, folder, BatchOptions(), ProcessPool(1, nothing), days=count, jobs=1, size=_PART)


def nothing(job: PartJob) -> PartDone:
    """A part over which nothing is done."""
    return PartDone(job.name, __version__, len(job), 0)
