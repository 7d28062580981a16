"""A sealed ticket with a signature is as archival and accessible as without one, and nothing in it changed.

``page-validation`` holds both to PDF/A-3a and PDF/UA-1; ``pikepdf`` reads the attachments.
"""

from __future__ import annotations

import io
from functools import cache

import pytest

from steelyard.report.print.signature import signatory, signed_pdf
from tests.report.ticket.sealed_sample import sealed_ticket
from tests.seals.authority import NOON
from tests.seals.certificates import PHRASE, p12


@cache
def signed() -> bytes:
    """A sealed ticket, signed."""
    return signed_pdf(sealed_ticket("stage-van", "a4"), signatory(p12(), PHRASE, NOON))


def test_the_ticket_before_the_signature_is_the_same_to_the_byte() -> None:
    """So that its attachments, its tags and what it says of itself are too."""
    import pikepdf

    plain = sealed_ticket("stage-van", "a4")
    assert signed().startswith(plain)
    one, other = pikepdf.open(io.BytesIO(plain)), pikepdf.open(io.BytesIO(signed()))
    assert other.check_pdf_syntax() == []
    files = {name: spec.get_file().read_bytes() for name, spec in other.attachments.items()}
    assert files == {name: spec.get_file().read_bytes() for name, spec in one.attachments.items()}
    assert "seal.cose" in files
    assert other.Root.Metadata.read_bytes() == one.Root.Metadata.read_bytes()
    assert "/Version" not in other.Root
    assert other.docinfo.items() == one.docinfo.items()


def test_the_mark_of_the_signature_is_off_the_page_and_has_no_size() -> None:
    import pikepdf

    pdf = pikepdf.open(io.BytesIO(signed()))
    page = pdf.pages[0]
    (mark,) = page.Annots  # type: ignore[misc]
    left, bottom, right, top = (float(value) for value in mark.Rect)
    assert left == right < 0
    assert bottom == top < 0
    assert int(mark.F) & 0b100111 == 0b100  # printed; neither invisible, hidden nor without view
    assert "/AP" not in mark
    assert str(mark.TU)
    assert page.Tabs == "/S"


@pytest.mark.parametrize("profile", ["3a", "ua1"])
def test_it_is_as_archival_and_accessible_as_without_a_signature(profile: str) -> None:
    import page as validator

    def failures(pdf: bytes) -> set[str]:
        report = validator.validate_pdf_bytes(pdf, profile=validator.ValidationProfile(profile))
        return {item.rule_id for item in report.failures}

    assert failures(signed()) == failures(sealed_ticket("stage-van", "a4"))


def test_the_check_of_the_page_against_its_day_takes_the_mark_for_nothing() -> None:
    from steelyard.report.print.again import compared
    from steelyard.report.print.making import Making

    found = compared(signed(), sealed_ticket("stage-van", "a4"), Making("a4", None, pictures=False))
    assert (found.lines, found.redrawn) == ((), ())


def test_a_mark_that_shows_something_is_still_found() -> None:
    import pikepdf

    from steelyard.report.print.again import compared
    from steelyard.report.print.making import Making

    pdf = pikepdf.open(io.BytesIO(signed()))
    (mark,) = pdf.pages[0].Annots  # type: ignore[misc]
    mark.Rect = pikepdf.Array([50, 50, 300, 100])
    made = io.BytesIO()
    pdf.save(made)
    found = compared(made.getvalue(), sealed_ticket("stage-van", "a4"), Making("a4", None, pictures=False))
    assert found.lines
