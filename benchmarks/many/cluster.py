"""Days by the workers of a Dask scheduler on this host: a day by two of them, and the cost of the engine itself.

As on one machine, two workers that need no more processor time than one process are as efficient as two can be. All
processes count, scheduler, workers, those that look after them, and the one that gives the command. Workers are warm,
as they are in a long run: each has done a part before. They are started as the documents say.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from pathlib import Path

from benchmarks.days import bundled
from benchmarks.measure import Row
from steelyard import __version__
from steelyard.batch.cluster.dask_engine import DaskEngine
from steelyard.batch.engine import Engine, InThisProcess
from steelyard.batch.layout import DayText
from steelyard.batch.options import BatchOptions
from steelyard.batch.part import PartDone, PartJob, part_job
from tests.batch.machines import Machines

GROUP = "thousands of days"
MANY, IDLE = 2_000, 20_000
_PARTS = (50, 500)
_WORKERS = 2


def rows(folder: Path) -> Iterator[Row]:
    """The comparisons; answers are written under ``folder``."""
    place = folder / "cluster"
    place.mkdir()
    texts = [DayText(f"{number:05}.toml", text) for number, text in enumerate(bundled(MANY))]
    machines = Machines(place, workers=_WORKERS, sparing=False)
    try:
        for size in _PARTS:
            jobs = _jobs(texts, size, place / f"of-{size}")
            with DaskEngine(machines.address) as dask:
                _did(dask, jobs[:4])
                many, wall = _cost(dask, jobs, machines)
            alone = InThisProcess()
            _did(alone, jobs[:1])
            one, alone_wall = _cost(alone, jobs, None)
            what = f"{MANY} x the bundled day by Dask, 2 workers, parts of {size}"
            yield Row(GROUP, f"{what}: a day", many, "1 process", one, aim="1.18x")
            yield Row(GROUP, f"{what}: a day, wall", wall, "half of 1 process", alone_wall / 2, aim="1.18x")
            idle = _jobs([texts[number % MANY] for number in range(IDLE)], size, place / f"idle-{size}")
            with DaskEngine(machines.address, work=nothing) as dask:
                _did(dask, idle[:4])
                own, _ = _cost(dask, idle, machines)
            yield Row(GROUP, f"Dask's own cost a day, parts of {size}", own, "a day", one, aim="0.15x")
    finally:
        machines.stop()


def _jobs(texts: Sequence[DayText], size: int, out: Path) -> list[PartJob]:
    out.mkdir()
    return [part_job(texts[first : first + size], out, BatchOptions()) for first in range(0, len(texts), size)]


def _did(engine: Engine, jobs: Sequence[PartJob]) -> None:
    """Do all jobs.

    Raises
    ------
    ArithmeticError: a part is missing, or is there twice.
    """
    done = [part.name for part in engine.run(jobs)]
    if sorted(done) != sorted(job.name for job in jobs):
        raise ArithmeticError("not every part was done once")


def _cost(engine: Engine, jobs: Sequence[PartJob], machines: Machines | None) -> tuple[float, float]:
    """Processor and wall time of all jobs [ms a day]."""
    others = 0.0 if machines is None else machines.processor_seconds()
    start, begun = time.process_time(), time.perf_counter()
    _did(engine, jobs)
    took, wall = time.process_time() - start, time.perf_counter() - begun
    more = 0.0 if machines is None else machines.processor_seconds() - others
    days = sum(len(job) for job in jobs)
    return 1e3 * (took + more) / days, 1e3 * wall / days


def nothing(job: PartJob) -> PartDone:
    """A part over which nothing is done."""
    return PartDone(job.name, __version__, len(job), 0)
