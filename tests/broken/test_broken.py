"""One broken file per fault, with the exact message beside it."""

from __future__ import annotations

import os
import sys
import threading
import time
import tomllib
from contextlib import suppress
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest

from steelyard.dayfile import LARGEST, DayFileError, Fault, parse_day, read_day

HERE = Path(__file__).parent
SOUND = (HERE / "sound.toml").read_text(encoding="utf-8")


@dataclass(frozen=True)
class Case:
    """One broken file: its name, the changes that break ``sound.toml``, and what must be said of it."""

    name: str
    edits: tuple[tuple[str, str], ...]
    lines: tuple[str, ...]


def _cases() -> list[Case]:
    table = tomllib.loads((HERE / "faults.toml").read_text(encoding="utf-8"))
    return [
        Case(case["name"], tuple((edit["old"], edit["new"]) for edit in case["edits"]), tuple(case["lines"]))
        for case in table["case"]
    ]


CASES = _cases()


def broken(case: Case) -> str:
    text = SOUND
    for old, new in case.edits:
        assert old in text, f"{case.name}: {old!r} does not stand in sound.toml"
        text = text.replace(old, new, 1)
    return text


def complaint(text: str | bytes, file: str = "day.toml") -> list[str]:
    with pytest.raises(DayFileError) as caught:
        parse_day(text, file)
    return caught.value.lines()


@cache
def refusal(case: Case) -> DayFileError:
    """What the reader says of a broken file, read once."""
    with pytest.raises(DayFileError) as caught:
        parse_day(broken(case), "day.toml")
    return caught.value


def test_the_file_that_the_cases_break_is_sound() -> None:
    assert len(parse_day(SOUND, "sound.toml").drafts) == 4


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_each_fault_is_said_exactly(case: Case) -> None:
    assert refusal(case).lines() == list(case.lines)


def test_no_two_cases_have_one_name() -> None:
    assert len({case.name for case in CASES}) == len(CASES)


def test_without_the_optional_parser_only_lines_are_lost(monkeypatch: pytest.MonkeyPatch) -> None:
    with_lines = {case.name: refusal(case).faults for case in CASES}
    monkeypatch.setitem(sys.modules, "tree_sitter_toml", None)
    for case in CASES:
        without = _faults(broken(case))
        one, other = ([(f.path, f.value, f.message) for f in some] for some in (with_lines[case.name], without))
        if one[0][0]:
            one, other = sorted(one), sorted(other)
        else:
            one, other = ([message for _, _, message in some] for some in (one, other))
        assert other == one, case.name


def _faults(text: str) -> tuple[Fault, ...]:
    with pytest.raises(DayFileError) as caught:
        parse_day(text, "day.toml")
    return caught.value.faults


def test_all_faults_of_all_parts_are_said_at_once() -> None:
    edits = {
        'mass = "lb"': 'mass = "st"',
        'height = "2.5 in"': 'height = "2.5 kg"',
        'x = "176 in"': 'x = "-176 in"',
        'on = "tow"': 'on = "two"',
        'at = "ball", trailer = "stock" },': 'at = "bell", trailer = "stock" },',
        'state = "hitched"': 'stat = "hitched"',
        'reason = "read again"': "reason = 3",
    }
    text = SOUND
    for old, new in edits.items():
        text = text.replace(old, new, 1)
    paths = [fault.path for fault in _faults(text)]
    assert paths == [
        "units.mass",
        "instruments.p1.height",
        "vehicles.tow.axles[2].x",
        "cargo.driver.on",
        "states.train.couple[1].at",
        "drafts[2].state",
        "drafts[2].stat",
        "corrections[1].reason",
    ]


def test_a_fault_alone_says_its_line_path_value_and_message() -> None:
    fault = Fault(12, "vehicles.tow.axles[2].track", '"68 kg"', "has the unit 'kg'")
    assert str(fault) == "line 12: vehicles.tow.axles[2].track: \"68 kg\": has the unit 'kg'"
    error = DayFileError("a.toml", (fault, Fault(None, "", "", "is empty")))
    assert str(error) == "a.toml:12: vehicles.tow.axles[2].track: \"68 kg\": has the unit 'kg'\na.toml: is empty"


DEEPEST = (
    "day.toml:2: a: [[[[[[...]]]]]]: is an unknown key; a weigh day does not have it; its keys: format, "
    "title, units, site, record, instruments, vehicles, cargo, states, drafts, corrections, rules, ..."
)


