"""Records of photographs: read, written, added to a day, and held against the pictures that lie beside the file."""

from __future__ import annotations

import hashlib
import os
from dataclasses import replace
from pathlib import Path

import pytest

from steelyard.dayfile import (
    Beside,
    DayFileError,
    Part,
    day_bytes,
    extended,
    parse_day,
    photograph_faults,
    photograph_files,
    plain_name,
    read_photograph,
    with_photograph,
    write_day,
    write_photograph,
)
from steelyard.findings import weigh
from steelyard.model import Photograph, WeighDay
from steelyard.questions.findings import findings_data
from tests.store.samples import DAY

ONE, TWO = hashlib.sha256(b"one").hexdigest(), hashlib.sha256(b"two").hexdigest()
RECORDS = f"""
[[photographs]]
draft = "first"
place = "van/1L"
sha256 = "{ONE.upper()}"
file = "wheel 1L.jpg"
at = 2026-05-14T09:12:00Z
by = "phone ½"

[[photographs]]
draft = 1
sha256 = "{TWO}"
"""


def day_of(records: str = RECORDS) -> WeighDay:
    return parse_day(DAY + records, "day.toml")


def faults(records: str) -> list[str]:
    with pytest.raises(DayFileError) as error:
        day_of(records)
    return [f"{fault.path}: {fault.message}" for fault in error.value.faults]


def test_a_record_belongs_to_its_draft_and_to_its_reading() -> None:
    day = day_of()
    wheel, whole = day.photographs
    (draft,) = day.drafts
    left, right = draft.readings
    assert (wheel.draft, wheel.place, wheel.file, wheel.by) == (1, "van/1L", "wheel 1L.jpg", "phone ½")
    assert wheel.sha256 == ONE  # in small letters, however it is written
    assert wheel.short == ONE[:8]
    assert str(wheel.at) == "2026-05-14 09:12:00+00:00"
    assert (whole.place, whole.file, whole.at, whole.by) == (None, None, None, "")
    assert day.photographs_of(draft) == (wheel, whole)
    assert day.photographs_at(draft, left.place) == (wheel,)
    assert day.photographs_at(draft, right.place) == ()


def test_what_is_written_reads_back() -> None:
    day = day_of()
    assert parse_day(write_day(day), "again").photographs == day.photographs
    grown = parse_day(DAY, "day")
    for item in day.photographs:
        block = write_photograph(grown, item)
        assert 'draft = "first"' in block
        grown = extended(grown, block)
    assert grown == day


def test_no_finding_depends_on_photographs() -> None:
    """The files say the same but for the records, so every figure is the same to the last bit."""
    with_, without = (findings_data(weigh(one), file="day") for one in (day_of(), day_of("")))
    assert with_ == without


HEAD = "[[photographs]]\ndraft = 1\n"


@pytest.mark.parametrize(
    ("records", "said"),
    [
        (
            f'[[photographs]]\ndraft = 2\nsha256 = "{ONE}"',
            "photographs[1].draft: there is no draft of that number; the day has 1, counted from 1",
        ),
        (
            f'[[photographs]]\ndraft = "frist"\nsha256 = "{ONE}"',
            "photographs[1].draft: there is no draft of that key; did you mean 'first'?",
        ),
        (
            f'{HEAD}place = "van/2L"\nsha256 = "{ONE}"',
            "photographs[1].place: draft 1 has no reading there; did you mean 'van/1L'?",
        ),
        (
            f'{HEAD}place = "cab/2L"\nsha256 = "{ONE}"',
            "photographs[1].place: there is no vehicle 'cab'; the day has van",
        ),
        (
            f'{HEAD}sha256 = "{ONE[:63]}"',
            "photographs[1].sha256: has 63 digits; SHA-256 has 64, sha256sum FILE prints it",
        ),
        (
            f'{HEAD}sha256 = "{ONE[:63]}g"',
            (
                "photographs[1].sha256: is not a digest; SHA-256 has 64 digits of 0 to 9 and a to f, "
                "sha256sum FILE prints it"
            ),
        ),
        (
            f"{HEAD}sha256 = 12",
            "photographs[1].sha256: is not a digest; write its 64 digits in quotes, sha256sum FILE prints it",
        ),
        (
            HEAD,
            'photographs[1].sha256: is missing; a photograph needs it, for example sha256 = "9f86d0818..."',
        ),
        (
            f'{HEAD}sha256 = "{ONE}"\n{HEAD}sha256 = "{ONE.upper()}"',
            "photographs[2].sha256: stands twice for draft 1, as photograph 1 too; leave one out",
        ),
        (
            f'{HEAD}sha256 = "{ONE}"\nfile = "a.jpg"\n{HEAD}sha256 = "{TWO}"\nfile = "A.jpg"',
            "photographs[2].file: is the file of photograph 1 too, which has another digest; give each its own name",
        ),
        (
            f'{HEAD}sha256 = "{ONE}"\nplce = "x"',
            "photographs[1].plce: is an unknown key; a photograph does not have it; did you mean 'place'?",
        ),
    ],
)
def test_slips(records: str, said: str) -> None:
    assert faults(records) == [said]


