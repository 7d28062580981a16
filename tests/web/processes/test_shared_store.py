"""Several stations over one PostgreSQL: news of each other, a day that moved on, a server that goes and comes back."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Generator
from contextlib import contextmanager
from dataclasses import dataclass, field
from threading import Thread
from typing import Any, NoReturn

import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from steelyard.model import WeighDay
from steelyard.store import open_store
from steelyard.web import Settings
from steelyard.web.station.reckon import Reckoner
from steelyard.web.station.station import Station
from tests.store.postgres import Cluster, cluster
from tests.store.test_roles import make_roles
from tests.waiting import until
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, TOKEN, refused
from tests.web.shapes import draft, error

DAYS = "/api/v1/days"
TEXT = EXAMPLE.read_text(encoding="utf-8")
HEADERS = {"authorization": f"Bearer {TOKEN}"}


@pytest.fixture(scope="module", name="postgres")
def _postgres() -> Generator[Cluster, None, None]:
    with cluster() as running:
        yield running


def _never(day: WeighDay) -> NoReturn:
    raise RuntimeError(f"no findings of {day.title!r} here")


@dataclass
class Heard:
    """What one page hears."""

    chunks: list[bytes] = field(default_factory=list[bytes])

    def events(self, name: str) -> list[dict[str, Any]]:
        said = b"".join(self.chunks).decode()
        return [json.loads(data) for data in re.findall(rf"event: {name}\ndata: (.*)\n", said)]


@contextmanager
def listening(client: TestClient, station: Station, day_id: str) -> Generator[Heard, None, None]:
    """A page of a station, until the block ends."""
    heard = Heard()

    async def hear() -> None:
        async for chunk in await station.events(day_id):
            heard.chunks.append(chunk)

    assert client.portal is not None
    task = client.portal.start_task_soon(hear)
    try:
        until(lambda: heard.events("hello"), "the beginning of the stream")
        yield heard
    finally:
        task.cancel()


Stations = Callable[[str], tuple[TestClient, Station]]


@pytest.fixture(name="open_station")
def _open_station(making: Making) -> Stations:
    def opened(address: str) -> tuple[TestClient, Station]:
        station = Station(open_store(address), Settings(store=address, token=TOKEN), reckoner=Reckoner(_never))
        return making(station=station, store=address, headers=HEADERS), station

    return opened


def test_each_page_hears_every_draft_once_and_in_order_whichever_station_kept_it(
    open_station: Stations, postgres: Cluster
) -> None:
    address = postgres.new_database()
    (one, first), (other, second) = open_station(address), open_station(address)
    day_id = one.post(DAYS, content=TEXT).json()["id"]
    with listening(one, first, day_id) as here, listening(other, second, day_id) as there:
        assert other.post(f"{DAYS}/{day_id}/drafts", json=draft("from-there")).status_code == 201
        until(lambda: here.events("draft"), "the draft of the other station")
        (told,) = here.events("draft")
        assert (told["seq"], told["number"], told["key"]) == (1, 7, "from-there")
        assert (told["device"], told["state"], told["title"]) == ("script", "solo", "from-there")

        def keep(client: TestClient, name: str) -> None:
            for number in range(10):
                answer = client.post(f"{DAYS}/{day_id}/drafts", json=draft(f"{name}-{number}"))
                assert answer.status_code == 201, answer.text

        threads = [Thread(target=keep, args=sent) for sent in ((one, "one"), (other, "other"))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for page in (here, there):
            until(lambda page=page: len(page.events("draft")) >= 21, "every draft")
            assert [said["seq"] for said in page.events("draft")] == list(range(1, 22))
    day = parse_day(one.get(f"{DAYS}/{day_id}").text, "day")
    assert [item.key for item in day.drafts[6:]] == [said["key"] for said in here.events("draft")]


def test_who_asks_for_it_is_told_that_the_day_moved_on_and_what_came(open_station: Stations, postgres: Cluster) -> None:
    address = postgres.new_database()
    (one, _), (other, _) = open_station(address), open_station(address)
    day_id = one.post(DAYS, content=TEXT).json()["id"]
    tag = one.get(f"{DAYS}/{day_id}").headers["etag"]
    assert other.get(f"{DAYS}/{day_id}").headers["etag"] == tag
    looked = {"if-match": tag}
    assert one.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"), headers=looked).status_code == 201
    answer = other.post(f"{DAYS}/{day_id}/drafts", json=draft("k-2"), headers=looked)
    assert error(answer, 412, "moved_on") == (
        "the day has 1 addition by now, not 0; since then came draft 7 from script; "
        "look at it again before adding to it"
    )
    for where, body in (
        ("states", {"name": "other", "same": "solo"}),
        ("cargo", {"name": "crate", "on": "truck"}),
        ("corrections", {"key": "c", "draft": 1, "place": "truck/1L", "reason": "misread"}),
        ("rules/choose", {"key": "r", "apply": []}),
    ):
        error(other.post(f"{DAYS}/{day_id}/{where}", json=body, headers=looked), 412, "moved_on")
    assert one.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"), headers=looked).status_code == 200  # a replay
    again = {"if-match": other.get(f"{DAYS}/{day_id}").headers["etag"]}
    assert other.post(f"{DAYS}/{day_id}/drafts", json=draft("k-2"), headers=again).json()["number"] == 8
    bad = other.post(f"{DAYS}/{day_id}/drafts", json=draft("k-3"), headers={"if-match": "soon"})
    assert error(bad, 400, "bad_request") == (
        "If-Match is 'soon'; send the ETag of the day as it came with the file, such as \"7\""
    )
    assert len(parse_day(one.get(f"{DAYS}/{day_id}").text, "day").drafts) == 8


def test_a_station_with_a_role_that_may_only_read_shows_days_and_keeps_nothing(
    open_station: Stations, postgres: Cluster
) -> None:
    name = postgres.new_database().rpartition("/")[2]
    make_roles(postgres, name)
    reader = postgres.address(name, f"{name}_reader_person")
    said = refused("--store", reader)  # the owner has not made the tables yet
    assert said.exit_code == 2
    assert "start it once as the owner" in said.stderr
    with open_store(postgres.address(name, f"{name}_owner_person")) as store:
        day_id = store.add_day(TEXT)
    client, _ = open_station(reader)
    assert client.get(f"{DAYS}/{day_id}").text == TEXT
    assert client.get("/", headers={"accept": "text/html"}).status_code == 200
    message = error(client.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1")), 403, "role_may_not")
    assert "the role that the station has in this database may not do that" in message
    said = refused("--store", postgres.address(name, f"{name}_batch_person"))
    assert said.exit_code == 2
    assert "permission denied for table" in said.stderr


def test_while_the_server_is_away_it_is_said_and_afterwards_everything_goes_on(
    open_station: Stations, postgres: Cluster
) -> None:
    address = postgres.new_database()
    (one, first), (other, second) = open_station(address), open_station(address)
    day_id = one.post(DAYS, content=TEXT).json()["id"]
    assert one.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1")).status_code == 201
    with listening(one, first, day_id) as here, listening(other, second, day_id) as there:
        postgres.stop()
        for page in (here, there):
            until(lambda page=page: page.events("store"), "the page to say it")
            (said,) = page.events("store")
            assert said["there"] is False
            assert said["error"].startswith(f"the store {first.store.where}: the database ")
        for client, key in ((one, "k-2"), (other, "k-3")):
            answer = client.post(f"{DAYS}/{day_id}/drafts", json=draft(key))
            assert error(answer, 503, "unreachable").startswith(f"the store {first.store.where}: the database ")
            assert answer.headers["retry-after"] == "2"
            error(client.get(f"{DAYS}/{day_id}"), 503, "unreachable")
            page = client.get(f"/days/{day_id}/pads", headers={"accept": "text/html"})
            assert page.status_code == 503
            assert "The station cannot do that now" in page.text
        postgres.start()
        for page in (here, there):
            until(lambda page=page: page.events("store")[-1]["there"], "the page to say that it is back")
        for client, key in ((one, "k-2"), (other, "k-3")):  # as a phone sends again what waits on it
            assert client.post(f"{DAYS}/{day_id}/drafts", json=draft(key)).status_code == 201
        for page in (here, there):
            until(lambda page=page: len(page.events("draft")) >= 2, "news after the return")
            assert [told["key"] for told in page.events("draft")] == ["k-2", "k-3"]
