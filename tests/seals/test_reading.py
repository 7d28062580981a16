"""Reading what a stranger gives: PDFs, pictures and texts, sound ones and hostile ones."""

from __future__ import annotations

import io
import json
import zlib
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steelyard.seals.authenticate.answer import SealJudgement
from steelyard.seals.authenticate.pieces import (
    Carrier,
    FoundSeal,
    GivenDay,
    GivenFindings,
    GivenTicket,
    NoSeal,
    UnreadableError,
)
from steelyard.seals.authenticate.reading import beside, read_bytes, read_file, read_text
from tests.cli.days import NURSERY
from tests.seals.a_seal import content, judged, sealed_day


@cache
def ticket(*files: tuple[str, bytes]) -> bytes:
    """A PDF of one empty page with some files attached."""
    import pypdf

    writer = pypdf.PdfWriter()
    writer.add_blank_page(200, 200)
    for name, data in files:
        writer.add_attachment(name, data)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def attached() -> tuple[tuple[str, bytes], ...]:
    found = content(NURSERY)
    data = json.dumps(found.findings).encode()
    return ("findings.json", data), ("day.toml", found.day_file), ("seal.cose", sealed_day(NURSERY).data)


def page(text: str, *, side: int = 3, others: tuple[str, ...] = ()) -> Any:
    """A sheet with codes on it, so many points a module."""
    import segno
    from PIL import Image

    sheet = Image.new("L", (900, 500 + 500 * len(others)), 255)
    for number, one in enumerate((text, *others)):
        out = io.BytesIO()
        segno.make(one, error="m", boost_error=False).save(out, kind="png", scale=side, border=4)
        sheet.paste(Image.open(out).convert("L"), (60, 30 + 500 * number))
    return sheet


def saved(picture: Any, kind: str, **options: Any) -> bytes:
    out = io.BytesIO()
    picture.save(out, kind, **options)
    return out.getvalue()


def refused(data: bytes, file: str = "x") -> str:
    with pytest.raises(UnreadableError) as error:
        read_bytes(data, file)
    return error.value.message


def test_the_attachments_of_a_ticket_are_told_by_their_content() -> None:
    files = [("a", attached()[0][1]), ("b", attached()[1][1]), ("c", attached()[2][1]), ("photo.bin", b"\x00\x01")]
    kinds = [type(piece) for piece in read_bytes(ticket(*files), "ticket.pdf")]
    assert kinds == [GivenTicket, GivenFindings, GivenDay, FoundSeal]
    answer = judged(*read_bytes(ticket(*attached()), "ticket.pdf"))
    assert answer.judgement is SealJudgement.GENUINE
    assert answer.seals[0].files[0] == "ticket.pdf"


def test_a_ticket_whose_attachment_was_changed_is_different() -> None:
    (name, data), *others = attached()
    answer = judged(*read_bytes(ticket((name, data.replace(b"seedling", b"sapling", 1)), *others), "ticket.pdf"))
    assert answer.judgement is SealJudgement.DIFFERENT


def test_a_pdf_without_a_seal_carries_none() -> None:
    pieces = read_bytes(ticket(), "ticket.pdf")
    assert isinstance(pieces[-1], NoSeal)
    answer = judged(*pieces)
    assert answer.judgement is SealJudgement.NO_SEAL
    assert answer.seals[0].reason == "carries no seal: no seal is attached to this PDF"


def raw_pdf(*objects: bytes, trailer: bytes = b"/Root 1 0 R") -> bytes:
    """A PDF of some objects, numbered from 1."""
    out, places = bytearray(b"%PDF-1.7\n"), list[int]()
    for number, item in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n" % number + item + b"\nendobj\n"
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer\n<< /Size %d %s >>\nstartxref\n%d\n%%%%EOF\n" % (len(objects) + 1, trailer, start)
    return bytes(out)


def stream(data: bytes, more: bytes = b"") -> bytes:
    return b"<< /Type /EmbeddedFile /Length %d %s >>\nstream\n" % (len(data), more) + data + b"\nendstream"


CATALOGUE = b"<< /Type /Catalog /Names << /EmbeddedFiles 2 0 R >> >>"
ONE_FILE = b"<< /Names [(a) << /Type /Filespec /F (seal.cose) /EF << /F 3 0 R >> >>] >>"
LOOPS = {
    "kids that are their own kids": raw_pdf(CATALOGUE, b"<< /Kids [2 0 R 2 0 R] >>"),
    "kids of one another": raw_pdf(CATALOGUE, b"<< /Kids [3 0 R] >>", b"<< /Kids [2 0 R 3 0 R] >>"),
    "a reference to itself": raw_pdf(CATALOGUE, b"2 0 R"),
    "no catalogue": raw_pdf(b"<< /Type /Other >>", trailer=b"/Root 9 0 R"),
    "tables in circles": raw_pdf(CATALOGUE, ONE_FILE, trailer=b"/Root 1 0 R /Prev 9"),
    "nested lists": raw_pdf(b"<< /Type /Catalog /Names " + b"[" * 5000 + b"]" * 5000 + b" >>"),
    "a length in circles": raw_pdf(CATALOGUE, ONE_FILE, b"<< /Length 3 0 R >>\nstream\nabc\nendstream"),
    "only the head": b"%PDF-1.7\n",
    "garbage": b"%PDF-1.7\n" + bytes(range(256)) * 400,
    "xref stream in circles": (
        b"%PDF-1.7\n1 0 obj\n<< /Type /XRef /Size 2 /W [1 1 1] /Prev 9 /Length 3 >>\nstream\n\x01\x09\x00"
        b"\nendstream\nendobj\nstartxref\n9\n%%EOF\n"
    ),
}


