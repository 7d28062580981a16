"""``steelyard overlay``: whole files, each picture once, the same bytes in every run; one message for each mistake."""

from __future__ import annotations

import contextlib
import csv
import errno
import io
import os
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest
import webvtt
from PIL import Image

from steelyard.cli.commands import overlay as command
from steelyard.cli.frame_folder import FrameFolder
from steelyard.cli.progress import Counted
from tests.cli.days import NURSERY, ROOT, run, write

_DRAFT = "[[drafts]]\n"


def timed(*times: str, text: str = NURSERY) -> str:
    """The nursery day, its drafts at these times of one day; empty for a draft without a time."""
    head, *drafts = text.split(_DRAFT)
    stamped = (f"at = {time}\n{draft}" if time else draft for time, draft in zip(times, drafts, strict=True))
    return _DRAFT.join([head, *stamped])


DAY = timed("2026-05-14T10:00:00", "2026-05-14T10:00:20", "2026-05-14T10:00:30")
SAMPLES = "t,van/1L,van/1R,van/2L,van/2R\n0,720,705,615,620\n1,720,705,615,620\n2,715,700,640,640\n3,720,705,615,620\n"


@dataclass(frozen=True)
class Made:
    """A folder that a command made, and what it printed."""

    folder: Path
    said: str

    def text(self, name: str) -> str:
        return (self.folder / name).read_text(encoding="utf-8")

    @property
    def shown(self) -> list[str]:
        """The file that each frame shows, by its list."""
        rows = list(csv.DictReader(io.StringIO(self.text("frames.csv"))))
        return [row["file"] for row in rows for _ in range(int(row["first"]), int(row["last"]) + 1)]


