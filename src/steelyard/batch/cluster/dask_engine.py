"""The engine for several machines: parts go to the workers of a Dask scheduler, a few for each at a time.

Answers do not travel: workers write them into the folder that all machines share, and say what they wrote. A worker may
come, go or be killed at any time. Source of the interface: documentation of Dask's library distributed,
2026.8, page Client.
"""

from __future__ import annotations

import os
import queue
import secrets
import time
from collections import deque
from collections.abc import Generator, Iterable, Iterator
from concurrent.futures import CancelledError
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Self

from steelyard import __version__
from steelyard.batch.cluster.connecting import connected, scheduler_address
from steelyard.batch.cluster.crew import Crew, Note
from steelyard.batch.cluster.fitness import ANSWERS_WITHIN, refuse_scheduler
from steelyard.batch.cluster.on_worker import Ticket, UnfitWorkerError, WorkerDiedError, do_part, packed
from steelyard.batch.engine import Deaths, NoWorkersError, Work
from steelyard.batch.layout import AnswersFolderError
from steelyard.batch.part import WORKING, PartDone, PartJob, weigh_part
from steelyard.batch.stored import DayTextError, StoredDays, read_stored

_EACH = 2
"""Parts for each thread of a worker that are on their way or being done: one is there when another is done."""

_LOOK = 2.0  # s between two looks at the scheduler and its workers
_FIRST_WORKER = 10.0  # s in which the first worker must be there
_MISTAKEN = 3  # times that a part is given out again after a worker refused it that nothing was found against


def _say_nothing(text: str) -> None:
    del text


class DaskEngine:
    """Runs jobs on the workers of a scheduler; entered as a context, which is the connection.

    Parameters
    ----------
    address: of the scheduler. note: is told what the user should know meanwhile. work: what is run on each job, found
    by its name on every worker.

    Raises
    ------
    NoWorkersError: the address is none.
    """

    def __init__(self, address: str, *, note: Note = _say_nothing, work: Work = weigh_part) -> None:
        self._address, self._note, self._work = scheduler_address(address), note, work
        self._open = ExitStack()
        self._client: Any = None

    def __enter__(self) -> Self:
        """Connect.

        Raises
        ------
        MissingExtraError: the library is not installed.
        NoWorkersError: no scheduler can be reached, it has no worker, or is of another version.
        """
        with ExitStack() as opened:
            self._client = opened.enter_context(connected(self._address))
            refuse_scheduler(self._client, self._address)
            try:
                self._client.wait_for_workers(1, timeout=_FIRST_WORKER)
            except TimeoutError:
                start = f"start some with 'dask worker {self._address}'"
                raise NoWorkersError(f"{self._address}: no worker is connected to the scheduler; {start}") from None
            self._open = opened.pop_all()
        return self

    def __exit__(self, *exception: object) -> None:
        """End the connection; what is half done is left."""
        self._open.close()

    @property
    def at_once(self) -> int:
        """How many parts the workers that are there now do at a time."""
        return max(1, sum(self.workers().values()))

    def workers(self) -> dict[str, int]:
        """The workers that are there now, by their addresses, and how many threads each has."""
        return dict(self._client.nthreads())

    def run(self, jobs: Iterable[PartJob]) -> Iterator[PartDone]:
        """Do every job.

        Raises
        ------
        NoWorkersError: a worker cannot do the work as the first part is begun, or the connection is lost.
        AnswersFolderError, DayTextError, MissingExtraError: as ``weigh_part``, on a worker.
        """
        coming = (_for_all(job) for job in jobs)
        first = next(coming, None)
        if first is None:
            return
        with _marked(Path(first.folder)) as mark:
            ticket = (__version__, str(mark))
            crew = Crew(self._client, self._address, ticket, _inputs(first), self._note)
            yield from _HandingOut(self._client, self._address, ticket, self._work, crew).parts(first, coming)


def _for_all(job: PartJob) -> PartJob:
    """A job that means the same in whatever folder a worker runs: by a path from there it would name another file."""
    days = job.days
    if isinstance(days, StoredDays) and not os.path.isabs(days.path):  # noqa: PTH117 - it is a text
        days = read_stored(days)
    return replace(job, folder=str(Path(job.folder).resolve()), days=days)


def _inputs(job: PartJob) -> list[str]:
    """The files that a worker reads itself."""
    return [job.days.path] if isinstance(job.days, StoredDays) else []


@contextmanager
def _marked(folder: Path) -> Generator[Path]:
    """A file in the folder of answers, by which a worker knows that it sees the same folder.

    Raises
    ------
    AnswersFolderError: it cannot be written.
    """
    mark = folder / WORKING / f"seen-{secrets.token_hex(8)}"
    try:
        mark.parent.mkdir(exist_ok=True)
        mark.touch()
    except OSError as error:
        raise AnswersFolderError(f"{folder}: cannot be written: {error.strerror or error}") from None
    try:
        yield mark
    finally:
        with suppress(OSError):
            for path in mark.parent.glob(f"{mark.name}*"):
                path.unlink(missing_ok=True)


