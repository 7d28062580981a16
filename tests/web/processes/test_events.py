"""Server-sent events from a real server: order, completeness, many listeners, slow ones, the end."""

from __future__ import annotations

import asyncio
import json
import time
from collections.abc import AsyncGenerator, Generator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from steelyard.web.station.events import Hub, encode
from tests.waiting import PATIENCE
from tests.web.serving import EXAMPLE, Served
from tests.web.shapes import draft, error

CLIENTS = 200


@dataclass(frozen=True)
class Event:
    name: str
    data: Any
    id: int | None


class Stream:
    """One open stream, read event by event."""

    def __init__(self, reader: asyncio.StreamReader) -> None:
        self._reader = reader

    async def next(self, *names: str) -> Event:
        """The next event of one of these names, of any where none is given."""
        async with asyncio.timeout(PATIENCE):
            while True:
                event = await self._one()
                if event is not None and (not names or event.name in names):
                    return event

    async def _one(self) -> Event | None:
        fields: dict[str, str] = {}
        while True:
            line = (await self._reader.readline()).decode()
            if not line:
                raise EOFError
            if line in ("\n", "\r\n"):
                if fields:
                    break
                continue
            name, _, value = line.rstrip("\r\n").partition(": ")
            if name in ("id", "event", "data"):
                fields[name] = value
        if "event" not in fields:
            return None
        number = int(fields["id"]) if "id" in fields else None
        return Event(fields["event"], json.loads(fields["data"]), number)


@asynccontextmanager
async def listening(port: int, day_id: str, *, last: int | None = None) -> AsyncGenerator[Stream, None]:
    reader, writer = await asyncio.open_connection("127.0.0.1", port, limit=2**20)
    seen = "" if last is None else f"Last-Event-ID: {last}\r\n"
    address = f"/api/v1/days/{day_id}/events"
    writer.write(f"GET {address} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\n{seen}\r\n".encode())
    try:
        head = (await reader.readuntil(b"\r\n\r\n")).decode()
        assert head.startswith("HTTP/1.1 200 "), head
        assert "content-type: text/event-stream" in head
        yield Stream(reader)
    finally:
        writer.close()


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Generator[Served, None, None]:
    with Served(tmp_path_factory.mktemp("events") / "station.db") as station:
        yield station


@pytest.fixture
def day_id(served: Served) -> str:
    with served.client() as client:
        return client.post("/api/v1/days", content=EXAMPLE.read_text(encoding="utf-8")).json()["id"]


async def send(served: Served, day_id: str, *keys: str) -> None:
    def send_all() -> None:
        with served.client() as client:
            for key in keys:
                answer = client.post(f"/api/v1/days/{day_id}/drafts", json=draft(key))
                assert answer.status_code == 201, answer.text

    await asyncio.to_thread(send_all)


def test_a_draft_is_told_and_then_what_it_changed(served: Served, day_id: str) -> None:
    async def run() -> None:
        async with listening(served.port, day_id) as stream:
            hello = await stream.next()
            assert hello == Event("hello", {"seq": 0, "unit": "lb", "drafts": 6}, None)
            await send(served, day_id, "k-1")
            told = {"seq": 1, "number": 7, "key": "k-1", "device": "script", "state": "solo", "title": "k-1"}
            assert await stream.next() == Event("draft", told, 1)
            found = await stream.next("findings")  # on a busy machine it is told before how far they are
            assert found.data["seq"] == 1
            assert set(found.data) == {"seq", "findings", "verdicts", "consistency", "questioned"}
            assert found.data["findings"] is None
            await send(served, day_id, "k-2")
            found = await stream.next("findings")
            assert "solo/truck/gross" in [item["id"] for item in found.data["findings"]]

    asyncio.run(run())


def test_whoever_comes_back_hears_what_was_missed_once(served: Served, day_id: str) -> None:
    async def run() -> None:
        await send(served, day_id, "k-1", "k-2", "k-3")
        async with listening(served.port, day_id, last=1) as stream:
            assert (await stream.next()).name == "hello"
            assert [(await stream.next("draft")).id for _ in range(2)] == [2, 3]
            await send(served, day_id, "k-4")
            assert (await stream.next("draft")).id == 4
        async with listening(served.port, day_id) as stream:
            await send(served, day_id, "k-5")
            assert (await stream.next("draft")).id == 5

    asyncio.run(run())


