"""Small pictures of displays for the ticket, beside their draft: each held against its digest, then made small.

The picture itself is evidence and stays as it is; what is printed is made anew from its pixels, so that nothing that a
camera writes beside them, as place and time, is printed. Only the way the camera was held is heeded.
"""

from __future__ import annotations

import io
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING

from steelyard.dayfile import Beside, PhotographFile
from steelyard.model import Draft, Photograph, WeighDay
from steelyard.report.print.photos import JPEG, PhotoError, check_size
from steelyard.report.words.names import with_unit
from steelyard.units import Dimension

if TYPE_CHECKING:
    from PIL.Image import Image

MOST_THUMBNAILS = 120
"""The most small pictures of a ticket."""

_LONGEST = 480  # pixels of the longer side: 300 to the inch where four stand in a row
_MOST_PIXELS = 50_000_000  # of a JPEG, which is read at a smaller scale
_MOST_WHOLE = 25_000_000  # of another kind, which is read whole and copied once: 200 MB
_QUALITY = 82


@dataclass(frozen=True, slots=True)
class Thumbnail:
    """A small picture: a JPEG, the number of its draft, the lines below it, and the words in its place."""

    data: bytes
    draft: int
    lines: tuple[str, ...]
    said: str


@dataclass(frozen=True, slots=True)
class Thumbnails:
    """The small pictures of a ticket, and a sentence on each that is not printed."""

    pictures: tuple[Thumbnail, ...] = ()
    notes: tuple[str, ...] = ()


NO_THUMBNAILS = Thumbnails()


def thumbnails(day: WeighDay, files: Iterable[PhotographFile]) -> Thumbnails:
    """Small pictures of the photographs of ``day`` that are the ones that were kept, in the order of their drafts."""
    pictures: list[Thumbnail] = []
    notes: list[str] = []
    for item in islice(files, MOST_THUMBNAILS):
        record = item.record
        try:
            data = small_picture(_as_kept(item))
        except PhotoError as error:
            notes.append(f"Not printed: {_where(record)}, {record.file or record.short}: {error}.")
        else:
            pictures.append(Thumbnail(data, record.draft, _lines(day, record), _said(record)))
    more = len(day.photographs) - MOST_THUMBNAILS
    if more > 0:
        notes.append(f"Not printed: {more} more; a ticket has at most {MOST_THUMBNAILS} small pictures.")
    return Thumbnails(tuple(sorted(pictures, key=lambda one: one.draft)), tuple(notes))


def blank_thumbnails(day: WeighDay, said: Collection[str], notes: tuple[str, ...], picture: bytes) -> Thumbnails:
    """The same ``picture`` in place of each photograph of ``day`` with these words, in the order of their drafts."""
    shown = [one for one in day.photographs if _said(one) in said]
    pictures = [Thumbnail(picture, one.draft, _lines(day, one), _said(one)) for one in shown]
    return Thumbnails(tuple(sorted(pictures, key=lambda one: one.draft)), notes)


def thumbnail_rows(day: WeighDay, pictures: Iterable[Thumbnail]) -> list[dict[str, object]]:
    """The pictures by draft, as the ticket sets them: the draft in words, and for each the lines and its number."""
    drafts: dict[int, list[dict[str, object]]] = {}
    for number, one in enumerate(pictures):
        shown: dict[str, object] = {"lines": list(one.lines), "said": one.said, "file": f"small-{number}"}
        drafts.setdefault(one.draft, []).append(shown)
    return [{**_draft(day, day.drafts[number - 1]), "pictures": shown} for number, shown in drafts.items()]


def small_picture(data: bytes) -> bytes:
    """A JPEG of the picture, upright, 480 pixels long at most, with nothing but pixels in it.

    Raises
    ------
    PhotoError: no picture of a known kind, too many pixels, or damaged.
    """
    from PIL import Image, ImageOps

    most = _MOST_PIXELS if data.startswith(JPEG) else _MOST_WHOLE
    check_size(data, most=most)
    try:
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as opened:
            _check_opened(opened, most)
            opened.draft(None, (_LONGEST, _LONGEST))  # a JPEG is read at the least scale that is large enough
            shown = _in_colours(opened)
        shown.thumbnail((_LONGEST, _LONGEST), Image.Resampling.LANCZOS)
        shown = ImageOps.exif_transpose(shown)
        bare = Image.new("RGB", shown.size, "white")
        bare.paste(shown, mask=shown.getchannel("A"))
        out = io.BytesIO()
        bare.save(out, "JPEG", quality=_QUALITY)
    except PhotoError:
        raise
    except Exception as error:  # a damaged file makes a decoder stumble in any way that it likes
        raise PhotoError("is damaged: not all of it can be read") from error
    return out.getvalue()


def _as_kept(item: PhotographFile) -> bytes:
    if item.kept is not Beside.SAME:
        raise PhotoError(item.wrong)
    return item.data


def _check_opened(picture: Image, most: int) -> None:
    """See that the decoder found no more pixels than the head of the file says."""
    if picture.width * picture.height > most:
        raise PhotoError("is damaged: it says two sizes")


def _in_colours(picture: Image) -> Image:
    """The picture in eight bits of red, green, blue and opacity; deep greys keep their shades."""
    if picture.mode.startswith("I"):
        picture = picture.convert("I").point(lambda shade: shade * (1 / 256)).convert("L")
    return picture.convert("RGBA")


def _draft(day: WeighDay, draft: Draft) -> dict[str, object]:
    time = "" if draft.at is None else f"{draft.at:%H:%M}"
    return {"number": draft.number, "state": day.state_title(draft.state), "label": day.label_of(draft), "time": time}


def _where(record: Photograph) -> str:
    return f"draft {record.draft}" + ("" if record.place is None else f", {record.place}")


def _said(record: Photograph) -> str:
    shows = "the whole draft" if record.place is None else f"the display at {record.place}"
    return f"Photograph of {shows}, draft {record.draft}; SHA-256 {record.sha256}"


def _lines(day: WeighDay, record: Photograph) -> tuple[str, ...]:
    """The place, what was read there, and the short digest."""
    if record.place is None:
        return ("whole draft", "", record.short)
    reading = next(one for one in day.drafts[record.draft - 1].readings if one.place.text == record.place)
    read = f"{with_unit(reading.value, Dimension.MASS, day.units)} on {reading.instrument}"
    return (record.place, read, record.short)
