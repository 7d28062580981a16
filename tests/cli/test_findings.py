"""``steelyard findings``: text, JSON lines, rows; good files and bad ones together."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Collection
from pathlib import Path

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from steelyard.findings import Findings, weigh
from steelyard.model import WeighDay
from steelyard.questions.findings import findings_schema
from tests.cli.days import BAD, NURSERY, run, shell, write

FAULTS = [
    "bad.toml:49: vehicles.beds.axles[1].track: \"1800 mmm\": has the unknown unit 'mmm'; did you mean 'mm'?",
    "bad.toml:59: drafts[1].state: \"emty\": there is no state of that name; did you mean 'empty'?",
]


def test_a_day_is_told_to_a_person(tmp_path: Path) -> None:
    result = run("findings", write(tmp_path))
    assert result.exit_code == 0
    assert result.stderr == ""
    lines = result.stdout.splitlines()
    assert lines[0] == "Nursery van with the seedling trailer"
    headings = [line.split(" ─")[0] for line in lines if line.startswith("── ")]
    assert headings == [
        "── the rig",
        "── empty",
        "── coupled",
        "── from empty to coupled",
        "── limits",
        "── do the readings agree?",
        "── cautions",
    ]
    assert max(map(len, lines)) <= 80


def test_only_the_states_asked_for_are_shown(tmp_path: Path) -> None:
    result = run("findings", write(tmp_path), "--state", "empty")
    assert "── empty ─" in result.stdout
    assert "── coupled ─" not in result.stdout
    found = json.loads(run("findings", write(tmp_path), "--state", "empty", "--json").stdout)["findings"]
    assert {item["id"].partition("/")[0] for item in found} == {"empty"}


def test_an_unknown_state_is_answered_with_the_nearest(tmp_path: Path) -> None:
    path = write(tmp_path)
    result = run("findings", path, "--state", "cuopled")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{path}: --state: cuopled: there is no such state; did you mean 'coupled'?\n"
    result = run("findings", path, "--state", "x")
    assert result.stderr == f"{path}: --state: x: there is no such state; the day has empty, coupled\n"


def test_every_fault_of_a_bad_file_has_its_line_and_the_others_are_still_told(tmp_path: Path) -> None:
    bad = write(tmp_path, "bad.toml", BAD)
    good = write(tmp_path)
    result = run("findings", bad, good)
    assert result.exit_code == 2
    assert result.stderr.replace(f"{tmp_path}/", "").splitlines() == FAULTS
    assert result.stdout.startswith(f"== {good}\n\nNursery van with the seedling trailer\n")


def test_several_files_stand_under_their_names(tmp_path: Path) -> None:
    first, second = write(tmp_path, "a.toml"), write(tmp_path, "b.toml")
    result = run("findings", first, second)
    assert result.exit_code == 0
    assert [line for line in result.stdout.splitlines() if line.startswith("== ")] == [f"== {first}", f"== {second}"]
    assert f".\n\n\n== {second}\n\n" in result.stdout


@pytest.mark.parametrize(("name", "reason"), [("none.toml", "No such file or directory"), (".", "Is a directory")])
def test_what_is_no_file_is_one_clear_line(tmp_path: Path, name: str, reason: str) -> None:
    path = str(tmp_path / name)
    result = run("findings", path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{path}: cannot be read: {reason}\n"


# -- JSON ------------------------------------------------------------------------------------------------------------


def test_json_lines_match_the_files_with_a_bad_one_in_the_middle(tmp_path: Path) -> None:
    files = [
        write(tmp_path, "a.toml"),
        write(tmp_path, "bad.toml", BAD),
        str(tmp_path / "none"),
        write(tmp_path, "z.toml"),
    ]
    result = run("findings", "--json", *files)
    assert result.exit_code == 2
    assert result.stderr == ""
    objects = [json.loads(line) for line in result.stdout.splitlines()]
    assert [item["file"] for item in objects] == files
    assert ["findings" in item for item in objects] == [True, False, False, True]
    assert objects[1]["errors"][0] == {
        "line": 49,
        "path": "vehicles.beds.axles[1].track",
        "value": '"1800 mmm"',
        "message": "has the unknown unit 'mmm'; did you mean 'mm'?",
    }
    assert objects[2]["errors"] == [
        {"line": None, "path": "", "value": "", "message": "cannot be read: No such file or directory"}
    ]
    for item in objects:
        jsonschema.validate(item, findings_schema())


def test_an_unknown_state_is_an_error_of_its_file_in_json(tmp_path: Path) -> None:
    result = run("findings", "--json", write(tmp_path), "--state", "cuopled")
    assert result.exit_code == 2
    assert json.loads(result.stdout)["errors"] == [
        {
            "line": None,
            "path": "--state",
            "value": "cuopled",
            "message": "there is no such state; did you mean 'coupled'?",
        }
    ]


def test_units_change_text_and_json_alike(tmp_path: Path) -> None:
    path = write(tmp_path)
    own = json.loads(run("findings", "--json", path).stdout)
    other = json.loads(run("findings", "--json", path, "--units", "lb,in").stdout)
    assert (own["units"], other["units"]) == ({"mass": "kg", "length": "mm"}, {"mass": "lb", "length": "in"})
    factors = {"kg": 1 / 0.45359237, "mm": 1 / 25.4, "%": 1.0}  # NIST Handbook 44, Appendix C
    for before, after in zip(own["findings"], other["findings"], strict=True):
        assert after["value"] == pytest.approx(before["value"] * factors[before["unit"]], rel=1e-8, abs=1e-8)
    text = run("findings", path, "--units", "lb,in").stdout
    assert "\nlb " in text
    assert "GVWR 7,716 lb" in text  # 3,500 kg
    assert " kg" not in text.partition("── limits")[2].partition("── do the")[0]


@pytest.mark.parametrize(
    ("units", "message"),
    [
        ("kg", "'kg' is not a mass unit and a length unit; write for example lb,in or kg,mm"),
        ("kg,mm,s", "'kg,mm,s' is not a mass unit and a length unit; write for example lb,in or kg,mm"),
        ("stone,mm", "'stone' is not a mass unit; there are g, t, kg, lb, oz, lbs"),
        ("kg,lb", "'lb' is not a length unit; there are m, cm, ft, in, mm"),
    ],
)
def test_a_wrong_unit_says_what_would_be_right(tmp_path: Path, units: str, message: str) -> None:
    result = run("findings", write(tmp_path), "--units", units)
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == f"Error: Invalid value for '--units': {message}"


# -- rows ------------------------------------------------------------------------------------------------------------


def test_rows_have_one_header_for_all_files_and_faults_go_elsewhere(tmp_path: Path) -> None:
    files = [write(tmp_path, "a.toml"), write(tmp_path, "bad.toml", BAD), write(tmp_path, "z.toml")]
    result = run("findings", "--csv", *files)
    assert result.exit_code == 2
    assert result.stderr.replace(f"{tmp_path}/", "").splitlines() == FAULTS
    rows = list(csv.DictReader(io.StringIO(result.stdout)))
    assert list(dict.fromkeys(row["file"] for row in rows)) == [files[0], files[2]]
    assert {row["kind"] for row in rows} == {"finding", "verdict"}
    assert len([row for row in rows if row["file"] == files[0]]) * 2 == len(rows)


def test_data_is_utf8_whatever_the_terminal_speaks(tmp_path: Path) -> None:
    path = write(tmp_path, text=NURSERY.replace("Nursery van", "Φορτηγό"))
    for form in ("--csv", "--json"):
        done = shell("findings", form, path, PYTHONIOENCODING="cp1252", PYTHONUTF8="0")
        assert (done.returncode, done.stderr) == (0, b"")
        text = done.stdout.decode("utf-8")
        assert "Φορτηγό" in (text if form == "--csv" else json.loads(text)["findings"][0]["label"])


def test_one_way_of_writing_at_a_time(tmp_path: Path) -> None:
    result = run("findings", "--csv", "--json", write(tmp_path))
    assert result.exit_code == 2
    assert result.stderr.splitlines()[-1] == "Error: --json and --csv exclude each other; choose one"


# -- faults of the program -------------------------------------------------------------------------------------------


def break_on(monkeypatch: pytest.MonkeyPatch, title: str) -> None:
    def weigh_or_break(
        day: WeighDay, changes: Collection[tuple[str, str]] = (), states: Collection[str] = ()
    ) -> Findings:
        if day.title == title:
            raise RuntimeError("the beam\nsnapped")
        return weigh(day, changes, states)

    monkeypatch.setattr("steelyard.cli.commands.findings.weigh", weigh_or_break)


def test_a_fault_of_the_program_is_one_message_and_does_not_stop_the_others(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    break_on(monkeypatch, "cursed")
    monkeypatch.delenv("STEELYARD_TRACEBACK", raising=False)
    cursed = write(tmp_path, "cursed.toml", NURSERY.replace("Nursery van with the seedling trailer", "cursed"))
    result = run(
        "findings", "--json", write(tmp_path, "a.toml"), cursed, write(tmp_path, "z.toml"), str(tmp_path / "no")
    )
    assert result.exit_code == 70
    first, second, third = result.stderr.splitlines()
    assert first.startswith(
        f"internal error in 'findings' on {cursed}: RuntimeError: the beam snapped (test_findings.py:"
    )
    assert (
        second == "This is a fault of the program, not of your file. Please report it: open an issue with the day file"
    )
    assert third == "and the line above; STEELYARD_TRACEBACK=1 shows the traceback."
    objects = [json.loads(line) for line in result.stdout.splitlines()]
    assert ["findings" in item for item in objects] == [True, False, True, False]
    assert objects[1]["errors"] == [{"line": None, "path": "", "value": "", "message": first}]


def test_the_traceback_is_shown_on_request(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    break_on(monkeypatch, "Nursery van with the seedling trailer")
    monkeypatch.setenv("STEELYARD_TRACEBACK", "1")
    result = run("findings", write(tmp_path))
    assert (result.exit_code, result.stdout) == (70, "")
    assert "Traceback (most recent call last):" in result.stderr


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, len(NURSERY) - 1), letter=st.integers(0, 255))
def test_a_flipped_byte_never_breaks_the_program(tmp_path: Path, at: int, letter: int) -> None:
    data = bytearray(NURSERY.encode())
    data[at] = letter
    path = tmp_path / "flipped.toml"
    path.write_bytes(data)
    result = run("findings", "--json", str(path))
    assert result.exit_code in {0, 2}, result.stderr
    assert len(result.stdout.splitlines()) == 1


# -- the pipe --------------------------------------------------------------------------------------------------------


def test_many_files_are_answered_one_by_one(tmp_path: Path) -> None:
    path = write(tmp_path)
    done = shell("findings", "--json", *[path] * 25)
    assert (done.returncode, done.stderr) == (0, b"")
    assert len(set(done.stdout.splitlines())) == 1
    assert done.stdout.count(b"\n") == 25
