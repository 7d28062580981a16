"""``steelyard check``: sound or not, and what will be known."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema

from tests.cli.days import BAD, NURSERY, run, write


def test_a_sound_file_says_what_its_drafts_will_determine(tmp_path: Path) -> None:
    path = write(tmp_path)
    result = run("check", path)
    assert (result.exit_code, result.stderr) == (0, "")
    assert result.stdout.startswith(f"{path}: sound\nNursery van with the seedling trailer\n")
    assert "Changes are reckoned from van in empty and beds in coupled.\n" in result.stdout
    assert "\nempty: all of van\ncoupled: all of van; all of beds; coupling load, " in result.stdout
    assert "── what they will not" not in result.stdout


def test_what_will_not_be_known_comes_with_the_draft_that_would_tell(tmp_path: Path) -> None:
    less = NURSERY[: NURSERY.rindex("[[drafts]]")]
    result = run("check", write(tmp_path, text=less))
    assert result.exit_code == 0
    assert "── what they will not" in result.stdout
    assert "in state coupled, read beds/1L and beds/1R together\n" in result.stdout


def test_the_readings_themselves_do_not_matter(tmp_path: Path) -> None:
    slipped = NURSERY.replace('"van/1L" = ["a", 720]', '"van/1L" = ["a", 270]')
    first, second = run("check", write(tmp_path)), run("check", write(tmp_path, text=slipped))
    assert first.stdout == second.stdout


def test_every_fault_is_named_at_once(tmp_path: Path) -> None:
    result = run("check", write(tmp_path, text=BAD))
    assert (result.exit_code, result.stdout) == (2, "")
    assert [line.split(": ")[1] for line in result.stderr.splitlines()] == [
        "vehicles.beds.axles[1].track",
        "drafts[1].state",
    ]


def test_a_missing_file_is_one_clear_line(tmp_path: Path) -> None:
    path = str(tmp_path / "none.toml")
    result = run("check", path)
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == f"{path}: cannot be read: No such file or directory\n"


def test_as_data_it_tells_the_findings_that_the_command_of_that_name_determines(tmp_path: Path) -> None:
    path = write(tmp_path, text=NURSERY[: NURSERY.rindex("[[drafts]]")])
    told = json.loads(run("check", path, "--json").stdout)
    findings = json.loads(run("findings", path, "--json").stdout)["findings"]
    assert told["determined"] == [item["id"] for item in findings if item["determined"]]
    open_ones = [{"id": item["id"], "needs": item["needs"]} for item in findings if not item["determined"]]
    assert told["undetermined"] == open_ones
    assert open_ones
    assert told["references"] == {"van": "empty", "beds": "coupled"}
    jsonschema.Draft202012Validator(json.loads(run("schema", "check").stdout)).validate(told)


def test_faults_are_data_too_and_the_status_is_that_of_a_bad_file(tmp_path: Path) -> None:
    result = run("check", write(tmp_path, text=BAD), "--json")
    assert (result.exit_code, result.stderr) == (2, "")
    told = json.loads(result.stdout)
    assert [item["path"] for item in told["errors"]] == ["vehicles.beds.axles[1].track", "drafts[1].state"]
    assert all(item["line"] for item in told["errors"])
    jsonschema.Draft202012Validator(json.loads(run("schema", "check").stdout)).validate(told)
