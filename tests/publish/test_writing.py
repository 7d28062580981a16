"""The folder is written whole or not at all, and nothing is written over."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from steelyard.publish import UnwrittenError, write_folder
from tests.cli.days import BAD, NURSERY, run, write
from tests.publish.editions import SECOND, contents

FILES = [("index.html", b"page"), ("data/a.csv", b"a\n")]


def test_it_is_written_where_nothing_is_and_into_an_empty_folder(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    for name in ("new", "empty"):
        write_folder(tmp_path / name, FILES)
        assert contents(tmp_path / name) == dict(FILES)
    assert (tmp_path / "new").stat().st_mode == (tmp_path / "new" / "data").stat().st_mode
    assert sorted(path.name for path in tmp_path.iterdir()) == ["empty", "new"]


def test_nothing_is_written_over(tmp_path: Path) -> None:
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "mine").write_text("mine")
    (tmp_path / "file").write_text("mine")
    (tmp_path / "astray").symlink_to(tmp_path / "nowhere")
    for name, said in (("full", "is not empty"), ("file", "is not a folder"), ("astray", "is not a folder")):
        with pytest.raises(UnwrittenError, match=said):
            write_folder(tmp_path / name, FILES)
    with pytest.raises(UnwrittenError, match="there is no folder"):
        write_folder(tmp_path / "nowhere" / "deep", FILES)
    assert contents(tmp_path) == {"full/mine": b"mine", "file": b"mine"}


def test_the_folder_one_is_in_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UnwrittenError, match="the folder you are in"):
        write_folder(Path(), FILES)


@pytest.mark.parametrize("trouble", [KeyboardInterrupt(), MemoryError(), ValueError("drawn wrong")])
def test_an_interruption_leaves_nothing(tmp_path: Path, trouble: BaseException) -> None:
    def interrupted() -> Iterator[tuple[str, bytes]]:
        yield from FILES
        raise trouble

    with pytest.raises(type(trouble)):
        write_folder(tmp_path / "new", interrupted())
    assert list(tmp_path.iterdir()) == []


def test_a_full_disk_leaves_nothing_and_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    real = Path.write_bytes

    def full(path: Path, data: Any) -> int:
        if path.suffix == ".csv":
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(path, data)

    day = write(tmp_path)
    monkeypatch.setattr(Path, "write_bytes", full)
    result = run("publish", day, "-o", str(tmp_path / "new"), "--shape", "16:9")
    assert result.exit_code == 2
    assert result.stderr == f"{tmp_path / 'new'}: cannot be written: No space left on device\n"
    assert [path.name for path in tmp_path.iterdir()] == ["nursery.toml"]


def test_a_folder_that_others_fill_meanwhile_is_left_alone(tmp_path: Path) -> None:
    def slow() -> Iterator[tuple[str, bytes]]:
        yield from FILES
        (tmp_path / "new").mkdir()
        (tmp_path / "new" / "theirs").write_text("theirs")

    with pytest.raises(UnwrittenError, match="is not empty"):
        write_folder(tmp_path / "new", slow())
    assert contents(tmp_path) == {"new/theirs": b"theirs"}


def test_a_file_with_faults_among_sound_ones_is_left_out_and_told(tmp_path: Path) -> None:
    days = [write(tmp_path, "van.toml", NURSERY), write(tmp_path, "bad.toml", BAD), str(tmp_path / "none.toml")]
    result = run("publish", *days, days[0], "-o", str(tmp_path / "new"), "--shape", "16:9")
    assert result.exit_code == 2
    assert f"{days[1]}: is left out of the folder" in result.stderr
    assert f"{days[2]}: is left out of the folder" in result.stderr
    assert f"{days[0]}: is given twice; it is published once" in result.stderr
    assert (tmp_path / "new" / "days" / "van.toml").read_text() == NURSERY
    assert not (tmp_path / "new" / "data" / "comparison.json").exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        ((), "Missing option '-o'"),
        (("-o", ""), "is an empty name"),
        (("-o", "FULL"), "is not empty, and nothing is written over; name a new folder with -o"),
        (("-o", "NEW", "--shape", "2:1"), "'2:1' is not one of"),
        (("-o", "NEW", "--logo", "DAY"), "is not a picture that can be used; give a PNG or an SVG"),
        (("-o", "NEW", "--logo", "nowhere.png"), "'nowhere.png' cannot be read"),
        (("-o", "NEW", "--units", "lb"), "'lb' is not a mass unit and a length unit"),
        (("-o", "NEW", "--of", "cuopled"), "no file has a state 'cuopled'"),
        (("-o", "NEW", "--base", "other.toml"), "'other.toml' is not one of the rigs"),
        (("-o", "NEW", "--unchanged", "=5"), "is not a vehicle and a doubt"),
        (("-o", "NEW", "--unchanged", "beds=5 m"), "--unchanged"),
        (("-o", "NEW", "--unchanged", "bed"), "'bed'"),
    ],
)
def test_each_mistake_has_its_message_and_writes_nothing(tmp_path: Path, arguments: tuple[str, ...], said: str) -> None:
    days = [write(tmp_path, "van.toml", NURSERY), write(tmp_path, "lorry.toml", SECOND)]
    before = contents(tmp_path)
    named = {"FULL": str(tmp_path), "NEW": str(tmp_path / "new"), "DAY": days[0]}
    result = run("publish", *days, *(named.get(word, word) for word in arguments))
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Traceback" not in result.stderr
    assert contents(tmp_path) == before
    assert not (tmp_path / "new").exists()


def test_no_sound_file_is_told(tmp_path: Path) -> None:
    result = run("publish", write(tmp_path, "bad.toml", BAD), "-o", str(tmp_path / "new"))
    assert (result.exit_code, result.stderr.splitlines()[-1]) == (2, "no file is left to publish")
    assert not (tmp_path / "new").exists()
