"""Seals of a day: the bytes of each, beside the day it seals, none ever changed. Their meaning is not known here."""

from __future__ import annotations

import hashlib
from typing import Any

from sqlalchemy import Connection, func, insert, select

from steelyard.store import chain
from steelyard.store.days import locked, number_of_day, row_numbered
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import DayId, KeptSeal
from steelyard.store.schema import SEALS
from steelyard.store.words import moment, now, refuse_unsayable

_MOST_SEALS = 1000  # of one day
_LARGEST_SEAL = 16_000
_LARGEST_FINDINGS = 50_000_000


def check(seal: KeptSeal) -> None:
    """Refuse a seal that cannot be kept.

    Raises
    ------
    StoreError: a name that is none, or too many bytes.
    """
    refuse_unsayable(seal.person, "the name of a weigher")
    if seal.device:
        refuse_unsayable(seal.device, "the name of a device")
    if len(seal.data) > _LARGEST_SEAL or len(seal.findings) > _LARGEST_FINDINGS:
        raise StoreError(Reason.REFUSED, f"a seal has at most {_LARGEST_SEAL} bytes, and findings fewer than 50 MB")


def keep(connection: Connection, day_id: DayId, seal: KeptSeal) -> tuple[int, bool]:
    """Keep a checked seal: its number in the day, and whether it is new. The same seal again is a replay.

    Raises
    ------
    StoreError: no such day, or it has too many seals.
    """
    row = locked(connection, day_id)
    day = row.number
    own = SEALS.c.day == day
    known = connection.execute(select(SEALS.c.number).where(own, SEALS.c.data == seal.data)).scalar()
    if known is not None:
        return known, False
    number = connection.execute(select(func.coalesce(func.max(SEALS.c.number), 0)).where(own)).scalar_one() + 1
    if number > _MOST_SEALS:
        raise StoreError(Reason.DAY_FULL, f"the day is full: it has at most {_MOST_SEALS} seals")
    values: dict[str, Any] = {"day": day, "number": number, "seq": seal.seq, "person": seal.person}
    values |= {"digest": hashlib.sha256(seal.data).hexdigest(), "head": seal.head}
    values |= {"data": seal.data, "findings": seal.findings, "device": seal.device, "received": now()}
    connection.execute(insert(SEALS).values(**values))
    chain.go_on_and_keep(connection, row, chain.of_seal(values))
    return number, True


def everyone(connection: Connection, day_id: DayId) -> tuple[KeptSeal, ...]:
    """The seals of a day in order, without the findings.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    columns = (column for column in SEALS.c if column is not SEALS.c.findings)
    rows = connection.execute(select(*columns).where(SEALS.c.day == day).order_by(SEALS.c.number))
    return tuple(_kept(row, b"") for row in rows)


def get(connection: Connection, day_id: DayId, number: int) -> KeptSeal | None:
    """One seal; None where there is none of that number.

    Raises
    ------
    StoreError: no such day.
    """
    row = row_numbered(connection, SEALS, day_id, number)
    return None if row is None else _kept(row, bytes(row.findings))


def _kept(row: Any, findings: bytes) -> KeptSeal:
    return KeptSeal(
        row.seq, row.person, row.head, bytes(row.data), findings, row.device, row.number, moment(row.received)
    )
