"""Planning a day through the interface: the answer of the command, who may ask and keep, and what was reached."""

from __future__ import annotations

import json
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from steelyard.cli import cli
from steelyard.model import WeighDay
from steelyard.planning import PlanError
from steelyard.questions.plan import PlanQuestion, WishError
from steelyard.store import Shelf, open_store
from steelyard.web.http.problem import problem_of
from steelyard.web.station.plan_aside import LONGEST, Planners, Run, answered
from steelyard.web.station.refused import Refusal, RefusalError
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE
from tests.web.shapes import error

HOUR = 3600.0
QUESTION: dict[str, Any] = {
    "pads": ["p1", "p2", "p3", "p4"],
    "want": ["hitched/coupling/load <= 20 lb"],
    "more": False,
    "seconds": HOUR,
}


def ask(client: TestClient, day_id: str, **more: Any) -> Any:
    return client.post(f"/api/v1/days/{day_id}/plan", json={**QUESTION, **more})


@pytest.fixture(autouse=True)
def _patient(monkeypatch: pytest.MonkeyPatch) -> None:
    """The station lets a search have an hour, which no load uses up: it ends by what it has looked at."""
    monkeypatch.setattr("steelyard.web.api.plan.LONGEST", HOUR)


@pytest.fixture
def at_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plans are made in this process: to begin another costs as much as most plans.

    That a plan, and a refusal, come from another is seen by the tests without this.
    """

    def here(_planners: Planners, _run: Run, day: WeighDay, question: PlanQuestion, file: str) -> dict[str, Any]:
        try:
            return answered(day, question, file)
        except (PlanError, WishError) as error:
            raise RefusalError(Refusal("plan_cannot_be"), str(error)) from None

    monkeypatch.setattr(Planners, "_ask", here)


def test_the_plan_is_that_of_the_command(script: TestClient, day_id: str) -> None:
    answer = ask(script, day_id)
    assert answer.status_code == 200, answer.text
    arguments = ["plan", str(EXAMPLE), "--pads", "p1,p2,p3,p4", "--want", QUESTION["want"][0], "--no-more", "--json"]
    printed = json.loads(CliRunner().invoke(cli, [*arguments, "--seconds", "3600"]).output)
    found = answer.json()
    assert found.pop("file") == f"{day_id}.toml"
    printed.pop("file")
    assert found == printed
    assert len(found["drafts"]) == 2
    # asked only, so nothing was kept
    error(script.get(f"/api/v1/days/{day_id}/plan"), 404, "no_plan")


@pytest.mark.usefixtures("at_hand")
def test_a_kept_plan_outlives_the_station_and_every_version_stays(
    script: TestClient, day_id: str, making: Making, tmp_path: Path
) -> None:
    first = ask(script, day_id, keep=True).json()
    kept = script.get(f"/api/v1/days/{day_id}/plan").json()
    assert (kept["version"], kept["answer"]) == (1, first)
    assert kept["question"]["want"] == QUESTION["want"]
    ask(script, day_id, keep=True, cost={"carry": 2})
    again = making(headers=dict(script.headers))
    assert again.get(f"/api/v1/days/{day_id}/plan").json()["version"] == 2
    with open_store(tmp_path / "station.db") as store:
        assert [item.version for item in store.versions(Shelf.PLAN, day_id)] == [1, 2]


@pytest.mark.usefixtures("at_hand")
def test_what_was_reached_is_said_for_each_draft_since(script: TestClient, day_id: str) -> None:
    plan = ask(script, day_id, keep=True).json()
    address = f"/api/v1/days/{day_id}/plan/reached"
    before = script.get(address).json()
    assert before["reached"] == []
    planned = plan["drafts"][0]
    findings = script.get(f"/api/v1/days/{day_id}/findings").json()["findings"]
    loads = {item["id"]: item["value"] for item in findings}
    readings = {
        place: [pad, 20 * round(loads[f"{planned['state']}/{place.replace('/', '/wheel/')}"] / 20)]
        for place, pad in planned["placements"].items()
    }
    body = {"key": "walked", "state": planned["state"], "readings": readings}
    assert script.post(f"/api/v1/days/{day_id}/drafts", json=body).status_code == 201
    reached = script.get(address).json()["reached"]
    assert [item["draft"] for item in reached] == [before["after"] + 1]
    now = {item["id"]: item for item in script.get(f"/api/v1/days/{day_id}/findings").json()["findings"]}
    load = now["hitched/coupling/load"]
    assert reached[0]["half_width"] == {"hitched/coupling/load": pytest.approx((load["high"] - load["low"]) / 2)}
    assert reached[0]["half_width"]["hitched/coupling/load"] < plan["expected"][0]["now"]


@pytest.mark.usefixtures("at_hand")
def test_an_impossible_wish_is_answered_with_the_best_possible_and_not_kept(script: TestClient, day_id: str) -> None:
    answer = ask(script, day_id, want=["hitched/coupling/load <= 0.01 lb"], keep=True)
    assert answer.status_code == 200
    assert answer.json()["status"] == "impossible"
    assert answer.json()["best_possible"][0]["half_width"] > 0.01
    assert script.get(f"/api/v1/days/{day_id}/plan").status_code == 404


def test_what_another_process_cannot_plan_is_refused_in_its_words(script: TestClient, day_id: str) -> None:
    message = error(ask(script, day_id, pads=["p9"]), 422, "plan_cannot_be")
    assert "there is no instrument 'p9'; the day has p1, p2, p3, p4" in message


@pytest.mark.usefixtures("at_hand")
@pytest.mark.parametrize(
    ("more", "code", "message"),
    [
        ({"pads": ["p1"]}, "plan_cannot_be", "one pad is not a pair, and pads go in pairs under an axle"),
        ({"want": []}, "plan_cannot_be", "nothing is wanted"),
        ({"in": ["nowhere"]}, "faults", "in: nowhere: there is no such state; the day has solo"),
        ({"blocks": -1}, "faults", "blocks: -1: is not a whole number from 0 to 99"),
        ({"blocks": 2, "planks": True}, "faults", "exclude each other"),
        ({"seconds": 10**400}, "faults", "is not a number from 0.1 to 3600"),
        ({"cost": {"carry": 10**400}}, "faults", "cost"),
        ({"cost": {"tea": 1}}, "plan_cannot_be", "there is no cost 'tea'"),
        ({"nonsense": 1}, "faults", "nonsense"),
        (
            {"keep": 1, "key": "a\tb"},
            "faults",
            "keep: 1: is neither true nor false; write one of the two",
        ),
        ({"key": "k" * 101}, "faults", "is not a text of at most 100 printable letters"),
    ],
)
def test_what_cannot_be_planned_is_refused_with_what_would_be_right(
    script: TestClient, day_id: str, more: dict[str, Any], code: str, message: str
) -> None:
    answer = ask(script, day_id, **more)
    assert message in error(answer, 422, code)


def test_a_search_that_takes_too_long_for_a_station_is_refused(
    script: TestClient, day_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("steelyard.web.api.plan.LONGEST", LONGEST)
    message = "seconds: 61: is too long for a station; the search takes 60 s at most"
    assert message in error(ask(script, day_id, seconds=61), 422, "faults")


def test_a_plan_that_cannot_begin_says_so_with_its_status() -> None:
    planners = Planners()
    try:
        planners.begin("day/a")
        with pytest.raises(RefusalError, match="use another key") as same:
            planners.begin("day/a")
        for name in "bcd":
            planners.begin(f"day/{name}")
        with pytest.raises(RefusalError, match="4 plans are being made already") as full:
            planners.begin("day/e")
    finally:
        planners.close()
    for refused in (same, full):
        problem = problem_of(refused.value)
        assert (problem.status, problem.code) == (503, "plan_busy")


def test_who_may_look_may_ask_but_not_keep(script: TestClient, day_id: str, making: Making) -> None:
    here = making()
    assert here.get("/api/v1/days").status_code == 200
    answer = here.post(f"/api/v1/days/{day_id}/plan", json={**QUESTION, "keep": True})
    assert answer.status_code in (401, 403)
    assert script.get(f"/api/v1/days/{day_id}/plan").status_code == 404


def test_enough_ends_the_search_with_the_best_so_far(script: TestClient, day_id: str) -> None:
    wants = [f"{state}/*/wheel/* <= 16 lb" for state in ("solo", "hitched", "levelled")]
    answers: list[Any] = []
    question = {"want": wants, "single": True, "planks": True, "more": True, "key": "long"}
    thread = threading.Thread(target=lambda: answers.append(ask(script, day_id, **question)))
    thread.start()
    address = f"/api/v1/days/{day_id}/plan"
    told = 0
    while thread.is_alive():
        if script.get(f"{address}/progress?key=long").json()["running"]:
            told += script.post(f"{address}/enough", json={"key": "long"}).status_code == 200
        time.sleep(0.2)
    thread.join()
    assert told > 0
    assert answers[0].status_code == 200, answers[0].text
    assert answers[0].json()["status"] in ("optimal", "feasible", "unknown")
    assert answers[0].json()["what_more"] == []
    error(script.post(f"{address}/enough", json={"key": "long"}), 404, "no_plan")
