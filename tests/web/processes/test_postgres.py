"""The same interface over a real PostgreSQL, with what SQLite lets pass and it does not."""

from __future__ import annotations

import json
from collections.abc import Generator

import pytest

from steelyard.dayfile import parse_day
from tests.store.postgres import Cluster, cluster
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, TOKEN
from tests.web.shapes import draft, error

DAYS = "/api/v1/days"
TEXT = EXAMPLE.read_text(encoding="utf-8")


@pytest.fixture(scope="module", name="postgres")
def _postgres() -> Generator[Cluster, None, None]:
    with cluster() as running:
        yield running


def test_a_day_in_postgresql(making: Making, postgres: Cluster) -> None:
    client = making(store=postgres.new_database(), headers={"authorization": f"Bearer {TOKEN}"})
    day_id = client.post(DAYS, content=TEXT).json()["id"]
    assert client.get(f"{DAYS}/{day_id}").text == TEXT
    assert client.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1")).status_code == 201
    assert client.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1")).status_code == 200
    error(client.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1", note="x")), 409, "key_taken")
    assert client.get(f"{DAYS}/{day_id}/findings?wait=120").status_code == 200
    assert parse_day(client.get(f"{DAYS}/{day_id}").text, "day").drafts[6].key == "k-1"


def test_letters_that_no_database_holds_are_no_stumbling_block(making: Making, postgres: Cluster) -> None:
    client = making(store=postgres.new_database(), headers={"authorization": f"Bearer {TOKEN}"})
    day_id = client.post(DAYS, content=TEXT).json()["id"]
    for text in ("\0", "a\0b", "\ud800", "\u202e", "\ufffe", "🛻"):
        for name in ("label", "note", "placement", "state", "at", "unsupported"):
            body = json.dumps(draft(f"k-{name}", **{name: text}))  # half characters written out
            answer = client.post(f"{DAYS}/{day_id}/drafts", content=body)
            assert answer.status_code < 500, answer.text
        state = json.dumps({"name": text, "same": "solo"})
        assert client.post(f"{DAYS}/{day_id}/states", content=state).status_code < 500
    title = TEXT.replace('title = "Quay', 'title = "\\u0000Quay', 1)
    assert client.post(DAYS, content=title).status_code < 500
    assert client.post(DAYS, content=TEXT + "\0").status_code < 500
    parse_day(client.get(f"{DAYS}/{day_id}").text, "day")


def test_two_stations_over_one_database(making: Making, postgres: Cluster) -> None:
    address = postgres.new_database()
    headers = {"authorization": f"Bearer {TOKEN}"}
    one, other = making(store=address, headers=headers), making(store=address, headers=headers)
    day_id = one.post(DAYS, content=TEXT).json()["id"]
    for number in range(6):
        client = (one, other)[number % 2]
        assert client.post(f"{DAYS}/{day_id}/drafts", json=draft(f"k-{number}")).json()["number"] == 7 + number
    assert other.post(f"{DAYS}/{day_id}/drafts", json=draft("k-0")).status_code == 200
    assert one.get(f"{DAYS}/{day_id}").text == other.get(f"{DAYS}/{day_id}").text