def test_a_correction_and_a_state_are_told(served: Served, day_id: str) -> None:
    def send_both() -> None:
        with served.client() as client:
            correction = {"key": "c", "draft": 1, "place": "truck/1L", "reason": "why"}
            assert client.post(f"/api/v1/days/{day_id}/corrections", json=correction).status_code == 201
            state = {"key": "s", "name": "again", "same": "solo"}
            assert client.post(f"/api/v1/days/{day_id}/states", json=state).status_code == 201

    async def run() -> None:
        async with listening(served.port, day_id) as stream:
            await asyncio.to_thread(send_both)
            one, other = await stream.next("entry"), await stream.next("entry")
            assert (one.data["kind"], one.id) == ("corrections", 1)
            assert (other.data["kind"], other.data["key"]) == ("states", "s")

    asyncio.run(run())


def test_two_hundred_listen_while_drafts_are_kept(served: Served, day_id: str) -> None:
    async def listen(ready: asyncio.Barrier) -> list[int | None]:
        async with listening(served.port, day_id) as stream:
            assert (await stream.next()).name == "hello"
            await ready.wait()
            return [(await stream.next("draft")).id for _ in range(5)]

    async def run() -> None:
        ready = asyncio.Barrier(CLIENTS + 1)
        tasks = [asyncio.create_task(listen(ready)) for _ in range(CLIENTS)]
        await ready.wait()
        await send(served, day_id, *(f"k-{number}" for number in range(5)))
        assert await asyncio.gather(*tasks) == [[1, 2, 3, 4, 5]] * CLIENTS

    asyncio.run(run())
    with served.client() as client:
        assert client.get("/api/v1/days").status_code == 200


def test_who_leaves_is_forgotten(served: Served, day_id: str) -> None:
    async def run() -> None:
        for _ in range(3):
            for _ in range(180):
                async with listening(served.port, day_id):
                    pass
            await send(served, day_id, f"k-{time.monotonic_ns()}")
        async with listening(served.port, day_id) as stream:
            assert (await stream.next()).name == "hello"

    asyncio.run(run())


def test_open_streams_do_not_hold_up_the_end(tmp_path: Path) -> None:
    async def run() -> None:
        with Served(tmp_path / "station.db") as station:
            with station.client() as client:
                day = client.get("/api/v1/days").json()["days"][0]["id"]
            async with listening(station.port, day) as stream:
                await stream.next()
                status = await asyncio.to_thread(station.end)
                assert status == 0, station.later
                with pytest.raises(EOFError):
                    await stream.next()

    asyncio.run(run())


def test_too_many_are_turned_away_in_words(served: Served, day_id: str) -> None:
    async def run() -> str:
        async with asyncio.timeout(PATIENCE):
            open_ones: list[Any] = []
            try:
                for _ in range(500):
                    manager = listening(served.port, day_id)
                    stream = await manager.__aenter__()
                    open_ones.append(manager)
                    assert (await stream.next()).name == "hello"

                def one_more() -> str:
                    with served.client() as client:
                        answer = client.get(f"/api/v1/days/{day_id}/events")
                        assert client.get("/api/v1/days").status_code == 200
                        return error(answer, 503, "too_many_listeners")

                return await asyncio.to_thread(one_more)
            finally:
                for manager in open_ones:
                    await manager.__aexit__(None, None, None)

    assert asyncio.run(run()) == "500 pages listen already; close one and try again"


# -- without a server ------------------------------------------------------------------------------------------------


def test_a_listener_that_never_reads_is_dropped_and_costs_no_memory() -> None:
    async def run() -> None:
        hub = Hub()
        with hub.listening("d") as lazy, hub.listening("d") as keen:
            seen = 0
            stream = keen.chunks()
            for number in range(1, 400):
                hub.tell("d", "draft", {"seq": number}, number)
                seen += (await anext(stream)).count(b"event: draft")
            assert lazy.dropped
            assert not keen.dropped
            assert seen == 399
        assert hub.count == 0

    asyncio.run(run())


def test_a_slow_listener_is_shown_the_latest_loads_only() -> None:
    async def run() -> None:
        hub = Hub()
        with hub.listening("d") as listener:
            for number in range(1000):
                hub.show(lambda _, number=number: encode("loads", number))
            hub.tell("d", "draft", {}, 1)
            chunk = await anext(listener.chunks())
            assert chunk == b"id: 1\nevent: draft\ndata: {}\n\nevent: loads\ndata: 999\n\n"

    asyncio.run(run())


def test_days_do_not_hear_of_each_other() -> None:
    async def run() -> None:
        hub = Hub()
        with hub.listening("one") as one, hub.listening("other") as other:
            hub.tell("one", "draft", {}, 1)
            stream = one.chunks()
            assert b"draft" in await anext(stream)
            with pytest.raises(TimeoutError):
                await asyncio.wait_for(anext(other.chunks()), 0.05)

    asyncio.run(run())
