"""Photographs that a day names, on the command line: ``check`` holds them to digests, ``ticket`` shows them."""

from __future__ import annotations

import hashlib
import io
import json
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from tests.cli.days import NURSERY, run


def picture(shade: int) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (60, 40), (shade, 0, 0)).save(out, "PNG")
    return out.getvalue()


FILES = {"one.png": picture(40), "two.png": picture(80), "three.png": picture(120)}


@pytest.fixture(name="folder")
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A day that names three pictures beside it."""
    monkeypatch.chdir(tmp_path)
    text = NURSERY
    for name, data in FILES.items():
        digest = hashlib.sha256(data).hexdigest()
        text += f'\n[[photographs]]\ndraft = 1\nsha256 = "{digest}"\nfile = "{name}"\n'
        Path(name).write_bytes(data)
    Path("day.toml").write_text(text, encoding="utf-8")
    return tmp_path


@pytest.mark.usefixtures("folder")
def test_check_counts_the_pictures_that_are_the_ones_that_were_kept() -> None:
    result = run("check", "day.toml")
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.endswith("3 photographs named; 3 beside the file, as kept, by the digest.\n")
    found = json.loads(run("check", "day.toml", "--json").stdout)["photographs"]
    assert [(item["draft"], item["place"], item["file"], item["kept"]) for item in found] == [
        (1, None, name, "same") for name in FILES
    ]


@pytest.mark.usefixtures("folder")
def test_a_missing_picture_is_a_note_and_a_changed_one_a_fault() -> None:
    Path("three.png").unlink()
    result = run("check", "day.toml")
    assert (result.exit_code, result.stderr) == (0, "")
    assert "3 photographs named; 2 beside the file" in result.stdout
    assert "note: draft 1: three.png does not lie beside the weigh-day file." in result.stdout
    Path("two.png").write_bytes(FILES["one.png"])
    result = run("check", "day.toml")
    line = NURSERY.count("\n") + 10
    one, two = (hashlib.sha256(FILES[name]).hexdigest()[:12] for name in ("one.png", "two.png"))
    wrong = f"is not the one that was kept: its SHA-256 begins with {one}, the record has {two}"
    assert result.exit_code == 2
    assert result.stderr == (
        f'day.toml:{line}: photographs[2].file: "two.png": {wrong}; put back the picture as it was taken\n'
    )
    assert "3 photographs named; 1 beside the file" in result.stdout
    found = run("check", "day.toml", "--json")
    assert found.exit_code == 2
    assert [item["kept"] for item in json.loads(found.stdout)["photographs"]] == ["same", "other", "missing"]
    # nothing else asks for the pictures
    assert run("findings", "day.toml").exit_code == 0


@pytest.mark.usefixtures("folder")
def test_a_ticket_shows_small_pictures_when_it_is_asked_to() -> None:
    Path("two.png").write_bytes(b"<svg/>")
    result = run("ticket", "day.toml", "--thumbnails", "--no-pictures", "-o", "t.pdf")
    assert (result.exit_code, result.stdout) == (0, "t.pdf\n")
    assert result.stderr.startswith(
        "day.toml: Not printed: draft 1, two.png: is not the one that was kept: its SHA-256"
    )
    assert result.stderr.count("\n") == 1
    pages = PdfReader("t.pdf").pages
    assert [image.image.size for page in pages for image in page.images if image.image] == [(60, 40)] * 2
    assert "Not printed: draft 1, two.png" in " ".join(pages[-1].extract_text().split())


def test_a_day_that_names_none_is_said_to(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("day.toml").write_text(NURSERY, encoding="utf-8")
    result = run("ticket", "day.toml", "--thumbnails", "--no-pictures")
    assert (result.exit_code, result.stdout) == (0, "day.pdf\n")
    assert result.stderr == "day.toml: names no photographs; the ticket is printed without small pictures\n"
    assert json.loads(run("check", "day.toml", "--json").stdout)["photographs"] == []
