"""The hub: what happens, told to everybody who listens, as server-sent events; who is too slow is dropped.

A listener hears of one day. Drafts, corrections and findings come in order and completely; of the live loads only the
latest matter, so a slow listener skips the ones in between.
"""

from __future__ import annotations

import asyncio
import json
from collections import deque
from collections.abc import AsyncGenerator, Callable, Generator
from contextlib import contextmanager
from typing import Any

from steelyard.store import DayId
from steelyard.web.station.refused import Refusal, RefusalError

MOST_LISTENERS = 500
_MOST_WAITING = 256  # events that a listener may be behind
_HEARTBEAT = 15.0  # s, well within what proxies and phones allow a silent line

# HTML standard, section 9.2, server-sent events.
MEDIA_TYPE = "text/event-stream"


EVENTS = {
    "hello": "`seq`, `drafts` and the mass `unit` of what follows.",
    "loads": (
        "the live loads: `unit` and `channels`, for each its `value`, whether it is `steady` and `why`, `drift` by the "
        "second, `scatter`, and where it is not a reading `trouble` in words and `short`; `age`, how many seconds ago."
    ),
    "stance": "only with a simulated rig: `number`, `label` and `state` of how it stands, `places` of its pads.",
    "draft": "a draft was kept: `seq`, `number`, `key`, `device`, `state`, `title`.",
    "entry": "something else was kept: `kind`, `seq`, `number`, `key`, `device`.",
    "findings": (
        "what the last additions changed: `seq`, the `findings` that moved by a tenth of their doubt or became known, "
        "the `verdicts` that are others now (both null where all may have changed), the whole `consistency`, and "
        "`questioned`: suspects of the last draft."
    ),
    "reckoning": (
        "every two seconds while the findings of a long day are being worked out: as of addition `seq`, of how many "
        "`drafts`, for how many `seconds`."
    ),
    "plan": "a plan of the day was kept: `after` how many drafts, and how many `drafts` it has.",
    "store": (
        "of a store that several stations share, whether its database is `there`, and if not the `error`: sent when it "
        "goes away and when it is back."
    ),
    "trouble": "the findings could not be worked out: `error`.",
}
"""Every event that ``/events`` sends, and what its data hold."""


def encode(event: str, data: Any, number: int | None = None) -> bytes:
    """One event on the wire."""
    head = "" if number is None else f"id: {number}\n"
    text = json.dumps(data, allow_nan=False, separators=(",", ":"))
    return f"{head}event: {event}\ndata: {text}\n\n".encode()


class Listener:
    """One open stream."""

    def __init__(self, day_id: DayId) -> None:
        self.day_id = day_id
        self.seen = 0  # the last addition that the listener was told of otherwise
        self.dropped = False
        self._waiting: deque[bytes] = deque()
        self._live: bytes | None = None
        self._woken = asyncio.Event()

    def tell(self, chunk: bytes, number: int | None = None) -> None:
        """Something that must not be missed, unless it was seen."""
        if number is not None and number <= self.seen:
            return
        self.seen = self.seen if number is None else number
        if len(self._waiting) >= _MOST_WAITING:
            self.drop()
            return
        self._waiting.append(chunk)
        self._woken.set()

    def show(self, chunk: bytes) -> None:
        """The live loads, in place of those that were not fetched."""
        self._live = chunk
        self._woken.set()

    def drop(self) -> None:
        """End the stream; the browser comes back by itself and says what it has seen."""
        self.dropped = True
        self._woken.set()

    async def chunks(self) -> AsyncGenerator[bytes, None]:
        """The events, as they go over the wire, with a sign of life in between."""
        while not self.dropped:
            try:
                await asyncio.wait_for(self._woken.wait(), _HEARTBEAT)
            except TimeoutError:
                yield b": still here\n\n"
                continue
            self._woken.clear()
            parts = list(self._waiting)
            self._waiting.clear()
            if self._live is not None:
                parts.append(self._live)
                self._live = None
            if parts:
                yield b"".join(parts)


class Hub:
    """Everybody who listens. Belongs to one event loop."""

    def __init__(self) -> None:
        self._listeners: dict[DayId, set[Listener]] = {}
        self._closed = False

    @property
    def count(self) -> int:
        """How many listen."""
        return sum(len(listeners) for listeners in self._listeners.values())

    @property
    def days(self) -> tuple[DayId, ...]:
        """The days that somebody listens to."""
        return tuple(self._listeners)

    def check_room(self) -> None:
        """See that one more may listen.

        Raises
        ------
        RefusalError: too many listen already, or the station is closing.
        """
        if self._closed or self.count >= MOST_LISTENERS:
            message = f"{self.count} pages listen already; close one and try again"
            raise RefusalError(Refusal.TOO_MANY_LISTENERS, message, wait=10)

    @contextmanager
    def listening(self, day_id: DayId) -> Generator[Listener]:
        """A listener, for as long as the block runs."""
        listener = Listener(day_id)
        self._listeners.setdefault(day_id, set()).add(listener)
        try:
            yield listener
        finally:
            left = self._listeners.get(day_id, set())
            left.discard(listener)
            if not left:
                self._listeners.pop(day_id, None)

    def tell(self, day_id: DayId, event: str, data: Any, number: int | None = None) -> None:
        """Tell all who listen to a day."""
        listeners = self._listeners.get(day_id)
        if listeners:
            chunk = encode(event, data, number)
            for listener in tuple(listeners):
                listener.tell(chunk, number)

    def tell_all(self, event: str, data: Any) -> None:
        """Tell all who listen, to whichever day."""
        for day_id in self.days:
            self.tell(day_id, event, data)

    def show(self, make: Callable[[DayId], bytes | None]) -> None:
        """Show the live loads, encoded once for each day that somebody listens to."""
        for day_id, listeners in tuple(self._listeners.items()):
            chunk = make(day_id)
            if chunk is not None:
                for listener in tuple(listeners):
                    listener.show(chunk)

    def close(self) -> None:
        """End every stream."""
        self._closed = True
        for listeners in self._listeners.values():
            for listener in listeners:
                listener.drop()
