"""Names of files: by day and title, safe on every file system, in ASCII for old readers (RFC 6266 and 8187)."""

from __future__ import annotations

import datetime
from dataclasses import replace
from email.message import Message

import pytest

from steelyard.dayfile import parse_day
from steelyard.model import WeighDay
from steelyard.web.pages.shell.filename import disposition, file_name
from tests.browser.serving import ROOT

BAKERY = parse_day((ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8"), "quay-bakery.toml")


def _titled(title: str, date: datetime.date | None = datetime.date(2026, 4, 9)) -> WeighDay:
    return replace(BAKERY, title=title, record=replace(BAKERY.record, date=date))


def _read(header: str) -> str | None:
    """The name as a library reads the header."""
    message = Message()
    message["content-disposition"] = header
    return message.get_filename()


def test_a_file_is_named_by_day_and_title() -> None:
    assert file_name(BAKERY, "pdf") == "2026-04-09 quay-bakery-before-the-market-season.pdf"
    assert file_name(BAKERY, "svg", what="solo to hitched").endswith("-season solo-to-hitched.svg")


def test_a_day_without_a_date_goes_by_its_first_draft_or_none() -> None:
    assert file_name(_titled("Quay", None), "pdf") == "2026-04-09 quay.pdf"
    bare = replace(_titled("con", None), drafts=())
    assert file_name(bare, "pdf") == "weigh-day con.pdf"  # a name that begins with `con` is a device on some machines
    assert file_name(replace(bare, title=""), "pdf") == "weigh-day.pdf"


@pytest.mark.parametrize(
    ("title", "name", "plain"),
    [
        ("\U0001f69a Big blue", "2026-04-09 \U0001f69a-big-blue.pdf", "2026-04-09 big-blue.pdf"),
        ("\u0634\u0627\u062d\u0646\u0629", "2026-04-09 \u0634\u0627\u062d\u0646\u0629.pdf", "2026-04-09.pdf"),
        ("M\u00fcllers Gespann", "2026-04-09 m\u00fcllers-gespann.pdf", "2026-04-09 mullers-gespann.pdf"),
        ('\u202egnp.exe / a\\\\b: "c"\r\nX: y', "2026-04-09 gnp-exe-a-b-c-x-y.pdf", "2026-04-09 gnp-exe-a-b-c-x-y.pdf"),
    ],
)
def test_every_script_keeps_its_letters_and_an_old_reader_gets_ascii(title: str, name: str, plain: str) -> None:
    assert file_name(_titled(title), "pdf") == name
    header = disposition(name)
    assert header.isascii()
    assert "\n" not in header
    assert f'filename="{plain}"' in header
    assert _read(header.replace(f'filename="{plain}"; ', "")) == name


@pytest.mark.parametrize("letter", ["a", "\u0634", "\U0001f69a", "ab "])
def test_a_title_of_200_letters_fits_every_file_system(letter: str) -> None:
    name = file_name(_titled(letter * 200), "pdf", what=letter * 200)
    assert len(name.encode()) <= 255
    assert name.endswith(".pdf")
    assert not name.removesuffix(".pdf").endswith("-")
