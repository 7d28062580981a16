"""Days are found on the page of days and by programs, and the page works without scripts."""

from __future__ import annotations

import html
import re
from html.parser import HTMLParser
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from steelyard.store import open_store, search
from tests.store.many import fill
from tests.web.conftest import Making
from tests.web.serving import TOKEN
from tests.web.shapes import error

DAYS = "/api/v1/days"
COUNT = 70


@pytest.fixture(name="yard")
def _yard(making: Making, tmp_path: Path) -> TestClient:
    """A station with seventy days: ten at each of seven places."""
    with open_store(tmp_path / "station.db") as store:
        fill(store, COUNT, plans=False)
    return making(headers={"authorization": f"Bearer {TOKEN}"})


def said(page: str) -> str:
    """The words of a page."""
    return " ".join(html.unescape(re.sub("<[^>]*>", " ", page)).split())


def cards(page: str) -> list[str]:
    return re.findall(r"<h2>([^<]*, rig \d+)</h2>", page)


class _Older(HTMLParser):
    """The address of the button under the list."""

    href = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = dict(attrs)
        if tag == "a" and "before=" in (found.get("href") or ""):
            self.href = found["href"] or ""


def older(page: str) -> str:
    parser = _Older()
    parser.feed(page)
    return parser.href


def test_the_page_of_days_finds_them_and_pages_on(yard: TestClient) -> None:
    page = yard.get("/").text
    assert 'name="search"' in page
    assert len(cards(page)) == 30
    found, address = list[str](), "/?search=RIG+0000"
    for count in (30, 30, 10):
        page = yard.get(address).text
        assert "Days found for “RIG 0000”, newest first." in said(page)
        assert 'value="RIG 0000"' in page
        assert len(cards(page)) == count
        found, address = found + cards(page), older(page)
    assert address == ""
    assert [title[-2:] for title in found] == [f"{number:02d}" for number in range(COUNT, 0, -1)]


def test_what_the_page_shows_the_interface_answers(yard: TestClient) -> None:
    for typed in ("ferry", "ferry van", "rig 000042", "fleet 3", "2016-01-02", "zeppelin"):
        page = yard.get("/", params={"search": typed}).text
        answer = yard.get(DAYS, params={"search": typed, "limit": 30}).json()
        assert cards(page) == [day["title"] for day in answer["days"]]
        assert bool(older(page)) == (answer["before"] is not None)
    first = yard.get(DAYS, params={"search": "ferry", "limit": 6}).json()
    rest = yard.get(DAYS, params={"search": "ferry", "before": first["before"]}).json()
    assert (len(first["days"]), len(rest["days"]), rest["before"]) == (6, 4, None)


def test_nothing_found_is_said_in_words(yard: TestClient) -> None:
    words = said(yard.get("/", params={"search": "<b>zeppelin"}).text)
    assert "Nothing found for “<b>zeppelin”: no day has all of this. All weigh days" in words
    assert "No days yet" not in words
    assert yard.get(DAYS, params={"search": "zeppelin"}).json() == {"days": [], "before": None}


def test_a_search_that_is_not_through_says_how_far_it_is(yard: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "LOOKED_AT", 5)
    page = yard.get("/", params={"search": "van hauler"}).text
    words = said(page)
    assert "Nothing found for “van hauler” so far. Days begun before 2016-01-" in words
    assert "Look further back" in words
    while older(page):
        page = yard.get(older(page)).text
    assert "Nothing found for “van hauler”: no day has all of this." in said(page)


def test_odd_searches_are_answered_or_refused_in_words(yard: TestClient) -> None:
    for odd in ("%", "'", "\0", "\x1b[2J", "é" * 200, "a " * 90, "{{ 7 * 7 }}", '"><script>'):
        page = yard.get("/", params={"search": odd})
        assert page.status_code == 200
        assert "<script>" not in page.text.replace("<script type", "")
        assert yard.get(DAYS, params={"search": odd}).status_code == 200
    everything = yard.get(DAYS, params={"search": "   "}).json()
    assert len(everything["days"]) == 50
    message = error(yard.get(DAYS, params={"search": "x" * 201}), 422, "bad_parameter")
    assert message == "search: has 201 letters; it takes at most 200"
    assert yard.get("/", params={"search": "x" * 201}).status_code == 422
    error(yard.get(DAYS, params={"search": "ferry", "before": "nosuchday"}), 404, "no_such_day")


def test_a_few_days_need_no_search(making: Making, tmp_path: Path) -> None:
    with open_store(tmp_path / "station.db") as store:
        fill(store, 5, plans=False)
    client = making(headers={"authorization": f"Bearer {TOKEN}"})
    assert 'name="search"' not in client.get("/").text
    assert 'name="search"' in client.get("/", params={"search": "van"}).text