NESTED = "is nested too deeply; no value here stands deeper than six levels"
NINES = "9" * 57 + "..."
FEW = "write one of a few digits"


@pytest.mark.parametrize(
    ("data", "line"),
    [
        (b'format = 1\ntitle = "\xff"\n', "day.toml:2: the byte 0xFF is not UTF-8; save the file as UTF-8"),
        (b"format = 1\x00", "day.toml: is a binary file; it must be TOML text in UTF-8"),
        ("format = 1".encode("utf-16"), "day.toml: is UTF-16 text; save it as UTF-8"),
        (b"b = 1\na = " + b"[" * 5000, f"day.toml:2: {NESTED}"),
        (b"format = 1\nb = " + b"9" * 5000, f"day.toml:2: {NINES}: is a number of 5,000 digits; {FEW}"),
        (
            b'title = """\n'
            + b"9" * 5000
            + b'""" # '
            + b"9" * 5000
            + b"\n"
            + b"7" * 5000
            + b" = 1\nb = [1,\n-"
            + b"9_" * 4301
            + b"9]\n",
            f"day.toml:5: -{'9_' * 28}...: is a number of 4,302 digits; {FEW}",
        ),
        (
            b"format = 1\n" + b"a." * 20_000 + b"a = 1",
            "day.toml:2: a dotted key of more than 32 parts; no key here has more than six",
        ),
        (
            b"format = 1\n" + b"a." * 3000 + b"a = 1",
            "day.toml:2: a dotted key of more than 32 parts; no key here has more than six",
        ),
        (
            b"format = 1\na = [\n" + b"[\n" * 32 + b"]" * 33,
            f"day.toml:34: {NESTED}",
        ),
        (
            b"format = 1\na = " + b"{a = " * 33 + b"1" + b"}" * 33,
            f"day.toml:2: {NESTED}",
        ),
        (
            b"format = 1\n[" + b"a." * 19 + b"a]\n# deep by its names alone\n" + b"b." * 19 + b"b = 1",
            f"day.toml:4: {NESTED}",
        ),
        (b"format = 1\na = " + b"[" * 31 + b"]" * 31, DEEPEST),
        (b"\r", "day.toml:1: is not valid TOML: a line is a [table], a key = value, or a comment after #"),
        (b"", "day.toml: format: is missing; a weigh day needs it, for example format = 1"),
    ],
    ids=[
        "not UTF-8",
        "binary",
        "UTF-16",
        "nested",
        "digits",
        "digits behind texts",
        "endless key",
        "3000 keys",
        "lists",
        "tables",
        "names",
        "31 lists",
        "carriage return",
        "nothing at all",
    ],
)
def test_what_is_no_text_of_a_weigh_day(data: bytes, line: str) -> None:
    assert complaint(data) == [line]


def test_a_number_is_shown_as_it_was_written() -> None:
    """Whole numbers and exponents beyond every float would be infinite, or in other digits, once they are read."""
    text = SOUND.replace('track = "68 in"', "track = -1e400", 1).replace("division = ", "division = 1e999999999 #", 1)
    text = text.replace("format = 1", f"format = {10**30}", 1)
    lines = complaint(text)
    assert len(lines) == 3, lines
    assert all(
        shown in line for shown, line in zip((f" {10**30}: ", " 1e999999999: ", " -1e400: "), lines, strict=True)
    )


def test_what_stands_twice_before_deep_brackets_is_said() -> None:
    """The parser that places keys follows brackets on the machine's stack, and must never see so many."""
    data = b"format = 1\nformat = 1\na = " + b"[" * 60_000
    assert complaint(data) == ["day.toml:2: format = 1: the key format stands twice; keep one of the two"]


def test_a_large_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "large.toml"
    with path.open("wb") as stream:
        stream.truncate(50_000_000)
    with pytest.raises(DayFileError) as caught:
        read_day(path)
    assert caught.value.lines() == [
        f"{path}: is 50.0 MB; a weigh-day file has at most 8 MB and is not read beyond that"
    ]


