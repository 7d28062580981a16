"""Behind the record of a ticket: everybody aboard, every state's picture, photographs, and lines to sign on."""

from __future__ import annotations

import io
import re
import struct
import zlib
from functools import lru_cache
from itertools import pairwise

import pytest
from PIL import Image
from pypdf import PdfReader

from steelyard.findings import Findings
from steelyard.model import State, WeighDay
from steelyard.report.print.aboard import NOBODY, aboard_tables
from steelyard.report.print.photos import PhotoError, TicketPhoto, printable_photo
from steelyard.report.print.states import state_pictures
from steelyard.report.print.ticket import ticket_pdf
from tests.report.sample import AGREE, sample

SAMPLE = sample()
PLACE = "51 N 1 W, the back yard"
HELD_UPRIGHT = 6  # Exif: the sixth way to hold a camera, turned by a quarter


def picture(kind: str = "JPEG", *, mode: str = "RGB", turned: int = 1) -> bytes:
    """A picture of 40 by 20, red on the right, with the place where it was taken."""
    made = Image.new(mode, (40, 20))
    if mode == "RGB":
        made.paste((255, 0, 0), (20, 0, 40, 20))
    notes = Image.Exif()
    notes[0x0112], notes[0x010E] = turned, PLACE
    out = io.BytesIO()
    made.save(out, kind, **({"exif": notes} if mode == "RGB" else {}))
    return out.getvalue()


@lru_cache(maxsize=1)
def made() -> bytes:
    photos = [
        printable_photo(TicketPhoto(picture(turned=HELD_UPRIGHT), "The pads, swept")),
        printable_photo(TicketPhoto(picture("PNG"), "The hitch")),
    ]
    note = "The photograph of draft 3 is not printed: it is damaged."
    return ticket_pdf(SAMPLE, photos=photos, sign=["weighed by I. Varga", "the owner"], notes=[note])


@lru_cache(maxsize=1)
def pages() -> list[str]:
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(made())).pages]


def rows() -> dict[str, dict[str, str | None]]:
    """The table of what is aboard: by its name, mass and note in each state."""
    (table,) = aboard_tables(SAMPLE)
    states, found = table["states"], table["rows"]
    assert isinstance(states, list)
    assert isinstance(found, list)
    names = [state["name"] for state in states]
    cells = {row["name"]: dict(zip(names, row["cells"], strict=True)) for row in found}
    return {
        name: {state: None if cell is None else f"{cell['mass']} {cell['note']}".strip() for state, cell in row.items()}
        for name, row in cells.items()
    }


def test_the_ticket_says_who_and_what_is_aboard_in_each_state() -> None:
    """40 US gallons of 231 cubic inches of water at 1,000 kg/m3 are 333.8 lb, half of it 166.9."""
    aboard = rows()
    assert aboard["Driver"] == dict.fromkeys(("solo", "hitched", "hitched wd", "full"), "190")
    assert aboard["Water tank"]["solo"] is None
    assert aboard["Water tank"]["hitched"] == "166.9 50 % of 40 gal"
    assert aboard["Water tank"]["full"] == "333.8 100 % of 40 gal"
    assert aboard["Stones"]["full"] == "aboard, mass unknown"
    said = " ".join(pages())
    assert "Who and what is aboard" in said
    assert "Water tank on Flatbed, 18 ft – 166.9 50 % of 40 gal" in said


def test_a_day_without_cargo_says_so() -> None:
    nothing = Findings(WeighDay(states={"x": State("x", ())}), (), (), AGREE, ())
    assert aboard_tables(nothing) == []
    said = PdfReader(io.BytesIO(ticket_pdf(nothing))).pages[0].extract_text()
    assert NOBODY in said


def test_every_state_is_pictured_and_predicted_ones_are_marked() -> None:
    drawn = list(state_pictures(SAMPLE, but="hitched_wd"))
    assert [(one.name, one.basis) for one in drawn] == [
        ("solo", "measured"),
        ("hitched", "measured"),
        ("full", "predicted"),
    ]
    assert len(list(state_pictures(SAMPLE, but=None))) == len(SAMPLE.day.states)
    said = " ".join(pages())
    assert re.search(r"The rig in its other states.*solo measured.*hitched measured.*full predicted", said)
    assert "The rig from above: hitched wd, measured" in pages()[0]


