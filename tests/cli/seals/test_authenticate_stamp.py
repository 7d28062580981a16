"""``steelyard authenticate`` with a time stamp: one sentence more, and never another judgement."""

from __future__ import annotations

import datetime
import json
import sys
from pathlib import Path

import pytest

from steelyard.seals.fingerprint import fingerprint_of
from tests.cli.days import NURSERY, run
from tests.seals.a_seal import OLIVE, Weigher, sealed_day
from tests.seals.authority import a_seal, certified, house, reply
from tests.seals.test_reading import attached, ticket

KNOWN = ("--fingerprint", fingerprint_of(Weigher(OLIVE).public))
LATER = datetime.datetime(2026, 9, 22, 8, 30, tzinfo=datetime.UTC)
SAID = "Not sealed later than 2026-09-22 08:30:00 UTC, says Test Time (Test Clock House)"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder to work in, with a day, its seal, and the certificates of two authorities."""
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", "1790100000")
    monkeypatch.chdir(tmp_path)
    Path("day.toml").write_text(NURSERY, encoding="utf-8")
    Path("day.seal").write_bytes(sealed_day(NURSERY).data)
    Path("root.pem").write_bytes(house()[0].pem)
    Path("other.pem").write_bytes(certified("Other Root", ca=True).pem)


def stamped(**options: datetime.datetime) -> bytes:
    return reply(sealed_day(NURSERY).data, **{"time": LATER, **options})  # type: ignore[arg-type]


def notes(*arguments: str, status: int = 0) -> list[str]:
    done = run("authenticate", *arguments, "--json", "--no-weighing", *KNOWN)
    assert (done.exit_code, done.stderr) == (status, "")
    return [
        note for seal in json.loads(done.stdout)["seals"] for note in seal["notes"] if "stamp" in note or "UTC" in note
    ]


@pytest.mark.parametrize(
    "files",
    [["day.seal"], ["day.toml"], ["day.seal", "day.seal.tsr"], ["day.seal.tsr", "day.toml"]],
    ids=" ".join,
)
def test_a_time_stamp_beside_a_seal_adds_one_sentence(files: list[str]) -> None:
    Path("day.seal.tsr").write_bytes(stamped())
    assert notes(*files) == [f"{SAID}, an authority that you do not know"]
    assert notes(*files, "--trust", "root.pem") == [f"{SAID}, which Test Root (Test Clock House) vouches for"]


def test_a_time_stamp_that_is_attached_to_a_ticket_adds_it_too() -> None:
    Path("ticket.pdf").write_bytes(ticket(*attached(), ("seal.tsr", stamped())))
    (note,) = [note for note in notes("ticket.pdf") if note.startswith("Not sealed")]
    assert note == f"{SAID}, an authority that you do not know"


def test_it_is_found_among_the_stamps_of_several_seals() -> None:
    other = sealed_day(NURSERY, number=2, previous=sealed_day(NURSERY).digest)
    Path("second.seal").write_bytes(other.data)
    Path("day.seal.tsr").write_bytes(stamped())
    Path("second.seal.tsr").write_bytes(reply(other.data, time=LATER))
    assert notes("day.seal", "second.seal") == [f"{SAID}, an authority that you do not know"] * 2


@pytest.mark.parametrize(
    ("data", "options", "words"),
    [
        (lambda: reply(a_seal(), time=LATER), [], "it is a time stamp of something else"),
        (lambda: b"<html>", [], "it is not the reply of a time-stamping authority"),
        (lambda: bytes(10_000_000), [], "it has 10000000 bytes; a reply has at most"),
        (lambda: stamped()[:500], [], "it is not the reply"),
        (stamped, ["--trust", "other.pem"], "does not go back to one that you trust"),
    ],
    ids=["of another seal", "a page", "10 MB", "cut short", "not trusted"],
)
def test_a_time_stamp_that_is_not_one_counts_for_nothing(data: object, options: list[str], words: str) -> None:
    Path("day.seal.tsr").write_bytes(data())  # type: ignore[operator]
    (note,) = notes("day.seal", *options)
    assert note.startswith("the time stamp day.seal.tsr counts for nothing: it ")
    assert words in note


def test_a_seal_that_claims_a_later_time_than_its_stamp_is_told() -> None:
    Path("day.seal.tsr").write_bytes(stamped(time=LATER - datetime.timedelta(days=2)))
    assert "the weigher's clock was ahead" in notes("day.seal")[1]


def test_a_time_stamp_without_its_seal_is_no_seal() -> None:
    Path("alone.tsr").write_bytes(stamped())
    done = run("authenticate", "alone.tsr")
    assert (done.exit_code, done.stdout) == (1, "no seal: no seal was given with this time stamp\n")


def test_without_the_library_it_is_said_that_it_was_not_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    Path("day.seal.tsr").write_bytes(stamped())
    monkeypatch.setitem(sys.modules, "asn1crypto", None)
    (note,) = notes("day.seal")
    assert note.startswith("the time stamp day.seal.tsr was not checked: a time stamp needs the extra")


@pytest.mark.parametrize(
    ("name", "message"), [("none.pem", "none.pem: cannot be read"), ("day.toml", "day.toml: has no certificate")]
)
def test_a_file_of_certificates_that_has_none_is_one_message(name: str, message: str) -> None:
    done = run("authenticate", "day.seal", "--trust", name, *KNOWN)
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr.startswith(message)
