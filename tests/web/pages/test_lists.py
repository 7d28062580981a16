"""Days and vehicles renamed, put away and brought back, on the pages and by programs; each act is undone at once."""

from __future__ import annotations

import html
import re
from typing import Any

from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from tests.web.conftest import BASE
from tests.web.serving import EXAMPLE
from tests.web.shapes import error

TEXT = EXAMPLE.read_text(encoding="utf-8")
DAYS, YARD = "/api/v1/days", "/api/v1/yard"


def post(script: TestClient, address: str, **said: str) -> Any:
    return script.post(address, data=said, headers={"origin": BASE}, follow_redirects=True)


def undo(script: TestClient, page: str) -> Any:
    """Press Undo on a page."""
    form = re.search(r'action="([^"]+)"><input type="hidden" name="title" value="([^"]*)"><button data-undo', page)
    assert form is not None
    return post(script, html.unescape(form[1]), title=html.unescape(form[2]))


def titles(script: TestClient, **asked: str) -> list[str]:
    return [day["title"] for day in script.get(DAYS, params=asked).json()["days"]]


def test_a_day_is_renamed_and_that_is_undone(script: TestClient, day_id: str) -> None:
    (old,) = titles(script)
    page = post(script, f"/days/{day_id}/title", title="Big <b>blue</b> 🚚")
    assert f"“{old}” is called “Big &lt;b&gt;blue&lt;/b&gt; 🚚” now. The old name stays on record." in page.text
    assert titles(script) == titles(script, search="big") == ["Big <b>blue</b> 🚚"]
    assert "<h1>Big &lt;b&gt;blue&lt;/b&gt; 🚚" in script.get(f"/days/{day_id}").text
    assert f"“{old}” now" in undo(script, page.text).text
    assert titles(script) == [old]
    day = parse_day(script.get(f"{DAYS}/{day_id}").text, "out")
    assert day.earlier_titles == (old, "Big <b>blue</b> 🚚")
    assert day.drafts == parse_day(TEXT, "day").drafts
    post(script, f"/days/{day_id}/title", title=f" {old} ")  # nothing new
    assert script.get(f"{DAYS}/{day_id}").headers["etag"] == '"2"'
    record = script.get(f"/days/{day_id}/history").text
    assert record.count("<b>title ") == 2
    assert '<p class="long">Big &lt;b&gt;blue&lt;/b&gt; 🚚</p>' in record


def test_a_title_that_cannot_be_changes_nothing(script: TestClient, day_id: str) -> None:
    before = titles(script)
    for said in ("", "  ", "x" * 201, "a\nb"):
        assert post(script, f"/days/{day_id}/title", title=said).status_code == 422
        error(script.post(f"{DAYS}/{day_id}/titles", json={"key": "k", "title": said}), 422, "faults")
    error(script.post(f"{DAYS}/{day_id}/titles", json={"title": "x"}), 422, "no_key")
    assert titles(script) == before


def test_a_program_renames_a_day_once(script: TestClient, day_id: str) -> None:
    body = {"key": "t", "title": "Big blue"}
    first, again = (script.post(f"{DAYS}/{day_id}/titles", json=body) for _ in range(2))
    assert (first.status_code, first.json()["number"], again.status_code) == (201, 1, 200)
    error(script.post(f"{DAYS}/{day_id}/titles", json=body | {"title": "Other"}), 409, "key_taken")
    late = script.post(f"{DAYS}/{day_id}/titles", json={"key": "u", "title": "x"}, headers={"if-match": '"0"'})
    error(late, 412, "moved_on")


def test_a_day_is_put_away_and_that_is_undone(script: TestClient, day_id: str) -> None:
    other = script.post(DAYS, content=TEXT.replace('title = "', 'title = "Second ')).json()["id"]
    page = post(script, f"/days/{day_id}/put-away").text
    assert "was put away. Nothing of it is deleted." in page
    assert "Put away (1)" in page
    assert [day["id"] for day in script.get(DAYS).json()["days"]] == [other]
    assert len(titles(script, put_away="with")) == len(titles(script, search="quay", put_away="with")) == 2
    assert len(titles(script, put_away="only")) == len(titles(script, search="quay")) == 1
    error(script.get(DAYS, params={"put_away": "yes"}), 422, "bad_parameter")
    assert f"/days/{day_id}/pads" not in script.get("/").text
    assert f"/days/{day_id}/pads" in script.get("/", params={"search": "quay", "put_away": "with"}).text
    assert f'value="{day_id}"' not in script.get("/yard").text
    assert script.get(f"/days/{day_id}").status_code == 200
    for said in ("did=away&to=nosuchday2", "did=back&to=..", f"did=back&to={day_id}", f"did=renamed&to={day_id}"):
        answer = script.get(f"/?{said}")
        assert (answer.status_code, "data-undo" in answer.text) == (200, False), said
    page = undo(script, page).text
    assert "is in the list again." in page
    assert "Put away (" not in page
    assert len(titles(script)) == 2


def test_a_program_puts_away_and_brings_back(script: TestClient, day_id: str) -> None:
    answers = [script.post(f"{DAYS}/{day_id}/{act}").json() for act in ("put-away", "put-away", "bring-back")]
    assert answers == [
        {"put_away": True, "changed": True},
        {"put_away": True, "changed": False},
        {"put_away": False, "changed": True},
    ]
    error(script.post(f"{DAYS}/nosuchday2/put-away"), 404, "no_such_day")
    error(script.post(f"{YARD}/vehicles/truck/put-away"), 404, "not_in_the_yard")


def test_a_vehicle_of_the_yard_is_renamed_put_away_and_brought_back(script: TestClient, day_id: str) -> None:
    post(script, "/yard", day=day_id)
    page = post(script, "/yard/vehicles/truck/title", title="Big blue").text
    assert "is called “Big blue” now, in a new version." in page
    kept = script.get(f"{YARD}/vehicles/truck").json()
    assert (kept["version"], 'name = "Big blue"' in kept["text"]) == (2, True)
    undo(script, page)
    one, three = (script.get(f"{YARD}/vehicles/truck?version={number}").json()["text"] for number in (1, 3))
    assert one == three
    assert post(script, "/yard/vehicles/truck/title", title=" ").status_code == 422
    assert post(script, "/yard/instruments/p1/title", title="x").status_code == 404
    page = post(script, "/yard/vehicles/truck/put-away").text
    assert 'name="vehicle" value="truck"' not in page
    assert [item["name"] for item in script.get(YARD).json()["vehicles"]] == ["oven"]
    assert [item["name"] for item in script.get(f"{YARD}?put_away=only").json()["vehicles"]] == ["truck"]
    assert 'name="vehicle" value="truck"' in undo(script, page).text
    post(script, "/yard/instruments/p1/put-away")
    post(script, "/yard", day=day_id)  # it is the same one, and stays where it was put
    assert "p1" not in [item["name"] for item in script.get(YARD).json()["instruments"]]
