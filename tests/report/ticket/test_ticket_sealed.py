"""A sealed ticket is PDF/A-3a and PDF/UA-1, carries its files whole, and says in words what its seal is worth.

Two readers that the program does not use read it back. ``page-validation`` holds it to its rules for PDF/A-3a (156) and
PDF/UA-1 (104); the rules of ISO 19005-3 and ISO 14289-1 that matter most here are checked by hand beside that, from
memory of the standards.
"""

from __future__ import annotations

import hashlib
import io
import json
import re
from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache
from typing import Any

import page as validator
import pikepdf
import pytest
import rfc8785
from pypdf import PdfReader

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.report.print.making import read_making
from steelyard.report.print.sealed import SealMismatchError, seal_content
from steelyard.report.print.ticket import ticket_pdf
from steelyard.seals.figures import each_figure
from tests.report.ticket.sealed_sample import sealed_ticket, to_print, weighed

VAN, PUPPETS, UNDATED = "stage-van", "puppet-van", "hives"


@lru_cache(maxsize=4)
def opened(name: str, paper: str = "a4") -> pikepdf.Pdf:
    return pikepdf.open(io.BytesIO(sealed_ticket(name, paper)))


def attached(pdf: pikepdf.Pdf) -> dict[str, Any]:
    return dict(pdf.attachments.items())


def held(pdf: pikepdf.Pdf, name: str) -> bytes:
    return attached(pdf)[name].get_file().read_bytes()


def words(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in PdfReader(io.BytesIO(pdf)).pages)


TICKETS = pytest.mark.parametrize(("name", "paper"), [(VAN, "a4"), (UNDATED, "a4"), (PUPPETS, "letter")])
LENGTH = "PDFA3A-STREAM-LENGTH-001"
"""The validator takes packed data that ends in a carriage return for shorter by one: see the test of the lengths."""


@TICKETS
@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_another_program_finds_it_archival_and_accessible(name: str, paper: str, profile: str) -> None:
    report = validator.validate_pdf_bytes(sealed_ticket(name, paper), profile=validator.ValidationProfile(profile))
    assert [(item.rule_id, item.message) for item in report.failures if item.rule_id != LENGTH] == []
    assert report.rules.total >= {"3a": 150, "ua1": 100}[profile]


@TICKETS
def test_every_stream_has_the_length_that_it_states(name: str, paper: str) -> None:
    """ISO 32000-1, 7.3.8.1: so many bytes follow the line of ``stream``, then a line end and ``endstream``."""
    data = sealed_ticket(name, paper)
    heads = list(re.finditer(rb"/Length (\d+)[^>]*>>\s*stream\n", data))
    assert len(heads) > 8
    for head in heads:
        assert data[head.end() + int(head[1]) :].startswith(b"\nendstream")


def test_the_validator_can_find_something() -> None:
    plain = ticket_pdf(weighed(VAN)[1], pictures=False)
    report = validator.validate_pdf_bytes(plain, profile=validator.ValidationProfile("3a"))
    assert "PDFA3A-ID-PART-001" in {item.rule_id for item in report.failures}


def test_the_syntax_of_the_file_is_sound() -> None:
    assert opened(VAN).check_pdf_syntax() == []
    assert not opened(VAN).is_encrypted


def test_the_attached_files_are_those_that_were_sealed() -> None:
    data, findings = weighed(VAN)
    printed = to_print(data, findings)
    pdf = opened(VAN)
    assert set(attached(pdf)) == {"findings.json", "day.toml", "seal.cose", "making.json"}
    assert held(pdf, "day.toml") == data
    assert held(pdf, "seal.cose") == printed.seal.data
    findings_file = json.loads(held(pdf, "findings.json"))
    assert hashlib.sha256(rfc8785.dumps(findings_file)).digest() == printed.seal.record.findings
    making = read_making(held(pdf, "making.json"))
    assert (making.paper, making.pictures, making.day_name) == ("a4", False, "stage-van.toml")


def test_every_attached_file_says_what_it_is_to_the_document() -> None:
    pdf = opened(VAN)
    kinds = {
        "findings.json": ("/Data", "/application/json"),
        "day.toml": ("/Source", "/application/toml"),
        "seal.cose": ("/Supplement", "/application/cose"),
        "making.json": ("/Supplement", "/application/json"),
    }
    beside = {str(item.UF): item for item in pdf.Root.AF}
    assert set(beside) == set(kinds)
    for name, (relationship, mime) in kinds.items():
        item = beside[name]
        assert item.AFRelationship == relationship
        assert item.EF.F.Subtype == mime
        assert str(item.Desc)
        assert "ModDate" in str(item.EF.F.Params.keys())
        assert item.F == item.UF == name


def test_the_document_says_what_it_is_and_in_which_language() -> None:
    pdf = opened(VAN)
    packet = pdf.Root.Metadata.read_bytes().decode()
    assert re.search(r"pdfaid:part[>=\"]+3\b", packet)
    assert re.search(r"pdfaid:conformance[>=\"]+A\b", packet)
    assert re.search(r"pdfuaid:part[>=\"]+1\b", packet)
    assert "weigh ticket" in packet
    assert pdf.Root.MarkInfo.Marked is True
    assert str(pdf.Root.Lang).startswith("en")
    assert pdf.Root.ViewerPreferences.DisplayDocTitle is True
    assert [str(item.S) for item in pdf.Root.OutputIntents] == ["/GTS_PDFA1"]
    assert "/JavaScript" not in pdf.Root.Names
    assert "/OpenAction" not in pdf.Root
    assert "/AA" not in pdf.Root


