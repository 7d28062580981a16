"""``steelyard history``: of a file, and of a day in a store, sound or damaged; and its refusals."""

from __future__ import annotations

import json
import sqlite3
from pathlib import Path
from typing import Any

import pytest

from steelyard.dayfile import parse_day
from steelyard.model import running_digests
from steelyard.questions.history import HISTORY
from steelyard.report.tables.history.text import grouped
from steelyard.store import open_store
from tests.cli.days import ROOT, run
from tests.schemas import validator_of
from tests.store.samples import DAY, cargo, correction, draft, state

FILE = DAY + "\n" + draft("k1").text + "\n" + correction("k4", "k1", 1540).text


@pytest.fixture(scope="module", name="kept")
def _kept(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """A store with one day, and the name of that day."""
    path = tmp_path_factory.mktemp("history") / "days.db"
    with open_store(path) as store:
        day_id = store.add_day(DAY)
        store.append(day_id, draft("k1", device="phone"))
        for entry in (cargo("k2", "crate"), state("k3", "empty"), correction("k4", "k1", 1540)):
            store.append(day_id, entry)
    return path, day_id


@pytest.fixture(name="damaged")
def _damaged(kept: tuple[Path, str], tmp_path: Path) -> tuple[str, str]:
    """A copy of that store in which somebody deleted the second addition."""
    path = tmp_path / "damaged.db"
    path.write_bytes(kept[0].read_bytes())
    connection = sqlite3.connect(path)
    with connection:
        connection.execute("DELETE FROM entries WHERE seq = 2")
    connection.close()
    return str(path), kept[1]


def written(tmp_path: Path) -> str:
    path = tmp_path / "day.toml"
    path.write_text(FILE, encoding="utf-8")
    return str(path)


def checked(*arguments: str) -> dict[str, Any]:
    """The JSON of a history, held against its schema."""
    data = json.loads(run("history", *arguments, "--json").stdout)
    validator_of(HISTORY.answer_schema("history")).validate(data)
    return data


def test_a_file_has_its_drafts_and_corrections_with_running_digests(tmp_path: Path) -> None:
    path = written(tmp_path)
    result = run("history", path)
    assert result.exit_code == 0, result.output
    digests = running_digests(parse_day(FILE, "day"))
    assert [line for line in result.stdout.splitlines() if line.startswith("    ")] == [
        *("    nothing yet", f"    {grouped(digests[0])}"),
        *("    solo: van/1L 1800 (p1), van/1R 1820 (p2)", f"    {grouped(digests[1])}"),
        *("    solo: van/2L 1500 (p1)", f"    {grouped(digests[2])}"),
        *("    draft 2, van/2L: 1540, misread", f"    {grouped(digests[3])}"),
        f"    {grouped(digests[3])}",
    ]
    assert "A file keeps no digests, so nothing here shows whether it was changed" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    data = checked(path)
    assert [data["start"]["digest"], *(entry["digest"] for entry in data["entries"])] == list(digests)
    assert (data["day"], data["kept"], data["faults"], data["head"]) == (
        None,
        None,
        [],
        {"link": 3, "digest": digests[-1]},
    )


def test_a_day_in_a_store_is_held_against_its_digests(kept: tuple[Path, str]) -> None:
    path, day_id = str(kept[0]), kept[1]
    result = run("history", day_id, "--store", path)
    assert result.exit_code == 0, result.output
    assert "All is as it was kept: the imported text and the 4 things that were added fit" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    data = checked(day_id, "--store", path)
    assert (data["kept"], data["file"], data["day"]) == (True, f"{day_id}.toml", day_id)
    assert [(entry["seq"], entry["words"], entry["device"]) for entry in data["entries"]] == [
        (1, "solo: van/2L 1500 (p1)", "phone"),
        (2, "crate: on van, x 120 in", ""),
        (3, "empty: vehicles van", ""),
        (4, "draft k1, van/2L: 1540, misread", ""),
    ]
    for entry in data["entries"]:
        assert grouped(entry["digest"]) in result.stdout
    assert data["head"] == {"link": 4, "digest": data["entries"][-1]["digest"]}


def test_a_damaged_day_is_told_with_a_status_of_its_own(damaged: tuple[str, str]) -> None:
    path, day_id = damaged
    result = run("history", day_id, "--store", path)
    assert result.exit_code == 1
    assert "Not all is as it was kept: 1 thing does not fit.\n- Addition 2 (cargo 2 kept " in result.stdout
    assert ", DELETED\n" in result.stdout
    data = checked(day_id, "--store", path)
    assert (data["kept"], len(data["faults"]), data["entries"][1]["state"]) == (False, 1, "deleted")


def test_a_digest_noted_before_is_found_or_missed(kept: tuple[Path, str]) -> None:
    path, day_id = str(kept[0]), kept[1]
    second = checked(day_id, "--store", path)["entries"][1]["digest"]
    found = run("history", day_id, "--store", path, "--head", grouped(second).upper())
    assert found.exit_code == 0
    assert "Up to digest 2 it is the record whose newest digest was the one you gave." in found.stdout
    assert checked(day_id, "--store", path, "--head", second)["noted"] == {"digest": second, "link": 2}
    other = "0" * 64
    missed = run("history", day_id, "--store", path, "--head", other)
    assert missed.exit_code == 1
    assert "is\n  none of this day" in missed.stdout
    assert checked(day_id, "--store", path, "--head", other)["noted"] == {"digest": other, "link": None}


def test_the_store_of_the_station_is_asked_where_none_is_named(
    kept: tuple[Path, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("steelyard.web.default_store", lambda: tmp_path / "station.db")
    nowhere = run("history", kept[1])
    assert (nowhere.exit_code, nowhere.stdout) == (2, "")
    assert nowhere.stderr == (
        f"there is no store {tmp_path / 'station.db'}, nor a file {kept[1]}; 'serve' makes one when it is first "
        "started\n"
    )
    (tmp_path / "station.db").write_bytes(kept[0].read_bytes())
    assert run("history", kept[1]).exit_code == 0


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (("nowhere", "--store", "{store}"), "the store {store}: there is no day 'nowhere'\n"),
        (("abcdefghij", "--store", "{store}"), "the store {store}: there is no day 'abcdefghij'\n"),
        (
            ("abcdefghij", "--store", "{store}.no"),
            "there is no store {store}.no; 'serve' makes one when it is first started\n",
        ),
        (("no.toml",), "no.toml: cannot be read: No such file or directory\n"),
        (("nowhere",), "nowhere: cannot be read: No such file or directory\n"),
        (("abcdefghij", "--store", ""), "the name of the store is empty; give the path of a file, or an address\n"),
        (
            (str(ROOT / "pyproject.toml"), "--store", str(ROOT / "pyproject.toml")),
            f"the store {ROOT / 'pyproject.toml'}: is not a store of weigh days but a file of another kind\n",
        ),
    ],
)
def test_refusals_are_one_message(kept: tuple[Path, str], arguments: tuple[str, ...], message: str) -> None:
    result = run("history", *(argument.format(store=kept[0]) for argument in arguments))
    assert (result.exit_code, result.stdout, result.stderr) == (2, "", message.format(store=kept[0]))
    assert not Path(f"{kept[0]}.no").exists()


@pytest.mark.parametrize(
    ("head", "message"),
    [
        ("12ab", "'12ab' is not a digest, which has 64 digits 0-9 and a-f"),
        ("g" * 64, f"'{'g' * 64}' is not a digest, which has 64 digits 0-9 and a-f"),
    ],
)
def test_what_is_no_digest_is_refused(kept: tuple[Path, str], head: str, message: str) -> None:
    result = run("history", kept[1], "--store", str(kept[0]), "--head", head)
    assert result.exit_code == 2
    assert message in result.stderr


def test_a_file_has_no_digest_to_look_for(tmp_path: Path) -> None:
    result = run("history", written(tmp_path), "--head", "0" * 64)
    assert result.exit_code == 2
    assert "--head is for a day in a store; a file keeps no digests" in result.stderr
