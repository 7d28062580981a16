"""How much memory a process that works something out may take, so that no day takes the machine down with it.

The station sets it from outside as soon as the process is there: the arithmetic is not loaded by then.
"""

from __future__ import annotations

import contextlib
import os
import sys

if sys.platform != "win32":
    import resource

_LEAST, _MOST = 1 << 30, 3 << 30  # bytes


def most_bytes() -> int:
    """A quarter of the machine's memory, within bounds [bytes]."""
    try:
        whole = os.sysconf("SC_PHYS_PAGES") * os.sysconf("SC_PAGE_SIZE")
    except (AttributeError, ValueError, OSError):
        whole = 4 * _LEAST
    return min(max(whole // 4, _LEAST), _MOST)


def bound(pid: int, most: int | None = None) -> None:
    """Let a process of ours have ``most`` bytes of data; what asks for more there gets a MemoryError. On Linux only."""
    if sys.platform == "linux":
        most = most_bytes() if most is None else most
        with contextlib.suppress(OSError, ValueError):  # it has ended, or the system allows it less already
            resource.prlimit(pid, resource.RLIMIT_DATA, (most, most))


def words() -> str:
    """The bound as it is told."""
    return f"{most_bytes() / 1e9:.1f} GB"
