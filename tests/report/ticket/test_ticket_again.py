"""A sealed ticket is made again from its day file; an edited page is found, and the lines that differ are listed."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from typing import Any

import pikepdf
import pytest
from PIL import Image

from steelyard.dayfile import parse_day, parse_rule_set, with_own_sets
from steelyard.findings import weigh
from steelyard.report.print.again import (
    MOST_LINES,
    LineDifference,
    NotMadeAgainError,
    PageCompared,
    compared,
    made_again,
)
from steelyard.report.print.making import Making, MakingError, OwnRules, read_making
from steelyard.report.print.pages import UnreadablePageError, printed_words
from steelyard.report.print.photos import TicketPhoto
from steelyard.report.print.sealed import SealToPrint
from steelyard.report.print.ticket import ticket_pdf
from tests.report.ticket.sealed_sample import EXAMPLES, sealed_ticket, to_print, weighed

NAME = "stage-van"


def seal() -> SealToPrint:
    return to_print(*weighed(NAME), name=f"{NAME}.toml")


def making_of(pdf: bytes) -> Making:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return read_making(opened.attachments["making.json"].get_file().read_bytes())


@lru_cache(maxsize=1)
def again() -> bytes:
    return made_again(seal().seal.data, weighed(NAME)[0], making_of(shown()))


def shown() -> bytes:
    return sealed_ticket(NAME, "a4")


def edited(change: Callable[[pikepdf.Pdf], None]) -> PageCompared:
    """What is found after a change to the file."""
    pdf = pikepdf.open(io.BytesIO(shown()))
    change(pdf)
    out = io.BytesIO()
    pdf.save(out)
    return compared(out.getvalue(), again(), making_of(shown()))


def test_the_same_page_is_made_again_to_the_byte() -> None:
    assert again() == shown()
    assert compared(shown(), again(), making_of(shown())) == PageCompared(same_file=True)


def test_with_every_choice_but_photographs_the_page_is_made_again_to_the_byte() -> None:
    own = (EXAMPLES / "club-rules.toml").read_text()
    data, _ = weighed(NAME)
    findings = weigh(
        with_own_sets(parse_day(data, NAME), [replace(parse_rule_set(own, "club-rules.toml"), own=True)], NAME)
    )
    printed = to_print(data, findings, name="a day.toml")
    printed = SealToPrint(
        printed.seal, printed.findings_json, data, printed.day_name, (OwnRules("club-rules.toml", own),)
    )
    made = ticket_pdf(
        findings, state="alone", pictures=False, sign=["weighed by"], notes=["one was too large"], seal=printed
    )
    making = making_of(made)
    assert (making.paper, making.state, making.day_name) == ("letter", "alone", "a day.toml")
    assert made_again(printed.seal.data, data, making) == made
    (note,) = compared(made, made, making).notes
    assert "These words on the ticket are not sealed" in note
    assert "lines to sign on: weighed by" in note
    assert "on pictures left out: one was too large" in note


def test_a_page_with_photographs_is_compared_but_for_the_photographs() -> None:
    out = io.BytesIO()
    Image.new("RGB", (40, 30), (200, 30, 30)).save(out, "PNG")
    data, findings = weighed(NAME)
    photo = TicketPhoto(out.getvalue(), "the van at the gate")
    made = ticket_pdf(findings, pictures=False, photos=[photo], seal=seal())
    making = making_of(made)
    found = compared(made, made_again(seal().seal.data, data, making), making)
    assert not found.same_file
    assert (found.lines, found.redrawn) == ((), ())
    assert any("photographs on the ticket are not sealed and cannot be made again" in note for note in found.notes)
    assert any("captions: the van at the gate" in note for note in found.notes)


@pytest.mark.parametrize("painted", [b"q 1 1 1 rg 36 300 300 200 re f Q", b"q 500 0 0 300 36 300 cm/x0 Do Q"])
def test_a_page_with_photographs_that_was_painted_over_is_said(painted: bytes) -> None:
    data, findings = weighed(NAME)
    photos: list[TicketPhoto] = []
    for held, size in enumerate(((40, 30), (20, 60), (50, 30), (30, 40), (40, 50), (9, 90), (90, 9), (30, 30)), 1):
        out, exif = io.BytesIO(), Image.Exif()
        exif[0x0112] = held  # the way the camera was held, 1 to 8
        Image.new("RGB", size, (200, 30, 30)).save(out, "JPEG", exif=exif)
        photos.append(TicketPhoto(out.getvalue(), f"a picture {size}"))
    made = ticket_pdf(findings, pictures=False, photos=photos, seal=seal())
    making = making_of(made)
    again = made_again(seal().seal.data, data, making)
    assert compared(made, again, making).redrawn == ()
    with pikepdf.open(io.BytesIO(made)) as pdf:
        pictured = next(at for at, page in enumerate(pdf.pages) if "/x0" in page.Resources.get("/XObject", {}))
        pdf.pages[pictured].contents_add(painted)
        changed = io.BytesIO()
        pdf.save(changed)
    assert compared(changed.getvalue(), again, making).redrawn == (pictured + 1,)


def test_a_file_that_was_only_saved_anew_has_the_same_page() -> None:
    assert edited(lambda _: None) == PageCompared(same_file=False)


def turned(operands: Any) -> Any:
    """The letters of a text of seven letters in the other direction, two bytes a letter; other texts as they are."""
    parts = operands[0] if isinstance(operands[0], pikepdf.Array) else operands
    letters = bytes(parts[0]) if len(parts) == 1 and isinstance(parts[0], pikepdf.String) else b""
    if len(letters) != 14:
        return operands
    text = pikepdf.String(b"".join(letters[at : at + 2] for at in range(12, -1, -2)))
    return [text if parts is operands else pikepdf.Array([text])]


def test_figures_that_were_changed_on_the_page_are_listed() -> None:
    def turn(pdf: pikepdf.Pdf) -> None:
        page = pdf.pages[0]
        written = [
            (turned(operands) if str(operator) in {"Tj", "TJ"} else operands, operator)
            for operands, operator in pikepdf.parse_content_stream(page)
        ]
        page.Contents = pdf.make_stream(pikepdf.unparse_content_stream(written))  # type: ignore[arg-type]

    found = edited(turn)
    here = "in lb alone measured dehctih measured"
    assert LineDifference(1, here, here.replace("dehctih", "hitched")) in found.lines
    assert {item.page for item in found.lines} == {1}
    assert (found.more, found.redrawn) == (0, ())


def test_a_note_laid_over_the_page_is_listed() -> None:
    def lay(pdf: pikepdf.Pdf) -> None:
        note = pikepdf.Dictionary(
            Type=pikepdf.Name.Annot, Subtype=pikepdf.Name.FreeText, Rect=[0, 0, 90, 20], Contents="gross 7,000 lb"
        )
        pdf.pages[0].Annots = pdf.make_indirect(pikepdf.Array([pdf.make_indirect(note)]))

    (line,) = edited(lay).lines
    assert (line.page, line.here, line.again) == (1, "[a note laid over the page] gross 7,000 lb", "")


def test_a_drawing_that_was_painted_over_is_said_where_the_words_are_the_same() -> None:
    def paint(pdf: pikepdf.Pdf) -> None:
        pdf.pages[1].contents_add(b"q 1 1 1 rg 100 100 60 10 re f Q")

    found = edited(paint)
    assert (found.lines, found.redrawn) == ((), (2,))


def test_a_font_that_shows_other_letters_is_said() -> None:
    def bend(pdf: pikepdf.Pdf) -> None:
        font = next(iter(pdf.pages[0].Resources["/Font"].values()))
        widths = font.DescendantFonts[0].W
        widths.append(9)
        widths.append(pikepdf.Array([1]))

    assert 1 in edited(bend).redrawn


def test_a_page_more_or_less_is_listed() -> None:
    def less(pdf: pikepdf.Pdf) -> None:
        del pdf.pages[1]

    found = edited(less)
    assert found.lines[0].page == 2
    assert found.lines[0].here == ""
    assert len(found.lines) == MOST_LINES
    assert found.more > 0


def test_a_page_more_without_a_word_on_it_is_said() -> None:
    def more(pdf: pikepdf.Pdf) -> None:
        pdf.add_blank_page()
        pdf.pages[-1].Contents = pdf.make_stream(b"1 0 0 rg 72 300 300 200 re f")

    found = edited(more)
    assert (found.lines, found.redrawn) == ((), (len(printed_words(shown())) + 1,))


def appended(key: bytes) -> bytes:
    """The ticket with an appended revision, in which the first page names what is drawn a second time under ``key``."""
    whole = shown()
    with pikepdf.open(io.BytesIO(whole)) as pdf:
        page, drawn = pdf.pages[0].objgen[0], pdf.pages[0].Contents.objgen[0]
        root, size, content = pdf.Root.objgen[0], int(pdf.trailer.Size), pdf.pages[0].Contents.read_bytes()
    begin = whole.index(b"\n%d 0 obj" % page) + 1
    named = b"/Contents %d 0 R" % drawn
    body = whole[begin : whole.index(b"endobj", begin)].replace(named, named + b"%b %d 0 R" % (key, size))
    content += b"\nq 1 1 1 rg 72 300 300 200 re f Q\n"
    at = len(whole) + 1
    stream = b"%d 0 obj\n<</Length %d>>\nstream\n%b\nendstream\nendobj\n" % (size, len(content), content)
    table = at + len(body) + len(b"endobj\n") + len(stream)
    entries = b"xref\n%d 1\n%010d 00000 n \n%d 1\n%010d 00000 n \n" % (page, at, size, at + len(body) + 7)
    before = int(whole.rpartition(b"startxref")[2].split()[0])
    trailer = b"trailer\n<</Size %d/Root %d 0 R/Prev %d>>\nstartxref\n%d\n%%%%EOF\n" % (size + 1, root, before, table)
    return whole + b"\n" + body + b"endobj\n" + stream + entries + trailer


def test_an_object_of_another_generation_is_refused_for_some_programs_show_it() -> None:
    whole = shown()
    with pikepdf.open(io.BytesIO(whole)) as pdf:
        drawn, root, size = pdf.pages[0].Contents.objgen[0], pdf.Root.objgen[0], int(pdf.trailer.Size)
    stream = b"%d 1 obj\n<</Length 0>>\nstream\n\nendstream\nendobj\n" % drawn
    before = int(whole.rpartition(b"startxref")[2].split()[0])
    entries = b"xref\n%d 1\n%010d 00001 n \n" % (drawn, len(whole) + 1)
    trailer = b"trailer\n<</Size %d/Root %d 0 R/Prev %d>>\nstartxref\n" % (size, root, before)
    changed = whole + b"\n" + stream + entries + trailer + b"%d\n%%%%EOF\n" % (len(whole) + 1 + len(stream))
    with pytest.raises(UnreadablePageError, match="numbers an object again"):
        compared(changed, again(), making_of(shown()))


@pytest.mark.parametrize("key", [b"/Contents", b"/Cont#65nts"])
def test_a_drawing_that_is_named_twice_is_refused_for_programs_show_the_one_or_the_other(key: bytes) -> None:
    with pytest.raises(UnreadablePageError, match="is damaged and cannot be read as a PDF"):
        compared(appended(key), again(), making_of(shown()))


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("/OpenAction", pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS="app.alert(1)")),
        ("/AcroForm", pikepdf.Dictionary(Fields=[], XFA=pikepdf.String("<form/>"))),
        ("/Names", pikepdf.Dictionary(JavaScript=pikepdf.Dictionary(Names=[]))),
    ],
)
def test_a_file_that_shows_other_things_than_its_pages_is_refused(key: str, value: pikepdf.Object) -> None:
    def act(pdf: pikepdf.Pdf) -> None:
        pdf.Root[key] = value

    with pytest.raises(UnreadablePageError, match="shows other things than its pages when it is opened"):
        edited(act)


def test_a_drawing_that_is_packed_in_another_way_is_refused() -> None:
    pdf, out = pikepdf.open(io.BytesIO(shown())), io.BytesIO()
    data = pdf.pages[0].Contents.read_bytes().hex().encode() + b">"
    pdf.pages[0].Contents.write(data, filter=pikepdf.Name.ASCIIHexDecode)
    pdf.save(out, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    with pytest.raises(UnreadablePageError, match="packed in a way that no ticket is"):
        compared(out.getvalue(), again(), making_of(shown()))


@pytest.mark.parametrize(
    ("pdf", "message"),
    [
        (b"", "is damaged and cannot be read as a PDF"),
        (b"%PDF-1.7\nnothing", "is damaged and cannot be read as a PDF"),
    ],
)
def test_what_is_no_pdf_is_refused(pdf: bytes, message: str) -> None:
    with pytest.raises(UnreadablePageError, match=message):
        printed_words(pdf)


def test_an_encrypted_file_and_one_of_too_many_pages_are_refused() -> None:
    pdf = pikepdf.new()
    for _ in range(61):
        pdf.add_blank_page()
    out = io.BytesIO()
    pdf.save(out)
    with pytest.raises(UnreadablePageError, match="has 61 pages; a ticket has at most 60"):
        printed_words(out.getvalue())
    del pdf.pages[1:]
    locked = io.BytesIO()
    pdf.save(locked, encryption=pikepdf.Encryption(owner="a", user="b"))
    with pytest.raises(UnreadablePageError, match="is encrypted; save a copy without a password"):
        printed_words(locked.getvalue())


def test_a_day_file_that_was_not_sealed_makes_no_page() -> None:
    data = weighed(NAME)[0]
    with pytest.raises(NotMadeAgainError, match=r"stage-van\.toml: is not the file that was sealed"):
        made_again(seal().seal.data, data + b"\n", making_of(shown()))
    with pytest.raises(NotMadeAgainError, match=r"day\.toml"):
        made_again(seal().seal.data, b"nothing", making_of(shown()))
    with pytest.raises(NotMadeAgainError, match="its seal"):
        made_again(seal().seal.data[:-1], data, making_of(shown()))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"paper": "foolscap"}, "made in a way that this program does not know"),
        ({"captions": ["a"] * 25}, "made in a way that this program does not know"),
        ({"state": "nowhere"}, "the day has no state 'nowhere' to draw"),
        ({"rules": [{"name": "mine.toml", "text": "nothing"}]}, r"mine\.toml"),
    ],
)
def test_choices_that_do_not_go_with_the_day_make_no_page(change: dict[str, object], message: str) -> None:
    making = read_making(json.dumps({**json.loads(making_of(shown()).to_json()), **change}).encode())
    with pytest.raises(NotMadeAgainError, match=message):
        made_again(seal().seal.data, weighed(NAME)[0], making)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"no", "is no JSON"),
        (b"\xff", "is no JSON"),
        (b"[]", "is no JSON object"),
        (b'{"format": 2}', "is of format 2; this program reads 1"),
        (b'{"format": 1, "pictures": "yes"}', "has no true or false for 'pictures'"),
        (b'{"format": 1, "pictures": true, "paper": 4}', "has no text for 'paper'"),
        (
            b'{"format": 1, "pictures": true, "paper": "a4", "captions": "a"}',
            "has no list of at most 200 for 'captions'",
        ),
        (b"[" * 100_000, "is no JSON"),
        (b" " * 4_000_001, "has 4000001 bytes; at most 4000000 are read"),
    ],
)
def test_a_file_that_does_not_say_how_a_page_was_made_is_refused(data: bytes, message: str) -> None:
    with pytest.raises(MakingError, match=message):
        read_making(data)


def test_choices_are_written_and_read_back() -> None:
    making = Making(
        "a4", None, True, ("a",), ("b",), ("c",), ("d",), ("e",), (OwnRules("f", "\u8eca"),), "\udcff", "0.0.1"
    )
    assert read_making(making.to_json()) == making


def test_added_words_that_cannot_be_set_are_refused() -> None:
    making = replace(making_of(shown()), day_name="y" * 40_000)  # longer than any text of a PDF/A
    with pytest.raises(NotMadeAgainError, match="the words that were added to it cannot be set"):
        made_again(seal().seal.data, weighed(NAME)[0], making)