@dataclass(frozen=True, slots=True)
class _Flight:
    """A part that is with the workers: the job, its file of this turn, the future, and who may do it."""

    job: PartJob
    turn: str
    future: Any
    workers: frozenset[str]


class _HandingOut:
    """One run over the jobs: parts that are with the workers, those to give out again, and what came of each."""

    def __init__(self, client: Any, address: str, ticket: Ticket, work: Work, crew: Crew) -> None:
        self._client, self._address, self._ticket, self._work, self._crew = client, address, ticket, work, crew
        self._again = deque[PartJob]()
        self._deaths, self._turns, self._done, self._refused = Deaths(), 0, 0, 0
        self._flying: dict[str, _Flight] = {}
        self._landed: queue.SimpleQueue[str] = queue.SimpleQueue()
        self._looked = time.monotonic()

    def parts(self, first: PartJob, coming: Iterator[PartJob]) -> Iterator[PartDone]:
        """Give out all parts, and give back those that are whole."""
        with self._not_lost():
            self._crew.begin()
        self._again.append(first)
        while True:
            workers = self._crew.fit
            while len(self._flying) < _EACH * sum(workers.values()):
                job = self._again.popleft() if self._again else next(coming, None)
                if job is None:
                    break
                self._give_out(job, frozenset(workers))
            if not self._flying and not self._again:
                job = next(coming, None)  # nobody is there to do it, or it was the last
                if job is None:
                    return
                self._again.append(job)
            landed = self._next()
            done = None if landed is None else self._outcome(landed)
            if done is not None:
                self._done += 1
                yield done

    def _give_out(self, job: PartJob, workers: frozenset[str]) -> None:
        self._turns += 1
        turn = f"{self._ticket[1]}-{self._turns}"
        key = os.path.basename(turn)  # noqa: PTH119 - a text
        future: Any = self._client.submit(
            do_part,
            packed(self._work, job),
            self._ticket,
            turn,
            key=key,
            pure=False,
            retries=0,
            workers=sorted(workers),
        )
        self._flying[key] = _Flight(job, turn, future, workers)
        self._await(key, future)

    def _await(self, key: str, future: Any) -> None:
        landed = self._landed
        future.add_done_callback(lambda _: landed.put(key))  # pyright: ignore[reportUnknownLambdaType]

    def _next(self) -> _Flight | None:
        """The next part of which something is known, None where only time went by; keeps an eye on the workers."""
        if time.monotonic() - self._looked > _LOOK:
            self._look()
        try:
            return self._flying.pop(self._landed.get(timeout=_LOOK), None)
        except queue.Empty:
            return None

    def _look(self) -> None:
        """See that the scheduler is there, and who works for it."""
        with self._not_lost():
            self._crew.look()
        if self._client.status != "running":
            raise self._lost()
        fit = frozenset(self._crew.fit)
        for key, flight in list(self._flying.items()):
            if fit and not flight.workers & fit:  # all that might have done it are gone
                del self._flying[key]
                flight.future.cancel()
                self._again.extend(self._after_death(flight))
        self._looked = time.monotonic()

    def _outcome(self, flight: _Flight) -> PartDone | None:
        """The part, if it is whole; otherwise it is given out again in one way or another."""
        from distributed.scheduler import KilledWorker

        try:
            return flight.future.result(timeout=ANSWERS_WITHIN)
        except CancelledError:
            raise self._lost() from None
        except TimeoutError:  # its worker died with the answer in hand: another one does it again
            self._flying[flight.future.key] = flight
            self._await(flight.future.key, flight.future)
        except (WorkerDiedError, KilledWorker):
            self._again.extend(self._after_death(flight))
        except (UnfitWorkerError, DayTextError) as error:
            with self._not_lost():
                found = self._crew.ask_again()
            self._refused += not found
            if self._refused >= _MISTAKEN or (not found and isinstance(error, DayTextError)):
                raise
            self._again.append(flight.job)
        except OSError:  # asked for across a line that is cut
            self._look()
            raise
        return None

    def _after_death(self, flight: _Flight) -> list[PartJob]:
        """The jobs in place of one whose worker died; the same, where it had only waited at that worker."""
        try:
            os.unlink(flight.turn)  # noqa: PTH108 - a text
        except OSError:
            return [flight.job]
        return self._deaths.died(flight.job)

    @contextmanager
    def _not_lost(self) -> Generator[None]:
        try:
            yield
        except (OSError, TimeoutError):
            raise self._lost() from None

    def _lost(self) -> NoWorkersError:
        parts = f"{self._done:,} part{'' if self._done == 1 else 's'}"
        return NoWorkersError(f"{self._address}: the connection to the scheduler was lost after {parts} of this run")
