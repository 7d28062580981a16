"""The chain: a digest for the text of a day and for each thing that is added to it, each over the one before.

Every link says in plain columns which row it was made for, and holds the digest of all that the row had, so that a row
that is gone or changed can still be named. The day keeps the newest digest, its head. Whoever can write into the
database can make a whole chain anew; only a head that was kept elsewhere, as in a seal, shows that.
"""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, fields
from itertools import chain as in_order
from typing import Any

from sqlalchemy import Connection, insert, select, update

from steelyard.model import FIRST_DIGEST, content_digest, linked
from steelyard.store.schema import DAYS, ENTRIES, LINKS, LOGS, PHOTOS, PICTURES, SEALS, TEXTS
from steelyard.store.words import now

DAY, PICTURE, PHOTO, LOG, SEAL = "day", "picture", "photo", "log", "seal"
"""Kinds of links beside those of additions, which are called as their ``Part``."""


@dataclass(frozen=True, slots=True)
class Linked:
    """A row for which a link is made.

    Attributes
    ----------
    kind: ``day``, ``picture``, ``photo``, ``log``, ``seal``, or the section of the file that an addition is for.
    seq: of an addition, else 0.
    number: place of an addition among the things of its kind in the day, or the number of a log or seal; else 0.
    key: of the addition or log, the digest of a picture or seal, the key of an older photo's draft, or the title of the
        day.
    at: when it was made, where that is said. content: digest of what the row has beside these.
    """

    kind: str
    seq: int
    number: int
    key: str
    device: str
    received: str
    at: str | None
    content: str


@dataclass(frozen=True, slots=True)
class KeptBeside:
    """A picture, an older photo, a log or a seal, by its day's number, its kind and its key; see ``Linked``."""

    day: int
    kind: str
    key: str


def of_day(day: Mapping[Any, Any]) -> Linked:
    """The beginning of a day, from its ``id``, ``title``, ``created``, ``base`` and ``open_base``."""
    content = _content(day, ("id",), ("base", "open_base"))
    return Linked(DAY, 0, 0, day["title"], "", day["created"], None, content)


def of_entry(row: Mapping[Any, Any]) -> Linked:
    """An addition, from its row."""
    kind, content = str(row["kind"]), _content(row, (), ("text",))
    return Linked(kind, row["seq"], row["number"], row["key"], row["device"], row["received"], row["at"], content)


def of_picture(row: Mapping[Any, Any]) -> Linked:
    """A picture whose record stands in the text of its day, from its row."""
    content = _content(row, ("media_type",), ("data",))
    return Linked(PICTURE, 0, 0, row["sha256"], row["device"], row["received"], None, content)


def of_photo(row: Mapping[Any, Any]) -> Linked:
    """An older photo, of which the text of its day says nothing, from its row."""
    content = _content(row, ("kind", "media_type"), ("data",))
    return Linked(PHOTO, 0, 0, row["draft"], row["device"], row["received"], None, content)


def of_log(row: Mapping[Any, Any]) -> Linked:
    """A log of growing load, from its row."""
    content = _content(row, (), ("text", "about"))
    return Linked(LOG, 0, row["number"], row["key"], row["device"], row["received"], None, content)


def of_seal(row: Mapping[Any, Any]) -> Linked:
    """A seal of the day, from its row."""
    content = _content(row, ("seq", "person", "head"), ("data", "findings"))
    return Linked(SEAL, 0, row["number"], row["digest"], row["device"], row["received"], None, content)


def _content(row: Mapping[Any, Any], short: tuple[str, ...], long: tuple[str, ...]) -> str:
    """The digest of some columns; of the long ones their own digests, for long texts are slow to make canonical."""
    return content_digest({name: _utf8(str(row[name])) for name in short} | {name: _digest(row[name]) for name in long})


def _digest(value: str | bytes | None) -> str | None:
    if value is None:
        return None
    return hashlib.sha256(value.encode("utf-8", "surrogateescape") if isinstance(value, str) else value).hexdigest()


def _utf8(text: str) -> str:
    """A text of which canonical JSON can be made, whatever somebody wrote into the database."""
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "replace")


def digest_after(before: str, link: int, row: Linked, made: str) -> str:
    """The digest of a link: over the one before, its own place, all it says of its row, and when it was made."""
    return linked(before, {"link": link, "made": made} | asdict(row))


def is_digest(text: str) -> bool:
    """Whether a text is a digest as it is kept."""
    return len(text) == 64 and not set(text) - set("0123456789abcdef")


def first_digest(row: Linked) -> str:
    """The digest with which a new day begins."""
    return digest_after(FIRST_DIGEST, 0, row, row.received)


def begin(connection: Connection, day: int, row: Linked) -> None:
    """Keep the first link of a new day, whose head is ``first_digest``."""
    _keep(connection, day, 0, row, row.received, first_digest(row))


