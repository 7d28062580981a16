"""Small pictures of displays on the ticket: beside their draft, nothing in them but pixels, the same bytes twice."""

from __future__ import annotations

import hashlib
import io
import re
import struct
import zlib
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

import pytest
from PIL import Image
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject

from steelyard.dayfile import Beside, PhotographFile, held_against
from steelyard.model import Photograph
from steelyard.report.print.photos import PhotoError
from steelyard.report.print.thumbnails import MOST_THUMBNAILS, Thumbnails, small_picture, thumbnails
from steelyard.report.print.ticket import ticket_pdf
from tests.report.sample import sample

SAMPLE = sample()
PLACE = "51 N 1 W, the back yard"
HELD_UPRIGHT = 6  # Exif: the sixth way to hold a camera, turned by a quarter


def picture(kind: str = "JPEG", *, size: tuple[int, int] = (1600, 1200), mode: str = "RGB", turned: int = 1) -> bytes:
    """A picture with red on its right half, with the place where it was taken in every note that its kind has."""
    made = Image.new(mode, size)
    if mode == "RGB":
        made.paste((255, 0, 0), (size[0] // 2, 0, *size))
    notes = Image.Exif()
    notes[0x0112], notes[0x010E] = turned, PLACE
    out = io.BytesIO()
    more = {"comment": PLACE.encode()} if kind == "JPEG" else {}
    made.save(out, kind, exif=notes, **more)
    return out.getvalue()


def chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(wide: int, high: int, data: bytes, *more: bytes) -> bytes:
    head = chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 8, 0, 0, 0, 0))
    pixels = chunk(b"IDAT", zlib.compress(data, 9))
    return b"\x89PNG\r\n\x1a\n" + head + b"".join(more) + pixels + chunk(b"IEND", b"")


def opened(data: bytes) -> Image.Image:
    return Image.open(io.BytesIO(small_picture(data)))


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_nothing_but_pixels_is_left(kind: str) -> None:
    data = picture(kind)
    assert PLACE.encode() in data
    small = small_picture(data)
    assert PLACE.encode() not in small
    shown = Image.open(io.BytesIO(small))
    assert (shown.format, shown.size, len(shown.getexif()), shown.info.get("comment")) == ("JPEG", (480, 360), 0, None)
    left, right = (shown.convert("RGB").getpixel((x, 180)) for x in (60, 420))
    assert isinstance(left, tuple)
    assert isinstance(right, tuple)
    assert left[0] < 30
    assert right[0] > 220
    assert right[1] < 30
    assert small == small_picture(data)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_the_way_the_camera_was_held_is_heeded(kind: str) -> None:
    shown = opened(picture(kind, turned=HELD_UPRIGHT)).convert("RGB")
    assert shown.size == (360, 480)
    above, below = (shown.getpixel((180, y)) for y in (60, 420))
    assert isinstance(above, tuple)
    assert isinstance(below, tuple)
    assert above[0] < 30
    assert below[0] > 220


def test_a_small_picture_stays_small_and_clear_ground_is_white() -> None:
    clear = Image.new("RGBA", (40, 20), (0, 0, 0, 0))
    out = io.BytesIO()
    clear.save(out, "PNG")
    assert opened(out.getvalue()).size == (40, 20)
    assert opened(out.getvalue()).convert("RGB").getpixel((5, 5)) == (255, 255, 255)


def test_deep_greys_keep_their_shades() -> None:
    deep = Image.new("I;16", (20, 20), 0x8000)
    out = io.BytesIO()
    deep.save(out, "PNG")
    shade = opened(out.getvalue()).convert("L").getpixel((5, 5))
    assert isinstance(shade, int)
    assert abs(shade - 128) <= 2


def test_pictures_mixed_for_a_press_can_be_shown() -> None:
    assert opened(picture(mode="CMYK")).size == (480, 360)


