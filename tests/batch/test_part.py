"""One part: days in, tables out, the same bytes each time, and a folder of answers that gives back its whole parts."""

from __future__ import annotations

import json
import pickle
from pathlib import Path
from typing import Any

import pytest

from steelyard.batch.layout import (
    COLUMNS,
    FAULTS,
    FINDINGS,
    MANIFEST,
    VERDICTS,
    AnswersFolderError,
    BatchColumn,
    DayText,
)
from steelyard.batch.manifest import add_line, is_whole, lines_of, mend, read_manifest
from steelyard.batch.options import BatchOptions
from steelyard.batch.parquet import write_table
from steelyard.batch.part import PartDone, PartJob, part_job, weigh_part
from steelyard.batch.reading import AnswersFolder
from tests.cli.days import BAD, NURSERY

TEXTS = (
    DayText("good.toml", NURSERY),
    DayText("again.toml", NURSERY, at="2026-05-01"),
    DayText("bad.toml", BAD),
    DayText("latin.toml", NURSERY.replace("Nursery van", "G\udce4rtner")),
    DayText("gone.toml", "", unread="cannot be read: No such file or directory"),
)


def job(folder: Path) -> PartJob:
    return part_job(TEXTS, folder, BatchOptions())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("answers")
    add_line(folder, weigh_part(job(folder)))
    return folder


def test_a_part_done_twice_is_the_same_to_the_byte_and_leaves_nothing_else(folder: Path, tmp_path: Path) -> None:
    (first,) = lines_of(folder)
    travelled = pickle.loads(pickle.dumps(job(tmp_path)))
    again = weigh_part(travelled)
    assert again.tables == first.tables
    assert weigh_part(travelled).tables == first.tables
    files = sorted(path.name for path in tmp_path.rglob("*") if path.is_file())
    assert files == [f"part-{first.name}.parquet"] * len(COLUMNS)


def test_days_that_cannot_be_answered_are_rows_among_the_faults(folder: Path) -> None:
    answers = AnswersFolder(folder)
    assert (answers.days, answers.faulty) == (5, 3)
    rows = answers.rows(FAULTS).to_pylist()
    kinds = {row["source"]: row["kind"] for row in rows}
    assert kinds == {"bad.toml": "faulty", "latin.toml": "unreadable", "gone.toml": "unreadable"}
    assert next(row for row in rows if row["source"] == "gone.toml")["day"] == ""
    (latin,) = [row for row in rows if row["source"] == "latin.toml"]
    assert "0xE4 is not UTF-8" in latin["message"]
    bad = [row for row in rows if row["source"] == "bad.toml"]
    assert len(bad) >= 2
    assert '"1800 mmm"' in {row["value"] for row in bad}
    assert all(row["line"] > 0 and row["place"] for row in bad)


def test_the_same_text_under_two_names_is_answered_twice(folder: Path) -> None:
    days = AnswersFolder(folder).rows("days").to_pylist()
    assert [(row["source"], row["at"]) for row in days] == [("good.toml", None), ("again.toml", "2026-05-01")]
    assert len({row["day"] for row in days}) == 1


def test_rows_are_chosen_by_column_and_condition(folder: Path) -> None:
    from pyarrow import compute

    answers = AnswersFolder(folder)
    gross = answers.rows(FINDINGS, ["owner", "role", "unit"], compute.field("quantity") == "gross").to_pylist()
    assert {(row["owner"], row["role"]) for row in gross} >= {("van", "alone"), ("van", "towing"), ("beds", "towed")}
    assert {row["unit"] for row in gross} == {"kg"}
    quantities = answers.rows(FINDINGS, ["quantity"])["quantity"].to_pylist()
    assert quantities == sorted(quantities)
    assert answers.rows(VERDICTS).column_names == [column.name for column in COLUMNS[VERDICTS]]


