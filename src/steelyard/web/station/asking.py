"""Asking a day: solved once, kept at hand, and asked in threads of its own, so that nobody who weighs waits for it."""

from __future__ import annotations

import asyncio
from collections import OrderedDict
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, TypeVar

from steelyard.store import DayId
from steelyard.web.station.book import OpenDay
from steelyard.web.station.failed import foreseen

if TYPE_CHECKING:
    from steelyard.findings import Weighed

_T = TypeVar("_T")
_MOST = 8  # solved days held ready


class Asker:
    """Solved days and whoever asks them. Belongs to one event loop."""

    def __init__(self) -> None:
        self._quick = ThreadPoolExecutor(2, thread_name_prefix="ask")
        # a programme may take seconds: it never stands before a question that takes milliseconds
        self._slow = ThreadPoolExecutor(1, thread_name_prefix="programme")
        self._solved: OrderedDict[DayId, tuple[int, asyncio.Task[Weighed]]] = OrderedDict()

    async def ask(self, opened: OpenDay, question: Callable[[Weighed], _T], *, slow: bool = False) -> _T:
        """The answer to ``question`` about the solved day; ``slow``: it may take seconds."""
        weighed = await self._weighed(opened)
        pool = self._slow if slow else self._quick
        answer = asyncio.get_running_loop().run_in_executor(pool, question, weighed)
        return await foreseen("what was asked of this day", answer)

    async def ask_all(self, days: Sequence[OpenDay], question: Callable[[list[Weighed]], _T]) -> _T:
        """The answer to ``question`` about several solved days together, which may take seconds."""
        weighed = [await self._weighed(opened) for opened in days]
        answer = asyncio.get_running_loop().run_in_executor(self._slow, question, weighed)
        return await foreseen("what was asked of these days", answer)

    def close(self) -> None:
        """Let go of the threads; what runs is left to end."""
        for pool in (self._quick, self._slow):
            pool.shutdown(wait=False, cancel_futures=True)

    async def _weighed(self, opened: OpenDay) -> Weighed:
        known = self._solved.get(opened.id)
        if known is None or known[0] < opened.seq:
            known = opened.seq, asyncio.get_running_loop().create_task(self._solve(opened))
            self._solved[opened.id] = known
            if len(self._solved) > _MOST:
                self._solved.popitem(last=False)
        self._solved.move_to_end(opened.id)
        try:
            return await asyncio.shield(known[1])
        except Exception:
            if self._solved.get(opened.id) is known:
                del self._solved[opened.id]
            raise

    async def _solve(self, opened: OpenDay) -> Weighed:
        from steelyard.findings import solve  # the arithmetic takes a while to load

        solving = asyncio.get_running_loop().run_in_executor(self._quick, solve, opened.day)
        return await foreseen("this day", solving)
