"""``steelyard draw``: which drawings, in which files."""

from __future__ import annotations

import struct
from pathlib import Path

import pytest

from tests.cli.days import BAD, run, write

PNG = b"\x89PNG\r\n\x1a\n"


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def pixels_across(path: Path) -> int:
    """The width in a PNG's header."""
    data = path.read_bytes()
    assert data.startswith(PNG)
    return struct.unpack(">I", data[16:20])[0]


def drawn(*arguments: str) -> list[str]:
    """The files that were written, as printed."""
    result = run("draw", *arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout.splitlines()


@pytest.mark.usefixtures("folder")
def test_every_state_and_every_change_worth_reading_is_drawn() -> None:
    day = write(Path())
    names = drawn(day, "--format", "svg")
    assert names == ["nursery-empty.svg", "nursery-coupled.svg", "nursery-empty-to-coupled.svg"]
    texts = [Path(name).read_text(encoding="utf-8") for name in names]
    assert all(text.lstrip().startswith(("<svg", "<?xml")) for text in texts)
    assert len(set(texts)) == 3


@pytest.mark.usefixtures("folder")
def test_one_state_gives_a_drawing_and_its_picture() -> None:
    assert drawn(write(Path()), "--state", "empty", "--width", "640") == ["nursery-empty.svg", "nursery-empty.png"]
    assert pixels_across(Path("nursery-empty.png")) == 640


@pytest.mark.usefixtures("folder")
def test_themes_do_not_overwrite_one_another() -> None:
    day = write(Path())
    drawn(day, "--state", "empty", "--format", "svg")
    (dark,) = drawn(day, "--state", "empty", "--format", "svg", "--theme", "dark")
    assert dark == "nursery-empty-dark.svg"
    assert Path(dark).read_bytes() != Path("nursery-empty.svg").read_bytes()


LOGO = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 4 1"><rect width="4" height="1" fill="#d00000"/></svg>'


@pytest.mark.usefixtures("folder")
def test_a_shape_a_ground_units_and_a_logo_are_options() -> None:
    day = write(Path())
    Path("mark.svg").write_text(LOGO, encoding="utf-8")
    names = drawn(day, "--state", "coupled", "--shape", "9:16", "--dark", "--units", "lb,in", "--logo", "mark.svg")
    assert names == ["nursery-coupled-dark-9x16.svg", "nursery-coupled-dark-9x16.png"]
    assert pixels_across(Path(names[1])) == 1080
    text = Path(names[0]).read_text(encoding="utf-8")
    assert "Loads in lb; " in text
    assert 'fill="#11161c"' in text
    assert text.count("<image") == 1
    (clear,) = drawn(day, "--state", "empty", "--format", "svg", "--transparent")
    assert clear == "nursery-empty-transparent.svg"
    assert drawn(day, "--state", "empty", "-o", "wide.png", "--shape", "16:9", "--width", "640") == ["wide.png"]
    assert pixels_across(Path("wide.png")) == 640


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("--shape 16:10", "'16:10' is not one of '16:9', '1:1', '9:16', 'A4', 'Letter'."),
        ("--dark --transparent", "Error: dark and transparent are two grounds; give one of them"),
        ("--dark --theme light", "Error: dark and light are two grounds; give one of them"),
        ("--units stone,in", "'stone' is not a mass unit; there are "),
        ("--logo none.png", "'none.png' cannot be read: No such file or directory."),
        ("--logo .", "'.' cannot be read: Is a directory."),
        ("--logo nursery.toml", "'nursery.toml' is not a picture that can be used; give a PNG or an SVG."),
        ("--logo run.svg", "'run.svg' has a script; a logo is made of shapes and colours."),
    ],
)
def test_each_mistake_about_its_looks_has_its_message(arguments: str, message: str) -> None:
    Path("run.svg").write_text(LOGO.replace("<rect", "<script/><rect"), encoding="utf-8")
    result = run("draw", write(Path()), *arguments.split())
    assert (result.exit_code, result.stdout) == (2, "")
    assert message in result.stderr.splitlines()[-1]


@pytest.mark.usefixtures("folder")
def test_the_ending_of_the_file_says_what_is_written() -> None:
    day = write(Path())
    assert drawn(day, "--state", "coupled", "--against", "empty", "-o", "change.png", "--width", "300") == [
        "change.png"
    ]
    assert pixels_across(Path("change.png")) == 300
    assert drawn(day, "--state", "empty", "-o", "a.svg", "--format", "both", "--width", "300") == ["a.svg", "a.png"]


@pytest.mark.usefixtures("folder")
def test_a_folder_takes_all_drawings() -> None:
    Path("out").mkdir()
    names = drawn(write(Path()), "-o", "out", "--format", "svg")
    assert names == ["out/nursery-empty.svg", "out/nursery-coupled.svg", "out/nursery-empty-to-coupled.svg"]
    assert all(Path(name).exists() for name in names)


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        ("-o a.svg", "Error: -o names one file, but there are 3 drawings; choose one with --state"),
        ("--state empty -o a.gif", "Error: 'a.gif' ends in neither .svg nor .png, and is not a folder"),
        ("--state empty -o a.svg --format png", "Error: --format png does not go with a file named 'a.svg'"),
        ("--against empty", "Error: --against needs --state: the state that is compared"),
        ("--state empty --against empty", "Error: --state and --against are both 'empty'; name two states"),
        ("--state emty", "nursery.toml: --state: emty: there is no such state; did you mean 'empty'?"),
        ("--state empty --against x", "nursery.toml: --against: x: there is no such state; the day has empty, coupled"),
        ("--state empty -o none/a.svg", "none/a.svg: cannot be written: No such file or directory"),
        ("--state empty -o nursery.toml", "Error: 'nursery.toml' ends in neither .svg nor .png, and is not a folder"),
    ],
)
def test_what_cannot_be_drawn_is_said(folder: Path, arguments: str, message: str) -> None:
    result = run("draw", write(Path()), *arguments.split())
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines()[-1] == message
    assert [path.name for path in folder.iterdir()] == ["nursery.toml"]


def test_states_that_share_no_vehicle_cannot_be_compared(folder: Path) -> None:
    text = (folder / write(Path())).read_text(encoding="utf-8") + '\n[states.parked]\nvehicles = ["beds"]\n'
    result = run("draw", write(Path(), text=text), "--state", "parked", "--against", "empty")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == "Error: 'parked' and 'empty' share no vehicle, so nothing can be compared"


@pytest.mark.usefixtures("folder")
def test_a_day_without_states_has_nothing_to_draw() -> None:
    result = run("draw", write(Path(), text="format = 1\n"))
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "nursery.toml: has no state, so there is nothing to draw\n"


@pytest.mark.usefixtures("folder")
def test_a_bad_file_is_named_with_its_faults() -> None:
    result = run("draw", write(Path(), text=BAD))
    assert (result.exit_code, result.stdout) == (2, "")
    assert len(result.stderr.splitlines()) == 2
