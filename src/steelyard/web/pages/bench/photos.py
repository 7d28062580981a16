"""The photographs that a station kept at the drafts and readings of a day: for the bench, and for its ticket."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING
from urllib.parse import quote

from markupsafe import Markup

from steelyard.model import Draft, Photograph, WeighDay
from steelyard.store import Photo
from steelyard.web.pages.bench.contracts import PhotoLine
from steelyard.web.pages.shell.contracts import To
from steelyard.web.pages.shell.moment import moment
from steelyard.web.station.photographs import kept_pictures
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    from steelyard.report.print.photos import TicketPhoto
    from steelyard.report.print.thumbnails import Thumbnails


@dataclass(frozen=True, slots=True)
class Album:
    """Leads from the records of a day to their pictures; ``pictures`` are the digests that the station has."""

    day_id: str
    to: To
    pictures: Collection[str]

    def lines(self, records: Iterable[Photograph]) -> tuple[PhotoLine, ...]:
        """A line for each record."""
        return tuple(PhotoLine(self._href(item), item.short, _taken(item)) for item in records)

    def older(self, key: str) -> PhotoLine:
        """The photo of a draft that has no record."""
        return PhotoLine(self.to("get_photo", id=self.day_id, key=quote(key, safe="")), "", Markup())

    def _href(self, item: Photograph) -> str:
        kept = item.sha256 in self.pictures
        return self.to("get_picture", id=self.day_id, digest=item.sha256) if kept else ""


def _taken(item: Photograph) -> Markup:
    """``taken 2026-05-14 09:12 by phone``, as far as the record says."""
    at = Markup() if item.at is None else Markup(" {}").format(moment(item.at))
    by = f" by {item.by}" if item.by else ""
    return Markup("taken{}{}").format(at, by) if at or by else Markup()


async def ticket_displays(station: Station, day_id: str, day: WeighDay) -> Thumbnails:
    """Small pictures of all photographs that the day names, as far as the station has them.

    Raises
    ------
    StoreError: no such day.
    """
    from steelyard.report.print.thumbnails import thumbnails

    return await station.run(lambda: thumbnails(day, kept_pictures(station.store, day_id, day)))


async def ticket_photos(station: Station, day_id: str, day: WeighDay) -> tuple[list[TicketPhoto], list[str]]:
    """The photographs in the order of their drafts, and a note on each that is not printed.

    One that cannot be printed, and what is more than a ticket holds, keeps nobody from the ticket.

    Raises
    ------
    StoreError: no such day.
    """
    from steelyard.report.print.photos import MOST_PHOTOS, PhotoError, TicketPhoto, printable_photo

    older = await station.run(station.store.photo_keys, day_id)
    pictures = await station.run(station.store.pictures, day_id)
    having = [draft for draft in day.drafts if draft.key in older or _whole(day, draft, pictures)]
    photos: list[TicketPhoto] = []
    notes: list[str] = []
    for draft in having[:MOST_PHOTOS]:
        kept = await _kept(station, day_id, draft, _whole(day, draft, pictures))
        if kept is None:
            continue
        try:
            photos.append(await station.run(printable_photo, TicketPhoto(kept.data, _caption(draft))))
        except PhotoError as error:
            notes.append(f"The photograph of draft {draft.number} is not printed: it {error}.")
    more = len(having) - MOST_PHOTOS
    if more > 0:
        notes.append(f"Not printed, but kept in the station: {more} more photograph{'' if more == 1 else 's'}.")
    return photos, notes


def _whole(day: WeighDay, draft: Draft, pictures: Collection[str]) -> Photograph | None:
    """The first photograph of a whole draft whose picture the station has."""
    found = (item for item in day.photographs_of(draft) if item.place is None and item.sha256 in pictures)
    return next(found, None)


async def _kept(station: Station, day_id: str, draft: Draft, record: Photograph | None) -> Photo | None:
    if record is not None:
        return await station.run(station.store.picture, day_id, record.sha256)
    return None if draft.key is None else await station.run(station.store.photo, day_id, draft.key)


def _caption(draft: Draft) -> str:
    """``draft 3, hitched: trailer on the pads``."""
    label = f": {draft.label}" if draft.label else ""
    return f"draft {draft.number}, {draft.state.replace('_', ' ')}{label}"
