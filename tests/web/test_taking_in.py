"""A day taken into the yard: what the yard has of that name already is asked about, and nothing is written over."""

from __future__ import annotations

import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from tests.web.conftest import BASE
from tests.web.serving import EXAMPLE

TEXT = EXAMPLE.read_text(encoding="utf-8")
OTHER = TEXT.replace('gvwr = "11400 lb"', 'gvwr = "9000 lb"')
FORM = {"origin": BASE}


@pytest.fixture(name="days")
def _days(script: TestClient) -> tuple[str, str]:
    """Two days whose trucks have one name and are not the same."""
    assert OTHER != TEXT
    return tuple(script.post("/api/v1/days", content=text).json()["id"] for text in (TEXT, OTHER))  # type: ignore[return-value]


def take(script: TestClient, day: str, **chosen: str) -> Any:
    data = {"day": day, **{key.replace("__", "/"): value for key, value in chosen.items()}}
    return script.post("/yard", data=data, headers=FORM, follow_redirects=False)


def yard(script: TestClient) -> dict[str, tuple[int, str]]:
    """Version and text of every vehicle."""
    return {item["name"]: (item["version"], item["text"]) for item in script.get("/api/v1/yard").json()["vehicles"]}


def test_a_day_is_taken_in_and_again_without_a_question(script: TestClient, days: tuple[str, str]) -> None:
    for _ in range(2):
        assert take(script, days[0]).status_code == 303
        assert {name: version for name, (version, _) in yard(script).items()} == {"truck": 1, "oven": 1}


def test_another_vehicle_of_that_name_is_asked_about_and_nothing_is_taken(
    script: TestClient, days: tuple[str, str]
) -> None:
    take(script, days[0])
    before = yard(script)
    answer = take(script, days[1])
    assert answer.status_code == 409
    assert "11,400 lb" in answer.text
    assert "9,000 lb" in answer.text
    assert 'value="truck_2"' in answer.text
    assert answer.text.count('<fieldset class="field"><legend class="label">') == 1  # of the truck alone
    assert yard(script) == before


def test_it_is_the_same_one_changed(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    before = yard(script)
    assert take(script, days[1], vehicle__truck="version").status_code == 303
    assert yard(script)["truck"][0] == 2
    assert "9000" in yard(script)["truck"][1]
    assert yard(script)["oven"] == before["oven"]


def test_it_is_another_one(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    before = yard(script)
    assert take(script, days[1], vehicle__truck="other", vehicle__truck__name="hired").status_code == 303
    after = yard(script)
    assert {name: after[name] for name in before} == before
    assert after["hired"][0] == 1
    assert after["hired"][1].startswith("[vehicles.hired]")
    made = script.post("/api/v1/yard/days", json={"vehicles": ["truck", "hired", "oven"]})
    assert made.status_code == 201, made.text


def test_a_name_is_free_text_and_the_day_is_not_asked_about_again(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    assert take(script, days[1], vehicle__truck="other", vehicle__truck__name="Big blue 🚚").status_code == 303
    assert 'name = "Big blue 🚚"' in yard(script)["Big_blue"][1]
    assert [take(script, day).status_code for day in (*days, days[1])] == [303, 303, 303]
    assert len(yard(script)) == 3


def missing(script: TestClient, days: tuple[str, str]) -> str:
    """The first day is in the yard; a day like it without two ratings of the label of its truck."""
    take(script, days[0])
    text = TEXT.replace('gvwr = "11400 lb"', "").replace(", gcwr", " gcwr").replace('rating = "5600 lb"', "", 1)
    assert parse_day(text, "day").vehicles["truck"].axles[0].rating is None
    return script.post("/api/v1/days", content=text).json()["id"]


def test_a_rating_that_a_new_version_lacks_is_asked_about(script: TestClient, days: tuple[str, str]) -> None:
    other = missing(script, days)
    answer = take(script, other, vehicle__truck="version")
    assert answer.status_code == 409
    assert "The label’s 11,400 lb gross rating is missing on the day." in answer.text
    assert "The label’s 5,600 lb rating of the front axle is missing on the day." in answer.text
    assert "Say what becomes of the gross rating: it is kept, or it is gone." in answer.text
    assert yard(script)["truck"][0] == 1
    choices = {"vehicle__truck__rating__gvwr": "keep", "vehicle__truck__rating__axle-1": "gone"}
    assert take(script, other, vehicle__truck="version", **choices).status_code == 303
    version, text = yard(script)["truck"]
    assert (version, "11400 lb" in text, "5600 lb" in text) == (2, True, False)


def test_another_name_that_looks_alike_is_asked_about(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    text = re.sub(r"\btruck\b", "hauler", TEXT).replace("Crew-cab bread hauler", "Old hauler").replace("p1", "q1")
    other = script.post("/api/v1/days", content=text).json()["id"]
    answer = take(script, other)
    assert answer.status_code == 409
    assert "is this Crew-cab bread truck?</legend>" in answer.text
    assert "q1: is this p1?</legend>" in answer.text  # they have one serial number
    both = {"vehicle__hauler": "version", "instrument__q1": "version"}
    assert take(script, other, **both).status_code == 303
    assert sorted(yard(script)) == ["oven", "truck"]
    assert 'name = "Crew-cab bread truck"' in yard(script)["truck"][1]
    far = script.post("/api/v1/days", content=text.replace('x = "170 in"', 'x = "150 in"')).json()["id"]
    assert "is this Crew-cab" not in take(script, far).text


def test_it_is_left_out(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    before = yard(script)
    assert take(script, days[1], vehicle__truck="leave").status_code == 303
    assert yard(script) == before


@pytest.mark.parametrize(
    ("choice", "name", "said"),
    [
        ("other", "oven", "The yard or the day has something called oven already."),
        ("other", "x" * 101, "A name is one line of at most 100 letters."),
        ("whatever", "", "Nothing was taken in yet: the yard has these already, and not as the day has them."),
    ],
)
def test_a_choice_that_cannot_be_is_asked_again(
    script: TestClient, days: tuple[str, str], choice: str, name: str, said: str
) -> None:
    take(script, days[0])
    before = yard(script)
    answer = take(script, days[1], vehicle__truck=choice, vehicle__truck__name=name)
    assert answer.status_code == 409
    assert said in answer.text
    assert yard(script) == before


def test_the_same_in_other_units_is_the_same(script: TestClient, days: tuple[str, str]) -> None:
    take(script, days[0])
    text = TEXT.replace('gvwr = "11400 lb"', 'gvwr = "5170.953018 kg"')
    other = script.post("/api/v1/days", content=text).json()["id"]
    assert take(script, other).status_code == 303
    assert yard(script)["truck"][0] == 1
