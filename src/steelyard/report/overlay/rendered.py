"""The pictures of an overlay as PNG: each once, drawn ahead on the other core while the next one is reckoned."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from hashlib import sha256

from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.overlay.frame import DrawnRun

_WORKERS = 2
_AHEAD = 4
"""Pictures that are drawn before the first of them is taken; more would only fill the memory."""


@dataclass(frozen=True, slots=True)
class RenderedRun:
    """A run with the number of its picture, from 1; ``png`` is None where an earlier run has brought that picture."""

    drawn: DrawnRun
    number: int
    png: bytes | None


def rendered_runs(drawn: Iterable[DrawnRun], width: int) -> Iterator[RenderedRun]:
    """Each run with its picture, ``width`` pixels wide, in order; equal pictures have one number.

    The setting of a picture lets other threads run, so two of them keep two cores busy.
    """
    numbers: dict[bytes, int] = {}
    waiting: deque[tuple[DrawnRun, int, Future[bytes] | None]] = deque()
    pool = ThreadPoolExecutor(_WORKERS)
    try:
        for each in drawn:
            digest = sha256(each.svg.encode()).digest()
            job = pool.submit(svg_to_png, each.svg, width) if digest not in numbers else None
            waiting.append((each, numbers.setdefault(digest, len(numbers) + 1), job))
            if len(waiting) > _AHEAD:
                yield _taken(waiting)
        while waiting:
            yield _taken(waiting)
    finally:
        pool.shutdown(cancel_futures=True)


def _taken(waiting: deque[tuple[DrawnRun, int, Future[bytes] | None]]) -> RenderedRun:
    each, number, job = waiting.popleft()
    return RenderedRun(each, number, None if job is None else job.result())
