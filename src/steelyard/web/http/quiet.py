"""Log lines of the server's libraries: the same words once a minute, and how often they came meanwhile.

A client that sends nonsense a thousand times must not fill a disk with it.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable

_EVERY = 60.0  # s
_MOST = 200  # different words remembered


class Seldom(logging.Filter):
    """Lets the same words through once in ``_EVERY`` seconds."""

    def __init__(self, *, clock: Callable[[], float] = time.monotonic) -> None:
        super().__init__()
        self._clock = clock
        self._said: dict[str, tuple[float, int]] = {}  # when they were let through, and how many were not since

    def filter(self, record: logging.LogRecord) -> bool:
        """Whether a record is let through."""
        now, words = self._clock(), str(record.msg)[:300]
        last, kept_back = self._said.get(words, (-_EVERY, 0))
        if now - last < _EVERY:
            self._said[words] = (last, kept_back + 1)
            return False
        if len(self._said) >= _MOST:
            self._said.clear()
        self._said[words] = (now, 0)
        if kept_back:
            record.msg, record.args = f"{record.getMessage()} (and {kept_back:,} more like it before)", None
        return True


def keep_quiet() -> None:
    """Have the libraries that serve say the same thing once a minute only."""
    for name in ("uvicorn.error", "asyncio"):
        logger = logging.getLogger(name)
        if not any(isinstance(item, Seldom) for item in logger.filters):
            logger.addFilter(Seldom())
