"""The record of a day at the station: the address for programs, the page, and that both say what the command says."""

from __future__ import annotations

import html
import json
import re
import sqlite3
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from steelyard.store import open_store
from tests.cli.days import run
from tests.store.samples import state
from tests.web.test_api import DAYS, draft, error


def by_hand(tmp_path: Path, statement: str) -> None:
    """Change the store behind the station's back."""
    connection = sqlite3.connect(tmp_path / "station.db")
    with connection:
        connection.execute(statement)
    connection.close()


def printed(tmp_path: Path, day_id: str, *options: str) -> Any:
    """The JSON that the command prints."""
    return json.loads(run("history", day_id, "--store", str(tmp_path / "station.db"), *options, "--json").stdout)


def shown(client: TestClient, address: str) -> str:
    """The text of a page, without its tags."""
    page = client.get(address, headers={"accept": "text/html"})
    assert page.status_code == 200, page.text
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page.text.partition("<main")[2])).split())


def test_the_station_and_the_command_give_one_history(script: TestClient, day_id: str, tmp_path: Path) -> None:
    for key in ("k-1", "k-2"):
        assert script.post(f"{DAYS}/{day_id}/drafts", json=draft(key)).status_code == 201
    data = script.get(f"{DAYS}/{day_id}/history").json()
    assert data == printed(tmp_path, day_id)
    assert (data["kept"], data["faults"], [entry["key"] for entry in data["entries"]]) == (True, [], ["k-1", "k-2"])
    head = data["entries"][0]["digest"]
    asked = script.get(f"{DAYS}/{day_id}/history", params={"head": head}).json()
    assert asked == printed(tmp_path, day_id, "--head", head)
    assert asked["noted"] == {"digest": head, "link": 1}
    by_hand(tmp_path, "DELETE FROM entries WHERE seq = 1")
    data = script.get(f"{DAYS}/{day_id}/history").json()
    assert data == printed(tmp_path, day_id)
    assert (data["kept"], data["entries"][0]["state"]) == (False, "deleted")


def test_additions_alone_are_held_against_nothing(script: TestClient, day_id: str) -> None:
    for key in ("k-1", "k-2"):
        script.post(f"{DAYS}/{day_id}/drafts", json=draft(key))
    whole = script.get(f"{DAYS}/{day_id}/history").json()
    since = script.get(f"{DAYS}/{day_id}/history", params={"after": 1}).json()
    assert since["entries"] == [whole["entries"][1] | {"state": None}]
    assert (since["start"], since["kept"], since["head"]) == (None, None, whole["head"])
    error(script.get(f"{DAYS}/{day_id}/history", params={"after": "x"}), 422, "bad_parameter")
    error(script.get(f"{DAYS}/{day_id}/history", params={"head": "x"}), 422, "bad_parameter")
    error(script.get(f"{DAYS}/nowhere/history"), 404, "no_such_day")


def test_the_page_says_whether_all_is_as_it_was_kept(script: TestClient, day_id: str, tmp_path: Path) -> None:
    script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"))
    page = shown(script, f"/days/{day_id}/history")
    assert "All is as it was kept: the imported text and the one thing that was added fit their digests." in page
    digest = script.get(f"{DAYS}/{day_id}/history").json()["head"]["digest"]
    assert page.count(" ".join(digest[at : at + 8] for at in range(0, 64, 8))) == 2
    by_hand(tmp_path, "UPDATE entries SET text = text || ' ', device = '<b>' WHERE seq = 1")
    page = shown(script, f"/days/{day_id}/history")
    assert "Not all is as it was kept: 1 thing does not fit." in page
    assert "was changed: the device that it came from, its text." in page


def test_a_long_record_comes_in_pages(script: TestClient, day_id: str, tmp_path: Path) -> None:
    with open_store(tmp_path / "station.db") as store:
        for number in range(101):
            store.append(day_id, state(f"k-{number}", f"s{number}"))
    first = shown(script, f"/days/{day_id}/history")
    assert (first.count(" kept 2"), "beginning" in first) == (100, False)
    earlier = shown(script, f"/days/{day_id}/history?before=2")
    assert (earlier.count(" kept 2"), "beginning" in earlier) == (2, True)
    assert shown(script, f"/days/{day_id}/history?before=x") == first
