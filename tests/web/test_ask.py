"""Asking a day through the interface: the answers of the commands, and who may ask, and who may keep."""

from __future__ import annotations

import asyncio
import json
import threading
from pathlib import Path
from typing import Any

import httpx2
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from steelyard.cli import cli
from steelyard.findings import Weighed, solve
from steelyard.model import WeighDay
from steelyard.store import Reason, StoreError, open_store
from steelyard.web import Settings
from steelyard.web.station.station import Station
from tests.waiting import PATIENCE
from tests.web.serving import EXAMPLE
from tests.web.shapes import draft, error

TEXT = EXAMPLE.read_text(encoding="utf-8")


def asks(client: TestClient, day_id: str, what: str, body: dict[str, Any]) -> httpx2.Response:
    sent = {"content": json.dumps(body), "headers": {"content-type": "application/json"}}  # ASCII: half a letter too
    return client.post(f"/api/v1/days/{day_id}/{what}", **sent)  # pyright: ignore[reportArgumentType]


def printed(*arguments: str) -> dict[str, Any]:
    """What a command prints with ``--json``."""
    result = CliRunner().invoke(cli, [*arguments, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def same(answer: httpx2.Response, command: dict[str, Any]) -> None:
    """The answer is what the command prints, but for the name of the file."""
    assert answer.status_code == 200, answer.text
    found = answer.json()
    for data in (found, command):
        data.pop("file", None)
    assert found == command


CRATE = {"on": "truck", "mass": 850, "x": "200 in", "y": 0}


def test_a_load_has_a_title_for_people(script: TestClient, day_id: str) -> None:
    titled = {"from": "solo", "add": [{**CRATE, "name": "crate", "title": "Crate of pans"}], "name": "fuller"}
    assert asks(script, day_id, "whatif/keep", {"key": "k", **titled}).status_code == 201
    assert 'name = "Crate of pans"' in script.get(f"/api/v1/days/{day_id}").text


def test_a_what_if_is_that_of_the_command(script: TestClient, day_id: str) -> None:
    body = {"from": "levelled", "add": [CRATE], "change": {"water": {"level": "100 %"}, "baker": {"x": 70, "y": 0}}}
    command = printed(
        *("whatif", str(EXAMPLE), "--from", "levelled", "--add", "850 lb on truck at 200 in, 0 in"),
        *("--set", "water.level=100 %", "--move", "baker to 70 in, 0 in"),
    )
    same(asks(script, day_id, "whatif", body), command)
    assert {item["basis"] for item in command["findings"]} == {"predicted"}
    hitched = {"from": "solo", "hitch": [{"at": "ball", "trailer": "oven", "distribution": {"as": "levelled"}}]}
    command = printed(
        *("whatif", str(EXAMPLE), "--from", "solo", "--hitch", "ball:oven", "--distribution", "same-as:levelled")
    )
    same(asks(script, day_id, "whatif", hitched), command)


def test_trailer_and_rebalance_are_those_of_the_commands(script: TestClient, day_id: str) -> None:
    same(
        asks(script, day_id, "trailer", {"from": "solo", "at": "ball"}),
        printed("trailer", str(EXAMPLE), "--from", "solo", "--at", "ball"),
    )
    body = {"state": "market", "couple": {"oven": ["0 lb*in", "40000 lb*in"]}, "keep": ["baker"]}
    command = printed(
        *("rebalance", str(EXAMPLE), "--state", "market", "--couple", "oven:0 lb*in..40000 lb*in", "--keep", "baker")
    )
    same(asks(script, day_id, "rebalance", body), command)


def test_weight_distribution_and_the_ledger_are_those_of_the_commands(script: TestClient, day_id: str) -> None:
    same(
        asks(script, day_id, "distribute", {"state": "levelled", "restore": "60 %"}),
        printed("distribute", str(EXAMPLE), "--state", "levelled", "--restore", "60%"),
    )
    same(
        asks(script, day_id, "ledger", {"state": "levelled", "since": "hitched"}),
        printed("ledger", str(EXAMPLE), "--state", "levelled", "--since", "hitched"),
    )


UNTOLD = """
[vehicles.van]
role = "towing"
ratings = { gvwr = "9000 lb" }
axles = [{ x = 0, track = 66 }, { x = 140, track = 66 }]
couplings.ball = { type = "ball", x = 190, rating = { vertical = "500 lb" } }

[states.van_alone]
vehicles = ["van"]
"""


def test_a_towing_vehicle_that_was_never_weighed_is_refused_in_words(script: TestClient) -> None:
    day_id = script.post("/api/v1/days", content=TEXT.replace("[cargo.baker]", UNTOLD + "\n[cargo.baker]", 1)).json()[
        "id"
    ]
    message = error(asks(script, day_id, "trailer", {"from": "van_alone", "at": "ball"}), 422, "cannot_be")
    assert message == "no limit on 'van' is determined in 'van_alone', so how much it tows cannot be told"


def test_a_load_map_holds_what_the_floor_can_take(script: TestClient, day_id: str) -> None:
    found = asks(script, day_id, "loadmap", {"state": "solo", "on": "truck", "grid": [20, 8], "item": 1500}).json()
    assert len(found["max_mass"]) == 8
    assert len(found["max_mass"][0]) == len(found["x"]) == 20
    row, column = 4, 10
    most, limit = found["max_mass"][row][column], found["limits"][found["limit"][row][column]]
    assert limit["letter"] in [tag["letter"] for tag in found["tags"]]
    assert found["fits"][row][column] == (most >= 1500)
    for mass, kept in ((most, True), (most * 1.0001, False)):
        load = {
            "on": "truck",
            "mass": mass,
            "x": f"{found['x'][column]} in",
            "y": f"{found['y'][row]} in",
        }
        verdicts = asks(script, day_id, "whatif", {"from": "solo", "add": [load]}).json()["verdicts"]
        tail = limit["id"].partition("/")[2]
        verdict = next(item for item in verdicts if item["id"].partition("/")[2] == tail)
        assert (verdict["verdict"] == "within") is kept


def test_a_map_and_a_remedy_of_what_is_not_a_state_yet(script: TestClient, day_id: str) -> None:
    scenario = {"from": "levelled", "add": [{**CRATE, "name": "crate", "mass": 2400}]}
    plain = asks(script, day_id, "loadmap", {"state": "levelled", "on": "truck", "grid": [10, 5]}).json()
    heavy = asks(script, day_id, "loadmap", {"scenario": scenario, "on": "truck", "grid": [10, 5]}).json()
    assert heavy["missed"]
    assert heavy["max_mass"][2][5] < plain["max_mass"][2][5]
    remedy = asks(script, day_id, "rebalance", {"scenario": scenario, "move": ["crate"], "keep": ["water"]}).json()
    assert remedy["status"] == "optimal"
    assert [action["cargo"] for action in remedy["actions"]] == ["crate"]
    assert {item["verdict"] for item in remedy["verdicts"] if item["verdict"]} == {"within"}


def test_a_scenario_is_kept_once_as_a_state_without_drafts(script: TestClient, day_id: str) -> None:
    body = {"key": "k1", "name": "crated", "from": "levelled", "add": [{**CRATE, "name": "crate"}], "remove": ["baker"]}
    scenario = {key: value for key, value in body.items() if key not in ("key", "name")}
    asked = asks(script, day_id, "whatif", scenario).json()
    first, again = (asks(script, day_id, "whatif/keep", body) for _ in range(2))
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() | {"replay": True} == again.json()
    kept = script.get(f"/api/v1/days/{day_id}/findings").json()
    values = {item["id"]: (item["value"], item["u"]) for item in kept["findings"]}
    for item in asked["findings"]:
        if item["id"].startswith("what_if/"):
            assert values["crated" + item["id"].removeprefix("what_if")] == pytest.approx(
                (item["value"], item["u"]), rel=1e-4
            )
    assert all(item["basis"] == "predicted" for item in kept["findings"] if item["id"].startswith("crated/"))
    assert script.get(f"/api/v1/days/{day_id}").text.count("[states.crated]") == 1
    taken = asks(script, day_id, "whatif/keep", {**body, "key": "k2", "add": []})
    assert error(taken, 422, "cannot_be").startswith("there is a state 'crated' already")
    error(asks(script, day_id, "whatif/keep", {**body, "name": "other"}), 409, "key_taken")
    marks = {"key": "", "from": "solo", "add": [{**CRATE, "mass": 0}], "removes": []}
    answer = asks(script, day_id, "whatif/keep", marks)
    error(answer, 422, "faults")
    assert [": ".join((one["path"], one["message"])) for one in answer.json()["error"]["faults"]] == [
        "removes: is an unknown key; did you mean 'remove'?",
        "name: is missing",
        "add.0.mass: is not above zero; what comes off is named with remove",
        "key: is not a text of 1 to 100 printable letters",
    ]


def test_what_was_cut_short_is_kept_in_full_the_second_time(
    script: TestClient, day_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fail(*_: Any) -> None:
        raise StoreError(Reason.BUSY, "others were quicker")

    body = {"key": "k1", "name": "crated", "from": "solo", "add": [{**CRATE, "name": "crate"}]}
    with monkeypatch.context() as patch:
        patch.setattr(Station, "make_state", fail)
        error(asks(script, day_id, "whatif/keep", body), 503, "busy")
    text = script.get(f"/api/v1/days/{day_id}").text
    assert ("[cargo.crate]" in text, "[states.crated]" in text) == (True, False)
    assert asks(script, day_id, "whatif/keep", body).status_code == 201
    text = script.get(f"/api/v1/days/{day_id}").text
    assert text.count("[cargo.crate]") == text.count("[states.crated]") == 1


BAD = [
    (
        {"from": "nowhere"},
        "faults",
        "from: nowhere: there is no such state; the day has solo, hitched, levelled, market",
    ),
    ({}, "faults", "from: is missing"),
    ({"from": "solo", "lift": 1}, "faults", "lift: is an unknown key; the keys are from, name, add, put_on, remove, "),
    ({"from": "solo", "remove": ["water"]}, "cannot_be", "cargo 'water' is not aboard; aboard are baker"),
    ({"from": "solo", "remove": "baker"}, "faults", "remove: baker: is not a list of at most 200"),
    (
        {"from": "solo", "add": [{"on": "truck", "mass": 5}]},
        "faults",
        "add.0.x: is missing; a load needs mass, x and y",
    ),
    (
        {"from": "solo", "add": [{**CRATE, "mass": -5}]},
        "faults",
        "add.0.mass: -5: is not above zero; what comes off is named with remove",
    ),
    (
        {"from": "solo", "add": [{**CRATE, "x": 2000}]},
        "cannot_be",
        "'load' would stand off 'truck': 2,000 in along it, which reaches from \u2212111 to 333 in at most",
    ),
    (
        {"from": "hitched", "change": {"water": {"level": "120 %"}}},
        "faults",
        'change.water.level: "120 %": is outside 0 % to 100 %',
    ),
    ({"from": "solo", "hitch": [{"at": "ball", "trailer": "boat"}]}, "cannot_be", "there is no vehicle 'boat'"),
    (
        {"from": "hitched", "put_on": ["water"], "remove": ["water"]},
        "faults",
        "put_on: water: is put on and removed as well; leave one of the two out",
    ),
    ({"from": "solo", "remove": ["baker", "baker"]}, "faults", "remove: baker: is given twice; give it once"),
    (
        {"from": "hitched", "unhitch": ["oven"], "hitch": [{"at": "ball", "trailer": "oven"}]},
        "cannot_be",
        "nothing would change; say what is put on, taken off, moved",
    ),
    ({"from": "solo", "remove": [None, ["baker"]]}, "faults", "remove: null: is not a name; write a list of names"),
    ({"from": "solo", "remove": "true"}, "faults", 'remove: "true": is not a list of at most 200 items'),
    ({"from": True, "name": {"a": [1.5, None]}}, "faults", "from: true: there is no such state"),
    ({"name": {"a": [1.5, None]}, "from": "solo"}, "faults", 'name: {"a": [1.5, null]}: is not a text of at most 200'),
    (
        {"from": "hitched", "distribution": {"oven": 9}},
        "faults",
        "distribution.oven: 9: is not a couple; write for example",
    ),
]


@pytest.mark.parametrize(("body", "code", "message"), BAD)
def test_each_bad_scenario_has_its_one_message(
    script: TestClient, day_id: str, body: dict[str, Any], code: str, message: str
) -> None:
    assert error(asks(script, day_id, "whatif", body), 422, code).startswith(message)


REFUSED: list[tuple[str, dict[str, Any], str, str]] = [
    ("loadmap", {"state": "solo", "on": "oven"}, "cannot_be", "'oven' is not in this state; its vehicles are truck"),
    (
        "loadmap",
        {"state": "solo", "on": "truck", "grid": [1, 2]},
        "faults",
        "grid: [1, 2]: is not a grid; write two whole",
    ),
    ("loadmap", {"state": "solo", "on": "truck", "item": -3}, "faults", "item: -3: is not above zero"),
    (
        "loadmap",
        {"state": "solo", "scenario": {"from": "solo"}, "on": "truck"},
        "faults",
        "scenario: stands beside",
    ),
    ("trailer", {"from": "hitched"}, "cannot_be", "a trailer hangs on 'truck' in state 'hitched'"),
    (
        "trailer",
        {"from": "solo", "trailers": ["boat"]},
        "faults",
        "trailers: boat: is not a trailer of the day; there",
    ),
    ("rebalance", {"state": "market", "keep": ["anvil"]}, "cannot_be", "there is no cargo 'anvil'"),
    ("rebalance", {"state": "market", "couple": {"oven": [1, 2]}}, "faults", "couple.oven: 1: has no unit"),
    (
        *("rebalance", {"state": "market", "shift": {"oven": [3, -3]}}, "cannot_be"),
        "the least coupling shift of 'oven' is above the greatest",
    ),
    (
        "rebalance",
        {"state": "market", "shift": {"boat": [0, 1]}},
        "cannot_be",
        "'boat' is not hitched in state 'market'",
    ),
    (
        *("rebalance", {"state": "market", "keep": ["baker"], "move": ["baker"]}, "cannot_be"),
        "baker: both kept and marked movable; choose one of the two",
    ),
    (
        "distribute",
        {"state": "x"},
        "faults",
        "state: x: there is no such state; the day has solo, hitched, levelled",
    ),
    (
        "distribute",
        {"state": "levelled", "restore": "900 %"},
        "faults",
        "restore: 900 %: is not between 0 % and 150",
    ),
    ("distribute", {"state": "levelled", "restore": "5 lb"}, "faults", "restore: 5 lb: has the unit 'lb'"),
    ("distribute", {"state": "solo"}, "cannot_be", "no trailer hangs on a towing vehicle in state 'solo'"),
    ("ledger", {"state": "\ud800"}, "faults", "state: \\ud800: there is no such state; the day has solo"),
    ("ledger", {"\ud800": 1}, "faults", "\\ud800: is an unknown key; the keys are state, since"),
    ("ledger", {"since": "solo"}, "faults", "state: is missing"),
    ("ledger", {"state": "solo", "since": 4}, "faults", "since: 4: there is no such state"),
    (
        "whatif",
        {"from": "solo", "name": "a/b", "remove": ["baker"]},
        "cannot_be",
        "'a/b' is not a name of a state; it is",
    ),
    ("whatif", {"from": "solo", "name": "cargo", "remove": ["baker"]}, "cannot_be", "'cargo' is reserved; give"),
    ("whatif", {"from": "solo"}, "cannot_be", "nothing would change; say what is put on, taken off, moved"),
]


@pytest.mark.parametrize(("what", "body", "code", "message"), REFUSED)
def test_bad_questions_are_answered_in_words(
    script: TestClient, day_id: str, what: str, body: dict[str, Any], code: str, message: str
) -> None:
    assert error(asks(script, day_id, what, body), 422, code).startswith(message)


def test_a_day_that_there_is_not_cannot_be_asked(script: TestClient) -> None:
    error(asks(script, "nosuchday", "whatif", {"from": "solo"}), 404, "no_such_day")


def test_a_programme_that_takes_long_holds_up_neither_drafts_nor_questions(tmp_path: Path) -> None:
    gate = threading.Event()

    async def run() -> None:
        settings = Settings(store=tmp_path / "station.db")
        station = Station(open_store(settings.store), settings)
        opened = await station.day(await station.import_text(TEXT))
        slow = asyncio.create_task(station.asker.ask(opened, lambda _: gate.wait(PATIENCE), slow=True))
        await asyncio.sleep(0.05)
        kept = await station.keep(opened.id, draft("k"), "test")
        assert kept.number == 7
        assert await station.asker.ask(opened, lambda weighed: len(weighed.findings().findings)) > 100
        assert not slow.done()
        gate.set()
        assert await slow is True
        await station.close()

    asyncio.run(run())


def test_a_day_is_solved_once_and_anew_after_a_draft(
    script: TestClient, day_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    solved: list[int] = []

    def counting(day: WeighDay) -> Weighed:
        solved.append(len(day.drafts))
        return solve(day)

    monkeypatch.setattr("steelyard.findings.solve", counting)
    for _ in range(3):
        assert asks(script, day_id, "whatif", {"from": "solo", "add": [CRATE]}).status_code == 200
    assert script.post(f"/api/v1/days/{day_id}/drafts", json=draft("k")).status_code == 201
    assert asks(script, day_id, "influence", {"from": "solo"}).headers["etag"] == '"1"'
    assert solved == [6, 7]


def test_the_page_brings_the_coefficients_of_its_state(script: TestClient, day_id: str) -> None:
    page = script.get(f"/days/{day_id}/ask", params={"state": "solo"}, headers={"accept": "text/html"})
    assert page.status_code == 200
    data = json.loads(page.text.split('id="page-data">')[1].split("</script>")[0])
    answer = asks(script, day_id, "influence", {"from": "solo"}).json()
    assert data["influence"] == answer
    assert "The maker" in page.text
    missing = script.get(f"/days/{day_id}/ask", params={"state": "x"}, headers={"accept": "text/html"})
    assert missing.status_code == 404
    drawing = script.get(f"/days/{day_id}/ask/trailer.svg", params={"from": "solo", "at": "ball", "theme": "dark"})
    assert drawing.text.startswith("<svg")


def test_a_day_without_drafts_has_nothing_to_be_asked(script: TestClient) -> None:
    bare = TEXT.partition("[[drafts]]")[0]
    day_id = script.post("/api/v1/days", content=bare).json()["id"]
    page = script.get(f"/days/{day_id}/ask", headers={"accept": "text/html"})
    assert page.status_code == 409
    assert "take a draft at the pads first" in page.text