@pytest.mark.parametrize("name", LOOPS)
def test_a_pdf_that_leads_in_circles_or_nowhere_ends_in_one_answer(name: str) -> None:
    said = ""
    try:
        pieces = read_bytes(LOOPS[name], "x.pdf")
    except UnreadableError as error:
        said = error.message
    else:
        answer = judged(*pieces)
        assert answer.judgement in {SealJudgement.NO_SEAL, SealJudgement.BROKEN}
        said = answer.seals[0].reason
    assert 10 < len(said) < 120


def test_the_work_on_a_pdf_is_bounded(monkeypatch: pytest.MonkeyPatch) -> None:
    """The bound is one on calls, so that it holds wherever the library may go in circles."""
    monkeypatch.setattr("steelyard.seals.authenticate.pdf._MOST_CALLS", 500)
    assert refused(ticket(*attached())).startswith("takes more work to read than any ticket does")
    monkeypatch.undo()

    def forever(*_: Any, **__: Any) -> Any:
        while True:
            len("")

    monkeypatch.setattr("pypdf.PdfReader", forever)
    assert refused(ticket(*attached())).startswith("takes more work to read")


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (
            raw_pdf(CATALOGUE, ONE_FILE, stream(zlib.compress(bytes(9_000_000)), b"/Filter /FlateDecode")),
            "unpacks to more than 8000000 bytes",
        ),
        (
            raw_pdf(
                CATALOGUE,
                ONE_FILE,
                stream(zlib.compress(zlib.compress(bytes(100))), b"/Filter [/FlateDecode /LZWDecode]"),
            ),
            "packed in a way that no ticket is",
        ),
        (raw_pdf(CATALOGUE, ONE_FILE, stream(b"\x00\x01", b"/Filter /FlateDecode")), "does not unpack"),
        (raw_pdf(CATALOGUE, ONE_FILE, stream(zlib.compress(b"x" * 99)[:-6], b"/Filter /FlateDecode")), "cut short"),
        (
            raw_pdf(
                CATALOGUE,
                ONE_FILE,
                trailer=b"/Root 1 0 R /Encrypt << /Filter /Standard /V 1 /R 2 /O (x) /U (x) /P -4 >>",
            ),
            "",
        ),
        (
            raw_pdf(CATALOGUE, b"<< /Names [" + b"(a) << /F (a) /EF << /F 3 0 R >> >> " * 3000 + b"] >>", stream(b"x")),
            "too many branches",
        ),
    ],
    ids=["bomb", "other packing", "no packing", "cut", "encrypted", "many"],
)
def test_a_pdf_that_means_harm_is_one_message(data: bytes, message: str) -> None:
    said = refused(data, "x.pdf")
    assert message in said
    assert len(said) < 150


def test_many_attachments_are_refused() -> None:
    files = [(f"{number}.bin", bytes([0, number])) for number in range(70)]
    assert refused(ticket(*files)) == "has more than 64 attachments"


def test_an_attached_json_with_a_key_twice_is_refused() -> None:
    (name, data), *others = attached()
    assert "stands there twice" in refused(
        ticket((name, data.replace(b'{"format": 1', b'{"format": 1, "format": 1', 1)), *others)
    )


def test_a_photographed_sheet_is_read() -> None:
    """At 200 dots an inch half a millimetre is four points; the sheet is turned by 7 degrees, blurred, and a JPEG."""
    from PIL import ImageFilter

    picture = page(sealed_day(NURSERY).text, side=4).rotate(7, expand=True, fillcolor=200)
    picture = picture.filter(ImageFilter.GaussianBlur(0.8))
    pieces = read_bytes(saved(picture, "JPEG", quality=70), "photo.jpg")
    assert [(piece.data, piece.carrier) for piece in pieces if isinstance(piece, FoundSeal)] == [
        (sealed_day(NURSERY).data, Carrier.CODE)
    ]
    assert judged(*pieces).judgement is SealJudgement.GENUINE


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_pictures_of_other_kinds_and_two_codes_on_one_sheet(kind: str) -> None:
    picture = page(sealed_day(NURSERY).text, others=("HTTPS://WEIGHER.EXAMPLE/",))
    pieces = read_bytes(saved(picture, kind), "scan")
    assert len(pieces) == 1
    assert judged(*pieces).judgement is SealJudgement.GENUINE


