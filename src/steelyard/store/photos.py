"""Pictures beside a day: those whose digest is in its text, and older photos of drafts, of which it says nothing."""

from __future__ import annotations

import hashlib
import tomllib
from typing import Any

from sqlalchemy import Connection, insert, select

from steelyard.dayfile import Part
from steelyard.store import chain
from steelyard.store.days import locked, number_of_day
from steelyard.store.fault import Reason, StoreError
from steelyard.store.records import LARGEST_PHOTO, DayEntry, DayId, Photo
from steelyard.store.schema import PHOTOS, PICTURES
from steelyard.store.words import now, sayable

_JPEG, _PNG, _WEBP = "image/jpeg", "image/png", "image/webp"


def media_type_of(data: bytes) -> str | None:
    """The kind of a picture by its first bytes (published formats); None for any other file.

    No kind is one that a browser would run.
    """
    if data.startswith(b"\xff\xd8\xff"):
        return _JPEG
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return _PNG
    return _WEBP if data.startswith(b"RIFF") and data[8:12] == b"WEBP" else None


def check_photo(photo: Photo) -> None:
    """Refuse what is no picture of a known kind, or too large.

    Raises
    ------
    StoreError: the size, or the kind.
    """
    if len(photo.data) > LARGEST_PHOTO:
        size = f"{len(photo.data) / 1e6:.1f}"
        raise StoreError(Reason.REFUSED, f"a photo has at most {LARGEST_PHOTO / 1e6:g} MB; this one has {size}")
    if not photo.data:
        raise StoreError(Reason.REFUSED, "the photo is empty: it has no bytes; take it again")
    if media_type_of(photo.data) != photo.media_type:
        raise StoreError(Reason.REFUSED, f"a photo is one of {_JPEG}, {_PNG}, {_WEBP}, and says truly which")


def check_picture(entry: DayEntry, picture: Photo | None) -> str:
    """The digest of the picture that comes with a checked entry; empty where none does.

    Raises
    ------
    StoreError: the record of a photograph without its picture or the reverse, another digest than the record has, no
        picture of a known kind, or too large a one.
    """
    if picture is None and entry.kind is not Part.PHOTOGRAPH:
        return ""
    if picture is None or entry.kind is not Part.PHOTOGRAPH:
        raise StoreError(Reason.REFUSED, "the record of a photograph and its picture are kept together")
    check_photo(picture)
    digest = hashlib.sha256(picture.data).hexdigest()
    told = tomllib.loads(entry.text)[Part.PHOTOGRAPH][0].get("sha256")
    if not isinstance(told, str) or told.lower() != digest:
        raise StoreError(Reason.REFUSED, "the picture is not the one whose digest the record has")
    return digest


def keep(connection: Connection, day_id: DayId, digest: str, picture: Photo, device: str) -> None:
    """Keep a checked picture; one of the same bytes is kept once.

    Raises
    ------
    StoreError: no such day.
    """
    row = locked(connection, day_id)
    known = select(PICTURES.c.day).where(PICTURES.c.day == row.number, PICTURES.c.sha256 == digest)
    if connection.execute(known).first() is None:
        values: dict[str, Any] = {"day": row.number, "sha256": digest, "media_type": picture.media_type}
        values |= {"data": picture.data, "device": device, "received": now()}
        connection.execute(insert(PICTURES).values(**values))
        chain.go_on_and_keep(connection, row, chain.of_picture(values))


def picture(connection: Connection, day_id: DayId, digest: str) -> Photo | None:
    """The picture of that digest.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    query = select(PICTURES.c.media_type, PICTURES.c.data).where(PICTURES.c.day == day, PICTURES.c.sha256 == digest)
    row = connection.execute(query).first() if sayable(digest) else None
    return None if row is None else Photo(row.media_type, bytes(row.data))


def digests(connection: Connection, day_id: DayId) -> frozenset[str]:
    """The digests of the pictures of a day.

    Raises
    ------
    StoreError: no such day.
    """
    query = select(PICTURES.c.sha256).where(PICTURES.c.day == number_of_day(connection, day_id))
    return frozenset(connection.execute(query).scalars())


def get(connection: Connection, day_id: DayId, draft: str) -> Photo | None:
    """The photo of a draft that has no record.

    Raises
    ------
    StoreError: no such day.
    """
    day = number_of_day(connection, day_id)
    query = select(PHOTOS.c.media_type, PHOTOS.c.data).where(PHOTOS.c.day == day, PHOTOS.c.draft == draft)
    row = connection.execute(query).first() if sayable(draft) else None
    return None if row is None else Photo(row.media_type, bytes(row.data))


def keys(connection: Connection, day_id: DayId) -> frozenset[str]:
    """The keys of the drafts of a day that have a photo without a record.

    Raises
    ------
    StoreError: no such day.
    """
    query = select(PHOTOS.c.draft).where(PHOTOS.c.day == number_of_day(connection, day_id))
    return frozenset(connection.execute(query).scalars())