def structure(item: Any) -> Iterator[Any]:
    if isinstance(item, pikepdf.Dictionary):
        yield item
        kids = item.get("/K")
        for kid in kids if isinstance(kids, pikepdf.Array) else [] if kids is None else [kids]:
            yield from structure(kid)


def test_every_figure_has_words_and_the_code_says_how_it_is_read() -> None:
    figures = [item for item in structure(opened(VAN).Root.StructTreeRoot) if item.get("/S") == "/Figure"]
    texts = [str(item.get("/Alt", "")) for item in figures]
    assert len(figures) >= 2
    assert all(texts)
    (code,) = {text for text in texts if text.startswith("QR code")}
    assert "carries the seal" in code
    assert "seal.cose" in code


def test_every_font_is_in_the_file_and_its_letters_can_be_read() -> None:
    fonts = {
        str(font.BaseFont): font
        for page in opened(VAN).pages
        for font in (page.Resources.get("/Font") or {}).values()  # type: ignore[union-attr]
    }
    assert fonts
    for font in fonts.values():
        assert "/ToUnicode" in font
        assert (
            "/FontFile2" in font.DescendantFonts[0].FontDescriptor
            or "/FontFile3" in font.DescendantFonts[0].FontDescriptor
        )


def test_the_same_day_and_seal_give_the_same_bytes() -> None:
    data, findings = weighed(VAN)
    again = ticket_pdf(findings, paper="a4", pictures=False, seal=to_print(data, findings, name="stage-van.toml"))
    assert again == sealed_ticket(VAN, "a4")
    other = to_print(data, findings, number=18, name="stage-van.toml")
    assert ticket_pdf(findings, paper="a4", pictures=False, seal=other) != again


def test_a_day_without_a_date_has_that_of_its_sealing() -> None:
    date = str(opened(UNDATED).docinfo["/CreationDate"])
    assert date.startswith("D:20261130")
    assert weighed(UNDATED)[1].day.record.date is None


def test_the_page_says_whose_seal_it_is_and_what_it_is_worth() -> None:
    said = words(sealed_ticket(VAN, "letter"))
    # SHA-256 of the public key, first 16 bytes; worked out with sha256sum
    assert "fingerprint of the key 21fe31df a154a261 626bf854 046fd227" in said
    assert "running number 17, next after seal 16 with the digest 00010203" in said
    assert "sealed 2026-11-30 12:00:00 UTC, by the weigher's clock" in said
    assert "20 measured figures: gross masses, couplings, axles and wheels" in said
    assert "no room" not in said
    assert "It does not say who holds the key" in said
    assert "It does not say that the pads read right" in said
    assert "It does not prove the time" in said
    assert "It does not say that this ticket belongs to the rig before you" in said
    assert "licensed scale" in said
    assert "steelyard authenticate" in said


def test_what_the_code_has_no_room_for_is_named() -> None:
    said = words(sealed_ticket(PUPPETS, "letter"))
    assert "10 measured figures: gross masses, couplings and axles, there was no room for wheels, editions of" in said
    assert "rule sets and 2 of 3 limits that are not kept" in said


def test_texts_are_left_out_of_the_code_before_the_axles() -> None:
    record = to_print(*weighed(PUPPETS)).seal.record
    assert record.left_out == 1
    assert [name for name, _ in record.rules] == ["eu-licence", "de-stvzo"]
    assert {name for name, _ in each_figure(record.figures)} >= {"solo/van/axle/1", "hitched/stage/axle/1"}


def test_the_first_seal_of_a_key_says_so() -> None:
    data, findings = weighed(VAN)
    facts = seal_content(to_print(data, findings, number=1))[0]["facts"]
    assert {"name": "running number", "value": "1", "note": "the first seal of this key"} in facts  # type: ignore[operator]


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_usual_record_keeps_its_two_pages(paper: str) -> None:
    assert len(opened(VAN, paper).pages) == 2


def test_a_seal_of_another_file_or_of_other_readings_is_not_printed() -> None:
    data, findings = weighed(VAN)
    printed = to_print(data, findings)
    with pytest.raises(SealMismatchError, match=r"a\.toml: is not the file that was sealed"):
        replace(printed, day_file=data + b"\n")
    with pytest.raises(SealMismatchError, match="other readings"):
        ticket_pdf(weighed(UNDATED)[1], pictures=False, seal=printed)


def test_letters_that_the_page_cannot_print_stay_whole_in_the_attached_files() -> None:
    data = weighed(VAN)[0].replace(b'title = "', '\ufefftitle = "\u8eca '.encode().removeprefix("\ufeff".encode()))
    findings = weigh(parse_day(data, "a.toml"))
    made = pikepdf.open(io.BytesIO(ticket_pdf(findings, pictures=False, seal=to_print(data, findings))))
    assert held(made, "day.toml") == data
    assert "\u8eca" in json.loads(held(made, "findings.json"))["title"]
