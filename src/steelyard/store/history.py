"""The history of a day as it lies in the database: its chain, the rows that it was made for, and their faults."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from sqlalchemy import Connection, select

from steelyard.store import chain
from steelyard.store.chain import KeptBeside, Linked
from steelyard.store.damage import Chained, Damage, RecordRows, damage_of
from steelyard.store.days import number_of_day
from steelyard.store.records import ChainHead, DayHistory, DayId, HistoryItem
from steelyard.store.schema import DAYS, ENTRIES, LINKS, SEALS, TEXTS, TITLES

_LINKED = tuple(field.name for field in fields(Linked))


@dataclass(frozen=True, slots=True)
class Skeleton:
    """All of a day's record but its photos, logs and seals, as it was at one moment.

    ``title``: the one that counts. ``beside``: its photos and logs, still to be read one by one. ``texts``: of the
    additions, by key.
    """

    day: Mapping[Any, Any]
    title: str
    found: RecordRows
    beside: tuple[KeptBeside, ...]
    texts: Mapping[str, str]


def skeleton(connection: Connection, day_id: DayId) -> Skeleton:
    """Read the chain of a day and its additions.

    Raises
    ------
    StoreError: no such day.
    """
    number = number_of_day(connection, day_id)
    day = connection.execute(select(DAYS).where(DAYS.c.number == number)).mappings().one()
    links = connection.execute(select(LINKS).where(LINKS.c.day == number).order_by(LINKS.c.link)).mappings().all()
    base = connection.execute(select(TEXTS).where(TEXTS.c.day == number)).mappings().first()
    added = select(ENTRIES).where(ENTRIES.c.day == number).order_by(ENTRIES.c.seq)
    entries = connection.execute(added).mappings().all()
    sealed = select(SEALS.c.number, SEALS.c.head).where(SEALS.c.day == number).order_by(SEALS.c.number)
    found = RecordRows(
        links=tuple(_chained(link) for link in links),
        rows=(
            *((chain.of_day({**day, **base}),) if base is not None else ()),
            *(chain.of_entry(row) for row in entries),
        ),
        seq=day["seq"],
        head=ChainHead(day["links"], day["seq"], day["head"]),
        named={row.number: str(row.head) for row in connection.execute(sealed) if row.head},
    )
    later = connection.execute(select(TITLES.c.title).where(TITLES.c.day == number)).scalar()
    return Skeleton(
        day,
        day["title"] if later is None else later,
        found,
        chain.beside(connection, number),
        {row["key"]: row["text"] for row in entries},
    )


def _chained(link: Mapping[Any, Any]) -> Chained:
    return Chained(link["link"], Linked(*(link[name] for name in _LINKED)), link["made"], link["digest"])


def history_of(bones: Skeleton, beside: tuple[Linked, ...]) -> DayHistory:
    """The history of a day, judged; ``beside`` are its photos and logs."""
    found = replace(bones.found, rows=(*bones.found.rows, *beside))
    damage = damage_of(found)
    return DayHistory(
        id=bones.day["id"],
        title=_whole(bones.title),
        items=_items(found, damage, bones.texts),
        head=found.head,
        faults=damage.faults,
        notes=damage.notes,
    )


def _items(found: RecordRows, damage: Damage, texts: Mapping[str, str]) -> tuple[HistoryItem, ...]:
    """The links in order, then the rows that have none."""
    linked = [_item(link.row, link, damage, texts) for link in found.links]
    return (*linked, *(_item(row, None, damage, texts) for row in damage.unlinked))


def _item(row: Linked, link: Chained | None, damage: Damage, texts: Mapping[str, str]) -> HistoryItem:
    return HistoryItem(
        link=None if link is None else link.link,
        kind=_whole(row.kind),
        seq=row.seq,
        number=row.number,
        key=_whole(row.key),
        device=_whole(row.device),
        received=_whole(row.received),
        at=None if row.at is None else _whole(row.at),
        text=_whole(texts.get(row.key, "")) if row.seq else "",
        digest="" if link is None else link.digest,
        state=damage.state_of(link),
    )


def _whole(text: str) -> str:
    """A text with question marks for bytes that are no UTF-8."""
    return text.encode("utf-8", "replace").decode()