def go_on(connection: Connection, day: Any, row: Linked) -> dict[str, Any]:
    """Keep a link more of a day whose row is locked; the columns of that row that change with it.

    A day whose head was taken away goes on from nothing, which its check says; no addition is lost by that.
    """
    link = day.links + 1
    before = day.head if is_digest(day.head) else ""
    head = digest_after(before, link, row, row.received)
    _keep(connection, day.number, link, row, row.received, head)
    return {"links": link, "head": head}


def go_on_and_keep(connection: Connection, day: Any, row: Linked) -> None:
    """As ``go_on``, and the changed columns are written."""
    connection.execute(update(DAYS).where(DAYS.c.number == day.number).values(**go_on(connection, day, row)))


def _keep(connection: Connection, day: int, link: int, row: Linked, made: str, digest: str) -> None:
    connection.execute(insert(LINKS).values(day=day, link=link, made=made, digest=digest, **asdict(row)))


COLUMNS = tuple(one.name for one in fields(Linked))
"""The columns of a link that say what it was made for, in the order of ``Linked``."""


def unfollowed(links: Iterable[tuple[Any, ...]], heads: Iterable[tuple[int, str]]) -> Iterator[int]:
    """The days whose links do not follow each other from the first to the head.

    Parameters
    ----------
    links: of all days, in order: day, link, digest, when it was made, and the ``COLUMNS``.
    heads: of all days, in order: its number, and the newest digest that the day itself has.
    """
    left = iter(links)
    link = next(left, None)
    for number, head in heads:
        before, place, follows = FIRST_DIGEST, 0, True
        while link is not None and link[0] <= number:
            _, own, digest, made, *row = link
            follows = follows and own == place and digest_after(before, own, Linked(*row), made) == digest
            before, place, link = digest, place + 1, next(left, None)
        if not follows or before != head:
            yield number


def link_all(connection: Connection) -> None:
    """Make the chain of every day of an older store."""
    made = now()
    for day in connection.execute(select(DAYS.c.number).order_by(DAYS.c.number)).scalars().all():
        link_day(connection, day, made)


def link_day(connection: Connection, day: int, made: str) -> None:
    """Make the chain of a day that has none, as of the moment ``made``: additions, then pictures, then logs."""
    columns = (DAYS.c.id, DAYS.c.title, DAYS.c.created, TEXTS.c.base, TEXTS.c.open_base)
    query = select(*columns).outerjoin(TEXTS, TEXTS.c.day == DAYS.c.number).where(DAYS.c.number == day)
    beginning = of_day(connection.execute(query).mappings().one())
    rest = (of_beside(connection, one) for one in beside(connection, day, _OLDEST))
    head, link = FIRST_DIGEST, -1
    for row in in_order([beginning], entries_of(connection, day), filter(None, rest)):
        link, head = link + 1, digest_after(head, link + 1, row, made)
        _keep(connection, day, link, row, made, head)
    connection.execute(update(DAYS).where(DAYS.c.number == day).values(links=link, head=head))


def links_of_entries(connection: Connection, day: int, after: int) -> dict[int, tuple[int, str]]:
    """Link and digest of each addition after one of them, by its place."""
    columns = (LINKS.c.seq, LINKS.c.link, LINKS.c.digest)
    # an addition never has a smaller place in the chain than among the additions, which spares looking at all links
    query = select(*columns).where(LINKS.c.day == day, LINKS.c.link > after, LINKS.c.seq > after)
    return {seq: (link, digest) for seq, link, digest in connection.execute(query)}


def entries_of(connection: Connection, day: int) -> list[Linked]:
    """The additions to a day in order, as they would be linked."""
    query = select(ENTRIES).where(ENTRIES.c.day == day).order_by(ENTRIES.c.seq)
    return [of_entry(row) for row in connection.execute(query).mappings()]


_BESIDE = {
    PICTURE: (PICTURES, PICTURES.c.sha256, PICTURES.c.received, of_picture),
    PHOTO: (PHOTOS, PHOTOS.c.draft, PHOTOS.c.received, of_photo),
    LOG: (LOGS, LOGS.c.key, LOGS.c.number, of_log),
    SEAL: (SEALS, SEALS.c.digest, SEALS.c.number, of_seal),
}
"""By kind the table, the column of the key, that of the order, and what makes a row to be linked of one."""


_OLDEST = (PICTURE, PHOTO, LOG)
"""Kinds that a store had before its days had chains."""


def beside(connection: Connection, day: int, kinds: Collection[str] = _BESIDE) -> tuple[KeptBeside, ...]:
    """The pictures and older photos of a day as they came, then its logs and its seals in order."""
    found: list[KeptBeside] = []
    for kind in kinds:
        table, key, order, _ = _BESIDE[kind]
        query = select(key).where(table.c.day == day).order_by(order, key)
        found += [KeptBeside(day, kind, each) for each in connection.execute(query).scalars()]
    return tuple(found)


def of_beside(connection: Connection, one: KeptBeside) -> Linked | None:
    """Such a thing as it would be linked; None where it is gone. Reads all of it, which may be megabytes."""
    table, key, _, of = _BESIDE[one.kind]
    row = connection.execute(select(table).where(table.c.day == one.day, key == one.key)).mappings().first()
    return None if row is None else of(row)
