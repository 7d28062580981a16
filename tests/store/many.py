"""A store of very many small days, as the store itself would have kept them one by one, written in bulk."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, func, insert, select

from steelyard.dayfile import Part
from steelyard.store import Store, chain
from steelyard.store.beginnings import beginnings_of
from steelyard.store.days import Import, new_id
from steelyard.store.schema import DAYS, ENTRIES, LINKS, NAMES, SHELVES, TEXTS, WORDS
from tests.store.samples import DAY, draft

PLACES = ("Ferry landing", "Quarry gate", "Fair ground", "Mill yard", "Timber wharf", "Lock side", "Brick kiln")
VEHICLES = ("van", "lorry", "hauler", "carrier", "wagon")
_BEGUN = datetime.datetime(2016, 1, 1, 6, 30, tzinfo=datetime.UTC)
_APART = datetime.timedelta(minutes=50)  # from one day to the next: ten years of 100,000 days
_AT_ONCE = 1000


def text_of(number: int) -> str:
    """The text of a day: one of seven places, one of five vehicles, and a number that no other day has."""
    place, vehicle = PLACES[number % len(PLACES)], VEHICLES[number % len(VEHICLES)]
    text = DAY.replace("Ferry landing", f"{place}, rig {number:06d}").replace("van", vehicle)
    return text.replace('role = "towing"', f'role = "towing"\nname = "{vehicle} of fleet {number % 97}"')


def fill(store: Store, count: int, *, plans: bool = True) -> None:
    """Add so many days, each with one draft that was added later, and with its plan on the shelf."""
    imports = {at: Import(text_of(at), None) for at in range(len(VEHICLES))}
    with store.database.reading() as connection:
        first = (connection.execute(select(func.max(DAYS.c.number))).scalar() or 0) + 1
    for start in range(first, first + count, _AT_ONCE):
        numbers = range(start, min(start + _AT_ONCE, first + count))
        with store.database.writing() as connection:
            _write(connection, [_rows(number, imports) for number in numbers], plans=plans)
    if store.database.engine.dialect.name == "postgresql":
        with store.database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.exec_driver_sql("VACUUM ANALYZE")
            connection.exec_driver_sql(
                "SELECT setval(pg_get_serial_sequence('days', 'number'), (SELECT max(number) FROM days))"
            )


def _rows(number: int, imports: dict[int, Import]) -> dict[Any, list[dict[str, Any]]]:
    like = imports[number % len(VEHICLES)]
    base, vehicle = text_of(number), VEHICLES[number % len(VEHICLES)]
    title = base.split('"')[1]
    begun = (_BEGUN + number * _APART).isoformat(timespec="milliseconds")
    changed = (_BEGUN + number * _APART + datetime.timedelta(minutes=9)).isoformat(timespec="milliseconds")
    day: dict[str, Any] = {"number": number, "id": new_id(), "title": title, "created": begun, "changed": changed}
    beginning = chain.of_day(day | {"base": base, "open_base": None})
    added = draft("later", device="phone")
    counts = {str(part): count for part, count in like.counts.items()}
    entry: dict[str, Any] = {
        "day": number,
        "seq": 1,
        "kind": Part.DRAFT,
        "key": added.key,
        "number": counts["drafts"] + 1,
    }
    entry |= {"text": added.text, "device": added.device, "at": None, "received": changed}
    zero = chain.first_digest(beginning)
    one = chain.digest_after(zero, 1, chain.of_entry(entry), changed)
    counts["drafts"] += 1
    size = len(base.encode()) + len(added.text.encode()) + 2
    day |= {"size": size, "seq": 1, "searched": 1, "links": 1, "head": one} | counts
    names = [{"day": number, "seq": 0, "kind": kind, "name": name, "number": at} for kind, name, at in like.names]
    names.append({"day": number, "seq": 1, "kind": Part.DRAFT, "name": added.key, "number": counts["drafts"]})
    words = beginnings_of(title, (vehicle, f"{vehicle} of fleet {number % 97}"), (begun[:10],))
    plan = {
        "shelf": "plan",
        "name": day["id"],
        "version": 1,
        "text": "{}",
        "learned": "{}",
        "device": "",
        "saved": begun,
    }
    return {
        DAYS: [day],
        TEXTS: [{"day": number, "base": base, "open_base": None}],
        ENTRIES: [entry],
        NAMES: names,
        LINKS: [
            _link(number, 0, beginning, beginning.received, zero),
            _link(number, 1, chain.of_entry(entry), changed, one),
        ],
        WORDS: [{"word": word, "day": number} for word in words],
        SHELVES: [plan],
    }


def _link(day: int, link: int, row: chain.Linked, made: str, digest: str) -> dict[str, Any]:
    own = {name: getattr(row, name) for name in chain.Linked.__slots__}
    return {"day": day, "link": link, "made": made, "digest": digest, **own}


def _write(connection: Connection, days: list[dict[Any, list[dict[str, Any]]]], *, plans: bool) -> None:
    for table in (DAYS, TEXTS, ENTRIES, NAMES, LINKS, WORDS, SHELVES):
        rows = [row for day in days for row in day[table]]
        if table is SHELVES and not plans:
            continue
        if connection.dialect.name == "sqlite":
            connection.execute(insert(table), rows)
        else:
            _copy(connection, table.name, [column.name for column in table.columns], rows)


def _copy(connection: Connection, table: str, columns: list[str], rows: list[dict[str, Any]]) -> None:
    cursor = connection.connection.driver_connection.cursor()  # pyright: ignore[reportOptionalMemberAccess]
    with cursor.copy(f"COPY {table} ({', '.join(columns)}) FROM STDIN") as copying:
        for row in rows:
            copying.write_row([row[name] for name in columns])


def days_of(store: Store, limit: int) -> Iterator[str]:
    """The newest days by their names."""
    yield from (day.id for day in store.list_days(limit))
