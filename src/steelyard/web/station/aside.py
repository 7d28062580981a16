"""Findings worked out aside, in a process of its own: arithmetic there takes no time from whoever keeps a draft here.

This file is also the job of that process. It begins when it is first asked and is begun anew where it died. Days and
findings go over in small parts, for packing one stops every thread meanwhile.
"""

from __future__ import annotations

import pickle
import queue
import threading
from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from steelyard.model import Draft, WeighDay

if TYPE_CHECKING:
    from steelyard.findings import Findings
    from steelyard.web.station.apart import Worker

_PROCESSES = 2  # a long day must not hold up a short one
_PART = 200  # drafts or findings packed at a time: a millisecond or two
_ATTEMPTS = 2  # a process may die of something that is not the day's fault, once


class Aside:
    """One process. Threads take it in turn."""

    def __init__(self, command: tuple[str, ...] | None = None) -> None:
        from steelyard.web.station import apart  # only the station has the web room at hand

        self._command = apart.command_of(__file__) if command is None else command
        self._worker: apart.Worker | None = None
        self._sent: tuple[Draft, ...] = ()
        self._closed = False
        self._proven = False
        self._turn = threading.Lock()

    @property
    def pid(self) -> int | None:
        """Of the process; None while there is none."""
        return None if self._worker is None else self._worker.pid

    def weigh(self, day: WeighDay) -> Findings:
        """The findings of a day, worked out there; here, where no process can be begun that ever answers.

        Raises
        ------
        GoneError: the process died of it twice. Also whatever ``findings.weigh`` raises.
        """
        from steelyard.web.station.apart import LOST
        from steelyard.web.station.refused import GoneError

        with self._turn:
            for _ in range(_ATTEMPTS):
                if self._closed:
                    break
                try:
                    return self._ask(self._running(), day)
                except LOST:
                    self._end()
            if not self._closed and not self._proven:
                return _weigh(day)
        raise GoneError("the process that works out the findings has ended")

    def close(self) -> None:
        """Kill the process, whatever it does."""
        self._closed = True
        worker = self._worker
        if worker is not None:
            worker.kill()
        with self._turn:  # whoever waits for an answer sees the end of it now
            self._end()

    def _running(self) -> Worker:
        if self._worker is None or not self._worker.runs:
            self._end()
            from steelyard.web.station.apart import Worker

            self._worker = Worker(self._command)
            if self._closed:  # closed while it began
                self._worker.kill()
        return self._worker

    def _end(self) -> None:
        worker, self._worker, self._sent = self._worker, None, ()
        if worker is not None:
            worker.end()

    def _ask(self, worker: Worker, day: WeighDay) -> Findings:
        known = _known(self._sent, day.drafts)
        rest = day.drafts[known:]
        worker.send(((replace(day, drafts=()), known, len(rest)), *_parts(rest)))
        self._sent = day.drafts
        told = worker.hear()
        self._proven = True
        return _found(told, worker, day)


class Asides:
    """A few processes, begun one by one as they are needed at the same time."""

    def __init__(self, make: Callable[[], Aside] = Aside) -> None:
        self.all = tuple(make() for _ in range(_PROCESSES))
        # the last one used first: it is running, warm, and may know most of the day
        self._free: queue.LifoQueue[Aside] = queue.LifoQueue()
        for each in reversed(self.all):
            self._free.put(each)

    def weigh(self, day: WeighDay) -> Findings:
        """The findings of a day, worked out by whichever process is free; waits for one.

        Raises
        ------
        GoneError: the process died of it twice. Also whatever ``findings.weigh`` raises.
        """
        one = self._free.get()
        try:
            return one.weigh(day)
        finally:
            self._free.put(one)

    def close(self) -> None:
        """Kill them all."""
        for each in self.all:
            each.close()


def _known(sent: tuple[Draft, ...], drafts: tuple[Draft, ...]) -> int:
    """How many drafts the process has of this day: all that it was sent last, or none."""
    same = len(sent) <= len(drafts) and all(one is other for one, other in zip(sent, drafts, strict=False))
    return len(sent) if same else 0


def _parts(items: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    return (items[begin : begin + _PART] for begin in range(0, len(items), _PART))


def _weigh(day: WeighDay) -> Findings:
    from steelyard.findings import weigh  # the arithmetic takes a while to load

    return weigh(day)


def _found(told: Any, worker: Worker, day: WeighDay) -> Findings:
    """The findings that the process answers with; an error of the process is raised here."""
    from steelyard.findings import Findings

    if isinstance(told, Exception):
        raise told
    other_day, count, verdicts, consistency, cautions = told
    findings: list[Any] = []
    while len(findings) < count:
        findings += worker.hear()
    return Findings(day if other_day is None else other_day, tuple(findings), verdicts, consistency, cautions)


# -- in the process --------------------------------------------------------------------------------------------------


def _packable(error: Exception) -> Exception:
    try:
        pickle.loads(pickle.dumps(error))  # noqa: S301 - our own
    except Exception:  # noqa: BLE001 - whatever it is, it cannot go over
        other = RuntimeError(f"{type(error).__name__}: {error}")
        for note in getattr(error, "__notes__", ()):
            other.add_note(note)
        return other
    return error


def work(take: Callable[[], Any], tell: Callable[[Any], None]) -> None:
    """Answer day after day; the drafts of the last one stay here."""
    drafts: tuple[Draft, ...] = ()
    while True:
        base, known, count = take()
        drafts = drafts[:known]
        while len(drafts) < known + count:
            drafts += take()
        day = replace(base, drafts=drafts)
        try:
            found = _weigh(day)
        except Exception as error:  # noqa: BLE001 - it is the asker's
            from steelyard.web.station.failed import note_place  # with all of the web room: only where it is needed

            note_place(error)
            tell(_packable(error))
        else:
            other = None if found.day is day else found.day
            tell((other, len(found.findings), found.verdicts, found.consistency, found.cautions))
            for part in _parts(found.findings):
                tell(part)
