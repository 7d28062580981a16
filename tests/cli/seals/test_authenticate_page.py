"""``steelyard authenticate --page``: the page as a file, with or without known keys."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.seals.fingerprint import fingerprint_of
from steelyard.seals.keybook import KeyBook, PublishedKey, book_bytes
from steelyard.seals.page import check_page
from tests.cli.days import run
from tests.seals.a_seal import OLIVE, SEALED_AT, Weigher

BOOK = book_bytes(KeyBook("Olive Quill", (PublishedKey(Weigher(OLIVE).public, SEALED_AT),)))


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_the_page_is_written_and_a_weigher_puts_their_keys_into_it() -> None:
    result = run("authenticate", "--page")
    assert (result.exit_code, result.stderr) == (0, "")
    assert Path("check.html").read_bytes() == check_page()
    Path("keys.json").write_bytes(BOOK)
    result = run("authenticate", "--page", "--keys", "keys.json", "-o", "olive.html")
    assert result.exit_code == 0
    assert result.stdout.splitlines()[1:] == ["It knows Olive Quill:", f"  {fingerprint_of(Weigher(OLIVE).public)}"]
    assert Path("olive.html").read_bytes() == check_page(BOOK)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--page", "a.seal"), "--page checks nothing; only --keys and -o go with it"),
        (("--page", "--json"), "--page checks nothing"),
        (("--page", "--keys", "a.json", "--keys", "b.json"), "the keys of one weigher; give --keys once"),
        (("a.seal", "-o", "x.html"), "-o goes with --page"),
        (("--page", "-o", "no/such/folder.html"), "no/such/folder.html: cannot be written: No such file or directory"),
        (("--page", "--keys", "none.json"), "none.json: cannot be read: No such file or directory"),
        (("--page", "--keys", "bad.json"), "bad.json: keys: is missing"),
        (("--page", "--keys", "keys.json", "-o", "keys.json"), "keys.json: is the keys.json itself"),
    ],
)
def test_what_does_not_go_together_is_refused_and_nothing_is_written(arguments: tuple[str, ...], words: str) -> None:
    Path("keys.json").write_bytes(BOOK)
    Path("bad.json").write_text('{"format": 1}', encoding="utf-8")
    result = run("authenticate", *arguments)
    assert result.exit_code == 2
    assert words in " ".join(result.stderr.split())
    assert not Path("check.html").exists()
    assert Path("keys.json").read_bytes() == BOOK


def test_the_page_is_written_over_no_file_but_a_page(tmp_path: Path) -> None:
    keys = tmp_path / "keys.json"
    keys.write_text("{}")
    result = run("authenticate", "--page", "-o", str(keys))
    assert result.exit_code == 2
    assert result.stderr == (
        f"{keys}: is there already and is no page, so it is not written over; give another name with -o\n"
    )
    assert keys.read_text() == "{}"
    page = tmp_path / "check.html"
    assert [run("authenticate", "--page", "-o", str(page)).exit_code for _ in range(2)] == [0, 0]