def make(folder: Path, *arguments: str, day: str = DAY, name: str = "out") -> Made:
    result = run("overlay", write(folder, text=day), "-o", str(folder / name), *arguments)
    assert result.exit_code == 0, result.stderr
    assert result.stderr == ""
    return Made(folder / name, result.stdout)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Half a minute that begins ten seconds before the first draft and ends with the second."""
    folder = tmp_path_factory.mktemp("video")
    return make(folder, "--start", "09:59:50", "--duration", "0:35", "--fps", "2", "--shape", "1:1")


def test_frames_are_held_from_draft_to_draft_and_empty_before(made: Made) -> None:
    pictures = [f"pictures/picture-000{number}.png" for number in (1, 2, 3)]
    assert made.said == f"{made.folder}: 70 frames, 3 pictures, 2 captions\n"
    assert made.shown == [pictures[0]] * 20 + [pictures[1]] * 40 + [pictures[2]] * 10
    assert sorted(path.name for path in made.folder.iterdir()) == [
        "captions.vtt",
        "frames",
        "frames.csv",
        "pictures",
        "playlist.ffconcat",
    ]
    with Image.open(made.folder / pictures[0]) as empty:
        assert empty.getchannel("A").getextrema() == (0, 0)
    with Image.open(made.folder / pictures[1]) as picture:
        assert picture.size == (1080, 1080)
        assert picture.getchannel("A").getextrema() == (0, 255)


def test_each_frame_is_another_name_of_its_picture(made: Made) -> None:
    frames = sorted((made.folder / "frames").iterdir())
    assert [frame.name for frame in frames] == [f"frame-{number:06}.png" for number in range(70)]
    assert [frame.stat().st_ino for frame in frames] == [(made.folder / file).stat().st_ino for file in made.shown]
    taken = {path.stat().st_ino: path.stat().st_blocks for path in made.folder.rglob("*.png")}
    distinct = sum(path.stat().st_blocks for path in (made.folder / "pictures").iterdir())
    assert sum(taken.values()) == distinct
    assert len(made.text("frames.csv").splitlines()) == 1 + 3  # however many frames there are


def test_captions_are_shown_while_the_frames_are(made: Made) -> None:
    captions = webvtt.from_string(made.text("captions.vtt"), strict=True)
    assert [(caption.start, caption.end) for caption in captions] == [
        ("00:00:10.000", "00:00:30.000"),
        ("00:00:30.000", "00:00:35.000"),
    ]
    assert captions[0].lines[0] == "10:00:00, draft 1: empty"
    assert captions[0].lines[1].startswith("Nursery van, gross: 2,660 kg, 95 % interval ")
    assert captions[1].lines[0] == "10:00:20, draft 2: coupled"
    assert "Seedling trailer, axle 1: not determined" in captions[1].lines


def test_the_playlist_lasts_as_long(made: Made) -> None:
    assert made.text("playlist.ffconcat").splitlines()[1:5] == [
        "file pictures/picture-0001.png",
        "duration 10.000000",
        "file pictures/picture-0002.png",
        "duration 20.000000",
    ]


def test_the_same_day_gives_the_same_bytes(made: Made, tmp_path: Path) -> None:
    again = make(tmp_path, "--start", "09:59:50", "--duration", "0:35", "--fps", "2", "--shape", "1:1")
    names = sorted(path.relative_to(made.folder) for path in made.folder.rglob("*.*"))
    assert names == sorted(path.relative_to(again.folder) for path in again.folder.rglob("*.*"))
    assert all((made.folder / name).read_bytes() == (again.folder / name).read_bytes() for name in names)


def test_without_a_window_it_goes_from_the_first_draft_to_five_seconds_after_the_last(tmp_path: Path) -> None:
    made = make(tmp_path, "--fps", "1", "--dark", "--units", "lb,in", "--shape", "1:1")
    assert (len(made.shown), len(set(made.shown))) == (35, 3)
    assert "Nursery van, gross: 5,864 lb, " in made.text("captions.vtt")
    with Image.open(made.folder / made.shown[0]) as picture:
        assert picture.convert("RGBA").getchannel("A").getextrema() == (255, 255)
        assert picture.convert("RGB").getpixel((0, 0)) == (0x11, 0x16, 0x1C)


def test_a_rig_that_does_not_fit_is_said_before_anything_is_written(tmp_path: Path) -> None:
    """Eight axles have no room side by side across 1080 pixels."""
    day = DAY
    for vehicle, below in (("van", "[vehicles.van.couplings.ball]"), ("beds", "[states.empty]")):
        axles = (
            f'[[vehicles.{vehicle}.axles]]\nx = "{5000 + 900 * more} mm"\ntrack = "1800 mm"\n' for more in range(3)
        )
        day = day.replace(below, "".join(list(axles)[: 2 if vehicle == "van" else 3]) + below)
    result = run("overlay", write(tmp_path, text=day), "-o", str(tmp_path / "out"), "--shape", "1:1")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "does not fit on 1:1 in letters that can be read; choose another shape\n" in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_log_is_shown_sample_by_sample_and_a_picture_that_returns_once(tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(SAMPLES, encoding="utf-8")
    log = ("--log", str(tmp_path / "log.csv"), "--state", "empty")
    made = make(tmp_path, *log, "--start", "1.5", "--end", "4", "--fps", "2", "--shape", "1:1", day=NURSERY)
    first, second = "pictures/picture-0001.png", "pictures/picture-0002.png"
    assert made.shown == [first, second, second, first, first]
    captions = webvtt.from_string(made.text("captions.vtt"), strict=True)
    assert [caption.lines[0] for caption in captions] == ["Nursery van with the seedling trailer: empty"] * 3
    assert captions[0].lines[1:] == captions[2].lines[1:] != captions[1].lines[1:]


WINDOWS = [
    (("--start", "10:00:31"), "'10:00:31' is after the last draft, at 10:00:30; give an earlier time"),
    (("--start", "2026-05-15T00:00:01"), "'2026-05-15T00:00:01' is after the last draft, at 10:00:30"),
    (("--start", "soon"), "Invalid value for '--start': 'soon' is not a time; write for example 10:32:05"),
    (("--start", "10:00:10", "--end", "10:00:10"), "'10:00:10' is not after the start, 10:00:10"),
    (
        ("--start", "09:59:00", "--duration", "10"),
        "every frame would be empty, for before 10:00:00 nothing was weighed",
    ),
    (("--duration", "0"), "'0' is not a duration"),
    (("--end", "10:00:10", "--duration", "5"), "--end and --duration both say how long the video is; give one of them"),
    (("--fps", "0"), "'0' is not a number of frames a second that can be made; give 1 to 240"),
    (("--fps", "1000"), "'1000' is not a number of frames a second that can be made"),
    (("--fps", "30/0"), "'30/0' is not a number of frames a second"),
    (("--fps", "1/2/3"), "'1/2/3' is not a number of frames a second"),
    (("--fps", "nan"), "'nan' is not a number of frames a second"),
    (("--duration", "9:00:00", "--fps", "60"), "this makes 1,944,000 frames, and 1,000,000 are the most"),
    (("--state", "empty"), "--state and --pad are for a log; name it with --log"),
    (("--log", "gone.csv", "--state", "empty"), "gone.csv: "),
    (("--log", "log.csv"), "--state"),
    (("--log", "log.csv", "--state", "emty"), "there is no such state; did you mean 'empty'"),
    (("--log", "log.csv", "--state", "empty", "--start", "10:00:00"), "'10:00:00' is not a number of seconds"),
    (("--log", "log.csv", "--state", "empty", "--start", "9"), "'9' is after the last sample, at 3 s"),
    (("--log", "log.csv", "--state", "empty", "--pad", "a"), "is not a place and an instrument"),
]


@pytest.mark.parametrize(
    ("arguments", "said"), WINDOWS, ids=lambda item: " ".join(item) if isinstance(item, tuple) else ""
)
def test_each_mistake_has_its_message(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], said: str
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("log.csv").write_text(SAMPLES, encoding="utf-8")
    result = run("overlay", write(Path(), text=DAY), "-o", "out", *arguments)
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    assert not Path("out").exists()


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (NURSERY, "nursery.toml: drafts 1 (draft 1), 2 (draft 2), 3 (draft 3) have no time"),
        (timed("2026-05-14T10:00:00", "2026-05-14T10:00:00", ""), "nursery.toml: draft 3 (draft 3) has no time"),
        (
            timed(*["2026-05-14T10:00:00Z"] * 3),
            "drafts 1 (draft 1) and 2 (draft 2) are both at 2026-05-14T10:00:00+00:00",
        ),
        (DAY.replace('state = "empty"', 'state = "emty"'), "nursery.toml:"),
    ],
)
def test_a_day_that_tells_no_times_is_refused(tmp_path: Path, day: str, said: str) -> None:
    result = run("overlay", write(tmp_path, text=day), "-o", str(tmp_path / "out"))
    assert result.exit_code == 2
    assert said in result.stderr
    assert not (tmp_path / "out").exists()


def test_midnight_passed_wants_the_whole_moment(tmp_path: Path) -> None:
    day = timed("2026-05-14T23:59:50", "2026-05-15T00:00:10", "2026-05-15T00:00:20")
    result = run("overlay", write(tmp_path, text=day), "-o", str(tmp_path / "out"), "--start", "23:59:55")
    assert result.exit_code == 2
    assert "from 2026-05-14 to 2026-05-15, so '23:59:55' may be either day" in " ".join(result.stderr.split())
    made = make(tmp_path, "--start", "2026-05-15T00:00:05", "--fps", "1", "--duration", "10", "--shape", "1:1", day=day)
    assert made.shown == ["pictures/picture-0001.png"] * 5 + ["pictures/picture-0002.png"] * 5
    assert "2026-05-15 00:00:10, draft 2: coupled" in made.text("captions.vtt")


def test_a_folder_that_is_not_empty_is_left_alone(tmp_path: Path) -> None:
    day = write(tmp_path, text=DAY)
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "captions.vtt").write_text("mine", encoding="utf-8")
    for output, said in (("out", "is not empty; give the name of a new folder"), ("nursery.toml", "is a file")):
        result = run("overlay", day, "-o", str(tmp_path / output))
        assert (result.exit_code, result.stdout) == (2, "")
        assert f"{tmp_path / output}: {said}" in result.stderr
    assert [path.name for path in (tmp_path / "out").iterdir()] == ["captions.vtt"]
    assert (tmp_path / "out" / "captions.vtt").read_text(encoding="utf-8") == "mine"
    assert Path(day).read_text(encoding="utf-8") == DAY


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = run("overlay", write(tmp_path, text=DAY), "-o", str(tmp_path / "file" / "out"), "--shape", "1:1")
    assert (result.exit_code, result.stdout) == (2, "")
    assert "out: cannot be written: Not a directory" in result.stderr


def test_an_interruption_leaves_whole_files_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while the second picture is being written, when half of it is on the disk."""
    whole = Path.write_bytes
    written: list[Path] = []

    def interrupted(path: Path, content: bytes) -> int:
        written.append(path)
        if len(written) == 2:
            whole(path, content[:100])
            raise KeyboardInterrupt
        return whole(path, content)

    monkeypatch.setattr(Path, "write_bytes", interrupted)
    result = run("overlay", write(tmp_path, text=DAY), "-o", str(tmp_path / "out"), "--fps", "1", "--shape", "1:1")
    assert (result.exit_code, result.stdout) == (130, "")
    assert "Interrupted." in result.stderr
    files = [path for path in (tmp_path / "out").rglob("*") if path.is_file()]
    assert len(files) == 21  # a picture and its twenty frames
    for path in files:
        with Image.open(path) as picture:
            picture.load()


