"""``steelyard stamp``: the request beside the seal, the reply beside it, and what is said of both."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from steelyard.seals.stamp import request
from tests.cli.days import run
from tests.seals.authority import NOON, a_seal, certified, house, reply


@pytest.fixture
def seal(tmp_path: Path) -> Path:
    """A seal in a folder, with a right reply and the authority's root under other names."""
    (tmp_path / "fetched").write_bytes(reply(a_seal()))
    (tmp_path / "root.pem").write_bytes(house()[0].pem)
    path = tmp_path / "day.seal"
    path.write_bytes(a_seal())
    return path


def test_the_request_lies_beside_the_seal_and_the_way_on_is_said(seal: Path) -> None:
    done = run("stamp", str(seal))
    assert (done.exit_code, done.stderr) == (0, "")
    assert seal.with_name("day.seal.tsq").read_bytes() == request(a_seal())
    assert done.stdout.startswith(f"{seal}.tsq\n")
    assert "application/timestamp-query" in done.stdout


def test_a_reply_is_checked_put_beside_the_seal_and_can_be_checked_there_again(seal: Path) -> None:
    done = run("stamp", str(seal), "--reply", str(seal.with_name("fetched")))
    assert (done.exit_code, done.stderr) == (0, "")
    kept = seal.with_name("day.seal.tsr")
    assert kept.read_bytes() == reply_of(seal)
    first, sentence, *rest = done.stdout.splitlines()
    assert first == str(kept)
    assert sentence == "Not sealed later than 2026-05-09 12:00:00 UTC, says Test Time (Test Clock House)."
    assert any("not known to you" in line for line in rest[rest.index("Not checked:") :])
    again = run("stamp", str(seal), "--reply", str(kept), "--trust", str(seal.with_name("root.pem")))
    assert again.exit_code == 0
    assert again.stdout.startswith("Not sealed later than")
    assert "- That certificate goes back to Test Root (Test Clock House).\n" in again.stdout
    assert "not known" not in again.stdout


def reply_of(seal: Path) -> bytes:
    return seal.with_name("fetched").read_bytes()


def test_a_clock_that_was_ahead_is_named(tmp_path: Path) -> None:
    late = a_seal(sealed_at=int(NOON.timestamp()) + 3600)
    (tmp_path / "late.seal").write_bytes(late)
    (tmp_path / "fetched").write_bytes(reply(late))
    done = run("stamp", str(tmp_path / "late.seal"), "--reply", str(tmp_path / "fetched"))
    assert done.exit_code == 0
    assert "the weigher's clock was ahead" in done.stdout


_BAD: dict[str, tuple[Callable[[], dict[str, bytes]], list[str], str]] = {
    "page": (lambda: {"fetched": b"<html>"}, ["--reply", "fetched"], "fetched: is not the reply of a time-stamping"),
    "no reply": (dict, ["--reply", "none"], "none: cannot be read: No such file"),
    "folder": (dict, ["--reply", "."], ".: cannot be read: Is a directory"),
    "large reply": (lambda: {"fetched": bytes(10_000_000)}, ["--reply", "fetched"], "a reply has at most 100000"),
    "no certificate": (
        lambda: {"root.pem": b"none"},
        ["--reply", "fetched", "--trust", "root.pem"],
        "root.pem: has no certificate",
    ),
    "large seal": (lambda: {"day.seal": bytes(10_000_000)}, [], "day.seal: is too large: a seal has at most 16000"),
    "no seal": (lambda: {"day.seal": b"no"}, [], "day.seal: is not a seal: it "),
    "broken seal": (
        lambda: {"day.seal": a_seal()[:-1] + bytes([a_seal()[-1] ^ 1])},
        [],
        "day.seal: is a seal whose signature does not",
    ),
    "another seal": (
        lambda: {"day.seal": a_seal("another day")},
        ["--reply", "fetched"],
        "fetched: is a time stamp of something else",
    ),
    "trust alone": (dict, ["--trust", "root.pem"], "--trust goes with --reply"),
}


@pytest.mark.parametrize("name", _BAD)
def test_a_bad_file_is_one_message_and_leaves_nothing(seal: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    files, options, message = _BAD[name]
    monkeypatch.chdir(seal.parent)
    for file, content in files().items():
        Path(file).write_bytes(content)
    before = {path.name: path.read_bytes() for path in seal.parent.iterdir()}
    done = run("stamp", "day.seal", *options)
    assert done.exit_code == 2
    assert message in done.stderr
    assert done.stdout == ""
    assert {path.name: path.read_bytes() for path in seal.parent.iterdir()} == before


def test_an_authority_that_is_not_trusted_leaves_the_kept_reply_alone(seal: Path) -> None:
    other = seal.with_name("other.pem")
    other.write_bytes(certified("Other Root", ca=True).pem)
    done = run("stamp", str(seal), "--reply", str(seal.with_name("fetched")), "--trust", str(other))
    assert done.exit_code == 2
    assert "does not go back to one that you trust" in done.stderr
    assert not seal.with_name("day.seal.tsr").exists()


@pytest.mark.parametrize("options", [[], ["--reply", "fetched"]], ids=str)
def test_a_missing_library_is_one_message_that_names_the_extra(
    seal: Path, monkeypatch: pytest.MonkeyPatch, options: list[str]
) -> None:
    monkeypatch.setitem(sys.modules, "asn1crypto", None)
    monkeypatch.chdir(seal.parent)
    done = run("stamp", "day.seal", *options)
    assert (done.exit_code, done.stdout) == (2, "")
    assert done.stderr == "a time stamp needs the extra of that name: pip install 'steelyard[time-stamp]'\n"
