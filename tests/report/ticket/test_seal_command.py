"""``steelyard ticket --seal``: the day is sealed, the ticket carries it, and no number is given in vain."""

from __future__ import annotations

import io
from pathlib import Path

import pikepdf
import pytest

from steelyard.report.print.again import compared, made_again
from steelyard.report.print.making import read_making
from steelyard.report.print.thumbnails import NO_THUMBNAILS
from tests.cli.days import ROOT, run, write


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to be in, with a weigh day, and a folder of keys that is not there yet."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "keys"))
    write(tmp_path)
    return tmp_path


def refused(*arguments: str) -> str:
    done = run(*arguments)
    assert done.exit_code == 2, done.output
    assert "Traceback" not in done.stderr
    return done.stderr.strip()


def held(pdf: bytes) -> dict[str, bytes]:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return {name: item.get_file().read_bytes() for name, item in opened.attachments.items()}


def test_the_ticket_carries_the_seal_that_the_command_of_seals_gives() -> None:
    done = run("ticket", "nursery.toml", "--seal", "--no-pictures")
    assert done.exit_code == 0, done.output
    path, told = done.stdout.splitlines()
    assert path == "nursery.pdf"
    assert told.startswith("Seal number 1 of weigher, fingerprint ")
    assert "A key was made for 'weigher'" in done.stderr
    pdf = Path("nursery.pdf").read_bytes()
    files = held(pdf)
    assert run("seal", "nursery.toml").exit_code == 0
    assert files["seal.cose"] == Path("nursery.seal").read_bytes()
    assert files["findings.json"] == Path("nursery.findings.json").read_bytes()
    assert files["day.toml"] == Path("nursery.toml").read_bytes()
    assert run("ticket", "nursery.toml", "--seal", "--no-pictures", "-o", "again.pdf").exit_code == 0
    assert Path("again.pdf").read_bytes() == pdf


def test_with_own_rules_the_findings_are_those_that_were_sealed_and_the_page_can_be_made_again() -> None:
    rules = str(ROOT / "examples" / "club-rules.toml")
    options = ["--no-pictures", "--rules", rules, "--sign", "weighed by"]
    assert run("ticket", "nursery.toml", "--seal", *options).exit_code == 0
    pdf = Path("nursery.pdf").read_bytes()
    files, making = held(pdf), read_making(held(pdf)["making.json"])
    assert making.rules[0].text == Path(rules).read_text(encoding="utf-8")
    assert b"club." in files["findings.json"]
    again = made_again(files["seal.cose"], files["day.toml"], making)
    assert compared(pdf, again, making).same_file


def test_without_a_seal_nothing_of_one_is_made(folder: Path) -> None:
    assert run("ticket", "nursery.toml", "--no-pictures").exit_code == 0
    assert not (folder / "keys").exists()
    assert held(Path("nursery.pdf").read_bytes()) == {}


def test_a_ticket_that_cannot_be_written_takes_no_number(folder: Path) -> None:
    assert refused("ticket", "nursery.toml", "--seal", "-o", "no/a.pdf") == (
        "no/a.pdf: cannot be written: there is no folder no"
    )
    assert refused("ticket", "nursery.toml", "--seal", "-o", "nursery.toml") == (
        "nursery.toml: is the weigh day itself; give another name with -o"
    )
    assert refused("ticket", "nursery.toml", "--seal", "--photo", "none.jpg").startswith("none.jpg: cannot be read")
    assert not (folder / "keys").exists()


def test_a_weigher_without_a_seal_is_refused_and_one_who_has_no_key_too() -> None:
    assert "give --seal too" in refused("ticket", "nursery.toml", "--as", "marta")
    assert run("key", "new", "--as", "marta").exit_code == 0
    said = "there is no weigher 'jon'; here are the keys of marta. A new one is made with"
    assert said in refused("ticket", "nursery.toml", "--seal", "--as", "jon")
    done = run("ticket", "nursery.toml", "--seal", "--no-pictures", "--as", "marta")
    assert done.stdout.splitlines()[1].startswith("Seal number 1 of marta")


def test_small_pictures_that_are_not_there_are_said_and_the_page_can_be_made_again() -> None:
    done = run("ticket", "nursery.toml", "--seal", "--no-pictures", "--thumbnails")
    assert "names no photographs" in done.stderr
    files = held(Path("nursery.pdf").read_bytes())
    making = read_making(files["making.json"])
    assert (making.shown, making.unshown) == ((), NO_THUMBNAILS.notes)
