"""The store: what the program asks of it, each answer durable or a ``StoreError``. Safe to share between threads."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Mapping
from types import TracebackType
from typing import Any, Self

from steelyard.dayfile import Part
from steelyard.store import access, days, history, lists, logs, photos, seals, search, shelves, texts
from steelyard.store.chain import Linked, of_beside
from steelyard.store.database import Database
from steelyard.store.fault import StoreError
from steelyard.store.news import Hearer, News
from steelyard.store.records import (
    Appended,
    Away,
    ChainHead,
    DayEntry,
    DayHistory,
    DayId,
    DaySummary,
    Device,
    DeviceRole,
    FoundDays,
    Kept,
    KeptSeal,
    Listed,
    Photo,
    PutAway,
    Shelf,
    Snapshot,
    StoredEntry,
    StoredText,
    SweepRecord,
)


def open_store(where: str | os.PathLike[str]) -> Store:
    """Open a store, made on first use: the path of an SQLite file, or the URL of a PostgreSQL database.

    Raises
    ------
    StoreError: it cannot be opened, is of a newer version, or is no store.
    """
    store = Store(Database(where))
    try:
        while store.ready_search():
            pass
    except BaseException:
        store.close()
        raise
    return store


def read_store(where: str | os.PathLike[str]) -> Store:
    """Open a store that is there, and only to read: nothing is made, and what would write is refused.

    Raises
    ------
    StoreError: there is none, it is of a newer version, or of an older one that was not brought to this form yet.
    """
    return Store(Database(where, only_read=True))


_AT_A_TIME = 500
"""Days that are made ready to be found in one transaction."""


class Store:
    """Weigh days and what outlives them. Nothing is overwritten; each method is one transaction.

    Every method raises ``StoreError`` where the database would not, with nothing changed.
    """

    def __init__(self, database: Database) -> None:
        self.database = database

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    @property
    def where(self) -> str:
        """Name of this store in messages; never holds a password."""
        return self.database.where

    def close(self) -> None:
        """Let go of the database; what was acknowledged is in it."""
        self.database.close()

    def news(self, hearer: Hearer) -> News | None:
        """Have ``hearer`` told what every program adds, as it is kept, until ``close``; None of a store in a file."""
        return self.database.news(hearer)

    # -- days --------------------------------------------------------------------------------------------------------

    def add_day(self, text: str, *, title: str | None = None, key: str | None = None) -> DayId:
        """Keep the text of a weigh-day file as a new day; it comes out again letter for letter.

        ``title`` is what the list shows, by default the day's own. ``key``: where a day was kept under the same one
        already, that one stays and is the answer, so that who did not hear it can ask again.

        Raises
        ------
        DayFileError: the text is no sound weigh day.
        """
        new = days.Import(text, title, key)
        with self.database.writing() as connection:
            return new.keep(connection)

    def list_days(
        self, limit: int = 50, before: DayId | None = None, away: Away = Away.WITHOUT
    ) -> tuple[DaySummary, ...]:
        """The newest days first, at most ``limit``, only those older than ``before`` where it is given."""
        with self.database.reading() as connection:
            return lists.newest(connection, limit, before, None, away)

    def days_with_vehicle(self, name: str, limit: int = 50) -> tuple[DaySummary, ...]:
        """The newest days that have a vehicle of that name."""
        with self.database.reading() as connection:
            return lists.newest(connection, limit, None, name)

    def search_days(
        self, typed: str, limit: int = 50, before: DayId | None = None, away: Away = Away.WITHOUT
    ) -> FoundDays:
        """The newest days whose title and vehicles have every word of ``typed``, and whose dates every date.

        A word is found by its beginning, without regard to capitals and accents; a date as ``2026-05-14``, a month as
        ``2026-05``.
        """
        self.ready_search()
        with self.database.reading() as connection:
            return search.search(connection, typed, limit, before, away)

    def put_away(self, kind: Listed, name: str, *, device: str = "") -> bool:
        """Put a day, by its id, or a thing of the yard away from its list; False where it is away already."""
        with self.database.writing() as connection:
            return lists.put_away(connection, kind, name, device)

    def bring_back(self, kind: Listed, name: str, *, device: str = "") -> bool:
        """Bring back what was put away; False where it is in its list already."""
        with self.database.writing() as connection:
            return lists.bring_back(connection, kind, name, device)

    def away(self, kind: Listed) -> tuple[PutAway, ...]:
        """The things that are away from one list, the last one put away first."""
        with self.database.reading() as connection:
            return lists.put_away_from(connection, kind)

    def ready_search(self) -> bool:
        """Make some days ready to be found that another program kept; whether there may be more. None where all are."""
        with self.database.reading() as connection:
            if not search.is_behind(connection):
                return False
        try:
            with self.database.writing() as connection:
                return search.catch_up(connection, _AT_A_TIME) > 0
        except StoreError:  # read-only, busy, a full disk: looking at days needs none of that
            return False

    def day(self, day_id: DayId) -> DaySummary:
        """The line of one day."""
        with self.database.reading() as connection:
            return lists.summary(connection, day_id)

    def day_text(self, day_id: DayId) -> str:
        """The day as a weigh-day file: the text that came in, then every addition in order."""
        return self.snapshot(day_id).text

    def snapshot(self, day_id: DayId) -> Snapshot:
        """The day's text together with the number of the last addition in it."""
        with self.database.reading() as connection:
            return days.snapshot(connection, day_id)

    def count_days(self) -> int:
        """How many days there are."""
        with self.database.reading() as connection:
            return texts.count(connection)

    def texts(self, after: DayId | None = None, limit: int | None = None) -> Iterator[StoredText]:
        """The whole text of every day, the oldest day first: at most ``limit``, from the one after ``after`` on.

        Reads a few days at a time, each few in a transaction of its own, so that 100,000 days take no more memory than
        a hundred, and nobody waits for all of them. A day that is added meanwhile may be among them or not.
        """
        left = limit
        with self.database.reading() as connection:
            place = texts.place_of(connection, after)
        while left is None or left > 0:
            with self.database.reading(steady=True) as connection:
                place, few = texts.next_few(connection, place, left)
            if not few:
                return
            yield from few
            left = None if left is None else left - len(few)

    def append(
        self, day_id: DayId, entry: DayEntry, *, expect: int | None = None, picture: Photo | None = None
    ) -> Appended:
        """Add to a day; durable on return. The same key again is a replay, and the first text stays.

        A draft that came with the imported text is known by its key too.

        Parameters
        ----------
        day_id: the day.
        entry: what to add, already checked against the day by ``dayfile``; its outer shape is checked here again.
        expect: the number of additions that the day had when the entry was checked against it; with it, an addition
            made by someone else in between is refused with ``Reason.MOVED_ON``. A replay never is.
        picture: of an entry that is a photograph's record, and of no other; it has the digest that the record says,
            and is kept in the same transaction.
        """
        name = days.check(entry)
        digest = photos.check_picture(entry, picture)
        with self.database.writing() as connection:
            appended = days.append(connection, day_id, entry, name, expect)
            if picture is not None and not appended.replay:
                photos.keep(connection, day_id, digest, picture, entry.device)
            return appended

    def find(self, day_id: DayId, kind: Part, key: str) -> Appended | None:
        """Result of an addition of that key, as a replay; None without one."""
        with self.database.reading() as connection:
            return days.find(connection, day_id, kind, key)

    def entries(self, day_id: DayId, after: int = 0) -> tuple[StoredEntry, ...]:
        """The additions to a day in order, with who made them and when; only those after ``after``."""
        with self.database.reading() as connection:
            return days.entries(connection, day_id, after)

    def history(self, day_id: DayId) -> DayHistory:
        """All that was kept of a day, with its digests, and what does not fit them. Reads every photo and log once."""
        with self.database.reading(steady=True) as connection:
            bones = history.skeleton(connection, day_id)
        beside: list[Linked] = []
        for one in bones.beside:  # each in a transaction of its own, so that nobody waits for all of them
            with self.database.reading(steady=True) as connection:
                row = of_beside(connection, one)
            beside += [] if row is None else [row]
        return history.history_of(bones, tuple(beside))

    def head(self, day_id: DayId) -> ChainHead:
        """The newest digest of the day's chain, for a seal to name."""
        with self.database.reading() as connection:
            return days.head(connection, day_id)

    # -- seals -------------------------------------------------------------------------------------------------------

    def snapshot_at(self, day_id: DayId, seq: int) -> Snapshot:
        """The day's text as it was after addition ``seq``."""
        with self.database.reading() as connection:
            return days.snapshot_at(connection, day_id, seq)

    def link_of(self, day_id: DayId, digest: str) -> int | None:
        """The place in the chain of the day at which a digest stands; None where it does not."""
        with self.database.reading() as connection:
            return days.link_of(connection, day_id, digest)

    def keep_seal(self, day_id: DayId, seal: KeptSeal) -> tuple[int, bool]:
        """Keep a seal beside a day; its number there, and whether it is new. The same seal again is a replay."""
        seals.check(seal)
        with self.database.writing() as connection:
            return seals.keep(connection, day_id, seal)

    def seals(self, day_id: DayId) -> tuple[KeptSeal, ...]:
        """The seals of a day, the first one first, without the findings."""
        with self.database.reading() as connection:
            return seals.everyone(connection, day_id)

    def seal(self, day_id: DayId, number: int) -> KeptSeal | None:
        """One seal of a day; None where there is none of that number."""
        with self.database.reading() as connection:
            return seals.get(connection, day_id, number)

    # -- photos ------------------------------------------------------------------------------------------------------

    def picture(self, day_id: DayId, sha256: str) -> Photo | None:
        """The picture of that digest; None where the day has none."""
        with self.database.reading() as connection:
            return photos.picture(connection, day_id, sha256)

    def pictures(self, day_id: DayId) -> frozenset[str]:
        """The digests of the pictures that are kept for a day."""
        with self.database.reading() as connection:
            return photos.digests(connection, day_id)

    def photo(self, day_id: DayId, draft_key: str) -> Photo | None:
        """The photo of a draft that an older version kept without a record of it; None where it has none."""
        with self.database.reading() as connection:
            return photos.get(connection, day_id, draft_key)

    def photo_keys(self, day_id: DayId) -> frozenset[str]:
        """The keys of the drafts that have a photo without a record of it."""
        with self.database.reading() as connection:
            return photos.keys(connection, day_id)

    # -- logs of growing load ----------------------------------------------------------------------------------------

    def keep_log(
        self, day_id: DayId, key: str, text: str, *, about: Mapping[str, Any], device: str = ""
    ) -> tuple[int, bool]:
        """Keep a log beside a day; its number there, and whether it is new. The same key again is a replay."""
        said = logs.written(key, text, about, device)
        with self.database.writing() as connection:
            return logs.keep(connection, day_id, key, text, said, device)

    def logs(self, day_id: DayId) -> tuple[SweepRecord, ...]:
        """The logs of a day, the first one first, without their text."""
        with self.database.reading() as connection:
            return logs.everyone(connection, day_id)

    def log(self, day_id: DayId, number: int) -> SweepRecord | None:
        """One log of a day; None where there is none of that number."""
        with self.database.reading() as connection:
            return logs.get(connection, day_id, number)

    # -- yard and teachings ------------------------------------------------------------------------------------------

    def save(
        self, shelf: Shelf, name: str, text: str, *, learned: Mapping[str, Any] | None = None, device: str = ""
    ) -> int:
        """Keep a new version of a named thing and give its number; what equals the last version is that version.

        What was learned of the last version stays where ``learned`` is None.
        """
        written = shelves.written(name, text, learned, device)
        with self.database.writing() as connection:
            return shelves.save(connection, shelf, name, text, written, device)

    def shelf(self, shelf: Shelf) -> tuple[Kept, ...]:
        """The last version of everything on a shelf, by name; also of what was put away."""
        with self.database.reading() as connection:
            return shelves.latest(connection, shelf)

    def kept(self, shelf: Shelf, name: str, version: int | None = None) -> Kept | None:
        """One thing, in its last version or in that asked for; None where there is none."""
        with self.database.reading() as connection:
            return shelves.get(connection, shelf, name, version)

    def versions(self, shelf: Shelf, name: str) -> tuple[Kept, ...]:
        """Every version of one thing, the first one first."""
        with self.database.reading() as connection:
            return shelves.versions(connection, shelf, name)

    # -- devices and secrets -----------------------------------------------------------------------------------------

    def add_device(self, name: str, role: DeviceRole, token_hash: str) -> Device:
        """Let a device in; only the hash of its token is kept."""
        with self.database.writing() as connection:
            return access.add(connection, name, role, token_hash)

    def find_device(self, token_hash: str) -> Device | None:
        """The device of that token; None where there is none or it was shut out."""
        with self.database.reading() as connection:
            return access.find(connection, token_hash)

    def devices(self) -> tuple[Device, ...]:
        """Every device that was ever let in, the last one first."""
        with self.database.reading() as connection:
            return access.everyone(connection)

    def revoke_device(self, device_id: str) -> bool:
        """Shut a device out; False where there is none of that name that is still in."""
        with self.database.writing() as connection:
            return access.revoke(connection, device_id)

    def secret(self, name: str, maker: Callable[[], bytes]) -> bytes:
        """The secret of that name, made by ``maker`` on first use, once for all who ask."""
        with self.database.reading() as connection:
            known = access.secret(connection, name)
        if known is not None:
            return known
        with self.database.writing() as connection:
            return access.make_secret(connection, name, maker())
