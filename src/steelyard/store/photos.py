"""Photos: one for a draft, kept beside the day and not in its text."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, insert, select

from steelyard.dayfile import Part
from steelyard.store.clock import now
from steelyard.store.days import number_of_day
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import LARGEST_PHOTO, DayId, Photo
from steelyard.store.schema import NAMES, PHOTOS
from steelyard.store.words import refuse_unsayable, sayable

_BEGINNINGS = {
    "image/jpeg": (b"\xff\xd8\xff",),
    "image/png": (b"\x89PNG\r\n\x1a\n",),
    "image/webp": (b"RIFF",),
}
"""First bytes of a file of each kind (published formats); no kind is one that a browser would run."""


def check(photo: Photo, device: str) -> None:
    """Refuse what is no picture of a known kind or too large.

    Raises
    ------
    StoreError: the kind, the size or the beginning of the data, or the name of the device.
    """
    if device:
        refuse_unsayable(device, "the name of a device")
    if len(photo.data) > LARGEST_PHOTO:
        size = f"{len(photo.data) / 1e6:.1f}"
        raise StoreError(Reason.REFUSED, f"a photo has at most {LARGEST_PHOTO / 1e6:g} MB; this one has {size}")
    beginnings = _BEGINNINGS.get(photo.media_type)
    if beginnings is None or not photo.data.startswith(beginnings):
        raise StoreError(Reason.REFUSED, f"a photo is one of {', '.join(_BEGINNINGS)}, and says truly which")


def put(connection: Connection, day_id: DayId, draft: str, photo: Photo, device: str) -> bool:
    """Keep a checked photo; whether it was the first of that draft.

    Raises
    ------
    StoreError: no such day, or no draft of that key.
    """
    day = number_of_day(connection, day_id)
    if not sayable(draft):
        raise _no_such_draft()
    named = select(NAMES.c.name).where(NAMES.c.day == day, NAMES.c.kind == Part.DRAFT, NAMES.c.name == draft)
    if connection.execute(named.with_for_update()).first() is None:
        raise _no_such_draft()
    if connection.execute(select(PHOTOS.c.day).where(PHOTOS.c.day == day, PHOTOS.c.draft == draft)).first() is not None:
        return False
    values: dict[str, Any] = {"day": day, "kind": Part.DRAFT, "draft": draft, "media_type": photo.media_type}
    values |= {"data": photo.data, "device": device, "received": now()}
    connection.execute(insert(PHOTOS).values(**values))
    return True


def _no_such_draft() -> StoreError:
    return StoreError(Reason.NO_SUCH_DRAFT, "there is no draft of that key")


def get(connection: Connection, day_id: DayId, draft: str) -> Photo | None:
    """The photo of a draft.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    query = select(PHOTOS.c.media_type, PHOTOS.c.data).where(PHOTOS.c.day == day, PHOTOS.c.draft == draft)
    row = connection.execute(query).first() if sayable(draft) else None
    return None if row is None else Photo(row.media_type, bytes(row.data))


def keys(connection: Connection, day_id: DayId) -> frozenset[str]:
    """The keys of the drafts of a day that have a photo.

    Raises
    ------
    StoreError: no such day.
    """
    query = select(PHOTOS.c.draft).where(PHOTOS.c.day == number_of_day(connection, day_id))
    return frozenset(connection.execute(query).scalars())
