"""Work done in a process apart: begun, bounded in memory and time, heard and ended in one way, whatever the job is.

This file is both ends. The station holds a ``Worker``; its process runs this file, which runs the job's file and calls
``work(take, tell)`` in it: ``take`` waits for the next item that the station sent, ``tell`` sends one back. The process
dies with the station, however that ends. A job's file is free to import as little as it needs.
"""

from __future__ import annotations

import contextlib
import os
import pickle
import queue
import runpy
import signal
import subprocess
import sys
import threading
from collections.abc import Iterable, Sequence
from typing import IO, Any, cast

_NICE = 5  # keeping goes first

LOST = (OSError, EOFError, pickle.UnpicklingError)
"""The errors raised where a process has ended or sends nonsense."""


def command_of(job: str) -> tuple[str, ...]:
    """The command that runs the job of a file."""
    return (sys.executable, "-P", __file__, job)


class Worker:
    """One process. It finds the program as this one does.

    Parameters
    ----------
    command: what is run. alone: whether Ctrl-C at the station's terminal is kept from it. seconds: after which it is
        killed, None for never.

    Raises
    ------
    OSError: it cannot be begun.
    """

    def __init__(self, command: Sequence[str], *, alone: bool = False, seconds: float | None = None) -> None:
        from steelyard.web.station import memory  # only the station has the web room at hand

        # one thread for the arithmetic: a process each for several days is quicker than many threads for one
        found = {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
        pipe, environment = subprocess.PIPE, {"OPENBLAS_NUM_THREADS": "1"} | os.environ | found
        self._process = subprocess.Popen(  # noqa: S603
            command, stdin=pipe, stdout=pipe, env=environment, start_new_session=alone
        )
        memory.bound(self._process.pid)
        self._to, self._from = cast("IO[bytes]", self._process.stdin), cast("IO[bytes]", self._process.stdout)
        self.pid = self._process.pid
        self._clock = None if seconds is None else threading.Timer(seconds, self._process.kill)
        if self._clock is not None:
            self._clock.daemon = True
            self._clock.start()

    @property
    def runs(self) -> bool:
        """Whether the process is there."""
        return self._process.poll() is None

    def send(self, items: Iterable[Any]) -> None:
        """Send items to the job, each packed by itself: packing one stops every thread meanwhile."""
        for item in items:
            _write(self._to, item)
        self._to.flush()

    def hear(self) -> Any:
        """The next item that the job tells; waits for it. Raises one of ``LOST`` where none comes."""
        return _read(self._from)

    def interrupt(self) -> None:
        """Raise KeyboardInterrupt in a job that listens for it; any other is deaf to it."""
        if self.runs:
            self._process.send_signal(signal.SIGINT)

    def kill(self) -> None:
        """Kill the process, from whatever thread; whoever hears it is told that it is lost."""
        self._process.kill()

    def end(self) -> None:
        """Kill the process and let go of it."""
        if self._clock is not None:
            self._clock.cancel()
        self._process.kill()
        self._process.wait()
        for stream in (self._to, self._from):
            with contextlib.suppress(OSError):
                stream.close()


def _write(stream: IO[bytes], item: Any) -> None:
    stream.write(pickle.dumps(item, pickle.HIGHEST_PROTOCOL))


def _read(stream: IO[bytes]) -> Any:
    return pickle.load(stream)  # noqa: S301 - from our own process, over a pipe that nobody else holds


# -- in the process --------------------------------------------------------------------------------------------------


def _listen(questions: IO[bytes], taken: queue.SimpleQueue[Any]) -> None:
    """Take items in. The station's end of the pipe closes with it, by whatever way: then nothing is left to do."""
    try:
        while True:
            taken.put(_read(questions))
    finally:
        os._exit(0)


def main(job: str) -> None:
    """Do the job of a file."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is meant for the station, which ends this process
    if hasattr(os, "nice"):
        os.nice(_NICE)
    answers = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # nothing else may write among the answers
    taken: queue.SimpleQueue[Any] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(os.fdopen(os.dup(0), "rb"), taken), daemon=True).start()

    def tell(item: Any) -> None:
        _write(answers, item)
        answers.flush()

    runpy.run_path(job)["work"](taken.get, tell)
    os._exit(0)


if __name__ == "__main__":
    main(sys.argv[1])
