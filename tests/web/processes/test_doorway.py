"""Too many connections, and requests that never end: the station stays within reach, and its log is short."""

from __future__ import annotations

import asyncio
import json
import logging
import socket
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, suppress
from functools import partial
from pathlib import Path

import pytest
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.routing import Route
from uvicorn.server import ServerState

from steelyard.web.http import network, protocol
from steelyard.web.http.doorway import Doorway
from steelyard.web.http.protocol import Protocol
from steelyard.web.http.quiet import Seldom
from tests.waiting import PATIENCE
from tests.web.serving import Served

HALF = b"GET /api/v1/days HTTP/1.1\r\nHost: 127.0.0.1\r\nX-Slow: a"


@pytest.fixture(name="door")
def _door() -> Iterator[Doorway]:
    door = Doorway(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP, most=3)
    door.bind(("127.0.0.1", 0))
    door.listen()
    door.settimeout(20.0)
    with door:
        yield door


class Visitors:
    """Connections, each with its two ends."""

    def __init__(self, door: Doorway, stack: ExitStack) -> None:
        self.door, self.stack = door, stack
        self.ends: list[socket.socket] = []
        self.accepted: list[socket.socket] = []

    def come(self) -> None:
        end = self.stack.enter_context(socket.create_connection(self.door.getsockname(), timeout=PATIENCE))
        self.ends.append(end)
        self.accepted.append(self.stack.enter_context(self.door.accept()[0]))

    def cut(self) -> list[int]:
        """The numbers of those that were cut."""
        found: list[int] = []
        for number, end in enumerate(self.ends):
            end.setblocking(False)
            with suppress(BlockingIOError):
                found += [number] if end.recv(1) == b"" else []
            end.settimeout(20.0)
        return found


def test_the_one_that_waited_longest_goes_and_who_is_answered_stays(door: Doorway) -> None:
    with ExitStack() as stack:
        visitors = Visitors(door, stack)
        for _ in range(3):
            visitors.come()
        door.say(visitors.accepted[0].fileno(), busy=True)
        assert visitors.cut() == []
        visitors.come()
        assert visitors.cut() == [1]
        door.say(visitors.accepted[2].fileno(), busy=True)
        door.say(visitors.accepted[3].fileno(), busy=True)
        visitors.come()
        assert visitors.cut() == [1, 4]  # all others are being answered
        door.say(visitors.accepted[0].fileno(), busy=False)
        door.say(visitors.accepted[3].fileno(), busy=False)
        visitors.come()
        assert visitors.cut() == [0, 1, 4]
        visitors.accepted[3].close()
        visitors.come()
        assert visitors.cut() == [0, 1, 3, 4]  # closed by itself, and nobody went for the new one


# -- the head of a request -------------------------------------------------------------------------------------------


CONNECTIONS: set[Protocol] = set()
ASKED = asyncio.Event()


async def hold(request: Request) -> Response:
    """Answer when the test says so."""
    ASKED.set()
    await request.app.state.go.wait()
    return PlainTextResponse("answered")


def serve(visit: Callable[[int, asyncio.Event], object]) -> None:
    """Run ``visit`` against a server of this process."""

    async def run() -> None:
        app = Starlette(routes=[Route("/", hold, methods=["GET", "POST"])])
        app.state.go = asyncio.Event()
        config = uvicorn.Config(app, ws="none", lifespan="off", log_level=logging.ERROR, timeout_keep_alive=30)
        config.load()
        state = ServerState()
        CONNECTIONS.clear()
        ASKED.clear()
        state.connections = CONNECTIONS  # pyright: ignore[reportAttributeAccessIssue] - all of one kind here
        loop = asyncio.get_running_loop()
        make = partial(Protocol, config=config, server_state=state, app_state={})
        server = await loop.create_server(make, "127.0.0.1", 0)
        try:
            visited = visit(server.sockets[0].getsockname()[1], app.state.go)
            assert asyncio.iscoroutine(visited)
            await visited
        finally:
            server.close()

    asyncio.run(run())


def test_half_a_head_is_awaited_for_a_while_and_answered_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocol, "HEAD_SECONDS", 0.05)

    async def visit(port: int, go: asyncio.Event) -> None:
        del go
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(HALF)
        answer = await asyncio.wait_for(reader.read(), 20.0)
        head, _, body = answer.partition(b"\r\n\r\n")
        assert head.startswith(b"HTTP/1.1 408 Request Timeout\r\n")
        assert json.loads(body)["error"]["code"] == "too_slow"
        writer.close()

    serve(visit)