def test_a_large_text_is_refused_and_one_at_the_limit_is_not() -> None:
    head = "format = 1\n"
    assert parse_day(head + "#" * (LARGEST - len(head)), "x").title == ""
    assert complaint(head + "#" * (LARGEST - len(head) + 1)) == [
        "day.toml: is over 8 MB; a weigh-day file has at most 8 MB and is not read beyond that"
    ]


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(DayFileError) as caught:
        read_day(tmp_path / "none.toml")
    assert caught.value.lines() == [f"{tmp_path / 'none.toml'}: cannot be read: No such file or directory"]
    with pytest.raises(DayFileError) as caught:
        read_day(tmp_path)
    assert caught.value.lines() == [f"{tmp_path}: cannot be read: Is a directory"]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("/dev/zero", "/dev/zero: is a device; give the name of a file"),
        ("/dev/null", "/dev/null: is a device; give the name of a file"),
        ("", '"": is an empty name; give the name of a file'),
        ("a\0b", '"a\\u0000b": cannot be read: its name is not usable'),
    ],
)
def test_what_is_no_file_is_said_to_be_what_it_is(name: str, line: str) -> None:
    with pytest.raises(DayFileError) as caught:
        read_day(name)
    assert caught.value.lines() == [line]


def test_a_pipe_without_a_writer_does_not_hold_anything_up(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    with pytest.raises(DayFileError) as caught:
        read_day(pipe)
    assert caught.value.lines() == [
        f"{pipe}: is a pipe that nobody writes to; give the name of a file, or write to it first"
    ]


def test_a_pipe_is_read_to_its_end_however_slowly_it_is_written(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    reader = os.open(pipe, os.O_RDONLY | os.O_NONBLOCK)  # so that the writer does not wait for the program
    writer = os.open(pipe, os.O_WRONLY)

    def write() -> None:
        for part in SOUND.encode().split(b"\n\n"):
            os.write(writer, part + b"\n\n")
            time.sleep(0.002)
        os.close(writer)

    thread = threading.Thread(target=write)
    thread.start()
    day = read_day(pipe)
    thread.join()
    os.close(reader)
    assert len(day.drafts) == 4


def test_a_pipe_that_goes_on_beyond_the_limit_is_read_no_further(tmp_path: Path) -> None:
    """A pipe has no size to be looked at beforehand."""
    pipe = tmp_path / "endless"
    os.mkfifo(pipe)
    handle = os.open(pipe, os.O_RDWR)

    def write() -> None:
        with suppress(BrokenPipeError), os.fdopen(handle, "wb", buffering=0) as stream:
            for _ in range(LARGEST // 1000 + 1):
                stream.write(b"#" * 1000)

    thread = threading.Thread(target=write)
    thread.start()
    with pytest.raises(DayFileError) as caught:
        read_day(pipe)
    thread.join()
    assert caught.value.lines() == [
        f"{pipe}: goes on beyond 8 MB; a weigh-day file has at most that and is not read further"
    ]


def test_a_file_of_another_kind_does_not_flood_the_screen() -> None:
    lines = complaint("\n".join(f"key_{number} = 1" for number in range(5000)))
    assert len(lines) == 1001
    assert lines[-1] == "day.toml: there are further faults; the first 1000 are shown"


AXLES = "[{ x = 1, track = 1 }, { x = 1, track = 1 }, { x = 1, tra..."


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "format = 1\nvehicles = {" + ", ".join(f"v{number} = {{}}" for number in range(1001)) + "}",
            "day.toml:2: vehicles: has 1001 members; at most 1000 are read",
        ),
        (
            "format = 1\ndrafts = [" + "{}, " * 10_001 + "]",
            "day.toml:2: drafts: has 10001 members; at most 10000 are read",
        ),
        (
            'format = 1\nvehicles.a = { role = "trailer", axles = [' + "{ x = 1, track = 1 }, " * 100 + "] }",
            f"day.toml:2: vehicles.a.axles: {AXLES}: has 100 axles; a vehicle has one to four axles here",
        ),
    ],
    ids=["vehicles", "drafts", "axles"],
)
def test_more_members_than_any_day_has(text: str, line: str) -> None:
    assert complaint(text) == [line]


def test_a_place_of_many_parts_is_refused_unread() -> None:
    place = "+".join(["tow"] * 100)
    text = SOUND.replace('"stock" = ["deck"', f'"{place}" = ["deck"', 1)
    where = f'drafts[2].readings."{place}": ["deck", "9000 lb"]'
    assert complaint(text) == [f"day.toml:121: {where}: is 399 characters long; a place has at most 300"]


def test_the_name_of_a_file_stays_on_one_line() -> None:
    assert complaint("format = 2", "a\nb.toml") == [
        '"a\\u000Ab.toml":1: format: 2: is not known; this version reads format = 1'
    ]
