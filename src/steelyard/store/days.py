"""Days and what is added to them: every write is one transaction of a few statements, however long the day is."""

from __future__ import annotations

import hashlib
import secrets
import tomllib
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Row, Table, insert, select, update

from steelyard.dayfile import LARGEST, DayFileError, Part, can_grow, grown, parse_day, read_block, write_day
from steelyard.model import WeighDay
from steelyard.store import beginnings, chain
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import Appended, ChainHead, DayEntry, DayId, Snapshot, StoredEntry
from steelyard.store.schema import CHOICES, DAYS, ENTRIES, LINKS, NAMES, RECORDS, TEXTS, TITLES
from steelyard.store.words import MOST, moment, now, one_line, refuse_unsayable, sayable, written

_LETTERS = "abcdefghjkmnpqrstuvwxyz23456789"  # none that looks like another
_ID_LENGTH = 10
_APART = {Part.CHOICE: CHOICES, Part.PHOTOGRAPH: RECORDS, Part.TITLE: TITLES}
"""Parts that came later than the table of days, each with the table that counts it."""

_MOST_NAMED = 3  # additions that a refusal names

LARGEST_ENTRY = 64_000
"""The most bytes of one addition; a draft of a hundred readings has some four thousand."""


def new_id() -> str:
    """A name that nobody can guess and that fits into an address."""
    return "".join(secrets.choice(_LETTERS) for _ in range(_ID_LENGTH))


def id_of_key(key: str) -> str:
    """The id of a day that is made under a key; whoever has the key has the id, before the day is made too."""
    number = int.from_bytes(hashlib.sha256(key.encode(errors="surrogatepass")).digest())
    letters: list[str] = []
    for _ in range(_ID_LENGTH):
        number, rest = divmod(number, len(_LETTERS))
        letters.append(_LETTERS[rest])
    return "".join(letters)


class Import:
    """A text about to become a day: everything that can be wrong with it is found before the database is touched."""

    def __init__(self, text: str, title: str | None, key: str | None = None) -> None:
        day = parse_day(text, "day")
        self.base = text
        self.key = key
        self.open_base = None if can_grow(text) else write_day(day)
        self.title = one_line(day.title if title is None else title)
        self.size = len((self.base if self.open_base is None else self.open_base).encode())
        # a name that no addition can have needs no place among those that are taken
        self.names = [taken for taken in _names_of(day) if sayable(taken[1])]
        self.counts = {
            Part.INSTRUMENT: len(day.instruments),
            Part.VEHICLE: len(day.vehicles),
            Part.CARGO: len(day.cargo),
            Part.STATE: len(day.states),
            Part.DRAFT: len(day.drafts),
            Part.CORRECTION: len(day.corrections),
        }
        self.found_by = beginnings.vehicles_and_dates(day)
        self.apart = {
            Part.CHOICE: len(day.rule_choices),
            Part.PHOTOGRAPH: len(day.photographs),
            Part.TITLE: len(day.later_titles),
        }

    def keep(self, connection: Connection) -> DayId:
        """Write it as a new day; a day that was made under the same key stays, and is the answer."""
        day_id, moment_ = new_id() if self.key is None else id_of_key(self.key), now()
        if self.key is not None and connection.execute(select(DAYS.c.id).where(DAYS.c.id == day_id)).first():
            return day_id
        values: dict[str, Any] = {"id": day_id, "title": self.title, "created": moment_, "changed": moment_}
        values |= {"size": self.size, "seq": 0, "searched": 1}
        values |= {str(part): count for part, count in self.counts.items()}
        beginning = chain.of_day(values | {"base": self.base, "open_base": self.open_base})
        values |= {"links": 0, "head": chain.first_digest(beginning)}
        statement = insert(DAYS)
        if self.key is not None and connection.dialect.name == "postgresql":  # of SQLite one writes at a time
            from sqlalchemy.dialects.postgresql import insert as upsert

            statement = upsert(DAYS).on_conflict_do_nothing(index_elements=[DAYS.c.id])
        number = connection.execute(statement.values(**values).returning(DAYS.c.number)).scalar_one_or_none()
        if number is None:  # another station of the same database made it meanwhile
            return day_id
        connection.execute(insert(TEXTS).values(day=number, base=self.base, open_base=self.open_base))
        chain.begin(connection, number, beginning)
        for part, count in self.apart.items():
            if count:
                _count_apart(connection, part, number, count, self.title)
        if self.names:
            rows = [
                {"day": number, "seq": 0, "kind": kind, "name": name, "number": at} for kind, name, at in self.names
            ]
            connection.execute(insert(NAMES), rows)
        vehicles, dates = self.found_by
        beginnings.keep(connection, number, beginnings.beginnings_of(self.title, vehicles, (moment_[:10], *dates)))
        return day_id


