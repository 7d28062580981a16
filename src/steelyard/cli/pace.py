"""The progress of many days, on standard error: how many of how many, how quickly, the time left, and the faults."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import field

from steelyard.classes import dataclass
from steelyard.cli.say import say_error

_EVERY = 30.0  # seconds between two lines where nobody watches
_WIDTH = 78


@dataclass()
class Pace:
    """Reports days of ``total``: on a terminal one line that is rewritten, otherwise a line now and then.

    ``clock`` gives seconds; ``done`` counts the days. Those that were answered before do not count for the rate.
    """

    total: int
    quiet: bool = False
    clock: Callable[[], float] = time.monotonic
    done: int = 0
    _new: int = 0
    _faulty: int = 0
    _open: bool = False
    _begun: float = field(init=False)
    _told: float = field(init=False)

    def __post_init__(self) -> None:
        self._begun = self._told = self.clock()
        stream = sys.stderr
        self._watched = stream is not None and stream.isatty()  # pyright: ignore[reportUnnecessaryComparison]

    def step(self, days: int, faulty: int, *, before: bool) -> None:
        """Count days of a part; ``before``: they were answered by an earlier run."""
        self.done += days
        self._new += 0 if before else days
        self._faulty += faulty
        now = self.clock()
        if self.quiet or not (self._watched or now - self._told >= _EVERY):
            return
        self._told = now
        text = self.text(now - self._begun)
        if self._watched:
            self._open = True
            say_error(f"{text:<{_WIDTH}}", over=True, end="")
        else:
            say_error(text)

    def end(self) -> None:
        """End the line of a terminal, so that what follows has its own."""
        if self._open:
            self._open = False
            say_error("")

    def text(self, seconds: float) -> str:
        """The line after so many seconds."""
        said = [f"{self.done:,} of {self.total:,} days"]
        if self._new and seconds > 0.0:
            rate = self._new / seconds
            said.append(f"{rate:.1f} a second" if rate < 100.0 else f"{rate:,.0f} a second")
            if self.done < self.total:
                said.append(f"{_duration((self.total - self.done) / rate)} left")
        said.append(f"{self._faulty:,} with faults")
        return ", ".join(said)


def _duration(seconds: float) -> str:
    """A time to wait, no finer than it is known."""
    minutes = round(seconds / 60.0)
    if seconds < 90.0:
        return f"{max(round(seconds), 1)} s"
    return f"{minutes} min" if minutes < 100 else f"{seconds / 3600.0:.1f} h"
