"""Many processes on one machine, each doing one part at a time; one that dies takes nothing with it but its turn.

Every process has a pool of its own, so that it is known which one died, and the others go on.
"""

from __future__ import annotations

import os
import signal
import threading
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import connection, get_context, parent_process

from steelyard.batch.engine import Deaths, Work
from steelyard.batch.part import PartDone, PartJob, weigh_part


class ProcessPool:
    """Runs jobs in ``jobs`` processes."""

    def __init__(self, jobs: int, work: Work = weigh_part) -> None:
        self._jobs, self._work = jobs, work

    def run(self, jobs: Iterable[PartJob]) -> Iterator[PartDone]:
        """Do every job; a part whose process died is done again in a new one. Whoever stops asking ends them all."""
        coming, again, deaths = iter(jobs), deque[PartJob](), Deaths()
        idle = [_process() for _ in range(self._jobs)]
        busy: dict[Future[PartDone], tuple[ProcessPoolExecutor, PartJob]] = {}
        try:
            while True:
                while idle and (job := again.popleft() if again else next(coming, None)) is not None:
                    process = idle.pop()
                    busy[_begun(process, self._work, job)] = process, job
                if not busy:
                    return
                for future in wait(busy, return_when=FIRST_COMPLETED).done:
                    process, job = busy.pop(future)
                    try:
                        done = future.result()
                    except BrokenProcessPool:
                        process.shutdown()
                        idle.append(_process())
                        again.extend(deaths.died(job))
                        continue
                    idle.append(process)
                    yield done
        finally:
            for process in (*idle, *(process for process, _ in busy.values())):
                _end(process)


def _process() -> ProcessPoolExecutor:
    return ProcessPoolExecutor(1, mp_context=get_context("spawn"), initializer=_begin)


def _begun(process: ProcessPoolExecutor, work: Work, job: PartJob) -> Future[PartDone]:
    """The result to come of a job; of a process that died while it was idle, its error."""
    try:
        return process.submit(work, job)
    except BrokenProcessPool as error:
        failed: Future[PartDone] = Future()
        failed.set_exception(error)
        return failed


def _begin() -> None:
    """Leave Ctrl+C to the program that began this process, and end with it however it ends."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)


def _end(process: ProcessPoolExecutor) -> None:
    """End a process at once: a part that is not whole leaves nothing behind under its name."""
    workers = list((process._processes or {}).values())  # noqa: SLF001  # pyright: ignore[reportPrivateUsage] - no other way to end one
    for worker in workers:
        worker.terminate()
    process.shutdown(wait=True, cancel_futures=True)
