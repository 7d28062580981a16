"""The book: days as they stand by now, read once and kept up, so that one more draft costs the same on any day."""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field

from steelyard.dayfile import Part, extended, parse_day
from steelyard.model import WeighDay
from steelyard.store import Appended, DayEntry, DayId, Photo, Reason, Store, StoreError

_MOST = 64  # days held ready
_ATTEMPTS = 20  # against other programs that add to the same day of the same store


@dataclass(frozen=True, slots=True)
class OpenDay:
    """A day as of addition ``seq``."""

    id: DayId
    seq: int
    day: WeighDay


@dataclass(frozen=True, slots=True)
class Addition:
    """A part of a weigh-day file that is about to be added to a day.

    Attributes
    ----------
    kind, key, device: as in ``store.Entry``.
    make: the block of text that adds it to the day as it stands; ``DayFileError`` where it does not fit.
    same: whether it equals the part that the day has under that number; asked when the key is known already.
    picture: of a photograph, whose record is added.
    expect: how many additions the day had when the sender looked; None: it does not matter.
    """

    kind: Part
    key: str
    device: str
    make: Callable[[WeighDay], str]
    same: Callable[[WeighDay, int], bool]
    picture: Photo | None = None
    expect: int | None = None


class KeyTakenError(Exception):
    """The key is known, but for something else."""


@dataclass(slots=True)
class _Slot:
    lock: threading.RLock = field(default_factory=threading.RLock)
    opened: OpenDay | None = None


class Book:
    """All days of a store. Safe to share between threads; every method may wait for the database."""

    def __init__(self, store: Store) -> None:
        self.store = store
        self._lock = threading.Lock()
        self._slots: OrderedDict[DayId, _Slot] = OrderedDict()

    def open(self, day_id: DayId) -> OpenDay:
        """The day as it stands in the store.

        Raises
        ------
        StoreError: no such day, or the store would not.
        """
        seq = self.store.day(day_id).seq
        slot = self._slot(day_id)
        with slot.lock:
            opened = slot.opened
            if opened is not None and opened.seq >= seq:
                return opened
            slot.opened = opened = self._read(day_id) if opened is None else self._caught_up(opened)
            return opened

    def add(self, day_id: DayId, addition: Addition) -> tuple[Appended, OpenDay]:
        """Add to a day; durable on return. What was there before is left, and given as a replay.

        Raises
        ------
        DayFileError: it does not fit the day.
        KeyTakenError: the key is that of something else.
        StoreError: no such day, the day has moved on since the sender looked, or the store would not; nothing was kept.
        """
        self.open(day_id)  # a day that is not there takes no place in the book
        with self._slot(day_id).lock:
            for _ in range(_ATTEMPTS):
                opened = self.open(day_id)
                known = self.store.find(day_id, addition.kind, addition.key)
                if known is not None:
                    return _replay(known, addition, self.open(day_id))
                text = addition.make(opened.day)
                entry = DayEntry(addition.kind, addition.key, text, addition.device)
                expect = opened.seq if addition.expect is None else addition.expect
                try:
                    appended = self.store.append(day_id, entry, expect=expect, picture=addition.picture)
                except StoreError as error:
                    if error.reason is not Reason.MOVED_ON or addition.expect is not None:
                        raise
                    continue
                if appended.replay:
                    return _replay(appended, addition, self.open(day_id))
                now = OpenDay(day_id, appended.seq, extended(opened.day, text))
                self._slot(day_id).opened = now
                return appended, now
        raise StoreError(Reason.BUSY, "other devices keep adding to this day; try again")

    def _slot(self, day_id: DayId) -> _Slot:
        with self._lock:
            slot = self._slots.get(day_id)
            if slot is None:
                slot = self._slots[day_id] = _Slot()
                if len(self._slots) > _MOST:
                    self._slots.popitem(last=False)
            self._slots.move_to_end(day_id)
            return slot

    def _read(self, day_id: DayId) -> OpenDay:
        snapshot = self.store.snapshot(day_id)
        return OpenDay(day_id, snapshot.seq, parse_day(snapshot.text, "day"))

    def _caught_up(self, opened: OpenDay) -> OpenDay:
        for entry in self.store.entries(opened.id, opened.seq):
            opened = OpenDay(opened.id, entry.seq, extended(opened.day, entry.text))
        return opened


def _replay(known: Appended, addition: Addition, opened: OpenDay) -> tuple[Appended, OpenDay]:
    if not addition.same(opened.day, known.number):
        raise KeyTakenError(addition.key)
    return known, opened