def _names_of(day: WeighDay) -> list[tuple[Part, str, int]]:
    """The names that a day has taken, each with its place in the file."""
    sections: dict[Part, Mapping[str, object]] = {
        Part.INSTRUMENT: day.instruments,
        Part.VEHICLE: day.vehicles,
        Part.CARGO: day.cargo,
        Part.STATE: day.states,
    }
    named = [(part, name, at) for part, section in sections.items() for at, name in enumerate(section, 1)]
    return named + [(Part.DRAFT, draft.key, draft.number) for draft in day.drafts if draft.key is not None]


def check(entry: DayEntry) -> str | None:
    """The name that an entry wants to take, None where it takes none.

    Raises
    ------
    StoreError: its text is not one sound block of its kind, or its key is none.
    """
    refuse_unsayable(entry.key, "a key")
    if entry.device:
        refuse_unsayable(entry.device, "the name of a device")
    try:
        size = len(entry.text.encode())
    except UnicodeEncodeError:
        raise StoreError(Reason.REFUSED, "the addition holds half a character, which no UTF-8 file can") from None
    if size > LARGEST_ENTRY:
        raise StoreError(Reason.REFUSED, f"an addition has at most {LARGEST_ENTRY} bytes; this has {size}")
    try:
        block = read_block(entry.text)
    except DayFileError as error:
        faults = "; ".join(str(fault) for fault in error.faults)
        raise StoreError(Reason.REFUSED, f"the addition cannot stand in a weigh-day file: {faults}") from None
    if block.part is not entry.kind:
        raise StoreError(Reason.REFUSED, f"the addition is of {block.part}, not of {entry.kind}")
    if entry.kind is Part.DRAFT and block.name != entry.key:
        raise StoreError(Reason.REFUSED, f"the draft does not carry its key, {entry.key!r}, in its text")
    if block.name is not None:
        refuse_unsayable(block.name, "a name")
    if entry.kind is Part.TITLE:
        refuse_unsayable(title_of_block(entry.text), "a title")
    return block.name


def append(connection: Connection, day_id: DayId, entry: DayEntry, name: str | None, expect: int | None) -> Appended:
    """Add a checked entry to a day; see ``Store.append``.

    Raises
    ------
    StoreError: no such day, the name is taken, the day moved on, the day is full.
    """
    day = locked(connection, day_id)
    known = _known(connection, day.number, entry.kind, entry.key)
    if known is not None:
        return known
    _check_free(connection, day.number, entry.kind, name)
    if expect is not None and expect != day.seq:
        came = _came_since(connection, day.number, expect)
        count = f"{day.seq} addition{'' if day.seq == 1 else 's'}"
        message = f"the day has {count} by now, not {expect}{came}; look at it again before adding to it"
        raise StoreError(Reason.MOVED_ON, message)
    size = day.size + len(entry.text.encode()) + 2
    number = _count(connection, day, entry.kind) + 1
    if size > LARGEST or number > entry.kind.most:
        message = f"the day is full: a weigh day has at most {LARGEST / 1e6:g} MB and {entry.kind.most} {entry.kind}"
        raise StoreError(Reason.DAY_FULL, message)
    received, seq = now(), day.seq + 1
    row: dict[str, Any] = {"day": day.number, "seq": seq, "kind": entry.kind, "key": entry.key, "number": number}
    row |= {"text": entry.text, "device": entry.device, "at": written(entry.at), "received": received}
    connection.execute(insert(ENTRIES).values(**row))
    if name is not None:
        values: dict[str, Any] = {"day": day.number, "kind": entry.kind, "name": name, "number": number, "seq": seq}
        connection.execute(insert(NAMES).values(**values))
    change: dict[str, Any] = {"seq": seq, "size": size, "changed": received}
    change |= chain.go_on(connection, day, chain.of_entry(row))
    if entry.kind in (Part.VEHICLE, Part.TITLE):
        change["searched"] = 0
    if entry.kind in _APART:
        title_ = title_of_block(entry.text) if entry.kind is Part.TITLE else ""
        _count_apart(connection, entry.kind, day.number, number, title_)
    else:
        change[str(entry.kind)] = number
    connection.execute(update(DAYS).where(DAYS.c.number == day.number).values(**change))
    return Appended(seq, replay=False, number=number)


