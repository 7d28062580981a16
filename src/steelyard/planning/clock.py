"""The time that a search may take, asked for inside every loop of it."""

from __future__ import annotations

import time
from collections.abc import Callable

Now = Callable[[], float]


class OutOfTime(Exception):  # noqa: N818 - it ends a search, and is no fault
    """The time of a search is over. Whatever was found and proved before still holds."""


class Clock:
    """Seconds that are left of those given, on the clock ``now`` [s], which never runs backwards."""

    def __init__(self, seconds: float, now: Now = time.perf_counter) -> None:
        self.now = now
        self.seconds = seconds
        self._began = now()
        self._until = self._began + seconds

    @property
    def gone(self) -> float:
        """The seconds that have gone by."""
        return self.now() - self._began

    @property
    def left(self) -> float:
        """The seconds that are left; none once the time is over."""
        return max(self._until - self.now(), 0.0)

    @property
    def over(self) -> bool:
        """Whether the time is over."""
        return self.now() >= self._until

    def check(self) -> None:
        """Do nothing while there is time left.

        Raises
        ------
        OutOfTime: the time is over.
        """
        if self.over:
            raise OutOfTime

    def part(self, share: float) -> Clock:
        """A clock for ``share`` of what is left of this one."""
        return Clock(share * self.left, self.now)


def endless() -> Clock:
    """A clock that is never over."""
    return Clock(float("inf"))
