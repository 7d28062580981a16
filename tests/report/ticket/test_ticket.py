"""The ticket says all that was read and found, on two pages, the same every time, for anybody to read."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

import pytest
from pypdf import PdfReader, PdfWriter
from pypdf.generic import DictionaryObject, StreamObject

from steelyard.adjustment import Consistency
from steelyard.findings import STANDING, Findings
from steelyard.model import State, WeighDay, digest_of
from steelyard.report.print.ticket import ticket_content, ticket_pdf
from steelyard.units import Dimension, UnitSystem
from tests.report.sample import AGREE, FULL, HITCHED, SOLO, SPREAD, Book, geometries, quarry_day, sample

SAMPLE = sample()
NOTHING = Findings(WeighDay(), (), (), Consistency(0.0, 0.0, None, consistent=True, suspects=()), ())


def record(findings: Findings, *, paper: str = "letter", state: str | None = None) -> bytes:
    """The ticket without the pictures of its other states."""
    return ticket_pdf(findings, paper=paper, state=state, pictures=False)


@lru_cache(maxsize=4)
def made(paper: str) -> bytes:
    return record(SAMPLE, paper=paper)


@lru_cache(maxsize=4)  # to read a page costs more than to set it
def pages(pdf: bytes) -> list[str]:
    """The words of each page, blanks of any kind as one space."""
    return [re.sub(r"\s+", " ", page.extract_text()) for page in PdfReader(io.BytesIO(pdf)).pages]


def catalogue(pdf: bytes) -> DictionaryObject:
    root = PdfReader(io.BytesIO(pdf)).trailer["/Root"].get_object()
    assert isinstance(root, DictionaryObject)
    return root


def packet_of(pdf: bytes) -> str:
    """The metadata that say which standards it keeps."""
    packet = catalogue(pdf)["/Metadata"].get_object()
    assert isinstance(packet, StreamObject)
    return packet.get_data().decode()


def uncompressed(pdf: bytes) -> bytes:
    """Every object of the file as text."""
    writer = PdfWriter(clone_from=io.BytesIO(pdf))
    out = io.BytesIO()
    writer.write(out)
    return re.sub(rb"\s*/BaseFont\s*", b"/BaseFont", out.getvalue())


def words(pdf: bytes) -> str:
    return " ".join(pages(pdf))


def in_pounds(value: float) -> str:
    return f"{round(UnitSystem().show(value, Dimension.MASS)):,}"


@pytest.mark.parametrize(("paper", "size"), [("letter", (612, 792)), ("a4", (595, 842))])
def test_usual_day_fits_two_pages(paper: str, size: tuple[int, int]) -> None:
    reader = PdfReader(io.BytesIO(made(paper)))
    assert len(reader.pages) == 2
    box = reader.pages[0].mediabox
    assert (round(box.width), round(box.height)) == size
    assert "page 1 of 2" in pages(made(paper))[0]
    assert "page 2 of 2" in pages(made(paper))[1]


def test_every_raw_reading_stands_on_it() -> None:
    said = words(made("letter"))
    count = 0
    for draft in SAMPLE.day.drafts:
        assert draft.label in said
        for reading in draft.readings:
            assert f"{reading.place.text} {in_pounds(reading.value)}" in said
            count += 1
    assert count == 32


def test_corrections_stand_beside_the_original_with_their_reason() -> None:
    said = words(made("letter"))
    assert "flatbed/2R 2,350 2,530 p4" in said
    assert (
        "flatbed/2R corrected to 2,530 lb (2026-05-14 09:12 UTC): digits swapped when it was read out; "
        "the photo shows 2530" in said
    )
    assert "tow/2R 2,580 set aside p4" in said
    assert "tow/2R set aside (2026-05-14 09:12 UTC): the inner tyre stood half off the pad" in said


def test_who_what_where_when_and_with_what() -> None:
    said = words(made("letter"))
    for part in (
        "weighed by I. Varga",
        "for Orchard & Mill Haulage",
        "Lower quarry, the hard standing",
        "concrete, swept, 0.3° front up, 0° left up",
        "2026-05-14",
        "drafts 09:12 to 10:50 UTC",
        "Crew cab, dual rear wheels (tow): GVWR 14,000, GCWR 32,000, axles 6,000 + 9,900",
        "Fuel full; two people aboard.",
        "p3 pad WP-20417-3 2026-03-02 20,000 20 2.5 0.1 % blue case",
        "Wind got up; the pads were swept.",
    ):
        assert part in said, part


def test_findings_stand_with_their_intervals() -> None:
    said = words(made("letter"))
    assert "wheel 1L 2,962 2,943 – 2,981 2,796 2,777 – 2,815" in said
    assert "coupling load 1,236 1,214 – 1,258 1,143 1,121 – 1,165" in said
    assert "coupling share of trailer, % 11.08 10.87 – 11.30" in said
    assert "solo measured hitched measured hitched wd measured full predicted" in said
    assert "Not determined. full: flatbed wheels 1L 1R, axle 1: read at the same time in full: flatbed/1L" in said


def test_transfers_have_signs_and_intervals() -> None:
    said = words(made("letter"))
    assert "tow, axle 1 −337 −368 to −306" in said
    assert "tow, axle 2 +1,573 +1,542 to +1,604" in said


def test_verdicts_are_told_in_words() -> None:
    first = pages(made("letter"))[0]
    assert "1 outside 1 undecided 59 within 3 not judged" in first
    assert "outside full: Flatbed, 18 ft: wheel 2R rating: margin −34 lb, met with a probability of 1.3 %" in first
    assert "undecided full: Flatbed, 18 ft: GVWR: margin +46 lb, met with a probability of 93.4 %" in first
    assert "wheel 2R rating ≤ 3,195 a – ✓ +657 ✓ +633 outside −34" in first
    assert "share on the ball 10 to 15 % b – ✓ +1.08 % ✓ +0.25 % ✓ +0.31 %" in first
    assert "a the label, as the owner read it; b common practice, no source." in first


def test_suspects_are_named_at_the_head_and_among_the_readings() -> None:
    first, second = pages(made("letter"))
    assert "suspect The readings do not all fit together. Look at draft 7, flatbed/1R before anybody acts" in first
    assert "flatbed/1R 2,260 ? p2" in second
    assert "two digits swapped (2,620)?" in second
    assert "The readings do not agree within their stated doubt (chi-square 31.4 with 13 degrees of freedom" in second


def test_a_day_that_agrees_has_no_warning() -> None:
    said = words(record(replace(SAMPLE, consistency=AGREE)))
    assert "suspect The readings" not in said
    assert "The readings agree within their stated doubt (chi-square 9.1 with 11 degrees of freedom" in said


def test_cautions_of_the_day_and_of_every_day() -> None:
    said = words(made("letter"))
    for caution in (*SAMPLE.cautions, *STANDING):
        assert caution in said
    assert "JCGM 106" in said


def test_ticket_is_the_same_every_time() -> None:
    assert record(sample()) == made("letter")


def test_ticket_is_archival_and_accessible() -> None:
    packet, root = packet_of(made("letter")), catalogue(made("letter"))
    assert "<pdfaid:part>2</pdfaid:part>" in packet
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in packet
    assert "<pdfuaid:part>1</pdfuaid:part>" in packet
    marked = root["/MarkInfo"].get_object()
    assert isinstance(marked, DictionaryObject)
    assert marked["/Marked"] == True  # noqa: E712  a PDF boolean, which is not Python's
    assert root["/Lang"] == "en"
    data = PdfReader(io.BytesIO(made("letter"))).metadata
    assert data is not None
    assert data.title == "Lower quarry track, spring check: weigh ticket"


def test_the_only_time_in_it_is_the_days_own() -> None:
    assert set(re.findall(r"\d{4}-\d{2}-\d{2}", packet_of(made("letter")))) == {"2026-05-14"}


def test_a_day_without_any_date_is_still_accessible() -> None:
    pdf = record(NOTHING)
    assert "<pdfuaid:part>1</pdfuaid:part>" in packet_of(pdf)
    assert "pdfaid" not in packet_of(pdf)
    said = words(pdf)
    assert "Nothing checks these readings" in said
    assert "outside" not in said.split("Method")[0]


def test_only_the_shipped_faces_are_in_it() -> None:
    names = set(re.findall(rb"/BaseFont/([A-Za-z+-]+)", uncompressed(made("letter"))))
    assert {name.partition(b"+")[2] for name in names} == {b"DejaVuSansCondensed", b"DejaVuSansCondensed-Bold"}


def test_words_of_the_day_are_never_read_as_markup() -> None:
    title = '#panic("no") *bold* $x$ \\ "quoted" <a> @b'
    day = replace(SAMPLE.day, title=title, record=replace(SAMPLE.day.record, note="= no heading\n- #sys.inputs"))
    said = words(record(replace(SAMPLE, day=day)))
    assert title in said
    assert "= no heading - #sys.inputs" in said


def test_a_big_day_flows_on() -> None:
    plain = quarry_day()
    states = {
        f"{name}-{turn}": replace(state, id=f"{name}-{turn}") for turn in "abc" for name, state in plain.states.items()
    }
    drafts = tuple(
        replace(draft, number=8 * turn + draft.number, state=f"{draft.state}-{'abc'[turn]}")
        for turn in range(3)
        for draft in plain.drafts
    )
    book = Book(replace(plain, states=states, drafts=drafts))
    for turn in "abc":
        book.state(f"solo-{turn}", SOLO)
        for name, loads in (("hitched", HITCHED), ("hitched_wd", SPREAD), ("full", FULL)):
            book.state(f"{name}-{turn}", loads, [1200])
    book.transfers()
    found = pages(record(book.done(AGREE)))
    assert len(found) > 2
    assert [f"page {number} of {len(found)}" in page for number, page in enumerate(found, 1)] == [True] * len(found)
    said = " ".join(found)
    for name in states:
        assert name.replace("_", " ") in said


@pytest.mark.parametrize("name", geometries())
def test_any_rig_has_a_ticket(name: str) -> None:
    said = words(record(geometries()[name]))
    assert "The rig from above: here, measured" in said


def test_the_fullest_measured_state_is_drawn_unless_another_is_asked_for() -> None:
    assert "The rig from above: hitched wd, measured" in words(made("letter"))
    assert "The rig from above: full, predicted" in words(record(SAMPLE, state="full"))


def test_units_of_the_day_are_used() -> None:
    metric = replace(SAMPLE, day=replace(SAMPLE.day, units=UnitSystem("kg", "mm")))
    said = words(record(metric))
    assert "Readings as they were taken, in kg" in said
    assert "gross 4,629 4,613" in said  # 10,206 lb
    assert "height, mm" in said


def test_unknown_paper_and_state_are_refused() -> None:
    with pytest.raises(ValueError, match="a ticket is printed on letter or a4, not on 'a5'"):
        record(SAMPLE, paper="a5")
    with pytest.raises(KeyError, match="hitcht"):
        record(SAMPLE, state="hitcht")


def test_digest_stands_on_it_in_groups() -> None:
    digest = digest_of(SAMPLE.day)
    assert " ".join(digest[at : at + 8] for at in range(0, 64, 8)) in words(made("letter"))


def test_digest_can_be_made_by_hand() -> None:
    """A stranger's way: the canonical JSON typed out, one reading of 2960 lb = 1342.633415 kg."""
    day = quarry_day()
    first = day.drafts[0]
    one = replace(day, drafts=(replace(first, readings=first.readings[:1]),), corrections=day.corrections[1:])
    typed = (
        '{"corrections":[{"at":"2026-05-14T09:12:00+00:00","draft":8,"mass":null,"place":"tow/2R",'
        '"reason":"the inner tyre stood half off the pad"}],"drafts":[{"at":"2026-05-14T09:12:00+00:00","number":1,'
        '"readings":[{"instrument":"p1","mass":1342.633415,"place":"tow/1L"}],"state":"solo"}]}'
    )
    assert digest_of(one) == hashlib.sha256(typed.encode()).hexdigest()


def test_digest_is_of_the_readings_alone() -> None:
    day = quarry_day()
    assert digest_of(replace(day, title="other", units=UnitSystem("kg", "mm"))) == digest_of(day)
    one = day.drafts[2]
    slip = replace(one.readings[0], value=one.readings[0].value + 1e-3)
    changed = replace(one, readings=(slip, *one.readings[1:]))
    assert digest_of(replace(day, drafts=(*day.drafts[:2], changed, *day.drafts[3:]))) != digest_of(day)


def test_content_is_plain_data() -> None:
    content = ticket_content(SAMPLE, "solo")
    assert content["date"] == [2026, 5, 14]
    assert _plain(content)


def _plain(value: object) -> bool:
    if isinstance(value, dict):
        return all(isinstance(key, str) and _plain(item) for key, item in value.items())
    if isinstance(value, Sequence) and not isinstance(value, str):
        return all(map(_plain, value))
    return value is None or isinstance(value, str | int | float)


def test_a_state_without_vehicles_readings_or_names_is_no_trouble() -> None:
    day = WeighDay(states={"x": State("x", ())})
    assert "Weigh day" in words(record(replace(NOTHING, day=day)))
