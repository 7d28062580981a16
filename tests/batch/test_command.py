"""``batch``: a folder of answers that says what ``findings`` says of the same files, filled bit by bit."""

from __future__ import annotations

import errno
import json
import os
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest
from click.testing import Result

from steelyard.batch.layout import COLUMNS, DAYS, FAULTS, FINDINGS, VERDICTS
from steelyard.batch.reading import AnswersFolder
from steelyard.model import FindingId
from tests.cli.days import BAD, NURSERY, ROOT, run, write
from tests.simulated.scenarios import KINDS, simulate

CONTESTED = (
    NURSERY
    + """\
[[drafts]]
state = "coupled"
readings = { "beds/1L" = ["a", 650], "beds/1R" = ["b", 540] }
"""
)


@pytest.fixture(scope="module")
def days(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Days of every kind in a folder: the examples, simulated ones, one with faults, one that is contested."""
    folder = tmp_path_factory.mktemp("days")
    (folder / "simulated").mkdir()
    for kind in KINDS:
        write(folder / "simulated", f"{kind}.toml", simulate(kind, seed=3).text)
    for path in (ROOT / "examples").glob("*.toml"):
        shutil.copy(path, folder)
    write(folder, "bad.toml", BAD)
    write(folder, "contested.toml", CONTESTED)
    (folder / "latin.toml").write_bytes(NURSERY.replace("Nursery van", "Gärtner").encode("latin-1"))
    return folder


@pytest.fixture(scope="module")
def answered(days: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    folder = tmp_path_factory.mktemp("out") / "answers"
    return folder, run("batch", str(days), "-o", str(folder), "--units", "lb,in", "--part-days", "500")


@pytest.fixture(scope="module")
def lines(days: Path) -> dict[str, Mapping[str, Any]]:
    """The same days as ``findings`` answers them, by name."""
    files = sorted(str(path) for path in days.rglob("*.toml"))
    told = run("findings", "--json", "--units", "lb,in", *files).stdout.splitlines()
    return {line["file"]: line for line in map(json.loads, told)}


def test_every_row_is_what_findings_says_of_the_file(
    answered: tuple[Path, Result], lines: dict[str, Mapping[str, Any]]
) -> None:
    answers = AnswersFolder(answered[0])
    for table, key in ((FINDINGS, "findings"), (VERDICTS, "verdicts")):
        read = {(row["source"], row["id"]): row for row in answers.rows(table).to_pylist()}
        said = {(file, item["id"]): item for file, line in lines.items() for item in line.get(key, ())}
        assert read.keys() == said.keys()
        for name, item in said.items():
            shared = item.keys() & {column.name for column in COLUMNS[table]} - {"source"}
            assert {word: read[name][word] for word in shared} == {word: item[word] for word in shared}
        assert len(said) > 500
    assert any(row["contested"] for row in answers.rows(FINDINGS).to_pylist())
    days = {row["source"]: row for row in answers.rows(DAYS).to_pylist()}
    for file, line in lines.items():
        if "findings" in line:
            told = days[file]
            assert [told[word] for word in ("chi2", "dof", "p", "consistent")] == [
                line["consistency"][word] for word in ("chi2", "dof", "p", "consistent")
            ]
            assert (told["title"], told["suspects"]) == (line["title"], len(line["consistency"]["suspects"]))
            assert json.loads(told["cautions"]) == line["cautions"]
            assert (told["findings"], told["verdicts"]) == (len(line["findings"]), len(line["verdicts"]))


def test_every_fault_is_what_findings_says_of_the_file(
    answered: tuple[Path, Result], lines: dict[str, Mapping[str, Any]]
) -> None:
    rows = AnswersFolder(answered[0]).rows(FAULTS).to_pylist()
    read = sorted((row["source"], row["line"] or 0, row["place"], row["value"], row["message"]) for row in rows)
    said = sorted(
        (file, fault["line"] or 0, fault["path"], fault["value"], fault["message"])
        for file, line in lines.items()
        for fault in line.get("errors", ())
    )
    assert read == said
    assert {row["kind"] for row in rows} == {"faulty", "unreadable"}


def test_another_reader_of_the_format_finds_the_same_rows(answered: tuple[Path, Result]) -> None:
    import duckdb

    folder = answered[0]
    for table in COLUMNS:
        path = f"{folder}/{table}/*/*.parquet"
        order = ", ".join(f'"{column.name}"' for column in COLUMNS[table])
        query = f"select {order} from read_parquet('{path}', hive_partitioning = false) order by {order}"
        found = duckdb.execute(query).fetchall()
        own = [tuple(row.values()) for row in AnswersFolder(folder).rows(table).to_pylist()]
        assert sorted(found, key=str) == sorted(own, key=str)
    program = duckdb.execute(f"select distinct program from '{folder}/days/*/*.parquet'").fetchall()
    assert program == [(AnswersFolder(folder).program,)]


def test_what_a_name_says_stands_in_columns(answered: tuple[Path, Result]) -> None:
    for row in AnswersFolder(answered[0]).rows(FINDINGS).to_pylist():
        name = FindingId.parse(row["id"])
        assert (row["state"], row["owner"], row["quantity"], row["place"]) == (
            name.state, name.owner, name.kind, name.place,
        )  # fmt: skip
        assert bool(row["role"]) == name.of_vehicle


def test_the_end_of_a_run_says_how_many_and_where_the_faults_are(days: Path, answered: tuple[Path, Result]) -> None:
    folder, result = answered
    count = len(list(days.rglob("*.toml")))
    assert result.exit_code == 2
    assert result.stdout.splitlines() == [
        f"{count} days in 1 part: {count - 5} answered, 5 with faults",
        f"the faults: {folder / 'faults'}",
    ]
    assert result.stderr == ""


@pytest.fixture
def three(tmp_path: Path) -> Path:
    """Three small days in a folder."""
    folder = tmp_path / "three"
    folder.mkdir()
    for name in ("a", "b", "c"):
        write(folder, f"{name}.toml", NURSERY.replace("Nursery van with", name))
    return folder


def sources_of(folder: Path) -> list[str]:
    return sorted(Path(row["source"]).name for row in AnswersFolder(folder).rows(DAYS, ["source"]).to_pylist())


def days_of(folder: Path, line: bytes) -> list[str]:
    """Files whose days the part of a manifest's line holds."""
    from pyarrow import parquet

    (path,) = folder.glob(f"{DAYS}/*/part-{json.loads(line)['name']}.parquet")
    return [Path(source).name for source in parquet.read_table(path)["source"].to_pylist()]


def files_of(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*.parquet")}


def test_the_same_command_again_weighs_only_what_is_new_or_changed(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = ("batch", str(three), "-o", str(out), "--part-days", "1")
    assert run(*command).stdout == "3 days in 3 parts: 3 answered, 0 with faults\n"
    before = {path: path.stat().st_mtime_ns for path in out.rglob("*.parquet")}
    again = run(*command)
    assert again.stdout.splitlines()[1] == "3 of them were answered by an earlier run"
    assert {path: path.stat().st_mtime_ns for path in out.rglob("*.parquet")} == before
    write(three, "b.toml", NURSERY.replace("Nursery van with", "other"))
    write(three, "bb.toml", NURSERY.replace("Nursery van with", "bb"))
    assert run(*command).stdout.splitlines() == [
        "4 days in 4 parts: 4 answered, 0 with faults",
        "2 of them were answered by an earlier run",
    ]
    titles = AnswersFolder(out).rows(DAYS, ["title"])["title"].to_pylist()
    assert sorted(title.split()[0] for title in titles) == ["a", "bb", "c", "other"]
    whole = tmp_path / "whole"
    run("batch", str(three), "-o", str(whole), "--part-days", "1")
    assert files_of(out) == files_of(whole)


def test_a_spoiled_line_of_the_manifest_is_told_and_its_part_done_again(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = ("batch", str(three), "-o", str(out), "--part-days", "1")
    run(*command)
    whole, manifest = files_of(out), out / "_manifest.jsonl"
    lines = manifest.read_bytes().splitlines()
    manifest.write_bytes(b"\n".join([lines[0], b'{"name": "gar', lines[2]]) + b"\n")
    again = run(*command)
    assert (again.exit_code, again.stdout.splitlines()[1]) == (0, "2 of them were answered by an earlier run")
    assert again.stderr == (
        f"{manifest}:2: names no part, for it was cut off or spoiled; its days count as not answered before\n"
    )
    assert files_of(out) == whole
    assert run(*command).stderr == ""
    first, second, cut = sorted(lines, key=lambda line: "a.toml" not in days_of(out, line))  # parts end in any order
    manifest.write_bytes(b"\n".join([b"", first, second, cut[:50]]))
    other = run("batch", str(three / "a.toml"), "-o", str(out))  # days of the part that nothing names any more are lost
    assert (other.exit_code, other.stderr.startswith(f"{manifest}:4: names no part")) == (2, True)
    assert "1 day of earlier runs had answers in a damaged part" in other.stdout
    assert len(sources_of(out)) == 2
    assert "a.toml" in sources_of(out)


def test_days_that_an_earlier_run_found_faulty_are_not_said_to_be_answered(three: Path, tmp_path: Path) -> None:
    write(three, "bad.toml", BAD)
    write(three, "worse.toml", "")
    command = ("batch", str(three), "-o", str(tmp_path / "out"), "--part-days", "1")
    run(*command)
    (three / "c.toml").unlink()
    write(three, "worse.toml", "?")
    assert run(*command).stdout.splitlines()[:3] == [
        "4 days in 4 parts: 2 answered, 2 with faults",
        "2 of them were answered by an earlier run",
        "1 of them was found faulty by an earlier run",
    ]


def test_notes_on_a_folder_that_are_missing_or_spoiled_are_said_to_be_that(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = ("batch", str(three), "-o", str(out))
    run(*command)
    about = out / "_about.json"
    for text in ("", "5", "[]", "{", '{"units": "kg,mm"}', about.read_text(encoding="utf-8").replace("[]", "[1]")):
        about.write_text(text, encoding="utf-8")
        for refused in (run(*command), run("summary", str(out))):
            assert (refused.exit_code, refused.stdout) == (2, "")
            assert refused.stderr == (
                f"{about}: is not what 'steelyard batch' writes; put it back from a copy, "
                "or name a new folder with -o\n"
            )
    about.unlink()
    missing = run(*command)
    assert missing.exit_code == 2
    assert missing.stderr == (
        f"{about}: is missing, which says in what units and by what rules the answers beside it are; "
        "put it back from a copy, or name a new folder with -o\n"
    )
    told = run("summary", str(out))
    assert (told.exit_code, "days answered: 3" in told.stdout) == (0, True)
    assert told.stderr.startswith(f"{about}: is missing, which says whether the last 'steelyard batch' came to its end")


def test_days_of_an_earlier_run_stay_and_none_stands_there_twice(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    write(three, "bad.toml", BAD)
    run("batch", str(three), "-o", str(out))
    told = run("batch", str(three / "b.toml"), "-o", str(out))
    assert told.stdout.splitlines() == [
        "1 day in 1 part: 1 answered, 0 with faults",
        "3 days of earlier runs stay in the folder beside them",
    ]
    answers = AnswersFolder(out)
    assert sources_of(out) == ["a.toml", "b.toml", "c.toml"]
    assert (answers.days, answers.faulty, len(answers.whole)) == (4, 1, 2)
    rows = answers.rows(FINDINGS, ["source", "id"]).to_pylist()
    assert len({(row["source"], row["id"]) for row in rows}) == len(rows)


def test_a_part_that_is_damaged_or_was_cut_off_is_done_again(three: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = ("batch", str(three), "-o", str(out), "--part-days", "1")
    run(*command)
    whole = files_of(out)
    first, second, *_ = sorted(out.glob("findings/*/*.parquet"))
    first.write_bytes(b"PAR1" + bytes(first.stat().st_size - 4))
    second.unlink()
    (out / "findings" / "program=0.1.0" / "part-x.parquet.1-2.tmp").write_bytes(b"half")
    manifest = out / "_manifest.jsonl"
    manifest.write_bytes(manifest.read_bytes() + manifest.read_bytes()[:40])  # as a power cut leaves it
    (out / "_working").mkdir()
    (out / "_working" / "0123").write_text("17\n", encoding="ascii")
    assert "1 of them was answered" in run(*command).stdout
    assert files_of(out) == whole
    assert len(AnswersFolder(out).whole) == 3
    assert not list(out.rglob("*.tmp"))
    assert not (out / "_working").exists()


@pytest.mark.parametrize("table", ["findings", "days"])
def test_days_of_a_damaged_part_that_are_not_asked_for_again_are_counted(
    table: str, three: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    run("batch", str(three), "-o", str(out))
    (spoiled,) = out.glob(f"{table}/*/*.parquet")
    spoiled.write_bytes(b"x" * spoiled.stat().st_size)
    told = run("batch", str(three / "b.toml"), "-o", str(out))
    assert told.exit_code == 2
    lost = 2 if table == "findings" else 3  # where days cannot be read, nobody knows which they were
    assert f"{lost} days of earlier runs had answers in a damaged part" in told.stdout
    assert sources_of(out) == ["b.toml"]


def test_other_units_or_rules_in_the_same_folder_are_refused(three: Path, tmp_path: Path) -> None:
    out, club = str(tmp_path / "out"), str(ROOT / "examples" / "club-rules.toml")
    assert run("batch", str(three), "-o", out).exit_code == 0
    pounds = run("batch", str(three), "-o", out, "--units", "lb,in")
    assert (pounds.exit_code, pounds.stderr) == (
        2,
        f"{out}: its answers are of units kg,mm, not lb,in; ask for those, or name a new folder with -o\n",
    )
    ruled = run("batch", str(three), "-o", out, "--rules", club)
    assert ruled.exit_code == 2
    assert "the rules that come with the program alone, not club-rules.toml" in ruled.stderr
    other = tmp_path / "ruled"
    assert run("batch", str(three), "-o", str(other), "--rules", club).exit_code == 0
    told = run("findings", "--json", "--units", "kg,mm", "--rules", club, str(three / "a.toml"))
    said = [item["id"] for item in json.loads(told.stdout)["verdicts"]]
    rows = AnswersFolder(other).rows(VERDICTS, ["source", "id"]).to_pylist()
    assert [row["id"] for row in rows if row["source"].endswith("a.toml")] == said


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("nowhere", "-o", "out"), "nowhere: there is no such file or folder"),
        (("empty", "-o", "out"), "empty: no weigh day in it; a folder holds *.toml or *.parquet"),
        (("three", "-o", "three"), "three: is the folder of the answers too; give another name with -o"),
        (
            ("three", "three/a.toml", "-o", "out"),
            "three/a.toml: lies in three, which is named too; name one of the two",
        ),
        (("three/a.toml", "./three/a.toml", "-o", "out"), "is named twice"),
        (("three", "-o", "three/a.toml"), "three/a.toml: is not a folder; give another name with -o"),
        (("three", "-o", "none/out"), "none/out: cannot be made: there is no folder"),
        (("three", "-o", "other"), "other: holds note.txt, which is no answer; name a new folder with -o"),
        (("three", "-o", "/proc/out"), "/proc/out: cannot be written"),
        (("three", "-o", "out", "--units", "stone,in"), "'stone' is not a mass unit"),
        (("nothing.sqlite", "-o", "out"), "the store nothing.sqlite: is a database of something else"),
        (("postgresql://nobody@127.0.0.1:1/none", "-o", "out"), "none at 127.0.0.1:1: the database cannot be reached"),
    ],
)
def test_what_cannot_be_begun_is_said_in_a_line(
    three: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], message: str
) -> None:
    import sqlite3

    monkeypatch.chdir(three.parent)
    Path("empty").mkdir()
    Path("other").mkdir()
    Path("other/note.txt").write_text("mine", encoding="utf-8")
    with sqlite3.connect("nothing.sqlite") as database:
        database.execute("create table things (name text)")
    database.close()
    result = run("batch", *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert "Traceback" not in result.stderr
    assert not Path("out").exists()
    assert sorted(path.name for path in three.iterdir()) == ["a.toml", "b.toml", "c.toml"]


def test_a_folder_that_another_program_fills_is_left_alone(three: Path, tmp_path: Path) -> None:
    from steelyard.batch.folder import held

    out = tmp_path / "out"
    with held(out):
        result = run("batch", str(three), "-o", str(out))
    assert result.exit_code == 2
    assert result.stderr == (
        f"{out}: another program is filling it now; wait until it is done, or give another name with -o\n"
    )
    assert run("batch", str(three), "-o", str(out)).exit_code == 0


def test_a_full_disk_ends_the_run_in_words_and_it_goes_on_after_room_is_made(
    three: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from steelyard.batch import parquet

    out = tmp_path / "out"
    command = ("batch", str(three), "-o", str(out), "--part-days", "1")
    real, synced = os.fsync, [0]

    def full(handle: int) -> None:
        """Room for what the folder says of itself, for one part of four tables, its line, and two tables more."""
        synced[0] += 1
        if synced[0] > 1 + 4 + 1 + 2:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        real(handle)

    monkeypatch.setattr(parquet.os, "fsync", full)
    result = run(*command)
    assert result.exit_code == 2
    assert result.stderr == (
        f"{out}: cannot be written: No space left on device\n"
        "The parts that are whole stay; the same command goes on from there.\n"
    )
    assert not AnswersFolder(out).finished
    assert not list(out.rglob("*.tmp"))
    monkeypatch.undo()
    assert "1 of them was answered by an earlier run" in run(*command).stdout
    assert AnswersFolder(out).finished
    assert sources_of(out) == ["a.toml", "b.toml", "c.toml"]