def test_the_pictures_stand_at_one_scale() -> None:
    """From axle to axle of the truck, alone and in front of its trailer, on the sheet."""
    gaps: list[float] = []
    for one in state_pictures(SAMPLE, but=None):
        circles = re.findall(r'class="wheel"[^>]*>\s*<rect x="([\d.]+)"', one.svg)
        places = sorted({round(float(x), 1) for x in circles})
        gaps.append(next(after - before for before, after in pairwise(places)))
    assert len(gaps) == 4
    assert max(gaps) - min(gaps) < 0.2


def test_the_record_alone_has_no_further_pictures() -> None:
    assert len(pages()) > len(PdfReader(io.BytesIO(ticket_pdf(SAMPLE, pictures=False))).pages) == 2


def test_photographs_stand_behind_the_record_with_their_captions() -> None:
    reader = PdfReader(io.BytesIO(made()))
    shown = [image.image.size for page in reader.pages for image in page.images if image.image is not None]
    assert sorted(shown) == [(40, 20), (40, 20)]
    said = " ".join(pages()[2:])
    assert re.search(r"Photographs.*The pads, swept.*The hitch.*photograph of draft 3 is not printed", said)


def test_lines_to_sign_on_follow_the_record() -> None:
    assert re.search(r"it is no signature\..*weighed by I\. Varga date.*the owner date", " ".join(pages()))


def test_the_same_photographs_give_the_same_bytes() -> None:
    again = made.__wrapped__()
    assert again == made()


def test_the_place_where_a_photograph_was_taken_is_not_published() -> None:
    given = picture(turned=HELD_UPRIGHT)
    assert PLACE.encode() in given
    kept = printable_photo(TicketPhoto(given, "")).data
    assert PLACE.encode() not in kept
    assert PLACE.encode() not in made()
    before, after = Image.open(io.BytesIO(given)), Image.open(io.BytesIO(kept))
    assert after.getexif()[0x0112] == HELD_UPRIGHT
    assert dict(after.getexif()) == {0x0112: HELD_UPRIGHT}
    assert before.tobytes() == after.tobytes()
    plain = printable_photo(TicketPhoto(picture(), "")).data
    assert dict(Image.open(io.BytesIO(plain)).getexif()) == {}


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_pictures_of_a_phone_are_printed(kind: str) -> None:
    assert printable_photo(TicketPhoto(picture(kind), "x")).caption == "x"


def png(*, wide: int, high: int) -> bytes:
    """A PNG that claims a size and holds a few bytes (W3C PNG, clauses 5.3 and 11.2.1)."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(99))) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "is not a picture that can be printed; a photograph is JPEG, PNG or WebP"),
        (b"<svg/>", "is not a picture that can be printed"),
        (bytes(20_000_001), "has 20.0 MB; a photograph has at most 20 MB"),
        (picture()[:-40], "is damaged: its end is missing"),
        (b"\xff\xd8\xff\xe0\xff\xd9", "is damaged"),
        (picture("PNG")[:60], "is damaged: not all of it can be read"),
        (b"\x89PNG\r\n\x1a\n", "is damaged: it does not say how wide and high it is"),
        (b"RIFF0000WEBPVP8 ", "is damaged: it does not say how wide and high it is"),
        (png(wide=60_000, high=60_000), "has 60,000 by 60,000 pixels; a photograph has at most 100 million"),
        (picture(mode="CMYK"), "is mixed for a printing press"),
    ],
    ids=["empty", "svg", "large", "cut", "no frame", "cut png", "short png", "short webp", "pixels", "press"],
)
def test_what_cannot_be_printed_is_refused_with_the_reason(data: bytes, message: str) -> None:
    with pytest.raises(PhotoError) as caught:
        printable_photo(TicketPhoto(data, "x"))
    assert message in str(caught.value)
