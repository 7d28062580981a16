"""Shelves: vehicles and instruments of the yard, and taught patterns of lines; a change is a further version."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, Row, func, insert, select

from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import Kept, Shelf
from steelyard.store.schema import SHELVES
from steelyard.store.words import MOST, moment, now, refuse_unsayable, sayable

LARGEST_TEXT = 64_000


def written(name: str, text: str, learned: Mapping[str, Any] | None, device: str) -> str | None:
    """The learned block as text, once name and text pass the checks; None where it holds nothing new.

    Raises
    ------
    StoreError: an empty or endless name, an endless text, something learned that JSON cannot say.
    """
    refuse_unsayable(name, "a name")
    if device:
        refuse_unsayable(device, "the name of a device")
    try:
        learnt = (
            None if learned is None else json.dumps(learned, allow_nan=False, sort_keys=True, separators=(",", ":"))
        )
        size = len(text.encode()) + len(learnt or "")
    except (TypeError, ValueError):
        raise StoreError(Reason.REFUSED, "what was learned is not what JSON can say") from None
    if size > LARGEST_TEXT or "\0" in text:
        raise StoreError(Reason.REFUSED, f"a thing on a shelf is text of at most {LARGEST_TEXT} bytes; this has {size}")
    return learnt


def save(connection: Connection, shelf: Shelf, name: str, text: str, learned: str | None, device: str) -> int:
    """Keep a version, and give its number; the last one's where nothing changed."""
    if connection.dialect.name == "postgresql":
        # two who save the same name at once take turns, or both would take the same number
        connection.execute(select(func.pg_advisory_xact_lock(func.hashtext(f"{shelf}/{name}"))))
    last = connection.execute(_versions(shelf, name).order_by(SHELVES.c.version.desc()).limit(1)).first()
    if learned is None:
        learned = "{}" if last is None else last.learned
    if last is not None and (last.text, last.learned) == (text, learned):
        return last.version
    version = 1 if last is None else last.version + 1
    values: dict[str, Any] = {"shelf": shelf, "name": name, "version": version, "text": text, "learned": learned}
    connection.execute(insert(SHELVES).values(**values, device=device, saved=now()))
    return version


def latest(connection: Connection, shelf: Shelf) -> tuple[Kept, ...]:
    """The last version of everything on a shelf, by name."""
    last = select(SHELVES.c.name, func.max(SHELVES.c.version).label("version")).where(SHELVES.c.shelf == shelf)
    newest = last.group_by(SHELVES.c.name).subquery()
    same = (SHELVES.c.name == newest.c.name) & (SHELVES.c.version == newest.c.version)
    rows = connection.execute(select(SHELVES).join(newest, same).where(SHELVES.c.shelf == shelf))
    # sorted here: databases differ in what they hold to be the order of letters
    return tuple(sorted((_kept(row) for row in rows), key=lambda kept: kept.name))


def get(connection: Connection, shelf: Shelf, name: str, version: int | None) -> Kept | None:
    """One version of a thing, the last where ``version`` is None."""
    if not sayable(name) or (version is not None and abs(version) > MOST):
        return None
    query = _versions(shelf, name)
    query = query if version is None else query.where(SHELVES.c.version == version)
    row = connection.execute(query.order_by(SHELVES.c.version.desc()).limit(1)).first()
    return None if row is None else _kept(row)


def versions(connection: Connection, shelf: Shelf, name: str) -> tuple[Kept, ...]:
    """Every version of a thing, the first one first."""
    if not sayable(name):
        return ()
    return tuple(_kept(row) for row in connection.execute(_versions(shelf, name).order_by(SHELVES.c.version)))


def _versions(shelf: Shelf, name: str) -> Any:
    return select(SHELVES).where(SHELVES.c.shelf == shelf, SHELVES.c.name == name)


def _kept(row: Row[Any]) -> Kept:
    learned = json.loads(row.learned)
    return Kept(Shelf(row.shelf), row.name, row.version, row.text, learned, row.device, moment(row.saved))
