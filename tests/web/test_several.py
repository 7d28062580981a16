"""Several days asked together: the station gives what the commands give, and says in words what cannot be compared."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from tests.cli.days import run

STAGE = tuple(Path(__file__).parents[2] / "examples" / f"stage-{name}.toml" for name in ("van", "wagon", "flatbed"))


@pytest.fixture
def days(script: TestClient) -> list[str]:
    """Three days of one trailer behind three vehicles, in the station."""
    return [script.post("/api/v1/days", content=file.read_text(encoding="utf-8")).json()["id"] for file in STAGE]


def printed(*arguments: str) -> dict[str, Any]:
    """The JSON of a command."""
    result = run(*arguments, "--json")
    assert (result.exit_code, result.stderr) == (0, "")
    return json.loads(result.stdout)


def renamed(data: Any, names: dict[str, str]) -> Any:
    """The same with the names of files changed, wherever they stand."""
    text = json.dumps(data)
    for old, new in names.items():
        text = text.replace(json.dumps(old)[1:-1], new)
    return json.loads(text)


@pytest.mark.parametrize(
    ("name", "options", "body"),
    [
        (
            "compare",
            ("--of", "hitched", "--unchanged", "stage=10 lb"),
            {"of": ["hitched"], "unchanged": {"stage": "10 lb"}},
        ),
        ("match", ("--state", "alone"), {"state": "alone"}),
    ],
)
def test_the_command_and_the_station_give_one_answer(
    script: TestClient, days: list[str], name: str, options: tuple[str, ...], body: dict[str, Any]
) -> None:
    names = {str(file): f"{day}.toml" for file, day in zip(STAGE, days, strict=True)}
    found = script.post(f"/api/v1/{name}", json={"days": days, **body})
    assert found.status_code == 200, found.text
    assert found.json() == renamed(printed(name, *map(str, STAGE), *options), names)


def test_page_and_table_have_the_figures_of_the_command(script: TestClient, days: list[str]) -> None:
    answer = printed("compare", *map(str, STAGE))
    values = list(csv.DictReader(asked(script, "/compare.csv", days).splitlines()))
    wanted = [
        (measure["id"], value["value"], value["u"], measure["unit"])
        for measure in answer["measures"]
        for value in measure["values"]
        if value["basis"] is not None
    ]
    assert [(row["measure"], row["unit"]) for row in values] == [(one, unit) for one, _, _, unit in wanted]
    for row, (_, value, u, _) in zip(values, wanted, strict=True):
        assert [row["value"], row["u"]] == ["" if figure is None else repr(figure) for figure in (value, u)]
    rows = csv.DictReader(asked(script, "/compare.csv", days, table="differences").splitlines())
    told = [row["told_apart"] == "true" for row in rows]
    assert told == [item["told_apart"] for one in answer["measures"] for item in one["differences"]]
    text = asked(script, "/compare.txt", days)
    page = asked(script, "/compare", days)
    for words in ("868 ± 16", "−240", "Left of the payload: none is told apart from all others"):
        assert words in " ".join(text.split())
        assert words in " ".join(page.split())


def asked(script: TestClient, path: str, days: list[str], **more: str) -> str:
    """The answer of an address to these days."""
    found = script.get(f"{path}?{urlencode([*(('day', day) for day in days), *more.items()])}")
    assert found.status_code == 200, found.text
    return found.text


def test_the_picture_has_the_shape_and_the_measures_that_were_asked_for(script: TestClient, days: list[str]) -> None:
    svg = asked(script, "/compare.svg", days, shape="1:1", measure="coupling/load")
    assert 'width="1200" height="1200"' in svg
    assert "Coupling load" in svg
    assert "Left of the payload" not in svg
    for kind in ("svg", "png", "zip"):
        found = script.get(f"/compare.{kind}", params={"day": days, "shape": "16x9"})
        assert (found.status_code, "16:9" in found.text) == (422, True)
    found = script.get("/compare.svg", params={"day": days, "measure": "coupling/lode"})
    assert found.status_code == 422
    assert "did you mean" in found.text
    assert "fault of the program" not in found.text


@pytest.mark.parametrize(
    ("query", "words"),
    [
        ({"day": []}, "tick two days or more"),
        ({"day": ["A"]}, "tick two days or more"),
        ({"day": ["A", "A"]}, "tick two days or more"),
        ({"day": ["A", "B"], "base": "7"}, "number 7 is none of them"),
        ({"day": ["A", "B"], "base": "-1"}, "write the number of a rig"),
        ({"day": ["A", "B"], "of": "hitchd"}, "did you mean 'hitched'?"),
        ({"day": ["A", "B"], "unchanged": "stage", "doubt": "a bit"}, "a bit"),
        ({"day": ["A", "nowhere"]}, "no day"),
        ({"day": ["A", *(f"day{number}" for number in range(60))]}, "at most 60 are compared here"),
    ],
)
def test_what_cannot_be_compared_is_said(
    script: TestClient, days: list[str], query: dict[str, Any], words: str
) -> None:
    names = {"A": days[0], "B": days[1]}
    found = script.get("/compare", params={**query, "day": [names.get(name, name) for name in query["day"]]})
    assert found.status_code in (404, 409, 422)
    assert words in " ".join(found.text.split())
    assert "fault of the program" not in found.text


@pytest.mark.parametrize("sent", [None, [], "A", [1], ["x"] * 3, [f"d{number}" for number in range(61)]])
def test_days_that_are_no_days_are_refused_with_the_value(script: TestClient, sent: Any) -> None:
    found = script.post("/api/v1/compare", json={"days": sent})
    assert found.status_code in (404, 422)
    assert "day" in found.json()["error"]["message"] or found.json()["error"]["faults"][0]["path"] == "days"


def test_a_title_is_only_a_title(script: TestClient, days: list[str]) -> None:
    """A title may hold whatever people write; the page and the picture show it as text."""
    hostile = '<script>alert(1)</script> & "quoted" / ../../etc'
    text = STAGE[0].read_text(encoding="utf-8").replace('name = "Long van"', f"name = '{hostile}'")
    day = script.post("/api/v1/days", content=text).json()["id"]
    page = asked(script, "/compare", [day, days[1]])
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>alert" not in asked(script, "/compare.svg", [day, days[1]])


def test_the_folder_is_that_of_the_command(script: TestClient, days: list[str]) -> None:
    """The same data as ``publish`` would write; what the days are called differs, for the station knows no file."""
    found = script.get("/compare.zip", params={"day": days[:2], "unchanged": "stage", "doubt": "10", "shape": "1:1"})
    assert found.status_code == 200, found.text[:300]
    with zipfile.ZipFile(io.BytesIO(found.content)) as folder:
        names = folder.namelist()
        data = json.loads(folder.read(next(name for name in names if name.endswith("data/comparison.json"))))
    wanted = printed("compare", *map(str, STAGE[:2]), "--unchanged", "stage=10 lb")
    assert [one["values"] for one in data["measures"]] == [one["values"] for one in wanted["measures"]]
    assert [one["p"] for one in data["unchanged"]] == [one["p"] for one in wanted["unchanged"]]
    assert sum(name.endswith(".toml") for name in names) == 2