def test_a_picture_without_a_code_and_one_with_another_code_carry_no_seal() -> None:
    from PIL import Image

    empty = read_bytes(saved(Image.new("L", (300, 300), 255), "PNG"), "photo.png")
    assert "no code is found in the picture" in judged(*empty).seals[0].reason
    other = read_bytes(saved(page("HTTPS://WEIGHER.EXAMPLE/"), "PNG"), "photo.png")
    assert judged(*other).judgement is SealJudgement.NO_SEAL


def png_of(width: int, height: int) -> bytes:
    """A PNG that claims a size and has nothing behind it."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4) + name + data + zlib.crc32(name + data).to_bytes(4)

    head = width.to_bytes(4) + height.to_bytes(4) + b"\x08\x00\x00\x00\x00"
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(bytes(100))) + chunk(b"IEND", b"")


def test_a_picture_that_claims_to_be_huge_or_is_cut_is_one_message() -> None:
    assert refused(png_of(60_000, 60_000)).startswith(("is a picture of 60000 by 60000 points", "is damaged"))
    assert refused(png_of(9_000, 9_000)).startswith("is a picture of 9000 by 9000 points; at most 80,000,000 are read")
    whole = saved(page(sealed_day(NURSERY).text), "JPEG")
    assert "cannot be read as a picture" in refused(whole[: len(whole) // 2])
    assert "cannot be read as a picture" in refused(b"\x89PNG\r\n\x1a\n" + bytes(50))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "is empty; give a sealed ticket"),
        (b" \n", "is empty"),
        (b"\x00\x01\x02\xff", "is none of what can be checked"),
        (b"{", "is no JSON that can be checked: "),
        (b'{"a": 1}', "is JSON without findings"),
        (b'{"findings": [NaN]}', "NaN is no number"),
        (b'{"findings": ' + b"[" * 100_000 + b"]" * 100_000 + b"}", "it is nested too deeply"),
        (b'{"findings": [' + b"1" * 5000 + b"]}", "is no JSON that can be checked"),
        (b'format = 1\ntitle = "' + b"x" * 8_000_000 + b'"\n', "is larger than 8 MB"),
        (b"x" * 32_000_001, "is larger than 32 MB"),
    ],
    ids=["empty", "blank", "binary", "cut", "other", "nan", "deep", "digits", "large day", "large"],
)
def test_what_cannot_be_read_is_one_message(data: bytes, message: str) -> None:
    said = refused(data)
    assert said.startswith(message) or message in said
    assert len(said) < 250


def test_a_damaged_seal_is_broken_under_its_name_and_nothing_under_another() -> None:
    data = b"\xff" + sealed_day(NURSERY).data[1:]
    answer = judged(*read_bytes(data, "day.seal"))
    assert answer.judgement is SealJudgement.BROKEN
    assert refused(data, "day.bin").startswith("is none of what can be checked")
    big = judged(*read_bytes(b"\xd2" + bytes(20_000), "day.seal"))
    assert big.judgement is SealJudgement.NO_SEAL


@pytest.mark.parametrize(
    "text",
    ["no seal at all", "VAN 1:", "VAN 1:::::", "VAN 1:00000", "VAN 1:" + "A" * 3000, "https://weigher.example/?a=b"],
)
def test_a_text_without_a_seal_says_so(text: str) -> None:
    for pieces in (read_text(text, "--text"), read_bytes(text.encode(), "-")):
        answer = judged(*pieces)
        assert answer.judgement in {SealJudgement.NO_SEAL, SealJudgement.BROKEN}
        assert 10 < len(answer.seals[0].reason) < 160


def test_a_pasted_text_may_have_line_ends_and_blanks() -> None:
    text = sealed_day(NURSERY).text
    broken = "\n".join(text[at : at + 60] for at in range(0, len(text), 60)) + "\n"
    for pasted in (text + "  \n", broken, "\ufeff" + text):
        assert judged(*read_text(pasted, "--text")).judgement is SealJudgement.GENUINE


def test_a_seal_beside_findings_is_found(tmp_path: Path) -> None:
    (tmp_path / "day.json").write_text(json.dumps(content(NURSERY).findings))
    assert beside(str(tmp_path / "day.json")) is None
    (tmp_path / "day.seal").write_bytes(sealed_day(NURSERY).data)
    assert beside(str(tmp_path / "day.json")) == tmp_path / "day.seal"
    assert beside(str(tmp_path / "day.seal")) is None
    with pytest.raises(UnreadableError, match=r"no\.pdf: cannot be read: No such file"):
        read_file(str(tmp_path / "no.pdf"))
    with pytest.raises(UnreadableError, match="cannot be read"):
        read_file(str(tmp_path))


def test_lines_of_findings_each_need_a_seal() -> None:
    line = json.dumps(content(NURSERY).findings)
    pieces = read_bytes(f"{line}\n{line}\n".encode(), "days.json")
    assert [str(piece.origin) for piece in pieces] == ["days.json: line 1", "days.json: line 2"]
    other = json.dumps({**content(NURSERY).findings, "title": "x"})
    seal = read_bytes(sealed_day(NURSERY).data, "day.seal")
    mixed = judged(*seal, *read_bytes(f"{line}\n{other}\n".encode(), "days.json"))
    assert mixed.judgement is SealJudgement.DIFFERENT
