"""The fit of a log of growing load, asked for by page or program, done where it delays no other request.

A short log is read and fitted in a thread. A long one goes to a process of its own, for reading it would stop every
thread meanwhile; this file is also its job.
"""

from __future__ import annotations

import asyncio
import csv
import datetime
from collections import OrderedDict
from collections.abc import Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from steelyard.dayfile import DayFileError
from steelyard.model import PlaceError, WeighDay, parse_place
from steelyard.store import Kept
from steelyard.web.station import apart
from steelyard.web.station.refused import Refusal, RefusalError

if TYPE_CHECKING:
    from steelyard.questions.sweep import SweepAnswer, SweepQuestion

_LONG = 200_000  # bytes
_PATIENCE = 120.0  # s
_MOST = 8  # answers held ready

OPTIONS = ("on", "at", "height_division")
"""Options that may be given anew for a kept log."""


def answer(day: WeighDay, question: SweepQuestion) -> SweepAnswer:
    """The quantities that the log teaches; the pad of a place without a column in the log counts as left out.

    Raises
    ------
    RefusalError: the log teaches nothing, or the load would stand off its vehicle. DayFileError: the log has faults.
    """
    from steelyard.learning import SweepError
    from steelyard.loading import ScenarioError
    from steelyard.questions.sweep import SWEEP

    if question.pads is not None:
        question = replace(question, pads=_under(day, question.log.decode("utf-8", "replace"), question.pads))
    try:
        return SWEEP.answer(day, question)
    except SweepError as error:
        raise RefusalError(Refusal.TEACHES_NOTHING, f"{question.name}: {error}") from error
    except ScenarioError as error:
        raise RefusalError(Refusal.CANNOT_BE, str(error)) from error


def _under(day: WeighDay, text: str, pads: Mapping[str, str]) -> dict[str, str]:
    """The pads that the log has a column for, each under the name that the reader knows it by."""
    head = next((line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")), "")
    columns = {cell.strip() for row in csv.reader([head], skipinitialspace=True) for cell in row}
    named = {_canonical(day, place): pad for place, pad in pads.items()}
    return {place: pad for place, pad in named.items() if place in columns}


def _canonical(day: WeighDay, place: str) -> str:
    try:
        return parse_place(place, day.vehicles).text
    except PlaceError:
        return place


def in_yard(answered: SweepAnswer, kept: Kept | None, today: datetime.date) -> tuple[str, dict[str, Any]]:
    """The vehicle as the yard should have it, on top of its last version there: its block and what was learned.

    Raises
    ------
    RefusalError: the yard has another vehicle of that name. DayFileError: what is kept there cannot be read.
    """
    from steelyard.questions.sweep import AnotherVehicleError, kept_lesson

    text, before = (None, dict[str, Any]()) if kept is None else (kept.text, kept.learned)
    try:
        return kept_lesson(answered, text, before, kept=today.isoformat())
    except AnotherVehicleError as error:
        message = f"{answered.vehicle} in the yard has {error.axles} axles, so it is another vehicle; rename this one"
        raise RefusalError(Refusal.ANOTHER_VEHICLE, message) from None


class Sweeper:
    """The threads and processes that fit logs. Belongs to one event loop."""

    def __init__(self) -> None:
        self._pool = ThreadPoolExecutor(2, thread_name_prefix="sweep")
        self._known: OrderedDict[tuple[Any, ...], SweepAnswer] = OrderedDict()
        self._workers: set[apart.Worker] = set()
        self._closed = False

    async def ask(self, day: WeighDay, question: SweepQuestion, *key: Any) -> SweepAnswer:
        """The quantities that a log teaches; ``key``: of the day as it is and of a kept log, whose answer is kept.

        Raises
        ------
        RefusalError, DayFileError: as ``answer``.
        """
        place = (*key, repr([getattr(question, name) for name in ("state", *OPTIONS)]))
        if key and place in self._known:
            return self._known[place]
        job = self._apart if len(question.log) > _LONG else answer
        found = await asyncio.get_running_loop().run_in_executor(self._pool, job, day, question)
        if key:
            self._known[place] = found
            while len(self._known) > _MOST:
                self._known.popitem(last=False)
        return found

    def close(self) -> None:
        """Kill the processes, whatever they do, and let go of the threads: whoever stops the station waits for none."""
        self._closed = True
        for worker in list(self._workers):
            worker.kill()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _apart(self, day: WeighDay, question: SweepQuestion) -> SweepAnswer:
        """The answer of a process of its own."""
        try:
            told = self._told(day, question)
        except apart.LOST:
            message = "the log could not be fitted: its process stopped or took too long; try a shorter log"
            raise RefusalError(Refusal.SWEEP_FAILED, message, wait=5) from None
        if isinstance(told, DayFileError | RefusalError):
            raise told
        return told

    def _told(self, day: WeighDay, question: SweepQuestion) -> Any:
        worker = apart.Worker(apart.command_of(__file__), seconds=_PATIENCE)
        self._workers.add(worker)
        try:
            if self._closed:  # closed while it began
                worker.kill()
            worker.send([(day, question)])
            return worker.hear()
        finally:
            self._workers.discard(worker)
            worker.end()


# -- in the process --------------------------------------------------------------------------------------------------


def work(take: Callable[[], Any], tell: Callable[[Any], None]) -> None:
    """Answer the one question."""
    day, question = take()
    try:
        tell(answer(day, question))
    except (DayFileError, RefusalError) as error:
        tell(error)
