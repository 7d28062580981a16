"""A device that is shut out is out at once: what it is being told breaks off, and what it asked is not answered."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.types import Message

from steelyard.web.http import guard as security
from tests.web.house import HERE_ORIGIN, LAN_ORIGIN, House, Role, a_request, ask, open_house

READER = Role("a reader", False, frozenset(), frozenset(), session="look", origin=LAN_ORIGIN)
WEIGHER = Role("a weigher", False, frozenset(), frozenset(), session="weigh", origin=LAN_ORIGIN)
OWNER = Role("the owner", True, frozenset(), frozenset(), session="here", origin=HERE_ORIGIN)


@pytest.fixture(name="house")
def _house(tmp_path: Path) -> Iterator[House]:
    with open_house(tmp_path) as house:
        yield house


class Stream:
    """An open request of a role that lives until the station ends it."""

    def __init__(self, house: House, role: Role, path: str) -> None:
        self.sent: list[Message] = []
        self.begun = asyncio.Event()
        scope = a_request("GET", path, house.headers(role), here=role.here)
        self.task = asyncio.ensure_future(house.app(scope, self._receive, self._send))

    async def _receive(self) -> Message:
        await asyncio.Event().wait()
        raise AssertionError

    async def _send(self, message: Message) -> None:
        self.sent.append(message)
        if message["type"] == "http.response.body":
            self.begun.set()


async def shut_out(house: House, device_id: str) -> None:
    """As the owner does it on the page."""
    headers = house.headers(OWNER) | {"content-type": "application/x-www-form-urlencoded"}
    answer = await ask(house.app, "POST", "/pair/revoke", headers, here=True, body=f"device={device_id}".encode())
    assert (answer[0], answer[1]["location"]) == (303, "/pair")


def test_its_stream_ends_at_once_and_nobody_elses(house: House) -> None:
    async def run() -> None:
        path = f"/api/v1/days/{house.day_id}/events"
        out, stays = Stream(house, READER, path), Stream(house, WEIGHER, path)
        await asyncio.gather(out.begun.wait(), stays.begun.wait())
        assert house.station.hub.count == 2
        await shut_out(house, house.ids["look"])
        await asyncio.wait_for(out.task, 20.0)
        house.station.hub.tell(house.day_id, "draft", {"number": 7})
        await asyncio.sleep(0.05)
        told = [b"".join(piece.get("body", b"") for piece in stream.sent) for stream in (out, stays)]
        assert [b'"number":7' in text for text in told] == [False, True]
        assert not out.sent[-1].get("more_body", False)
        assert house.station.hub.count == 1
        again = await ask(house.app, "GET", path, house.headers(READER), here=False)
        assert again[0] == 401
        stays.task.cancel()
        await asyncio.gather(stays.task, return_exceptions=True)

    asyncio.run(run())


def test_what_it_waits_for_is_not_answered(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = asyncio.Event()

    async def never(*_: object) -> object:
        asked.set()
        return await asyncio.Event().wait()

    monkeypatch.setattr(house.station, "findings", never)

    async def run() -> None:
        waiting = Stream(house, READER, f"/api/v1/days/{house.day_id}/findings")
        await asked.wait()
        await shut_out(house, house.ids["look"])
        await asyncio.wait_for(waiting.task, 20.0)
        assert waiting.sent[0]["status"] == 401
        error = json.loads(waiting.sent[1]["body"])["error"]
        assert (error["code"], error["message"]) == ("who_are_you", "this device was shut out")

    asyncio.run(run())


def test_who_was_shut_out_by_another_station_over_the_same_store_is_soon_out(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(security, "REMEMBERED", 0.01)
    monkeypatch.setattr("steelyard.web.http.sessions.REMEMBERED", 0.01)

    async def run() -> None:
        stream = Stream(house, READER, f"/api/v1/days/{house.day_id}/events")
        await stream.begun.wait()
        house.station.store.revoke_device(house.ids["look"])
        await asyncio.wait_for(stream.task, 20.0)
        assert not stream.sent[-1].get("more_body", False)

    asyncio.run(run())
