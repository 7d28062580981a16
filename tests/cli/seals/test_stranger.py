"""The walk of a stranger: a sealed ticket on paper or as a file, one command, and the word for it."""

from __future__ import annotations

import io
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.keybook import KeyBook, PublishedKey, book_bytes
from tests.cli.days import run
from tests.report.ticket.sealed_sample import PUBLIC, SEALED_AT, sealed_ticket

NAME = "puppet-van"
KNOWN = ("--fingerprint", fingerprint_of(PUBLIC))


@pytest.fixture(autouse=True)
def a_day_later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "none"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(SEALED_AT + 86_400))
    monkeypatch.chdir(tmp_path)


@cache
def photograph() -> bytes:
    """The page with the code at 200 dots an inch, turned by 7 degrees, blurred, as a JPEG."""
    import pypdfium2
    from PIL import ImageFilter

    pages = pypdfium2.PdfDocument(sealed_ticket(NAME, "letter"))
    scale: Any = 200 / 72  # the library's own hint says a whole number
    page = pages[len(pages) - 1].render(scale=scale, grayscale=True).to_pil().convert("L")
    out = io.BytesIO()
    page.rotate(7, expand=True, fillcolor=190).filter(ImageFilter.GaussianBlur(0.8)).save(out, "JPEG", quality=70)
    return out.getvalue()


def test_from_a_photograph_of_the_paper_to_genuine() -> None:
    Path("photo.jpg").write_bytes(photograph())
    Path("keys.json").write_bytes(book_bytes(KeyBook("Quay Weighing", (PublishedKey(PUBLIC, SEALED_AT - 1),))))
    result = run("authenticate", "photo.jpg", "--keys", "keys.json")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith("genuine: sealed with the key ")
    assert "of Quay Weighing, which you know." in " ".join(result.stdout.split())
    assert "hold the figures below against the" in result.stdout
    assert "gross mass of" in result.stdout.partition("to compare with the paper")[2]


def test_from_the_file_to_genuine_with_its_pages_made_again() -> None:
    Path("ticket.pdf").write_bytes(sealed_ticket(NAME, "letter"))
    Path("photo.jpg").write_bytes(photograph())
    result = run("authenticate", "ticket.pdf", "photo.jpg", *KNOWN)
    said = " ".join(result.stdout.split())
    assert (result.exit_code, result.stderr) == (0, "")
    assert "the code on the paper carries the same seal as the ticket" in said
    assert "weighed again here, the day gives the sealed findings, to the last digit" in said
    assert "the printed pages are those that the sealed day gives, to the byte" in said
    assert "to compare with the paper" not in said


def test_a_file_that_somebody_saved_anew_is_left_to_the_readers_eyes_too() -> None:
    """Its words are the sealed ones as this program reads it, and another program may read it otherwise."""
    import pypdf

    writer, out = pypdf.PdfWriter(clone_from=io.BytesIO(sealed_ticket(NAME, "letter"))), io.BytesIO()
    writer.write(out)
    Path("anew.pdf").write_bytes(out.getvalue())
    result = run("authenticate", "anew.pdf", *KNOWN)
    said = " ".join(result.stdout.split())
    assert result.exit_code == 0, said
    assert "the printed pages are those that the sealed day gives, word for word" in said
    assert "another program may show it otherwise: hold the printed figures against those below" in said
    assert "gross mass of" in said.partition("to compare with the paper")[2]


@cache
def edited(*, leave_out: str = "", making: bytes = b"") -> bytes:
    """An empty page with the attachments of the sealed ticket; one left out, or the words on its making changed."""
    import pypdf

    reader, writer = pypdf.PdfReader(io.BytesIO(sealed_ticket(NAME, "letter"))), pypdf.PdfWriter()
    writer.add_blank_page(600, 800)
    for name, held in reader.attachments.items():
        if name != leave_out:
            writer.add_attachment(name, making if making and name == "making.json" else held[0])
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_other_pages_around_the_sealed_attachments_differ() -> None:
    Path("edited.pdf").write_bytes(edited())
    result = run("authenticate", "edited.pdf", *KNOWN)
    assert result.exit_code == 1
    assert result.stdout.startswith("different: ")
    assert "- printed on page 1: nothing here, " in result.stdout
    quick = run("authenticate", "edited.pdf", "--no-weighing", *KNOWN)
    said = " ".join(quick.stdout.split())
    assert "what is printed on the pages was not compared with the attachments" in said
    assert "to compare with the paper" in said


@pytest.mark.parametrize(
    ("pdf", "words"),
    [
        (lambda: edited(leave_out="making.json"), "could not be compared: no attachment says how they were made"),
        (lambda: edited(leave_out="day.toml"), "the sealed day file is not attached, so that the printed pages cannot"),
        (lambda: edited(making=b'{"format": 1}'), "the attachment that says how they were made has no true or false"),
    ],
    ids=["how it was made", "day", "nonsense"],
)
def test_edited_pages_do_not_pass_by_leaving_out_an_attachment(pdf: Any, words: str) -> None:
    Path("edited.pdf").write_bytes(pdf())
    result = run("authenticate", "edited.pdf", *KNOWN)
    assert result.exit_code == 1
    assert "genuine" not in result.stdout
    assert words in " ".join(result.stdout.split())


def test_pages_of_another_version_are_left_to_the_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("steelyard.cli.commands.authenticate.printed.__version__", "99.0")
    Path("edited.pdf").write_bytes(edited())
    result = run("authenticate", "edited.pdf", *KNOWN)
    said = " ".join(result.stdout.split())
    assert "printed the pages, this is 99.0; hold the printed figures against those below" in said
    assert "to compare with the paper" in said
