"""``steelyard ticket``: where the PDF lies, and what stops it."""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader

from tests.cli.days import BAD, NURSERY, run, write


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def printed(*arguments: str) -> str:
    result = run("ticket", *arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    (name,) = result.stdout.splitlines()
    assert Path(name).read_bytes().startswith(b"%PDF-")
    return name


def test_the_ticket_lies_in_the_current_folder_under_the_days_name(folder: Path) -> None:
    (folder / "days").mkdir()
    assert printed(write(Path("days"))) == "nursery.pdf"


@pytest.mark.usefixtures("folder")
def test_the_ticket_goes_where_it_is_told() -> None:
    Path("out").mkdir()
    assert printed(write(Path()), "-o", "mine.pdf") == "mine.pdf"
    assert printed(write(Path()), "-o", "out") == "out/nursery.pdf"


@pytest.mark.usefixtures("folder")
def test_papers_differ() -> None:
    day = write(Path())
    printed(day, "-o", "letter.pdf")
    printed(day, "-o", "a4.pdf", "--paper", "a4")
    assert Path("letter.pdf").read_bytes() != Path("a4.pdf").read_bytes()
    result = run("ticket", day, "--paper", "a5")
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == "Error: Invalid value for '--paper': 'a5' is not one of 'letter', 'a4'."


@pytest.mark.usefixtures("folder")
def test_the_weigh_day_itself_is_never_overwritten() -> None:
    day = write(Path())
    result = run("ticket", day, "-o", "./nursery.toml")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == "nursery.toml: is the weigh day itself; give another name with -o\n"
    assert Path(day).read_text(encoding="utf-8") == NURSERY


def test_it_is_not_written_over_another_weigh_day(folder: Path) -> None:
    other = folder / "other.toml"
    other.write_text("format = 1\n", encoding="utf-8")
    result = run("ticket", write(Path()), "-o", other.name)
    assert result.exit_code == 2
    assert result.stderr == "other.toml: is there already, and is no file of this kind; give another name with -o\n"
    assert other.read_text(encoding="utf-8") == "format = 1\n"


@pytest.mark.usefixtures("folder")
def test_what_stops_it_is_said() -> None:
    result = run("ticket", write(Path()), "-o", "none/x.pdf")
    assert (result.exit_code, result.stderr) == (2, "none/x.pdf: cannot be written: No such file or directory\n")
    result = run("ticket", write(Path(), text=BAD))
    assert (result.exit_code, len(result.stderr.splitlines())) == (2, 2)
    assert not Path("nursery.pdf").exists()


@pytest.mark.usefixtures("folder")
def test_a_day_in_other_scripts_has_a_ticket_and_a_drawing() -> None:
    day = write(Path(), text=NURSERY.replace("Nursery van", "\u82d7\u5703 \U0001f69a"))
    assert printed(day) == "nursery.pdf"
    assert run("draw", day, "--state", "coupled").exit_code == 0


@pytest.mark.usefixtures("folder")
def test_times_with_and_without_a_zone_go_on_one_ticket() -> None:
    first, second = 'state = "empty"\nat = 2026-03-01T08:00:00+01:00\n', 'state = "coupled"\nat = 2026-03-01T09:00:00\n'
    text = NURSERY.replace('state = "empty"\n', first).replace('state = "coupled"\n', second, 1)
    assert printed(write(Path(), text=text)) == "nursery.pdf"


def photo(path: Path, kind: str = "JPEG") -> str:
    Image.new("RGB", (30, 20), (200, 120, 40)).save(path, kind)
    return str(path)


def words_of(name: str) -> str:
    return " ".join(page.extract_text() for page in PdfReader(name).pages)


@pytest.mark.usefixtures("folder")
def test_photographs_plate_and_lines_to_sign_on_are_printed() -> None:
    day = write(Path(), text=NURSERY.replace('name = "Nursery van"', 'name = "Nursery van"\nplate = "QX 41 ZB"'))
    captioned = f"{photo(Path('a.jpg'))}=The van on its pads, {'seen from afar ' * 40}"
    bare = photo(Path("b=c.png"), "PNG")
    name = printed(day, "--photo", captioned, "--photo", bare, "--sign", "weighed by", "--sign", "the owner")
    said = words_of(name)
    for part in ("The van on its pads", "b=c", "plate QX 41 ZB", "weighed by", "the owner", "The rig in its other"):
        assert part in said, part
    assert "The rig in its other" not in words_of(printed(day, "--no-pictures", "-o", "short.pdf"))


@pytest.mark.usefixtures("folder")
def test_each_photograph_that_cannot_be_printed_is_said_and_nothing_is_written() -> None:
    day = write(Path())
    Path("words.txt").write_text("no picture", encoding="utf-8")
    with Path("large.jpg").open("wb") as large:
        large.truncate(50_000_000)
    Path("folder").mkdir()
    bad = ("words.txt", "large.jpg=So large", "gone.png", "folder")
    result = run("ticket", day, *[part for name in bad for part in ("--photo", name)], "--photo", photo(Path("a.jpg")))
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines() == [
        "words.txt: is not a picture that can be printed; a photograph is JPEG, PNG or WebP",
        "large.jpg: has 50.0 MB; a photograph has at most 20 MB",
        "gone.png: cannot be read: No such file or directory",
        "folder: is not a file",
    ]
    assert not Path("nursery.pdf").exists()


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("--photo", "=words"), "Invalid value for '--photo': '=words' names no file; write FILE or FILE=CAPTION"),
        (("--photo", ""), "Invalid value for '--photo': '' names no file; write FILE or FILE=CAPTION"),
        (("--photo", "a.jpg") * 25, "Invalid value for '--photo': 25 photographs; a ticket has at most 24"),
        (
            ("--sign", "w" * 61),
            "Invalid value for '--sign': has 61 characters; at most 60 stand under a line to sign on",
        ),
        (("--sign", " "), "Invalid value for '--sign': has no words; say who signs, as in --sign 'weighed by'"),
    ],
)
def test_what_makes_no_sense_is_refused(arguments: tuple[str, ...], message: str) -> None:
    result = run("ticket", write(Path()), *arguments)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.splitlines()[-1] == f"Error: {message}"


@pytest.mark.usefixtures("folder")
def test_a_photograph_is_never_overwritten_by_the_ticket() -> None:
    name = photo(Path("a.jpg"))
    before = Path(name).read_bytes()
    result = run("ticket", write(Path()), "--photo", name, "-o", name)
    assert (result.exit_code, result.stderr) == (2, "a.jpg: is one of the photographs; give another name with -o\n")
    assert Path(name).read_bytes() == before
