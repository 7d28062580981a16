"""Telling: each addition to a day reaches the listeners once and in order, whichever station kept it.

A store that several stations share tells of every addition the moment it is kept; what came before the station's own
addition is read and told first. Nobody waits for any of it.
"""

from __future__ import annotations

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable, Coroutine, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from steelyard.dayfile import Part
from steelyard.store import DayId, StoredEntry, StoreError
from steelyard.web.station.book import OpenDay
from steelyard.web.station.events import Hub
from steelyard.web.station.reckon import Reckoned, Reckoner, changes

_SAID_EVERY = 2.0  # s between two words to the listeners that findings are still being worked out
_MOST = 1000  # days of which the last told addition is remembered

Since = Callable[[DayId, int], Awaitable[tuple[OpenDay, Sequence[StoredEntry]]]]
"""Reads a day as it stands, and its additions after one of them."""


@dataclass(frozen=True, slots=True)
class ToldAddition:
    """The facts about an addition that are sent out; a ``StoredEntry`` has them too."""

    kind: Part
    seq: int
    number: int
    key: str
    device: str


def event_of(opened: OpenDay, entry: ToldAddition | StoredEntry) -> tuple[str, dict[str, Any]]:
    """The event and its data that tell of an addition."""
    data: dict[str, Any] = {"seq": entry.seq, "number": entry.number, "key": entry.key, "device": entry.device}
    if entry.kind is Part.DRAFT:
        draft = opened.day.drafts[entry.number - 1]
        return "draft", data | {"state": draft.state, "title": draft.title}
    return "entry", data | {"kind": entry.kind.value}


class Teller:
    """Tells the listeners of a hub. Belongs to one event loop.

    Attributes
    ----------
    trouble: why the store is away, in words; None while it answers. in_words: an error as listeners hear of it.
    """

    def __init__(self, hub: Hub, reckoner: Reckoner, since: Since) -> None:
        self.trouble: str | None = None
        self.in_words: Callable[[Exception], Any] = str
        self._hub = hub
        self._reckoner = reckoner
        self._since = since
        self._told: dict[DayId, int] = {}  # the last addition that listeners to a day were told of
        self._turns: defaultdict[DayId, asyncio.Lock] = defaultdict(asyncio.Lock)
        self._loose: set[asyncio.Task[None]] = set()
        self._newest: dict[DayId, int] = {}  # the last addition whose findings are awaited

    def close(self) -> None:
        """Tell no more."""
        for task in tuple(self._loose):
            task.cancel()

    def heard(self, opened: OpenDay) -> None:
        """A listener has begun with a day as it stands."""
        self._told[opened.id] = min(self._told.get(opened.id, opened.seq), opened.seq)

    def kept(self, opened: OpenDay, entry: ToldAddition) -> None:
        """Tell of an addition that this station kept, after those of others that came before it."""
        told = self._told.get(opened.id)
        if told is None or entry.seq == told + 1:
            self._tell(opened, entry)
            self._work_out(opened)
        elif entry.seq > told:
            self._begin(self._catch_up(opened.id, entry.seq))

    def added(self, day_id: DayId, seq: int) -> None:
        """Tell of an addition of any station, if somebody listens to the day."""
        if day_id in self._hub.days and seq > self._told.get(day_id, 0):
            self._begin(self._catch_up(day_id, seq))

    def there(self) -> None:
        """The store answers: tell that, if it had been away, and what was added meanwhile."""
        if self.trouble is not None:
            self.trouble = None
            self._hub.tell_all("store", {"there": True, "error": None})
        for day_id in self._hub.days:
            if day_id in self._told:
                self._begin(self._catch_up(day_id, None))

    def away(self, words: str) -> None:
        """Tell that the store is away."""
        self.trouble = words
        self._hub.tell_all("store", {"there": False, "error": words})

    async def _catch_up(self, day_id: DayId, seq: int | None) -> None:
        async with self._turns[day_id]:
            after = self._told.get(day_id, 0 if seq is None else seq - 1)
            if seq is not None and after >= seq:
                return
            try:
                opened, entries = await self._since(day_id, after)
            except StoreError:
                return  # away just now: what is missing is told when it is back
            new = [entry for entry in entries if self._told.get(day_id, after) < entry.seq <= opened.seq]
            for entry in new:
                self._tell(opened, entry)
        if not self._turns[day_id].locked():
            del self._turns[day_id]
        if new:
            self._work_out(opened)

    def _tell(self, opened: OpenDay, entry: ToldAddition | StoredEntry) -> None:
        self._hub.tell(opened.id, *event_of(opened, entry), entry.seq)
        self._told[opened.id] = entry.seq
        if len(self._told) > _MOST:
            listened = set(self._hub.days)
            self._told = {day_id: seq for day_id, seq in self._told.items() if day_id in listened}

    def _begin(self, work: Coroutine[Any, Any, None]) -> None:
        task = asyncio.get_running_loop().create_task(work)
        self._loose.add(task)
        task.add_done_callback(self._loose.discard)

    def _work_out(self, opened: OpenDay) -> None:
        """Have the findings worked out and told."""
        self._newest[opened.id] = max(opened.seq, self._newest.get(opened.id, 0))
        self._begin(self._tell_findings(opened))

    async def _tell_findings(self, opened: OpenDay) -> None:
        try:
            answer = await self._saying_how_far(opened)
        except Exception as error:  # noqa: BLE001 - nobody waits for this task; who asks for the findings sees it too
            self._hub.tell(opened.id, "trouble", self.in_words(error))
            return
        finally:
            if self._newest.get(opened.id) == opened.seq:
                del self._newest[opened.id]
        if answer.seq == opened.seq and opened.id in self._hub.days:
            told = await asyncio.to_thread(changes, answer)
            self._hub.tell(opened.id, "findings", told)

    async def _saying_how_far(self, opened: OpenDay) -> Reckoned:
        """The findings; who listens hears now and then that they are being worked out, once for all that is new."""
        work = asyncio.ensure_future(self._reckoner.of(opened))
        try:
            while not (await asyncio.wait({work}, timeout=_SAID_EVERY))[0]:
                underway = self._reckoner.underway(opened.id)
                if underway is not None and self._newest.get(opened.id) == opened.seq:
                    self._hub.tell(opened.id, "reckoning", asdict(underway) | {"seconds": round(underway.seconds, 1)})
            return work.result()
        finally:
            work.cancel()


class FromElsewhere:
    """Carries the news of a store from the thread that hears them into the event loop."""

    def __init__(self, teller: Teller, loop: asyncio.AbstractEventLoop) -> None:
        self._teller = teller
        self._loop = loop

    def added(self, day_id: DayId, seq: int) -> None:
        """An addition was kept."""
        self._loop.call_soon_threadsafe(self._teller.added, day_id, seq)

    def there(self) -> None:
        """The store is heard."""
        self._loop.call_soon_threadsafe(self._teller.there)

    def away(self, words: str) -> None:
        """The store is away."""
        self._loop.call_soon_threadsafe(self._teller.away, words)