def _came_since(connection: Connection, day: int, seq: int) -> str:
    """The newest additions after ``seq`` in words, for the middle of a sentence; empty where there are none."""
    columns = (ENTRIES.c.kind, ENTRIES.c.number, ENTRIES.c.device)
    query = select(*columns).where(ENTRIES.c.day == day, ENTRIES.c.seq > seq).order_by(ENTRIES.c.seq.desc())
    rows = connection.execute(query.limit(_MOST_NAMED + 1)).all()
    named = [f"{Part(kind).thing} {number}{_from(device)}" for kind, number, device in rows]
    more = ["others"] if len(named) > _MOST_NAMED else []
    return f"; since then came {', '.join([*more, *reversed(named[:_MOST_NAMED])])}" if named else ""


def _from(device: str) -> str:
    """Whose addition it is; the machine of the station calls itself ``this device``, which each reader would be."""
    if not device:
        return ""
    return " from the station's own machine" if device == "this device" else f" from {device}"


def _count(connection: Connection, day: Row[Any], kind: Part) -> int:
    """How many of its kind the day has."""
    if kind not in _APART:
        return getattr(day, kind)
    table = _APART[kind]
    return connection.execute(select(table.c.count).where(table.c.day == day.number)).scalar() or 0


def _count_apart(connection: Connection, part: Part, day: int, count: int, title: str) -> None:
    """Keep how many of a part the day has by now; of titles also the one that counts."""
    table = _APART[part]
    values: dict[str, Any] = {"count": count} | ({"title": title} if part is Part.TITLE else {})
    if connection.execute(update(table).where(table.c.day == day).values(**values)).rowcount == 0:
        connection.execute(insert(table).values(day=day, **values))


def title_of_block(block: str) -> str:
    """The title that a block of ``[[titles]]`` gives; empty where it gives none."""
    title = tomllib.loads(block)[Part.TITLE][0].get("title")
    return title if isinstance(title, str) else ""


def find(connection: Connection, day_id: DayId, kind: Part, key: str) -> Appended | None:
    """Result of the entry or imported draft of that key; None without one."""
    day = _day(connection, day_id)
    return _known(connection, day.number, kind, key)


def _known(connection: Connection, day: int, kind: Part, key: str) -> Appended | None:
    if not sayable(key):
        return None
    query: Any = select(ENTRIES.c.seq, ENTRIES.c.number, ENTRIES.c.kind)
    query = query.where(ENTRIES.c.day == day, ENTRIES.c.key == key)
    if kind is Part.DRAFT:  # one that came with the imported text; an addition of its key would have the name too
        imported = select(NAMES.c.seq, NAMES.c.number, NAMES.c.kind)
        query = query.union_all(imported.where(NAMES.c.day == day, NAMES.c.kind == kind, NAMES.c.name == key))
    rows = connection.execute(query.order_by("seq")).all()
    if not rows:
        return None
    row = rows[-1]
    if row.kind != kind:
        raise StoreError(Reason.CONFLICT, f"the key {key!r} belongs to one of {row.kind}, not of {kind}")
    return Appended(row.seq, replay=True, number=row.number)


def _check_free(connection: Connection, day: int, kind: Part, name: str | None) -> None:
    if name is not None and kind is not Part.DRAFT and _number_of(connection, day, kind, name) is not None:
        raise StoreError(Reason.CONFLICT, f"the day has the name {name!r} among its {kind} already; choose another")


def _number_of(connection: Connection, day: int, kind: Part, name: str) -> int | None:
    query = select(NAMES.c.number).where(NAMES.c.day == day, NAMES.c.kind == kind, NAMES.c.name == name)
    return connection.execute(query).scalar()


