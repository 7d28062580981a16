"""Many files, answered in order by as many processes as there are cores."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from concurrent.futures import Future

_Answer = TypeVar("_Answer")

MANY = 100
"""From this many files on, other processes repay their start."""

CHUNK = 8
AHEAD = 4
"""Chunks that wait at most for each process, so that memory stays flat however many files there are."""


def in_order(work: Callable[[str], _Answer], files: Sequence[str]) -> Iterator[_Answer]:
    """Yield the result of ``work`` for each file, in order.

    ``work`` must be picklable. Fewer files than ``MANY`` are worked on in this process.
    """
    processes = os.cpu_count() or 1
    if len(files) < MANY or processes == 1:
        yield from map(work, files)
        return
    from concurrent.futures import ProcessPoolExecutor  # with multiprocessing, which few files do without
    from multiprocessing import get_context

    chunks = (files[start : start + CHUNK] for start in range(0, len(files), CHUNK))
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        waiting: deque[Future[list[_Answer]]] = deque()
        for chunk in chunks:
            waiting.append(pool.submit(_all, work, chunk))
            if len(waiting) >= AHEAD * processes:
                yield from waiting.popleft().result()
        while waiting:
            yield from waiting.popleft().result()


def _all(work: Callable[[str], _Answer], files: Sequence[str]) -> list[_Answer]:
    return [work(file) for file in files]
