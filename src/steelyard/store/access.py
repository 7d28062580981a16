"""Access: devices by the hash of their token, and the server's own secrets."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row, insert, select, update

from steelyard.store.days import new_id
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import Device, DeviceRole
from steelyard.store.schema import DEVICES, SECRETS
from steelyard.store.words import moment, now, refuse_unsayable, sayable


def add(connection: Connection, name: str, role: DeviceRole, token_hash: str) -> Device:
    """Let a device in.

    Raises
    ------
    StoreError: a name that is none, or a token that another device has.
    """
    refuse_unsayable(name, "the name of a device")
    refuse_unsayable(token_hash, "the hash of a token")
    if connection.execute(select(DEVICES.c.id).where(DEVICES.c.token_hash == token_hash)).first() is not None:
        raise StoreError(Reason.CONFLICT, "another device has that token")
    device_id, created = new_id(), now()
    values: dict[str, Any] = {"id": device_id, "name": name, "role": role, "token_hash": token_hash}
    connection.execute(insert(DEVICES).values(**values, created=created))
    return Device(device_id, name, role, moment(created))


def find(connection: Connection, token_hash: str) -> Device | None:
    """The device of that token that is still in."""
    query = select(DEVICES).where(DEVICES.c.token_hash == token_hash, DEVICES.c.revoked.is_(None))
    row = connection.execute(query).first() if sayable(token_hash) else None
    return None if row is None else _device(row)


def everyone(connection: Connection) -> tuple[Device, ...]:
    """Every device, the last one first."""
    columns = (column for column in DEVICES.c if column is not DEVICES.c.token_hash)  # which a reader may not see
    return tuple(_device(row) for row in connection.execute(select(*columns).order_by(DEVICES.c.number.desc())))


def revoke(connection: Connection, device_id: str) -> bool:
    """Shut a device out; whether it was in."""
    found = update(DEVICES).where(DEVICES.c.id == device_id, DEVICES.c.revoked.is_(None)).values(revoked=now())
    return sayable(device_id) and connection.execute(found).rowcount == 1


def _device(row: Row[Any]) -> Device:
    revoked = None if row.revoked is None else moment(row.revoked)
    return Device(row.id, row.name, DeviceRole(row.role), moment(row.created), revoked)


def secret(connection: Connection, name: str) -> bytes | None:
    """The secret of that name."""
    value = connection.execute(select(SECRETS.c.value).where(SECRETS.c.name == name)).scalar()
    return None if value is None else bytes(value)


def make_secret(connection: Connection, name: str, value: bytes) -> bytes:
    """Keep a new secret and give it; where someone was quicker, theirs."""
    if connection.dialect.name == "postgresql":
        from sqlalchemy.dialects.postgresql import insert as upsert

        connection.execute(upsert(SECRETS).values(name=name, value=value, created=now()).on_conflict_do_nothing())
    elif secret(connection, name) is None:
        connection.execute(insert(SECRETS).values(name=name, value=value, created=now()))
    known = secret(connection, name)
    return value if known is None else known