def _day(connection: Connection, day_id: DayId, *, lock: bool = False) -> Row[Any]:
    query = select(DAYS).where(DAYS.c.id == day_id)
    row = connection.execute(query.with_for_update() if lock else query).first() if sayable(day_id) else None
    if row is None:
        raise no_such_day(day_id)
    return row


def no_such_day(day_id: DayId) -> StoreError:
    """The error of a day that is not there; a long name is not repeated."""
    name = repr(day_id) if len(day_id) <= 40 and day_id.isprintable() else "that name"
    return StoreError(Reason.NO_SUCH_DAY, f"there is no day {name}")


def number_of_day(connection: Connection, day_id: DayId) -> int:
    """The number by which the tables know a day.

    Raises
    ------
    StoreError: no such day.
    """
    return _day(connection, day_id).number


def locked(connection: Connection, day_id: DayId) -> Row[Any]:
    """The row of a day to which something is to be added; whoever else adds to it waits.

    Raises
    ------
    StoreError: no such day.
    """
    return _day(connection, day_id, lock=True)


def row_numbered(connection: Connection, table: Table, day_id: DayId, number: int) -> Row[Any] | None:
    """The row of a table that keeps things by day and number; None where the day has none of that number.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    if not 0 < number <= MOST:
        return None
    return connection.execute(select(table).where(table.c.day == day, table.c.number == number)).first()


def link_of(connection: Connection, day_id: DayId, digest: str) -> int | None:
    """The place in the chain of a day at which a digest stands; None where it does not.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    return connection.execute(select(LINKS.c.link).where(LINKS.c.day == day, LINKS.c.digest == digest)).scalar()


def head(connection: Connection, day_id: DayId) -> ChainHead:
    """The newest digest of a day, its seals left aside, so that the same day is sealed alike once more.

    Raises
    ------
    StoreError: no such day.
    """
    day = _day(connection, day_id)
    own = select(LINKS.c.link, LINKS.c.digest).where(LINKS.c.day == day.number)
    newest = connection.execute(own.where(LINKS.c.kind != chain.SEAL).order_by(LINKS.c.link.desc()).limit(1)).first()
    return ChainHead(day.links, day.seq, day.head) if newest is None else ChainHead(newest.link, day.seq, newest.digest)


def snapshot(connection: Connection, day_id: DayId) -> Snapshot:
    """The whole text of a day.

    Raises
    ------
    StoreError: no such day.
    """
    return snapshot_at(connection, day_id, MOST)


def snapshot_at(connection: Connection, day_id: DayId, seq: int) -> Snapshot:
    """The text of a day as it was after addition ``seq``, or as it is where there are not so many.

    Raises
    ------
    StoreError: no such day.
    """
    day = _day(connection, day_id)
    seq = min(max(seq, 0), day.seq)
    texts = connection.execute(select(TEXTS.c.base, TEXTS.c.open_base).where(TEXTS.c.day == day.number)).one()
    if seq == 0:
        return Snapshot(0, texts.base)
    # additions that came in since the day's row was read stay out
    query = select(ENTRIES.c.text).where(ENTRIES.c.day == day.number, ENTRIES.c.seq <= seq)
    blocks = connection.execute(query.order_by(ENTRIES.c.seq)).scalars()
    return Snapshot(seq, grown(texts.base if texts.open_base is None else texts.open_base, blocks))


def entries(connection: Connection, day_id: DayId, after: int) -> tuple[StoredEntry, ...]:
    """The additions to a day after ``after``, in order.

    Raises
    ------
    StoreError: no such day.
    """
    day = _day(connection, day_id)
    after = min(max(after, 0), MOST)
    query = select(ENTRIES).where(ENTRIES.c.day == day.number, ENTRIES.c.seq > after).order_by(ENTRIES.c.seq)
    links = chain.links_of_entries(connection, day.number, after)
    return tuple(
        StoredEntry(
            seq=row.seq,
            kind=Part(row.kind),
            key=row.key,
            number=row.number,
            text=row.text,
            device=row.device,
            at=None if row.at is None else moment(row.at),
            received=moment(row.received),
            link=links.get(row.seq, (None, ""))[0],
            digest=links.get(row.seq, (None, ""))[1],
        )
        for row in connection.execute(query)
    )
