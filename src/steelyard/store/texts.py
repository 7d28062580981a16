"""The texts of all days, one after the other, a few at a time: what a program reads that weighs the whole store."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, func, select

from steelyard.dayfile import grown
from steelyard.store.days import number_of_day
from steelyard.store.records import DayId, StoredText
from steelyard.store.schema import DAYS, ENTRIES, TEXTS

_FEW = 100  # days read in one transaction
_BYTES = 4_000_000  # of their texts, unless one day alone has more


def count(connection: Connection) -> int:
    """How many days there are."""
    return connection.execute(select(func.count()).select_from(DAYS)).scalar_one()


def place_of(connection: Connection, after: DayId | None) -> int:
    """The number of a day, after which the next few follow; 0 where all do.

    Raises
    ------
    StoreError: no such day.
    """
    return 0 if after is None else number_of_day(connection, after)


def next_few(connection: Connection, place: int, most: int | None) -> tuple[int, list[StoredText]]:
    """A few days after a place, in the order in which they were made, and the place after them; none at the end."""
    columns = (DAYS.c.number, DAYS.c.id, DAYS.c.changed, DAYS.c.size, DAYS.c.seq)
    query = select(*columns).where(DAYS.c.number > place).order_by(DAYS.c.number)
    size, few = 0, list[Any]()
    for row in connection.execute(query.limit(_FEW if most is None else min(most, _FEW))).all():
        size += row.size
        if few and size > _BYTES:
            break
        few.append(row)
    if not few:
        return place, []
    last = few[-1].number
    between = select(TEXTS).where(TEXTS.c.day > place, TEXTS.c.day <= last)
    bases = {row.day: row for row in connection.execute(between)}
    own = select(ENTRIES.c.day, ENTRIES.c.seq, ENTRIES.c.text).where(ENTRIES.c.day > place, ENTRIES.c.day <= last)
    blocks: dict[int, list[str]] = {}
    seqs = {row.number: row.seq for row in few}
    for row in connection.execute(own.order_by(ENTRIES.c.day, ENTRIES.c.seq)):
        if row.seq <= seqs.get(row.day, 0):
            blocks.setdefault(row.day, []).append(row.text)
    found = list[StoredText]()
    for row in few:
        base, more = bases.get(row.number), blocks.get(row.number, [])
        plain = "" if base is None else base.base if not more or base.open_base is None else base.open_base
        found.append(StoredText(row.id, row.changed, grown(plain, more) if plain else ""))
    return last, found
