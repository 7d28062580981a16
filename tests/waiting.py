"""Waiting for what comes about: as long as a busy machine needs, and not a moment longer on an idle one."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable

PATIENCE = 120.0
"""s after which what should come about is held to be broken: far more than a machine with ten times its work needs."""

_LOOK = 0.02  # s between two looks


def until(ready: Callable[[], object], what: str = "it", *, patience: float = PATIENCE) -> None:
    """Wait, in a thread, for something to become true."""
    end = time.monotonic() + patience
    while not ready():
        assert time.monotonic() < end, f"{what} did not come about"
        time.sleep(_LOOK)


async def comes_about(ready: Callable[[], object], what: str = "it") -> None:
    """Wait, in an event loop that goes on meanwhile, for something to become true."""
    end = time.monotonic() + PATIENCE
    while not ready():
        assert time.monotonic() < end, f"{what} did not come about"
        await asyncio.sleep(_LOOK)
