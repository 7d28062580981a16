"""A question has one answer: what its command prints is what the station answers, on every example day."""

from __future__ import annotations

import csv
import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import read_day
from steelyard.findings import weigh
from steelyard.questions import QUESTIONS
from steelyard.report.print.ticket import ticket_content
from tests.cli.days import run
from tests.web.serving import ROOT

BAKERY, SLIP, HIVES, PUPPETS = (
    ROOT / "examples" / f"{name}.toml" for name in ("quay-bakery", "quay-bakery-slip", "hives", "puppet-van")
)

Asked = tuple[str, Path, tuple[str, ...], dict[str, Any]]

ASKED: list[Asked] = [
    (
        *("whatif", BAKERY),
        ("--from", "levelled", "--add", "crate: 850 on truck at 200 in, 0", "--move", "baker to 70, 0 +/- 1 in"),
        {
            "from": "levelled",
            "add": [{"name": "crate", "mass": 850, "on": "truck", "x": "200 in", "y": 0}],
            "change": {"baker": {"x": 70, "y": "0 +/- 1 in"}},
        },
    ),
    (
        *("whatif", SLIP),
        ("--from", "solo", "--hitch", "truck/ball:oven", "--distribution", "9000 lb*in", "--remove", "baker"),
        {
            "from": "solo",
            "hitch": [{"towing": "truck", "at": "ball", "trailer": "oven", "distribution": "9000 lb*in"}],
            "remove": ["baker"],
        },
    ),
    (
        *("whatif", BAKERY, ("--from", "levelled", "--distribution", "none", "--name", "slack")),
        {"from": "levelled", "distribution": {"oven": "none"}, "name": "slack"},
    ),
    (
        *("whatif", HIVES, ("--from", "hitched", "--add", "40 kg on van at 2 m, 0 m")),
        {"from": "hitched", "add": [{"mass": "40 kg", "on": "van", "x": "2 m", "y": "0 m"}]},
    ),
    (
        *("rebalance", BAKERY),
        ("--state", "market", "--movable", "baker", "--keep", "water", "--no-drop", "--shift", "oven:-6 in..6 in"),
        {
            "state": "market",
            "move": ["baker"],
            "keep": ["water"],
            "no_drop": True,
            "shift": {"oven": ["-6 in", "6 in"]},
        },
    ),
    ("rebalance", SLIP, ("--state", "levelled"), {"state": "levelled"}),
    ("distribute", BAKERY, ("--state", "levelled", "--restore", "60%"), {"state": "levelled", "restore": "60 %"}),
    ("ledger", SLIP, ("--state", "hitched", "--since", "solo"), {"state": "hitched", "since": "solo"}),
    ("rules", PUPPETS, ("--state", "hitched"), {"state": "hitched"}),
    ("trailer", BAKERY, ("--from", "solo", "--at", "ball"), {"from": "solo", "at": "ball"}),
]

ELSEWHERE = {
    "loadmap": "the command writes a table: below",
    "influence": "no command prints it",
    "site": "the station does not ask it",
    "plan": "tests/web/test_plan_api.py",
    "sweep": "tests/web/test_sweep_api.py",
    "match": "tests/web/test_several.py",
    "compare": "tests/web/test_several.py",
    "history": "tests/web/history",
}
"""Questions that are not asked of both faces here, and why."""


def answer(client: TestClient, file: Path, name: str, body: dict[str, Any]) -> dict[str, Any]:
    """The station's answer for the day of a file."""
    day_id = client.post("/api/v1/days", content=file.read_text(encoding="utf-8")).json()["id"]
    found = client.post(f"/api/v1/days/{day_id}/{name}", json=body)
    assert found.status_code == 200, found.text
    return found.json()


@pytest.mark.parametrize(("name", "file", "options", "body"), ASKED, ids=[f"{one[0]}-{one[1].stem}" for one in ASKED])
def test_the_command_and_the_station_give_one_answer(
    script: TestClient, name: str, file: Path, options: tuple[str, ...], body: dict[str, Any]
) -> None:
    printed = run(name, str(file), *options, "--json")
    assert (printed.exit_code, printed.stderr) == (0, "")
    mine, theirs = json.loads(printed.stdout), answer(script, file, name, body)
    assert {**mine, "file": ""} == {**theirs, "file": ""}