def test_an_error_that_nobody_foresaw_is_a_row_that_asks_for_a_report(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from steelyard.batch import part

    real = part.weigh

    def failing(day: Any) -> Any:
        if "odd" in day.title:
            raise ZeroDivisionError("by nothing")
        return real(day)

    monkeypatch.setattr(part, "weigh", failing)
    odd = DayText("odd.toml", NURSERY.replace("Nursery van with", "odd"))
    done = weigh_part(part_job([odd, TEXTS[0]], tmp_path, BatchOptions()))
    add_line(tmp_path, done)
    (row,) = AnswersFolder(tmp_path).rows(FAULTS).to_pylist()
    assert (done.days, done.faulty, row["kind"], row["source"]) == (2, 1, "broken", "odd.toml")
    assert "ZeroDivisionError: by nothing (test_part.py:" in row["message"]
    assert "report it" in row["message"]


def test_a_damaged_or_missing_table_is_no_whole_part(tmp_path: Path) -> None:
    done = weigh_part(part_job(TEXTS[:1], tmp_path, BatchOptions()))
    add_line(tmp_path, done)
    assert is_whole(tmp_path, done, to_the_byte=True)
    (path,) = tmp_path.glob("verdicts/*/*.parquet")
    data = bytearray(path.read_bytes())
    data[len(data) // 2] ^= 1
    path.write_bytes(data)
    assert is_whole(tmp_path, done)
    assert not is_whole(tmp_path, done, to_the_byte=True)
    path.unlink()
    with pytest.raises(AnswersFolderError, match=r"holds no answers of version"):
        AnswersFolder(tmp_path)


def _line_with(**changed: object) -> bytes:
    """The line of a part of which one thing is spoiled."""
    tables = {"days": {"rows": 3, "size": 9, "sha256": "0"}}
    sound = {"name": "0123456789abcdef", "program": "0.1.0", "days": 3, "faulty": 0, "tables": tables}
    return json.dumps(sound | changed).encode()


SPOILED = {
    "cut off": _line_with()[:40],
    "no JSON": b"\x00\xff\xfe garbage",
    "empty object": b"{}",
    "a list": b"[1, 2]",
    "a deep one": b"[" * 100_000,
    "a count that is a text": _line_with(days="3"),
    "a count below 0": _line_with(days=-3),
    "more faults than days": _line_with(faulty=4),
    "a name that leads elsewhere": _line_with(name="../../../../../x"),
    "a version that leads elsewhere": _line_with(program="../.."),
    "a table that is none": _line_with(tables={"wheels": {"rows": 3, "size": 9, "sha256": "0"}}),
    "a size that is none": _line_with(tables={"days": {"rows": 3, "size": None, "sha256": "0"}}),
}


@pytest.mark.parametrize("spoiled", SPOILED.values(), ids=SPOILED)
def test_a_spoiled_line_names_no_part_and_is_known_by_its_number(spoiled: bytes, tmp_path: Path) -> None:
    done = PartDone("0123456789abcdef", "0.1.0", 3, 0)
    add_line(tmp_path, done)
    path = tmp_path / MANIFEST
    sound = path.read_bytes()
    other = sound.replace(b"abcdef", b"abcde0")
    for text, number in ((sound + spoiled, 2), (spoiled + b"\n" + sound, 1), (sound + spoiled + b"\n\n" + other, 2)):
        path.write_bytes(text)
        manifest = read_manifest(tmp_path)
        assert done in manifest.parts
        assert manifest.unread == (number,)
        assert manifest.unread_words(tmp_path) == f"{path}:{number}"
    path.write_bytes(b"?\n" * 7 + sound)
    assert read_manifest(tmp_path).unread_words(tmp_path) == f"{path}:1, line 2, line 3, line 4, line 5 and 2 more"


def test_a_line_is_written_behind_one_that_was_cut_off_and_not_within_it(tmp_path: Path) -> None:
    done, path = PartDone("0123456789abcdef", "0.1.0", 3, 0), tmp_path / MANIFEST
    path.write_bytes(_line_with()[:40])
    mend(tmp_path)
    add_line(tmp_path, done)
    assert (read_manifest(tmp_path).parts, read_manifest(tmp_path).unread) == ((done,), (1,))


def test_answers_of_another_version_are_read_only_when_they_are_asked_for(folder: Path, tmp_path: Path) -> None:
    old = json.loads((folder / MANIFEST).read_text(encoding="utf-8")) | {"program": "0.0.9"}
    (tmp_path / MANIFEST).write_text(json.dumps(old) + "\n", encoding="utf-8")
    for path in folder.glob("*/*/*.parquet"):
        copy = tmp_path / path.parts[-3] / "program=0.0.9" / path.name
        copy.parent.mkdir(parents=True)
        copy.write_bytes(path.read_bytes())
    with pytest.raises(AnswersFolderError, match=r"of version 0\.1\.0; there are those of version 0\.0\.9"):
        AnswersFolder(tmp_path, program="0.1.0")
    assert AnswersFolder(tmp_path, program="0.0.9").days == 5


def test_a_column_that_must_have_values_refuses_to_lack_them(tmp_path: Path) -> None:
    columns = (BatchColumn("name", "text", "A name."), BatchColumn("mass", "number", "A mass.", absent=True))
    written = write_table(tmp_path / "a.parquet", columns, [("a", 1.5), ("b", None)])
    assert (written.rows, written.size) == (2, (tmp_path / "a.parquet").stat().st_size)
    assert write_table(tmp_path / "none.parquet", columns, []).rows == 0
    with pytest.raises(ValueError, match="non-nullable"):
        write_table(tmp_path / "b.parquet", columns, [(None, 1.0)])
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.parquet", "none.parquet"]
