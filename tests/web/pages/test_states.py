"""States of a day renamed, put away and brought back at the bench; each act is undone at once, nothing is deleted."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from tests.cli.days import NURSERY
from tests.model.test_states_away import MORE
from tests.web.pages.test_lists import DAYS, post
from tests.web.shapes import error


@pytest.fixture(name="nursery")
def a_day(script: TestClient) -> str:
    return script.post(DAYS, content=(NURSERY + MORE).encode(), headers={"content-type": "application/toml"}).json()[
        "id"
    ]


def undo(script: TestClient, page: str) -> str:
    form = re.search(r'action="([^"]+)"><input type="hidden" name="(\w+)" value="([^"]*)"><button data-undo', page)
    assert form is not None
    return post(script, html.unescape(form[1]), **{form[2]: html.unescape(form[3])}).text


def test_a_state_vanishes_everywhere_and_comes_back(script: TestClient, nursery: str) -> None:
    bench, states = f"/days/{nursery}", f"/days/{nursery}/states/full"
    assert 'href="#s-full"' in script.get(bench).text
    page = post(script, f"{states}/put-away", reason="asked <b>by mistake</b>").text
    assert "“full” was put away. Nothing of it is deleted, and no figure of another state changes." in page
    assert 'href="#s-full"' not in page
    assert "put away: asked &lt;b&gt;by mistake&lt;/b&gt;" in page
    found = script.get(f"{DAYS}/{nursery}/findings").json()
    assert not any("full" in one["id"].split("/")[0] for one in found["findings"])
    for where in ("pads", "plan", "learn", "ask"):
        text = script.get(f"{bench}/{where}").text.partition('id="page-data"')[0]
        assert not re.search(r'(data-state|value)="full"', text), where
    assert 'data-state="full"' in script.get(f"{bench}/ask", params={"state": "full"}).text  # somebody asks for it
    page = undo(script, page)
    assert "“full” is shown again." in page
    assert 'href="#s-full"' in page
    assert "“full” was put away" in undo(script, page)
    day = parse_day(script.get(f"{DAYS}/{nursery}").text, "out")
    assert [(item.away, item.reason) for item in day.corrections] == [
        (True, "asked <b>by mistake</b>"),
        (False, "Brought back"),
        (True, "asked <b>by mistake</b>"),
    ]
    assert "state full: put away" in html.unescape(script.get(f"{bench}/history").text)


def test_a_state_is_called_something_else(script: TestClient, nursery: str) -> None:
    bench, states = f"/days/{nursery}", f"/days/{nursery}/states/full"
    page = post(script, f"{states}/name", label="Beds full of <soil>").text
    assert "“full” is called “Beds full of &lt;soil&gt;” now. The old name stays on record." in page
    for where in ("", "/pads", "/plan", "/learn", "/ask"):
        assert "Beds full of &lt;soil&gt;" in script.get(f"{bench}{where}").text, where
    assert "“Beds full of &lt;soil&gt;” is called “full” now." in undo(script, page)
    before = script.get(f"{DAYS}/{nursery}").headers["etag"]
    post(script, f"{states}/name", label=" full ")  # nothing new
    assert script.get(f"{DAYS}/{nursery}").headers["etag"] == before


def test_what_cannot_be_changes_nothing(script: TestClient, nursery: str) -> None:
    states = f"/days/{nursery}/states"
    for state, act, said in (
        ("full", "put-away", {}),
        ("empty", "put-away", {"reason": "x"}),
        ("no", "bring-back", {}),
    ):
        assert post(script, f"{states}/{state}/{act}", **said).status_code == 422
    assert post(script, f"{states}/no/name", label="x").status_code == 422
    sent = {"key": "k", "state": "coupled", "away": True, "reason": "x"}
    told = error(script.post(f"{DAYS}/{nursery}/corrections", json=sent), 422, "faults")
    assert "has drafts that count" in str(told)
    assert not parse_day(script.get(f"{DAYS}/{nursery}").text, "out").corrections