def test_every_question_is_asked_of_both_faces() -> None:
    asked = {one[0] for one in ASKED}
    assert not asked & set(ELSEWHERE)
    assert set(QUESTIONS) == asked | set(ELSEWHERE)


def test_the_table_of_the_map_is_the_map_of_the_station(script: TestClient, tmp_path: Path) -> None:
    options = ("--state", "levelled", "--on", "truck", "--grid", "9x5", "-o", str(tmp_path / "map"))
    assert run("loadmap", str(BAKERY), *options).exit_code == 0
    found = answer(script, BAKERY, "loadmap", {"state": "levelled", "on": "truck", "grid": [9, 5]})
    rows = list(csv.DictReader((tmp_path / "map.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 9 * 5
    names = [one["id"] for one in found["limits"]]
    order = [(row, column) for column in range(9) for row in range(5)]
    places = [(found["x"][column], found["y"][row]) for row, column in order]
    assert [(float(row["x"]), float(row["y"])) for row in rows] == [pytest.approx(place, rel=1e-6) for place in places]
    assert [float(row["max_mass"]) for row in rows] == [found["max_mass"][row][column] for row, column in order]
    assert [row["limit"] for row in rows] == [names[found["limit"][row][column]] for row, column in order]


@pytest.mark.parametrize("file", [BAKERY, SLIP], ids=lambda path: path.stem)
def test_tables_bench_and_ticket_say_p_and_its_meaning_in_the_same_words(script: TestClient, file: Path) -> None:
    tables = " ".join(run("findings", str(file)).stdout.split())
    said = re.search(r"\((F [^)]*, p [=<>] [^)]*)\)\. ([^.]* without a slip would disagree[^.]*\.)", tables)
    assert said is not None
    day_id = script.post("/api/v1/days", content=file.read_text(encoding="utf-8")).json()["id"]
    page = " ".join(html.unescape(script.get(f"/days/{day_id}").text).split())
    ticket = ticket_content(weigh(read_day(file)), None)["agreement"]
    assert isinstance(ticket, dict)
    for text in (page, ticket["words"]):
        assert f"({said[1]}). {said[2]}" in text


@pytest.mark.parametrize(
    ("name", "options", "body", "message"),
    [
        ("whatif", ("--from", "solo", "--remove", "water"), {"from": "solo", "remove": ["water"]}, "is not aboard"),
        ("whatif", ("--from", "solo"), {"from": "solo"}, "nothing would change"),
        (
            *("whatif", ("--from", "levelled", "--set", "water.level=120 %")),
            {"from": "levelled", "change": {"water": {"level": "120 %"}}},
            "is outside 0 % to 100 %",
        ),
        (
            *("loadmap", ("--state", "solo", "--on", "truck", "--grid", "1000x101")),
            {"state": "solo", "on": "truck", "grid": [1000, 101]},
            "is not a grid; write two whole numbers from 2 to 1000, at most 100,000 places",
        ),
        (
            *("rebalance", ("--state", "market", "--couple", "oven:0 lb..1 lb")),
            {"state": "market", "couple": {"oven": ["0 lb", "1 lb"]}},
            "a couple is wanted",
        ),
    ],
)
def test_the_two_faces_refuse_in_the_same_words(
    script: TestClient, name: str, options: tuple[str, ...], body: dict[str, Any], message: str
) -> None:
    said = run(name, str(BAKERY), *options)
    assert (said.exit_code, said.stdout) == (2, "")
    assert message in said.stderr
    day_id = script.post("/api/v1/days", content=BAKERY.read_text(encoding="utf-8")).json()["id"]
    refused = script.post(f"/api/v1/days/{day_id}/{name}", json=body)
    assert refused.status_code == 422
    assert message in refused.json()["error"]["message"]