def test_a_disk_without_links_gets_the_pictures_and_the_lists(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(*_: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)
    result = run("overlay", write(tmp_path, text=DAY), "-o", str(tmp_path / "out"), "--fps", "1", "--shape", "1:1")
    assert result.exit_code == 0
    assert "this disk has no hard links, so there is no frames/; playlist.ffconcat plays pictures/" in result.stderr
    assert not (tmp_path / "out" / "frames").exists()
    assert len(Made(tmp_path / "out", "").shown) == 35


def test_a_picture_with_too_many_names_is_copied(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    link = os.link

    def few(source: Path, name: Path) -> None:
        if Path(source).stat().st_nlink > 3:
            raise OSError(errno.EMLINK, "Too many links")
        link(source, name)

    monkeypatch.setattr(os, "link", few)
    folder = FrameFolder(tmp_path)
    folder.frames(command.FrameRun(0, 9, None), folder.picture(1, b"content"))
    frames = sorted((tmp_path / "frames").iterdir())
    assert [frame.name for frame in frames] == [f"frame-{number:06}.png" for number in range(9)]
    assert {frame.read_bytes() for frame in frames} == {b"content"}
    assert len({frame.stat().st_ino for frame in frames}) == 3


def test_progress_is_a_line_for_each_tenth(tmp_path: Path) -> None:
    rows = "".join(f"{time},{720 + 5 * (time % 2)},705,615,620\n" for time in range(30))
    (tmp_path / "log.csv").write_text(SAMPLES.partition("\n")[0] + "\n" + rows, encoding="utf-8")
    log = ("--log", str(tmp_path / "log.csv"), "--state", "empty", "--shape", "1:1", "--fps", "1")
    result = run("overlay", write(tmp_path), "-o", str(tmp_path / "out"), *log)
    assert result.exit_code == 0
    assert result.stderr.splitlines() == [f"pictures and frames: {done} of 30" for done in range(3, 31, 3)]


def test_the_how_to_shows_the_first_caption_as_it_is(tmp_path: Path) -> None:
    page = (ROOT / "docs" / "how-to" / "video-overlay.md").read_text(encoding="utf-8")
    shown = [line.removeprefix("> ").removesuffix("<br>") for line in page.splitlines() if line.startswith("> ")]
    bakery = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    made = make(tmp_path, "--start", "09:29:50", "--duration", "10", "--fps", "1", day=bakery)
    assert webvtt.from_string(made.text("captions.vtt"), strict=True)[0].lines[:2] == shown


def test_on_a_terminal_one_line_counts_and_a_message_has_its_own(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with Counted("pictures", 3) as progress:
        for done in (1, 2, 3):
            progress.step(done)
    assert capsys.readouterr().err == "\rpictures: 1 of 3\rpictures: 2 of 3\rpictures: 3 of 3\n"
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    with contextlib.suppress(OSError), Counted("pictures", 3) as progress:
        progress.step(1)
        raise OSError
    assert capsys.readouterr().err == "\rpictures: 1 of 3\n"
