"""Drafts with the keys that few drafts have: taken in, and told apart from the others on every page that lists them."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from tests.web.shapes import draft, error

PAGE = {"accept": "text/html"}


def _words(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


@pytest.mark.parametrize("at", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-14:00", "1899-12-31T23:59:59"])
def test_a_clock_that_was_never_set_is_no_time_of_a_draft(script: TestClient, day_id: str, at: str) -> None:
    message = error(script.post(f"/api/v1/days/{day_id}/drafts", json=draft("k", at=at)), 422, "faults")
    assert message == f'at: "{at}": is not a time of a weigh day; its year is from 1900 to 2199'
    kept = script.post(f"/api/v1/days/{day_id}/drafts", json=draft("k", at="1900-01-01T00:00:00Z"))
    assert kept.status_code == 201


def test_a_file_with_such_a_time_still_has_its_ticket(script: TestClient, day_id: str) -> None:
    text = script.get(f"/api/v1/days/{day_id}").text
    end = text.index("[[drafts]]") + len("[[drafts]]\n")
    rest = re.sub(r"(?m)^at = .*\n", "", text[end:], count=1)
    odd = script.post("/api/v1/days", content=f"{text[:end]}at = 0001-01-01T00:00:00+14:00\n{rest}").json()["id"]
    assert script.get(f"/days/{odd}/ticket.pdf").content.startswith(b"%PDF")


def test_a_draft_that_is_no_plain_one_says_so_on_both_pages(script: TestClient, day_id: str) -> None:
    drafts = f"/api/v1/days/{day_id}/drafts"
    assert script.post(drafts, json=draft("turned", heading="reversed")).status_code == 201
    axle = {"truck/1L": ["p1", 2260], "truck/1R": ["p2", 2240]}
    lifted = draft("lifted", raised={"truck/2": "20 in"}, suspension="blocked") | {"readings": axle}
    assert script.post(drafts, json=lifted).status_code == 201
    raised = "truck/2 raised 20.0 in, suspension blocked: for the height of the centre of gravity alone"
    bench = _words(script.get(f"/days/{day_id}", headers=PAGE).text)
    assert "How it stood: facing the other way." in bench
    assert f"How it stood: {raised}." in bench
    assert "2 drafts, and 1 with an axle or the coupling raised." in bench
    pads = html.unescape(script.get(f"/days/{day_id}/pads", headers=PAGE).text)
    assert '"how": "facing the other way"' in pads
    assert f'"how": "{raised}"' in pads


def test_a_whole_letter_as_a_label_is_shown_once(script: TestClient, day_id: str) -> None:
    letter = "word " * 2000 + "<script>end</script>"
    assert script.post(f"/api/v1/days/{day_id}/drafts", json=draft("long", label=letter)).status_code == 201
    page = script.get(f"/days/{day_id}", headers=PAGE).text
    assert "<script>end" not in page
    assert page.count("&lt;script&gt;end") == 1