def test_who_says_nothing_is_hung_up_on_without_a_word(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(protocol, "HEAD_SECONDS", 0.05)

    async def visit(port: int, go: asyncio.Event) -> None:
        del go
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        assert await asyncio.wait_for(reader.read(), 20.0) == b""
        writer.close()

    serve(visit)


def test_a_second_head_that_comes_drop_by_drop_is_not_awaited_for_ever(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(protocol, "HEAD_SECONDS", 0.2)

    async def visit(port: int, go: asyncio.Event) -> None:
        go.set()
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n")
        await asyncio.wait_for(reader.readuntil(b"answered"), 20.0)
        ended = asyncio.ensure_future(reader.read())
        writer.write(HALF)
        for _ in range(2000):
            if ended.done():
                break
            writer.write(b"a")
            await asyncio.sleep(0.01)
        (said,) = await asyncio.gather(asyncio.wait_for(ended, 20.0), return_exceptions=True)
        # whoever goes on sending when the other end has hung up may lose the answer
        assert isinstance(said, ConnectionResetError) or (isinstance(said, bytes) and said.startswith(b"HTTP/1.1 408 "))
        writer.close()

    serve(visit)


def test_no_head_is_awaited_while_a_request_is_answered() -> None:
    async def visit(port: int, go: asyncio.Event) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        for _ in range(2):  # and the connection stays for the next one
            writer.write(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n")
            await asyncio.wait_for(ASKED.wait(), 20.0)
            assert [connection.awaits_head for connection in CONNECTIONS] == [False]
            go.set()
            assert (await asyncio.wait_for(reader.readuntil(b"answered"), 20.0)).startswith(b"HTTP/1.1 200 OK")
            assert [connection.awaits_head for connection in CONNECTIONS] == [False]  # silence is another matter
            ASKED.clear()
            go.clear()
        writer.write(HALF)
        while not [connection for connection in CONNECTIONS if connection.awaits_head]:
            await asyncio.sleep(0.01)
        writer.close()

    serve(visit)


def test_a_body_that_comes_after_the_answer_leaves_nothing_awaited() -> None:
    async def visit(port: int, go: asyncio.Event) -> None:
        go.set()
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        writer.write(b"POST / HTTP/1.1\r\nHost: here\r\nContent-Length: 4\r\n\r\nab")
        await asyncio.wait_for(reader.readuntil(b"answered"), 20.0)
        writer.write(b"c")
        while not [connection for connection in CONNECTIONS if connection.awaits_head]:
            await asyncio.sleep(0.01)  # its last byte is awaited, and not for ever
        writer.write(b"d")
        while [connection for connection in CONNECTIONS if connection.awaits_head]:
            await asyncio.sleep(0.01)  # now it is complete, and the connection is idle
        writer.write(b"GET / HTTP/1.1\r\nHost: here\r\n\r\n")
        assert (await asyncio.wait_for(reader.readuntil(b"answered"), 20.0)).startswith(b"HTTP/1.1 200 OK")
        assert [connection.awaits_head for connection in CONNECTIONS] == [False]
        writer.close()

    serve(visit)


# -- all together ----------------------------------------------------------------------------------------------------


def test_three_hundred_half_sent_heads_keep_nobody_out(tmp_path: Path) -> None:
    with Served(tmp_path / "station.db", files=256) as served:
        with ExitStack() as stack:
            held: list[socket.socket] = []
            for _ in range(300):
                end = stack.enter_context(socket.create_connection(("127.0.0.1", served.port), timeout=PATIENCE))
                end.sendall(HALF)
                held.append(end)
            with served.client() as client:
                assert client.get("/api/v1/days").status_code == 200
                day_id = client.get("/api/v1/days").json()["days"][0]["id"]
                assert client.get(f"/api/v1/days/{day_id}").status_code == 200
        served.end()
        assert len("".join(served.later)) < 2000, "".join(served.later)[:2000]


def test_the_same_words_are_logged_once_a_minute() -> None:
    now = [0.0]
    seldom = Seldom(clock=lambda: now[0])

    def let_through(words: str) -> str | None:
        record = logging.LogRecord("asyncio", logging.ERROR, "", 0, words, None, None)
        return record.getMessage() if seldom.filter(record) else None

    assert let_through("out of files: 100 %") == "out of files: 100 %"
    assert [let_through("out of files: 100 %") for _ in range(5)] == [None] * 5
    assert let_through("another") == "another"
    now[0] = 61.0
    assert let_through("out of files: 100 %") == "out of files: 100 % (and 5 more like it before)"


def test_a_free_port_is_shared_with_nobody() -> None:
    """Two sockets that may share an address can be given the same free port, and then one cannot listen (socket(7))."""
    with closing(network.listen(0, lan=False)) as found:
        assert found.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR) == 0
        port = found.getsockname()[1]
    with closing(network.listen(port, lan=False)) as again:
        assert again.getsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR) == 1