PLAIN = 'is not a plain name; write the name alone of a file that lies beside this one, as in "wheel-1L.jpg"'
PATHS = [
    "../../etc/passwd", "/etc/passwd", "a/b.jpg", "..", ".", "", ".hidden", "C:x.jpg", "a\\\\b.jpg", " a.jpg", "a.jpg ",
    "a.jpg.", "a\\u202Egpj.exe", "a\\nb.jpg", "a*.jpg", "~/x?",
]  # fmt: skip


@pytest.mark.parametrize("path", PATHS)
def test_a_file_is_named_plainly(path: str) -> None:
    assert faults(f'{HEAD}sha256 = "{ONE}"\nfile = "{path}"') == [f"photographs[1].file: {PLAIN}"]


def test_a_name_may_be_long_but_not_without_end() -> None:
    assert plain_name("x" * 120)
    (said,) = faults(f'{HEAD}sha256 = "{ONE}"\nfile = "{"x" * 121}"')
    assert said == "photographs[1].file: is 121 characters long; the name of a file has at most 120 here"


def test_a_photograph_is_added_to_a_day_that_has_some() -> None:
    day = day_of()
    with pytest.raises(DayFileError) as error:
        read_photograph(day, {"draft": "first", "place": "van/1L", "sha256": ONE})
    assert [str(fault) for fault in error.value.faults] == [
        f'sha256: "{ONE[:56]}...: stands twice for draft 1, van/1L, as photograph 1 too; leave one out'
    ]
    same_bytes = read_photograph(day, {"draft": 1, "place": "van/1R", "sha256": ONE, "at": "2026-05-14T09:12:00Z"})
    assert with_photograph(day, same_bytes).photographs[2].place == "van/1R"
    full = replace(day, photographs=(Photograph(1, ONE),) * Part.PHOTOGRAPH.most)
    with pytest.raises(DayFileError, match="is one too many; a weigh day has at most 10000 photographs"):
        read_photograph(full, {"draft": 1, "sha256": TWO})


# -- beside the file -------------------------------------------------------------------------------------------------

NAMED = "".join(
    f'{HEAD}sha256 = "{hashlib.sha256(name.encode()).hexdigest()}"\nfile = "{name}"\n'
    for name in ("same", "other", "gone", "folder", "pipe", "large", "empty", "link")
)


def _short(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()[:12]


def test_each_picture_beside_the_file_is_the_one_that_was_kept_or_is_said_not_to_be(tmp_path: Path) -> None:
    path = tmp_path / "day.toml"
    path.write_text(DAY + NAMED + f'{HEAD}sha256 = "{ONE}"\n', encoding="utf-8")
    (tmp_path / "same").write_bytes(b"same")
    (tmp_path / "other").write_bytes(b"changed")
    (tmp_path / "folder").mkdir()
    os.mkfifo(tmp_path / "pipe")
    with (tmp_path / "large").open("wb") as stream:
        stream.truncate(40_000_000)
    (tmp_path / "empty").touch()
    (tmp_path / "link").symlink_to(tmp_path / "same")
    data = day_bytes(path)
    files = list(photograph_files(parse_day(data, "day.toml"), path))
    assert [item.kept for item in files] == [
        Beside.SAME,
        Beside.OTHER,
        Beside.MISSING,
        Beside.UNREADABLE,
        Beside.UNREADABLE,
        Beside.UNREADABLE,
        Beside.OTHER,
        Beside.UNREADABLE,
        Beside.UNNAMED,
    ]
    assert [item.data for item in files] == [b"same", *[b""] * 8]
    lines = DAY.count("\n")
    said = {fault.value: (fault.line, fault.path, fault.message) for fault in photograph_faults(files, data.decode())}
    changed, kept = _short(b"changed"), _short(b"other")
    assert said['"other"'] == (
        lines + 8,
        "photographs[2].file",
        said['"empty"'][2].replace(_short(b""), changed).replace(_short(b"empty"), kept),
    )
    assert said['"other"'][2] == (
        f"is not the one that was kept: its SHA-256 begins with {changed}, the record has {kept}; "
        "put back the picture as it was taken"
    )
    assert said['"folder"'][2] == "cannot be read: Is a directory"
    assert said['"pipe"'][2] == "is a pipe that nobody writes to; give the name of a file, or write to it first"
    assert said['"large"'][2] == "is 40.0 MB; a photograph has at most 20 MB and is not read beyond that"
    assert said['"link"'][2] == "is a link to another file; put the picture itself beside the weigh-day file"
    assert list(said) == ['"other"', '"folder"', '"pipe"', '"large"', '"empty"', '"link"']
