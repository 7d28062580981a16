"""Photographs of displays: a picture that arrives becomes a record in the day's text, with the digest of its bytes."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from steelyard.dayfile import Beside, Part, PhotographFile, held_against, read_photograph, write_photograph
from steelyard.model import Draft, Photograph, WeighDay
from steelyard.store import DayId, Photo, Reason, Store, StoreError, check_photo
from steelyard.web.station.book import Addition

ENDINGS: Mapping[str, str] = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}
"""The ending of a file's name by the kind of picture."""

_LONGEST_PLACE = 40  # characters of a place in the name of a file
_DIGITS = 12  # of the digest in the name of a file


class HasPhotoError(Exception):
    """The draft has a photograph of the whole already, which stays."""


@dataclass(frozen=True, slots=True)
class TakenPhoto:
    """A photograph as it is sent: of which draft, at which place, when, by whom.

    ``draft`` is its key, or else its number in digits; without ``place`` the photograph shows the whole draft.
    """

    draft: str
    place: str | None = None
    at: str | None = None
    by: str = ""


def photograph(key: str, photo: Photo, taken: TakenPhoto, device: str) -> Addition:
    """The addition that keeps a photograph with its picture.

    Raises
    ------
    StoreError: it is no picture of a known kind, or too large.
    """
    check_photo(photo)
    digest = hashlib.sha256(photo.data).hexdigest()

    def record(day: WeighDay) -> Photograph:
        draft = _draft_of(day, taken.draft)
        said = {
            "draft": draft.number,
            "place": taken.place,
            "sha256": digest,
            "file": file_name(draft.number, taken.place, digest, photo.media_type),
            "at": taken.at,
            "by": taken.by or None,
        }
        return read_photograph(day, said)

    def make(day: WeighDay) -> str:
        return write_photograph(day, record(day))

    def same(day: WeighDay, number: int) -> bool:
        return record(replace(day, photographs=())).shows == day.photographs[number - 1].shows

    return Addition(Part.PHOTOGRAPH, key, device, make, same, photo)


def photograph_of_draft(draft_key: str, photo: Photo, device: str, by: str) -> Addition:
    """The addition that keeps the one photograph of a whole draft; ``make`` raises ``HasPhotoError`` where it has one.

    Raises
    ------
    StoreError: it is no picture of a known kind, or too large.
    """
    key = f"photo-{hashlib.sha256(draft_key.encode(errors='replace')).hexdigest()[:32]}"
    addition = photograph(key, photo, TakenPhoto(draft_key, by=by), device)

    def make(day: WeighDay) -> str:
        draft = draft_of_key(day, draft_key)
        if whole_photograph(day, draft) is not None:
            raise HasPhotoError
        return addition.make(day)

    return Addition(addition.kind, key, device, make, _first_stays, photo)


def _first_stays(day: WeighDay, number: int) -> bool:
    del day, number
    return True


def whole_photograph(day: WeighDay, draft: Draft) -> Photograph | None:
    """The first photograph of the whole of a draft."""
    return next((item for item in day.photographs_of(draft) if item.place is None), None)


def draft_of_key(day: WeighDay, key: str) -> Draft:
    """The draft of that key.

    Raises
    ------
    StoreError: there is none.
    """
    found = next((draft for draft in day.drafts if draft.key == key), None)
    if found is None:
        raise StoreError(Reason.NO_SUCH_DRAFT, "there is no draft of that key")
    return found


def kept_pictures(store: Store, day_id: DayId, day: WeighDay) -> Iterator[PhotographFile]:
    """The photographs of a day in its order, each with the picture that the store has, held against its digest.

    One picture is read at a time; each waits for the disk.
    """
    for number, item in enumerate(day.photographs, 1):
        picture = store.picture(day_id, item.sha256)
        if picture is None:
            yield PhotographFile(number, item, Beside.MISSING, "is not in this station")
        else:
            yield held_against(number, item, picture.data)


def file_name(draft: int, place: str | None, digest: str, media_type: str) -> str:
    """A plain name that tells draft and place, and that no other picture has: ``draft-3-tow-1L-9f86d081884c.jpg``."""
    where = "" if place is None else f"-{re.sub('[^A-Za-z0-9_]+', '-', place)[:_LONGEST_PLACE].strip('-')}"
    return f"draft-{draft}{where}-{digest[:_DIGITS]}.{ENDINGS[media_type]}"


def _draft_of(day: WeighDay, named: str) -> Draft:
    """The draft of that key, else of that number."""
    if named.isascii() and named.isdecimal() and len(named) < 7 and not any(one.key == named for one in day.drafts):
        number = int(named)
        if 1 <= number <= len(day.drafts):
            return day.drafts[number - 1]
        message = f"there is no draft {number}; the day has {len(day.drafts)}, counted from 1"
        raise StoreError(Reason.NO_SUCH_DRAFT, message)
    return draft_of_key(day, named)
