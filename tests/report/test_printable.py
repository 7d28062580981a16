"""Characters that the shipped faces lack are replaced in print, and the ticket says so."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from steelyard.report.drawings.above.view import above_svg
from steelyard.report.drawings.sheet.picture import svg_to_png
from steelyard.report.drawings.sheet.type import printable
from steelyard.report.print.ticket import ticket_pdf
from tests.report.sample import sample
from tests.report.svg_reading import root_of, texts

SAMPLE = sample()
NOTE = "Some characters cannot be printed here; \N{REPLACEMENT CHARACTER} stands for each."


def said(pdf: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("weigh 12 lb\nnext", "weigh 12 lb\nnext"),
        ("caf\u00e9 \u00bd \u2212 \u2264", "caf\u00e9 \u00bd \u2212 \u2264"),
        ("cafe\u0301", "caf\u00e9"),
        ("\u91cd\u91cf", "\ufffd\ufffd"),
        ("\u092d\u093e\u0930", "\ufffd\ufffd\ufffd"),
        ("\U0001f69a\ufe0f\u200d\U0001f69a", "\ufffd\ufffd"),
        ("a\tb\u2028c", "a b c"),
        ("bell\x07 \x7f\x00", "bell\ufffd \ufffd\ufffd"),
        ("\ufeff\u202e\ue000\u0378", "\ufffd" * 4),
    ],
)
def test_a_character_is_printed_or_replaced(text: str, shown: str) -> None:
    assert printable(text) == shown


def test_ticket_and_drawing_carry_the_replacement() -> None:
    tow = replace(SAMPLE.day.vehicles["tow"], name="\u9762\u5305\u8f66 \U0001f69a bakery")
    day = replace(
        SAMPLE.day, title="\u91cd\u91cf \u092d\u093e\u0930 \x07", vehicles={**SAMPLE.day.vehicles, "tow": tow}
    )
    findings = replace(SAMPLE, day=day)
    words = said(ticket_pdf(findings))
    assert "\ufffd\ufffd \ufffd\ufffd\ufffd \ufffd" in words
    assert "\ufffd\ufffd\ufffd \ufffd bakery" in words
    assert NOTE in words
    svg = above_svg(findings, "solo")
    drawn = [box.name for box in texts(root_of(svg))]
    assert "\ufffd\ufffd \ufffd\ufffd\ufffd \ufffd" in drawn
    assert "\ufffd\ufffd\ufffd \ufffd bakery" in drawn
    assert svg_to_png(svg, 300).startswith(b"\x89PNG")


def test_a_day_in_covered_characters_has_no_such_note() -> None:
    assert "cannot be printed" not in said(ticket_pdf(SAMPLE))


def test_every_character_that_is_kept_can_be_typeset() -> None:
    kept = [chr(code) for code in range(0x20, 0x10000) if printable(chr(code)) == chr(code)]
    assert len(kept) > 4000
    lines = (" ".join(kept[at : at + 60]) for at in range(0, len(kept), 60))
    record = replace(SAMPLE.day.record, note="\n".join(lines))
    assert ticket_pdf(replace(SAMPLE, day=replace(SAMPLE.day, record=record))).startswith(b"%PDF")
