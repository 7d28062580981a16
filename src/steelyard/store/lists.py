"""Lists: the line of each day, and what was put away from the lists, days and things of the yard.

Nothing is deleted by that, and each can be brought back. A row says since when a thing is away and who put it there
and, once it is back, since when and by whom.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, Select, func, insert, select, update

from steelyard.dayfile import Part
from steelyard.store.days import number_of_day
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import Away, DayId, DaySummary, Listed, PutAway
from steelyard.store.schema import DAYS, NAMES, PUT_AWAY, SHELVES, TITLES
from steelyard.store.words import MOST, moment, now, refuse_unsayable, sayable


def summary(connection: Connection, day_id: DayId) -> DaySummary:
    """The line of one day.

    Raises
    ------
    StoreError: no such day.
    """
    number = number_of_day(connection, day_id)
    return line_of(connection.execute(lines().where(DAYS.c.number == number)).one())


def lines() -> Select[Any]:
    """The rows that ``line_of`` takes, of every day: all its columns, and the title that counts."""
    title = func.coalesce(TITLES.c.title, DAYS.c.title).label("titled")
    return select(DAYS, title).outerjoin(TITLES, TITLES.c.day == DAYS.c.number)


def is_listed(away: Away) -> ColumnElement[bool]:
    """The condition that a day is in a list, by whether it was put away.

    It asks for a value, not for EXISTS, which PostgreSQL would turn into reading all days.
    """
    own = (PUT_AWAY.c.kind == "day", PUT_AWAY.c.name == DAYS.c.id, PUT_AWAY.c.back.is_(None))
    found = select(PUT_AWAY.c.number).where(*own).scalar_subquery()
    return found.is_(None) if away is Away.WITHOUT else found.is_not(None)


def newest(
    connection: Connection, limit: int, before: DayId | None, vehicle: str | None, away: Away = Away.WITH
) -> tuple[DaySummary, ...]:
    """The newest days, those made before ``before`` only, or those that have a vehicle of that name."""
    limit = min(max(limit, 0), MOST)
    query = lines() if away is Away.WITH else lines().where(is_listed(away))
    number = DAYS.c.number
    if vehicle is not None:
        if not sayable(vehicle):
            return ()
        number = NAMES.c.day
        joined = query.join(NAMES, DAYS.c.number == NAMES.c.day)
        query = joined.where(NAMES.c.kind == Part.VEHICLE, NAMES.c.name == vehicle)
    if before is not None:
        query = query.where(number < number_of_day(connection, before))
    return tuple(line_of(row) for row in connection.execute(query.order_by(number.desc()).limit(limit)))


def line_of(row: Row[Any]) -> DaySummary:
    """The line of a day in a list, from a row of ``lines``."""
    return DaySummary(row.id, row.titled, moment(row.created), moment(row.changed), row.drafts, row.seq)


def put_away(connection: Connection, kind: Listed, name: str, device: str) -> bool:
    """Put a thing away; False where it is away already.

    Raises
    ------
    StoreError: there is no such thing, or the name of the device is none.
    """
    _check(connection, kind, name, device)
    own = (PUT_AWAY.c.kind == kind, PUT_AWAY.c.name == name)
    if connection.execute(select(PUT_AWAY.c.number).where(*own, PUT_AWAY.c.back.is_(None))).first() is not None:
        return False
    last = connection.execute(select(func.max(PUT_AWAY.c.number)).where(*own)).scalar() or 0
    values: dict[str, Any] = {"kind": kind, "name": name, "number": last + 1, "since": now(), "device": device}
    connection.execute(insert(PUT_AWAY).values(**values))
    return True


def bring_back(connection: Connection, kind: Listed, name: str, device: str) -> bool:
    """Bring a thing back; False where it is in its list already.

    Raises
    ------
    StoreError: there is no such thing, or the name of the device is none.
    """
    _check(connection, kind, name, device)
    away = (PUT_AWAY.c.kind == kind, PUT_AWAY.c.name == name, PUT_AWAY.c.back.is_(None))
    return connection.execute(update(PUT_AWAY).where(*away).values(back=now(), back_device=device)).rowcount == 1


def put_away_from(connection: Connection, kind: Listed) -> tuple[PutAway, ...]:
    """The things that are away from one list, the last one put away first."""
    rows = connection.execute(select(PUT_AWAY).where(PUT_AWAY.c.kind == kind, PUT_AWAY.c.back.is_(None)))
    found = [PutAway(Listed(row.kind), row.name, moment(row.since), row.device) for row in rows]
    return tuple(sorted(found, key=lambda one: (one.since, one.name), reverse=True))


def _check(connection: Connection, kind: Listed, name: str, device: str) -> None:
    """Refuse what is not there; and let two who ask for the same thing at once take turns, where they could meet."""
    if device:
        refuse_unsayable(device, "the name of a device")
    if kind is Listed.DAY:
        number_of_day(connection, name)
    else:
        kept = select(SHELVES.c.version).where(SHELVES.c.shelf == str(kind), SHELVES.c.name == name).limit(1)
        if not sayable(name) or connection.execute(kept).first() is None:
            shown = repr(name) if len(name) <= 40 and name.isprintable() else "of that name"
            raise StoreError(Reason.NOT_IN_THE_YARD, f"the yard has no {kind} {shown}")
    if connection.dialect.name == "postgresql":
        connection.execute(select(func.pg_advisory_xact_lock(func.hashtext(f"put away {kind}/{name}"))))
