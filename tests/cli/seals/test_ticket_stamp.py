"""``steelyard ticket --seal --stamp``: the time stamp of a seal travels in the ticket."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from pypdf import PdfReader

from tests.cli.days import NURSERY, run
from tests.seals.authority import NOON, a_seal, reply


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with a sealed day and the reply of an authority to its seal."""
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "keys"))
    monkeypatch.setenv("SOURCE_DATE_EPOCH", str(int(NOON.timestamp()) - 60))
    monkeypatch.chdir(tmp_path)
    Path("day.toml").write_text(NURSERY, encoding="utf-8")
    assert run("seal", "day.toml").exit_code == 0
    Path("day.seal.tsr").write_bytes(reply(Path("day.seal").read_bytes()))
    return tmp_path


def test_it_is_attached_and_the_check_reads_it_there(folder: Path) -> None:
    done = run("ticket", "day.toml", "--no-pictures", "--seal", "--stamp", "day.seal.tsr", "-o", "sent.pdf")
    assert (done.exit_code, done.stderr) == (0, "")
    said = "Not sealed later than 2026-05-09 12:00:00 UTC, says Test Time (Test Clock House)"
    assert done.stdout.endswith(f"{said}.\n")
    attached = PdfReader(folder / "sent.pdf").attachments
    assert attached["seal.tsr"] == [(folder / "day.seal.tsr").read_bytes()]
    answer = json.loads(run("authenticate", "sent.pdf", "--no-weighing", "--json").stdout)
    assert answer["judgement"] == "genuine"
    assert f"{said}, an authority that you do not know" in answer["seals"][0]["notes"]


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (["--stamp", "day.seal.tsr"], "--stamp is a time stamp of the seal; give --seal too"),
        (["--seal", "--stamp", "none.tsr"], "none.tsr: cannot be read"),
        (["--seal", "--stamp", "day.toml"], "day.toml: is not the reply of a time-stamping authority"),
        (["--seal", "--stamp", "other.tsr"], "other.tsr: is a time stamp of something else"),
        (["--seal", "--stamp", "large.tsr"], "large.tsr: has 100001 bytes; a reply has at most 100000"),
    ],
    ids=str,
)
def test_one_that_is_not_of_this_seal_is_one_message_and_no_ticket(
    folder: Path, options: list[str], message: str
) -> None:
    Path("other.tsr").write_bytes(reply(a_seal()))
    Path("large.tsr").write_bytes(bytes(10_000_000))
    done = run("ticket", "day.toml", *options)
    assert (done.exit_code, done.stdout) == (2, "")
    assert message in done.stderr
    assert not (folder / "day.pdf").exists()
