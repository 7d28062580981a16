"""A guard that keeps what the solver prints out of what is printed here.

The solver is told to be silent, and still prints a line of its own of some programmes, from C, straight to the file
descriptor of standard output. A program that reads our JSON chokes on it. While the solver runs that descriptor leads
into a file without a name; afterwards what others wrote there in the meantime is passed on, and the solver's lines are
not. Threads may solve at the same time: the first one in sets the guard up and the last one out takes it down.
"""

from __future__ import annotations

import atexit
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
    """The guard of this process: ``inside`` counts the threads that solve, ``passed`` the bytes dealt with."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._inside = 0
        self._shown: int | None = None
        self._caught: BinaryIO | None = None
        self._passed = 0

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

    def pass_on_what_is_left(self) -> None:
        """For the end of the process: the lines that were written too late for the last time."""
        with self._lock, suppress(OSError):
            self._pass_on()

    def _set_up(self) -> None:
        _flush()
        try:
            shown = os.dup(STANDARD_OUTPUT)
        except OSError:  # nothing is printed to at all
            return
        try:
            caught = self._caught = self._caught or tempfile.TemporaryFile("a+b", buffering=0)  # noqa: SIM115 - it stays
        except OSError:  # no room for it: better a line too much than no answer
            os.close(shown)
            return
        os.dup2(caught.fileno(), STANDARD_OUTPUT)
        self._shown = shown

    def _take_down(self) -> None:
        shown, self._shown = self._shown, None
        if shown is None:
            return
        _flush()
        os.dup2(shown, STANDARD_OUTPUT)
        os.close(shown)
        with suppress(OSError):  # what reads us may be gone; that is for whoever prints next to find
            self._pass_on()

    def _pass_on(self) -> None:
        """Read the file by place, for its own position belongs to those who write."""
        if self._caught is None:
            return
        found = bytearray()
        while piece := os.pread(self._caught.fileno(), 1 << 16, self._passed + len(found)):
            found += piece
        self._passed += len(found)
        lines = bytes(found).splitlines(keepends=True)
        others = b"".join(line for line in lines if not line.lstrip().startswith(OF_THE_SOLVER))
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
atexit.register(_guard.pass_on_what_is_left)
if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_guard.__init__)  # a child has a file of its own, and not its parent's lines


@contextmanager
def quiet() -> Generator[None]:
    """Keeps the solver's own lines out of standard output; may be nested, and entered by several threads at once."""
    _guard.enter()
    try:
        yield
    finally:
        _guard.leave()
