"""The photographs that a station kept at the drafts of a day, for its ticket."""

from __future__ import annotations

from typing import TYPE_CHECKING

from steelyard.model import Draft, WeighDay
from steelyard.web.station.station import Station

if TYPE_CHECKING:
    from steelyard.report.print.photos import TicketPhoto


async def ticket_photos(station: Station, day_id: str, day: WeighDay) -> tuple[list[TicketPhoto], list[str]]:
    """The photographs in the order of their drafts, and a note on each that is not printed.

    One that cannot be printed, and what is more than a ticket holds, keeps nobody from the ticket.

    Raises
    ------
    StoreError: no such day.
    """
    from steelyard.report.print.photos import MOST_PHOTOS, PhotoError, TicketPhoto, printable_photo

    keys = await station.run(station.store.photo_keys, day_id)
    having = [(draft, draft.key) for draft in day.drafts if draft.key is not None and draft.key in keys]
    photos: list[TicketPhoto] = []
    notes: list[str] = []
    for draft, key in having[:MOST_PHOTOS]:
        kept = await station.run(station.store.photo, day_id, key)
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


def _caption(draft: Draft) -> str:
    """``draft 3, hitched: trailer on the pads``."""
    label = f": {draft.label}" if draft.label else ""
    return f"draft {draft.number}, {draft.state.replace('_', ' ')}{label}"
