"""Findings worked out aside, in a process of its own: arithmetic there takes no time from whoever keeps a draft here.

This file is also what that process runs. It begins when it is first asked, dies with the station however that ends, and
is begun anew where it died. Days and findings go over in small parts, for packing one stops every thread meanwhile.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import signal
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any

from steelyard.model import Draft, WeighDay

if TYPE_CHECKING:
    from steelyard.findings import Findings

_PROCESSES = 2  # a long day must not hold up a short one
_PART = 200  # drafts or findings packed at a time: a millisecond or two
_ATTEMPTS = 2  # a process may die of something that is not the day's fault, once
_NICE = 5  # keeping goes first


class Aside:
    """One process. Threads take it in turn."""

    def __init__(self, command: tuple[str, ...] | None = None) -> None:
        self._command = (sys.executable, "-P", str(Path(__file__))) if command is None else command
        self._process: subprocess.Popen[bytes] | None = None
        self._sent: tuple[Draft, ...] = ()
        self._closed = False
        self._proven = False
        self._turn = threading.Lock()

    @property
    def pid(self) -> int | None:
        """Of the process; None while there is none."""
        return None if self._process is None else self._process.pid

    def weigh(self, day: WeighDay) -> Findings:
        """The findings of a day, worked out there; here, where no process can be begun that ever answers.

        Raises
        ------
        GoneError: the process died of it twice. Also whatever ``findings.weigh`` raises.
        """
        with self._turn:
            for _ in range(_ATTEMPTS):
                if self._closed:
                    break
                try:
                    return self._ask(self._running(), day)
                except (OSError, EOFError, pickle.UnpicklingError):
                    self._end()
            if not self._closed and not self._proven:
                return _weigh(day)
        from steelyard.web.station.refused import GoneError  # only the station has the web room at hand

        raise GoneError("the process that works out the findings has ended")

    def close(self) -> None:
        """Kill the process, whatever it does."""
        self._closed = True
        process = self._process
        if process is not None:
            process.kill()
        with self._turn:  # whoever waits for an answer sees the end of it now
            self._end()

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is not None and self._process.poll() is None:
            return self._process
        self._end()
        from steelyard.web.station import apart  # only the station has the web room at hand

        self._process = apart.begin(self._command)
        if self._closed:  # closed while it began
            self._process.kill()
        return self._process

    def _end(self) -> None:
        process, self._process, self._sent = self._process, None, ()
        if process is not None:
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError):
                        stream.close()

    def _ask(self, process: subprocess.Popen[bytes], day: WeighDay) -> Findings:
        if process.stdin is None or process.stdout is None:
            raise EOFError
        known = _known(self._sent, day.drafts)
        rest = day.drafts[known:]
        _write(process.stdin, (replace(day, drafts=()), known, len(rest)))
        for part in _parts(rest):
            _write(process.stdin, part)
        process.stdin.flush()
        self._sent = day.drafts
        told = _read(process.stdout)
        self._proven = True
        return _found(told, process.stdout, day)


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


def _write(stream: IO[bytes], item: Any) -> None:
    stream.write(pickle.dumps(item, pickle.HIGHEST_PROTOCOL))


def _read(stream: IO[bytes]) -> Any:
    return pickle.load(stream)  # noqa: S301 - from our own process, over a pipe that nobody else holds


def _weigh(day: WeighDay) -> Findings:
    from steelyard.findings import weigh  # the arithmetic takes a while to load

    return weigh(day)


def _found(told: Any, stream: IO[bytes], day: WeighDay) -> Findings:
    """What the process answers; raises what it raised."""
    from steelyard.findings import Findings

    if isinstance(told, Exception):
        raise told
    other_day, count, verdicts, consistency, cautions = told
    findings: list[Any] = []
    while len(findings) < count:
        findings += _read(stream)
    return Findings(day if other_day is None else other_day, tuple(findings), verdicts, consistency, cautions)


# -- in the process --------------------------------------------------------------------------------------------------


@dataclass(slots=True)
class _Desk:
    """The other end: the drafts of the last day stay on it."""

    answers: IO[bytes]
    drafts: tuple[Draft, ...] = ()

    def answer(self, question: tuple[WeighDay, int, tuple[Draft, ...]]) -> None:
        """Work out one day."""
        base, known, rest = question
        self.drafts = self.drafts[:known] + rest
        day = replace(base, drafts=self.drafts)
        try:
            found = _weigh(day)
        except Exception as error:  # noqa: BLE001 - it is the asker's
            from steelyard.web.station.failed import note_place  # with all of the web room: only where it is needed

            note_place(error)
            _write(self.answers, _packable(error))
        else:
            other = None if found.day is day else found.day
            told = (other, len(found.findings), found.verdicts, found.consistency, found.cautions)
            _write(self.answers, told)
            for part in _parts(found.findings):
                _write(self.answers, part)
        self.answers.flush()


def _packable(error: Exception) -> Exception:
    try:
        pickle.loads(pickle.dumps(error))  # noqa: S301 - our own
    except Exception:  # noqa: BLE001 - whatever it is, it cannot go over
        other = RuntimeError(f"{type(error).__name__}: {error}")
        for note in getattr(error, "__notes__", ()):
            other.add_note(note)
        return other
    return error


def _listen(questions: IO[bytes], asked: queue.SimpleQueue[Any]) -> None:
    """Take questions in. The station's end of the pipe closes with it, by whatever way: then nothing is left to do."""
    try:
        while True:
            base, known, count = _read(questions)
            rest: list[Draft] = []
            while len(rest) < count:
                rest += _read(questions)
            asked.put((base, known, tuple(rest)))
    finally:
        os._exit(0)


def main() -> None:
    """Answer until the station is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the station, which closes this process
    if hasattr(os, "nice"):
        os.nice(_NICE)
    desk = _Desk(os.fdopen(os.dup(1), "wb"))
    os.dup2(2, 1)  # nothing else may write among the answers
    asked: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(os.fdopen(os.dup(0), "rb"), asked), daemon=True).start()
    while True:
        desk.answer(asked.get())


if __name__ == "__main__":
    main()
