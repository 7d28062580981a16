"""The record of a verification says all that was read and found, for anybody to read and to sign."""

from __future__ import annotations

import io
import re
from functools import lru_cache

import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, StreamObject

from steelyard.dayfile import read_verification
from steelyard.report.print.verification import verification_pdf
from steelyard.verification import STANDING, verify
from tests.house.source import ROOT
from tests.verification.checks import a_test, masses, pad, verified


@lru_cache(maxsize=4)
def words(pdf: bytes) -> str:
    """Everything on its pages, blanks of any kind as one space."""
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages))


@lru_cache(maxsize=1)
def bundled() -> bytes:
    return verification_pdf(verify(read_verification(ROOT / "examples" / "pads-2026.toml")))


def test_it_says_who_where_when_and_by_which_table() -> None:
    text = words(bundled())
    for part in ("by the harbour workshop", "2026-02-20", "due again 2027-02-20", "Handbook 44, maintenance", "A-0418"):
        assert part in text


def test_every_reading_stands_in_it_as_it_was_taken() -> None:
    text = words(bundled())
    assert "10,000 read 10,020, next after 16 more" in text
    assert "p4 7,160, 7,180, 7,160" in text
    assert "with 10: 3,020, 3,020, 3,000" in text
    assert "centre 5,000; front 5,020" in text


def test_verdicts_and_cautions_stand_in_it() -> None:
    text = words(bundled())
    assert "within 0 outside 0 undecided" in text
    for caution in STANDING:
        assert caution in text


def test_an_undecided_one_says_why() -> None:
    result = verified(pad("p1"), masses("[[0, 0], [5000, 5000], [10000, 10000]]", u="1 %"))
    assert "Undecided: the test is too coarse" in words(verification_pdf(result))


def test_compared_instruments_are_not_judged_and_it_says_why() -> None:
    result = verified(pad("p1"), pad("p2"), a_test("round", readings="{ p1 = [5000], p2 = [5040] }"))
    text = words(verification_pdf(result))
    assert "No verdict: nobody knows this load." in text
    assert "the span * is against the mean of the set" in text


def test_a_permuted_test_and_a_return_to_zero() -> None:
    drafts = '[{ "1L" = ["p1", 2000], "1R" = ["p2", 2020] }, { "1L" = ["p2", 2020], "1R" = ["p1", 2000] }]'
    zero = a_test("zero_return", instrument='"p1"', load='"5000 lb"', before="0", after="-20")
    text = words(verification_pdf(verified(pad("p1"), pad("p2"), a_test("permuted", drafts=drafts), zero)))
    assert "1L p1 2,000, 1R p2 2,020; 1L p2 2,020, 1R p1 2,000" in text
    assert "before 0, after 5,000: −20" in text


def test_it_is_tagged_archival_and_on_either_paper() -> None:
    result = verified(pad("p1"), masses("[[0, 0], [5000, 5000], [10000, 10000]]"))
    pdf = verification_pdf(result, paper="a4")
    reader = PdfReader(io.BytesIO(pdf))
    mark, metadata = reader.root_object["/MarkInfo"].get_object(), reader.root_object["/Metadata"].get_object()
    assert isinstance(mark, DictionaryObject)
    assert mark["/Marked"]
    assert isinstance(metadata, StreamObject)
    assert b"pdfaid" in metadata.get_data()
    assert pdf != verification_pdf(result)
    with pytest.raises(ValueError, match="a record is printed on letter or a4, not on 'a5'"):
        verification_pdf(result, paper="a5")
