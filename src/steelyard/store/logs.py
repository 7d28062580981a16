"""Logs of growing load: kept beside the day they belong to, each as it was recorded or sent, none ever changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection, func, insert, select

from steelyard.store import chain
from steelyard.store.days import locked, number_of_day, row_numbered
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import LARGEST_SWEEP, DayId, SweepRecord
from steelyard.store.schema import LOGS
from steelyard.store.words import moment, now, refuse_unsayable

_MOST_LOGS = 1000  # of one day
_LONGEST_ABOUT = 10_000


def written(key: str, text: str, about: Mapping[str, Any], device: str) -> str:
    """Description of a log as text, once all of it passes the checks.

    Raises
    ------
    StoreError: an endless log, a key that is none, something about it that JSON cannot say.
    """
    refuse_unsayable(key, "a key")
    if device:
        refuse_unsayable(device, "the name of a device")
    if "\0" in text or len(text.encode("utf-8", "surrogatepass")) > LARGEST_SWEEP:
        raise StoreError(Reason.REFUSED, f"a log is text of at most {LARGEST_SWEEP / 1e6:g} MB")
    try:
        said = json.dumps(about, allow_nan=False, sort_keys=True, separators=(",", ":"))
    except (TypeError, ValueError):
        raise StoreError(Reason.REFUSED, "what is said of the log is not what JSON can say") from None
    if len(said) > _LONGEST_ABOUT:
        raise StoreError(Reason.REFUSED, "what is said of the log is too long")
    return said


def keep(connection: Connection, day_id: DayId, key: str, text: str, about: str, device: str) -> tuple[int, bool]:
    """Keep a checked log: its number in the day, and whether it is new. A known key is a replay, and the first stays.

    Raises
    ------
    StoreError: no such day, or it has too many logs.
    """
    row = locked(connection, day_id)
    day = row.number
    known = connection.execute(select(LOGS.c.number).where(LOGS.c.day == day, LOGS.c.key == key)).scalar()
    if known is not None:
        return known, False
    number = connection.execute(select(func.coalesce(func.max(LOGS.c.number), 0)).where(LOGS.c.day == day)).scalar_one()
    if number >= _MOST_LOGS:
        raise StoreError(Reason.DAY_FULL, f"the day is full: it has at most {_MOST_LOGS} logs")
    values: dict[str, Any] = {"day": day, "number": number + 1, "key": key, "text": text, "about": about}
    values |= {"device": device, "received": now()}
    connection.execute(insert(LOGS).values(**values))
    chain.go_on_and_keep(connection, row, chain.of_log(values))
    return number + 1, True


def everyone(connection: Connection, day_id: DayId) -> tuple[SweepRecord, ...]:
    """The logs of a day in order, without their text.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    columns: Any = (LOGS.c.number, LOGS.c.key, LOGS.c.about, LOGS.c.device, LOGS.c.received)
    rows = connection.execute(select(*columns).where(LOGS.c.day == day).order_by(LOGS.c.number))
    return tuple(_record(row, "") for row in rows)


def get(connection: Connection, day_id: DayId, number: int) -> SweepRecord | None:
    """One log; None where there is none of that number.

    Raises
    ------
    StoreError: no such day.
    """
    row = row_numbered(connection, LOGS, day_id, number)
    return None if row is None else _record(row, row.text)


def _record(row: Any, text: str) -> SweepRecord:
    return SweepRecord(row.number, row.key, text, json.loads(row.about), row.device, moment(row.received))
