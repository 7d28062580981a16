"""``steelyard loadmap``: three files that agree, and one clear message for each mistake."""

from __future__ import annotations

import csv
import json
import struct
from pathlib import Path

import pytest

from tests.cli.days import NURSERY, run, write

FLOOR = NURSERY.replace(
    'name = "Nursery van"',
    'name = "Nursery van"\nload_floor = [["1500 mm", "-800 mm"], ["4500 mm", "-800 mm"], ["4500 mm", "800 mm"], '
    '["1500 mm", "800 mm"]]',
)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def mapped(*arguments: str) -> list[str]:
    result = run("loadmap", *arguments)
    assert (result.exit_code, result.stderr) == (0, "")
    return result.stdout.splitlines()


@pytest.mark.usefixtures("folder")
def test_it_writes_a_drawing_its_picture_and_a_table() -> None:
    day = write(Path(), text=FLOOR)
    lines = mapped(day, "--state", "empty", "--on", "van", "--grid", "30x16", "--width", "500")
    names = [f"nursery-loadmap-empty-van.{end}" for end in ("svg", "png", "csv")]
    assert lines[-3:] == names
    assert Path(names[0]).read_text(encoding="utf-8").startswith("<svg")
    assert struct.unpack(">I", Path(names[1]).read_bytes()[16:20])[0] == 500
    rows = list(csv.DictReader(Path(names[2]).read_text(encoding="utf-8").splitlines()))
    assert list(rows[0]) == ["x", "y", "max_mass", "limit"]
    assert len(rows) == 30 * 16
    assert min(float(row["x"]) for row in rows) == 1550.0
    assert {row["limit"].split("/")[0] for row in rows} == {"empty"}
    assert "empty/van/axle/2:rating" in {row["limit"] for row in rows}


@pytest.mark.usefixtures("folder")
def test_an_item_and_a_requirement_left_out() -> None:
    day = write(Path(), text=FLOOR)
    common = (day, "--state", "empty", "--on", "van", "--grid", "30x16", "-o", "map")
    with_all = "\n".join(mapped(*common, "--item", "300 kg"))
    assert "300 kg may stand on " in with_all
    assert "empty/van/axle/2:rating" in with_all
    less = "\n".join(mapped(*common, "--without", "empty/van/axle/2:rating"))
    assert "empty/van/axle/2:rating" not in less
    assert "map.csv" in less


CROSSED = FLOOR.replace(
    '["4500 mm", "-800 mm"], ["4500 mm", "800 mm"]', '["4500 mm", "800 mm"], ["4500 mm", "-800 mm"]'
)


def test_the_place_counts_as_taped_and_what_the_table_allows_is_kept(tmp_path: Path) -> None:
    """The row of a place, typed as it stands into a what-if."""
    day = write(tmp_path, text=FLOOR)
    arguments = ("loadmap", day, "--state", "empty", "--on", "van", "--grid", "7x5", "-o", str(tmp_path / "map"))
    assert "A place counts as taped, with a standard uncertainty of 6.35 mm." in " ".join(
        run(*arguments).stdout.split()
    )
    rows = (tmp_path / "map.csv").read_text(encoding="utf-8").splitlines()[1:]
    for row in (rows[3], rows[17], rows[-2]):
        x, y, most, limit = row.split(",")
        tail = limit.partition("/")[2]
        for part, kept in ((1.0, True), (1.0005, False)):
            load = f"{part * float(most)} kg on van at {x} mm, {y} mm"
            asked = json.loads(run("whatif", day, "--from", "empty", "--add", load, "--json").stdout)
            named = {verdict["id"].partition("/")[2]: verdict["verdict"] for verdict in asked["verdicts"]}
            assert (named[tail] == "within") == kept
            assert all(one in ("within", None) for one in named.values()) == kept


MISTAKES = [
    (["--state", "emty", "--on", "van"], "there is no such state; did you mean 'empty'?"),
    (["--state", "empty", "--on", "vam"], "there is no vehicle 'vam'; did you mean 'van'?"),
    (["--state", "empty", "--on", "beds"], "'beds' is not in this state; its vehicles are van"),
    (["--state", "empty", "--on", "van", "--grid", "200"], "--grid: 200: is not a grid; write for example 200x80"),
    (
        ["--state", "empty", "--on", "van", "--grid", "1x9999"],
        "--grid: [1, 9999]: is not a grid; write two whole numbers from 2 to 1000, at most",
    ),
    (["--state", "empty", "--on", "van", "--grid", "1000x101"], "at most 100,000 places"),
    (["--state", "empty", "--on", "van", "--item", "-3 kg"], "--item: -3 kg: is not above zero"),
    (
        ["--state", "empty", "--on", "van", "--item", "1e300 kg"],
        "--item: 1e300 kg: is over 1000000 kg, the most that is allowed here; check the number and its unit",
    ),
    (
        ["--state", "empty", "--on", "van", "--item", "8 kg +/- 1e200 kg"],
        "--item: 8 kg +/- 1e200 kg: has an uncertainty over 1000000 kg, the most that is allowed here",
    ),
    (["--state", "empty", "--on", "van", "--item", "heavy"], "--item: heavy: is not a mass"),
    (["--state", "empty", "--on", "van", "--without", "empty/van/axle/2"], "did you mean 'empty/van/axle/2:rating'?"),
    (["--state", "empty", "--on", "van", "-o", "nowhere/map"], "nowhere/map.svg: cannot be written: No such file"),
]


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(("arguments", "message"), MISTAKES, ids=[given[-1] for given, _ in MISTAKES])
def test_each_mistake_has_one_message(arguments: list[str], message: str) -> None:
    result = run("loadmap", write(Path(), text=FLOOR), *arguments)
    assert result.exit_code == 2
    assert message in result.stderr
    assert not list(Path().glob("*.svg"))


@pytest.mark.usefixtures("folder")
def test_all_mistakes_are_reported_at_once() -> None:
    day = write(Path(), text=FLOOR)
    result = run("loadmap", day, "--state", "emty", "--on", "van", "--grid", "200", "--item", "-3 kg")
    assert (result.exit_code, result.stdout) == (2, "")
    assert [line.split(": ")[1] for line in result.stderr.splitlines()] == ["--grid", "--state", "--item"]


@pytest.mark.usefixtures("folder")
def test_a_floor_that_crosses_itself_is_refused() -> None:
    result = run("loadmap", write(Path(), text=CROSSED), "--state", "empty", "--on", "van")
    assert result.exit_code == 2
    assert "the load floor of 'van' crosses itself" in result.stderr
