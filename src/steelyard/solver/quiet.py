"""A guard that keeps what the solver prints out of what is printed here.

The solver is told to be silent, and still prints a line of its own of some programmes, from C, straight to the file
descriptor of standard output. A program that reads our JSON chokes on it. While the solver runs that descriptor leads
into a file without a name; afterwards what others wrote there in the meantime is passed on, and the solver's lines are
not. Threads may solve at the same time: the first one in sets the guard up and the last one out takes it down.
"""

from __future__ import annotations

import os
import sys
import tempfile
import threading
from collections.abc import Generator
from contextlib import contextmanager, suppress
from typing import BinaryIO

STANDARD_OUTPUT = 1
OF_THE_SOLVER = (b"Highs", b"HiGHS")
"""How the solver's own lines begin: with the name of a class of it, or with its own."""


class _Guard:
    """The guard of this process. ``inside`` counts the threads that solve."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._shown: int | None = None
        self._caught: BinaryIO | None = None

    def enter(self) -> None:
        with self._lock:
            self._inside += 1
            if self._inside == 1:
                self._set_up()

    def leave(self) -> None:
        with self._lock:
            self._inside -= 1
            if self._inside == 0:
                self._take_down()

    def _set_up(self) -> None:
        _flush()
        try:
            shown = os.dup(STANDARD_OUTPUT)
        except OSError:  # nothing is printed to at all
            return
        try:
            caught = tempfile.TemporaryFile()  # noqa: SIM115 - it is closed when the last thread leaves
        except OSError:  # no room for it: better a line too much than no answer
            os.close(shown)
            return
        os.dup2(caught.fileno(), STANDARD_OUTPUT)
        self._shown, self._caught = shown, caught

    def _take_down(self) -> None:
        shown, caught = self._shown, self._caught
        if shown is None or caught is None:
            return
        self._shown = self._caught = None
        _flush()
        os.dup2(shown, STANDARD_OUTPUT)
        os.close(shown)
        with caught:
            caught.seek(0)
            others = b"".join(line for line in caught if not line.lstrip().startswith(OF_THE_SOLVER))
        with suppress(OSError):  # what reads us may be gone; that is for whoever prints next to find
            while others:
                others = others[os.write(STANDARD_OUTPUT, others) :]


def _flush() -> None:
    """Have everything that waits for standard output written, here and in C's own buffer."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stdout.flush()
    with suppress(ImportError, OSError, AttributeError, TypeError):
        import ctypes

        ctypes.CDLL(None).fflush(None)


_guard = _Guard()


@contextmanager
def quiet() -> Generator[None]:
    """Keeps the solver's own lines out of standard output; may be nested, and entered by several threads at once."""
    _guard.enter()
    try:
        yield
    finally:
        _guard.leave()