JPEG = picture()
NO_PICTURE = "is not a picture that can be printed; a photograph is JPEG, PNG or WebP"
DAMAGED = "is damaged: not all of it can be read"
BOMB = b"a\0\0" + zlib.compress(bytes(40_000_000))
HOSTILE = {
    "nothing": (b"", NO_PICTURE),
    "a drawing": (b"<svg xmlns='http://www.w3.org/2000/svg'/>", NO_PICTURE),
    "a page": (b"<!doctype html><script>alert(1)</script>", NO_PICTURE),
    "a GIF": (b"GIF89a" + bytes(40), NO_PICTURE),
    "40 MB": (b"\xff\xd8\xff" + bytes(40_000_000), "has 40.0 MB; a photograph has at most 20 MB"),
    "a JPEG cut short": (JPEG[: len(JPEG) // 2], "is damaged: its end is missing"),
    "a JPEG of three bytes": (b"\xff\xd8\xff", "is damaged: its end is missing"),
    "a PNG cut short": (picture("PNG")[:400], DAMAGED),
    "a PNG of its first bytes": (b"\x89PNG\r\n\x1a\n", "is damaged: it does not say how wide and high it is"),
    "a WebP of nothing": (b"RIFF\x24\0\0\0WEBPVP8L\x18\0\0\0\x2f" + b"\x01" * 40, DAMAGED),
    "a bomb by its size": (
        png(60_000, 60_000, bytes(1000)),
        "has 60,000 by 60,000 pixels; a photograph has at most 25 million",
    ),
    "a bomb in its rows": (png(6_000, 5_000, bytes(6_001 * 5_000)), "has 6,000 by 5,000 pixels; a photograph has at"),
    "a bomb in its words": (png(4, 4, bytes(20), chunk(b"zTXt", BOMB)), DAMAGED),
    "a bomb in its colours": (
        png(4, 4, bytes(20), chunk(b"iCCP", BOMB)),
        DAMAGED,
    ),
}


@pytest.mark.parametrize("case", HOSTILE.values(), ids=HOSTILE)
def test_what_is_no_sound_picture_is_said_to_be_none(case: tuple[bytes, str]) -> None:
    data, said = case
    with pytest.raises(PhotoError) as error:
        small_picture(data)
    assert str(error.value).startswith(said)


def shown_or_said(data: bytes) -> bool:
    try:
        return small_picture(data).startswith(b"\xff\xd8\xff")
    except PhotoError as error:
        return str(error).isprintable()


def test_every_cut_and_many_changes_of_a_picture_are_shown_or_refused_in_words() -> None:
    """Every hundredth cut, and a changed byte at every fiftieth place, of each kind."""
    for kind in ("JPEG", "PNG", "WEBP"):
        data = picture(kind, size=(60, 40))
        broken = [data[:end] for end in range(0, len(data), max(1, len(data) // 100))]
        broken += [data[:at] + bytes([data[at] ^ 0x55]) + data[at + 1 :] for at in range(0, len(data), 50)]
        for one in broken:
            assert shown_or_said(one)


# -- on the ticket ---------------------------------------------------------------------------------------------------


def records() -> list[PhotographFile]:
    """Of the first two drafts a photograph of every display, the second draft first; and three that are not printed."""
    second, first = SAMPLE.day.drafts[1], SAMPLE.day.drafts[0]
    files: list[PhotographFile] = []
    for draft in (second, first):
        for reading in draft.readings:
            data = picture(size=(200 + len(files), 150))
            digest = hashlib.sha256(data).hexdigest()
            item = Photograph(draft.number, digest, reading.place.text, f"{len(files)}.jpg")
            files.append(held_against(len(files) + 1, item, data))
    files.append(held_against(98, Photograph(1, "0" * 64, None, "other.jpg"), b"other"))
    files.append(PhotographFile(99, Photograph(1, "1" * 64), Beside.UNNAMED, "the record names no file"))
    svg = b"<svg/>"
    files.append(held_against(100, Photograph(2, hashlib.sha256(svg).hexdigest(), None, "page.jpg"), svg))
    return files


@lru_cache(maxsize=1)
def small() -> Thumbnails:
    files = records()
    return thumbnails(replace(SAMPLE.day, photographs=tuple(item.record for item in files)), files)


@lru_cache(maxsize=1)
def made() -> bytes:
    return ticket_pdf(SAMPLE, pictures=False, small=small())


def spoken(node: object) -> Iterator[str]:
    """The words that stand in place of pictures, anywhere below a node of the structure."""
    if isinstance(node, IndirectObject):
        node = node.get_object()
    if isinstance(node, DictionaryObject):
        if "/Alt" in node:
            yield str(node["/Alt"])
        if "/K" in node:
            yield from spoken(node["/K"])
    elif isinstance(node, list):
        for item in node:  # pyright: ignore[reportUnknownVariableType]
            yield from spoken(item)  # pyright: ignore[reportUnknownArgumentType]


def test_small_pictures_stand_beside_their_draft_with_place_reading_and_digest() -> None:
    reader = PdfReader(io.BytesIO(made()))
    said = re.sub(r"\s+", " ", " ".join(page.extract_text() for page in reader.pages))
    (part,) = re.findall(r"What the displays showed(.*)$", said)
    assert re.search(r"Draft 1 .*Draft 2 ", part)
    for item in records()[:-3]:
        record = item.record
        reading = next(one for one in SAMPLE.day.drafts[record.draft - 1].readings if one.place.text == record.place)
        assert re.search(rf"{record.place} [\d,]+ lb on {reading.instrument} {record.short}", part), record
    sizes = [image.image.size for page in reader.pages for image in page.images if image.image is not None]
    assert len(sizes) == len(records()) - 3
    assert sizes == sorted(sizes, key=lambda size: size[0] < 200 + len(SAMPLE.day.drafts[1].readings))


def test_each_has_words_for_whoever_cannot_see_it() -> None:
    root = PdfReader(io.BytesIO(made())).trailer["/Root"]
    words = list(spoken(root["/StructTreeRoot"]))  # pyright: ignore[reportIndexIssue, reportUnknownArgumentType]
    for item in records()[:-3]:
        record = item.record
        assert f"Photograph of the display at {record.place}, draft {record.draft}; SHA-256 {record.sha256}" in words


def test_one_that_is_not_the_one_that_was_kept_is_named_and_not_printed() -> None:
    begins = hashlib.sha256(b"other").hexdigest()[:12]
    wrong = f"is not the one that was kept: its SHA-256 begins with {begins}, the record has 000000000000"
    assert small().notes == (
        f"Not printed: draft 1, other.jpg: {wrong}.",
        "Not printed: draft 1, 11111111: the record names no file.",
        f"Not printed: draft 2, page.jpg: {NO_PICTURE}.",
    )
    said = " ".join(PdfReader(io.BytesIO(made())).pages[-1].extract_text().split())
    assert "Not printed: draft 1, other.jpg: is not the one that was kept" in said


def test_the_same_pictures_give_the_same_bytes_and_none_of_the_camera_s_notes() -> None:
    assert made() == ticket_pdf(SAMPLE, pictures=False, small=small())
    assert PLACE.encode() not in made()


def test_a_ticket_has_an_end() -> None:
    missing = PhotographFile(1, Photograph(1, "0" * 64), Beside.MISSING, "is not in this station")
    count = MOST_THUMBNAILS + 3
    found = thumbnails(replace(SAMPLE.day, photographs=(missing.record,) * count), [missing] * count)
    assert len(found.notes) == MOST_THUMBNAILS + 1
    assert found.notes[-1] == "Not printed: 3 more; a ticket has at most 120 small pictures."
