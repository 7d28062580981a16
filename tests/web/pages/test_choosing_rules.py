"""Rules of the road at the station: a choice is kept, those before it stay, and the bench says what follows."""

from __future__ import annotations

import html
import json
import re
from typing import Any

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from tests.cli.days import ROOT, run
from tests.web.conftest import Making
from tests.web.serving import TOKEN
from tests.web.shapes import error

DAYS = "/api/v1/days"
PUPPETS = (ROOT / "examples" / "puppet-van.toml").read_text(encoding="utf-8")
NONE = re.sub(r"\[rules\].*?\n\n", "", PUPPETS, flags=re.DOTALL)
"""The example with nothing chosen."""
CHOICE: dict[str, Any] = {
    "key": "r-1",
    "apply": ["eu-licence", "de-stvzo"],
    "where": "DE",
    "use": "private",
    "licence": ["B"],
}


def begun(script: TestClient, text: str = NONE) -> str:
    """A new day of the puppet theatre."""
    return script.post(DAYS, content=text).json()["id"]


def choose(script: TestClient, day: str, **more: Any) -> Any:
    """What the station answers to a choice."""
    return script.post(f"{DAYS}/{day}/rules/choose", json=CHOICE | more)


def seen(script: TestClient, day: str) -> str:
    """The words of the bench."""
    page = script.get(f"/days/{day}").text
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def test_a_choice_is_kept_and_judged_by_and_the_one_before_it_stays(making: Making) -> None:
    script = making(headers={"authorization": f"Bearer {TOKEN}"})
    day = begun(script)
    assert script.post(f"{DAYS}/{day}/rules", json={}).json()["rules"] == []
    assert (choose(script, day).status_code, choose(script, day).status_code) == (201, 200)
    error(choose(script, day, apply=["eu-road"]), 409, "key_taken")
    told = script.post(f"{DAYS}/{day}/rules", json={"state": "hitched"}).json()["rules"]
    command = json.loads(
        run("rules", str(ROOT / "examples" / "puppet-van.toml"), "--state", "hitched", "--json").stdout
    )
    assert told == command["rules"]
    assert len(told) > 8
    assert choose(script, day, key="r-2", apply=[], licence=None).status_code == 201
    text = script.get(f"{DAYS}/{day}").text
    assert text.startswith(NONE)
    kept = parse_day(text, "day")
    assert kept.rules.sets == ()
    assert [[one.id for one in item.sets] for item in kept.earlier_rules] == [[], CHOICE["apply"]]
    entries = script.get(f"{DAYS}/{day}/history").json()["entries"]
    assert [(one["kind"], one["key"], one["number"]) for one in entries] == [
        ("rule_choices", "r-1", 1),
        ("rule_choices", "r-2", 2),
    ]
    words = seen(script, day)
    assert "Rules of the road: none chosen, nothing judged" in words
    assert re.search(
        r"Chosen by script, received [\d: -]+ UTC ?: eu-licence, de-stvzo; place DE; private use; licence B\.", words
    )
    again = making(headers={"authorization": f"Bearer {TOKEN}"})
    assert again.get(f"{DAYS}/{day}").text == text


def test_the_bench_says_what_binds_what_is_missing_and_which_licence(script: TestClient) -> None:
    words = seen(script, begun(script, PUPPETS))
    road = words[words.index("Rules of the road The file says: place DE; private use; licence B.") :]
    for text in (
        "hitched: 2 outside, 1 undecided, 11 within, 2 not judged",
        "Driver of the combination: Category of licence (by the papers) BE: a vehicle of at most 3,500 kg",
        "1,236 ± 10 kg, at most 1,200 kg; 36 kg over. Kept with a probability of < 0.1 %.",
        "Rule d: StVZO section 42(1).",
        "Not judged. The file does not say vehicles.van.papers.coupling",
        "not legal advice; the text in force stands above this table.",
    ):
        assert text in road, text
    limits = words[words.index("Limits: 1 outside, ") : words.index("Do the readings agree?")]
    assert "StVZO" not in limits


def test_the_form_has_every_set_and_shows_what_is_chosen(script: TestClient) -> None:
    from steelyard.rules import bundled_names

    page = script.get(f"/days/{begun(script, PUPPETS)}").text
    ticks = re.findall(r'name="apply" value="([\w-]+)"[^>]*?( checked)?>', page)
    assert sorted(name for name, _ in ticks) == sorted(bundled_names())
    assert {name for name, mark in ticks if mark} == {"eu-licence", "de-stvzo"}
    assert 'name="licence" value="B"' in page
    assert '<option value="private" selected>' in page
    assert not re.search(r'name="from_memory"[^>]* checked', page)


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        ({"apply": ["eu-licenc"]}, "is not a rule set; did you mean 'eu-licence'?"),
        ({"apply": ["eu-licence", "uk-licence"]}, "excludes 'eu-licence', which is chosen too"),
        ({"apply": ["de-stvzo", "de-stvzo"]}, "is chosen twice; name each rule set once"),
        ({"apply": None}, "is missing"),
        ({"apply": "de-stvzo"}, "is not a list of rule sets"),
        ({"use": "pleasure"}, 'is not known; write "private" or "commerce"'),
        ({"licence": 3}, "is not a licence"),
        ({"lisence": "B"}, "did you mean 'licence'?"),
    ],
)
def test_what_cannot_be_chosen_is_refused_in_words(script: TestClient, wrong: dict[str, Any], message: str) -> None:
    day = begun(script)
    assert message in error(choose(script, day, **wrong), 422, "faults")
    assert script.get(f"{DAYS}/{day}").text == NONE


def test_all_faults_of_a_choice_come_at_once(script: TestClient) -> None:
    answer = choose(script, begun(script), apply=["eu-licenc", "x"], use="pleasure").json()["error"]
    assert [fault["path"] for fault in answer["faults"]] == ["apply[1]", "apply[2]", "use"]
