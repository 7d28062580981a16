"""Engines run the jobs of a batch: one interface for this process, many processes and many machines.

An engine takes its jobs one by one, a few ahead of those that it has given back, so that memory stays flat however many
there are. It gives back each part as soon as it is whole, in any order. Where the process that did a part dies, the
part is done again; ``Deaths`` says how, for every engine alike.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Protocol

from steelyard.batch.part import TRIES, PartDone, PartJob, died_at, part_name, weigh_part
from steelyard.batch.stored import StoredDays, read_stored

Work = Callable[[PartJob], PartDone]
"""The function that an engine runs on a job: ``weigh_part``, or in tests another in its place."""


class NoWorkersError(Exception):
    """Nobody does the work; the message says why, as far as it is known."""


class Engine(Protocol):
    """Runs jobs."""

    def run(self, jobs: Iterable[PartJob]) -> Iterator[PartDone]:
        """Do every job and give back each part that is whole, in any order; jobs are taken as they are needed.

        Whoever stops asking ends the work: nothing more is begun, and what is half done is left.
        """
        ...


class InThisProcess:
    """Does one job after the other here: for a few days, which do not repay another process."""

    def __init__(self, work: Work = weigh_part) -> None:
        self._work = work

    def run(self, jobs: Iterable[PartJob]) -> Iterator[PartDone]:
        """Do every job in order."""
        return map(self._work, jobs)


SCATTERED = 12
"""So many deaths of workers over one part, at days that are not set aside, halve it."""


class Deaths:
    """Counts over which days workers died, and says what to do next with a part whose worker did.

    A worker writes in the folder at which day it is, so that a day that kills its worker is known at once. It is set
    aside when ``TRIES`` workers died over it, and the others of its part are answered. Where workers die over no day,
    or at one day now and at another then, as when a part is too large for their memory, the part is halved.
    """

    def __init__(self) -> None:
        self._here_and_there = Counter[str]()
        self._deaths: Counter[tuple[str, bool, bool, int | None]] = Counter()

    def died(self, job: PartJob) -> list[PartJob]:
        """The jobs to do in place of one whose worker died: the same once more, without a day, or its halves.

        Raises
        ------
        NoWorkersError: workers die before they begin it, or though no day is left in it, for reasons that lie in none.
        """
        begun, place = died_at(Path(job.folder), job.name)
        alone = place if place is not None or len(job) > 1 else 0
        aside = alone in job.quarantined
        key = job.name, aside, begun, place
        self._deaths[key] += 1
        self._here_and_there[job.name] += begun
        if self._deaths[key] < TRIES:
            scattered = self._here_and_there[job.name] >= SCATTERED and len(job) > 1
            return list(_halves(job)) if scattered else [job]
        if not begun:
            raise NoWorkersError(f"{TRIES} processes died before they began; is there too little memory for so many?")
        if alone is None:
            return list(_halves(job))
        if aside:
            raise NoWorkersError(f"{TRIES} processes died over a part of which no day was weighed any more: {job.name}")
        self._here_and_there[job.name] -= TRIES
        return [job.without(alone)]


def _halves(job: PartJob) -> Iterator[PartJob]:
    days = read_stored(job.days) if isinstance(job.days, StoredDays) else job.days
    middle = len(days) // 2
    for first, end in ((0, middle), (middle, len(days))):
        aside = frozenset(place - first for place in job.quarantined if first <= place < end)
        half = days[first:end]
        yield replace(job, name=part_name(half), days=half, quarantined=aside)
