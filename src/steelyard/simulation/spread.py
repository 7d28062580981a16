"""Parts of a work done by several processes, each given back as soon as it is done."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import get_context
from typing import TypeVar

from steelyard.simulation.fault import SimulationError

_Job = TypeVar("_Job")
_Done = TypeVar("_Done")

AHEAD = 2
"""Jobs that wait at most for each process, so that memory stays flat however many there are."""


def spread(work: Callable[[_Job], _Done], jobs: Iterable[_Job], processes: int) -> Iterator[_Done]:
    """Yield the result of ``work`` for each job, in any order; ``work`` and jobs must be picklable.

    One process is this one.

    Raises
    ------
    SimulationError: one of the processes died. Errors of ``work`` pass through.
    """
    if processes <= 1:
        yield from map(work, jobs)
        return
    try:
        yield from _among(work, jobs, processes)
    except BrokenProcessPool:
        message = (
            "a process that worked on a part was killed, perhaps for want of memory; parts that are whole are kept"
        )
        raise SimulationError(f"{message}: call the same command again, with fewer --jobs") from None


def _among(work: Callable[[_Job], _Done], jobs: Iterable[_Job], processes: int) -> Iterator[_Done]:
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        running: set[Future[_Done]] = set()
        for job in jobs:
            running.add(pool.submit(work, job))
            if len(running) >= AHEAD * processes:
                done, running = wait(running, return_when=FIRST_COMPLETED)
                yield from (one.result() for one in done)
        while running:
            done, running = wait(running, return_when=FIRST_COMPLETED)
            yield from (one.result() for one in done)
