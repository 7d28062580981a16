"""The station: what keeping, reading lines and opening cost beside the least that anybody could do for the same."""

from __future__ import annotations

import statistics
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

from benchmarks import station_capture, station_http
from benchmarks.measure import Row
from tests.web.serving import EXAMPLE, Served
from tests.web.shapes import draft

_GROUP = "station"
_BIG = 1500  # drafts of a day whose findings are worked out meanwhile
_KEPT = 40  # drafts timed, each some way of keeping
_PAUSE = 0.05  # s between two: a person is slower still


def rows(folder: Path) -> Iterator[Row]:
    """Everything about the station; wall time, at the 95th percentile where a person waits for it."""
    yield from _keeping(folder)
    yield from _meanwhile(folder)
    yield from _opening(folder)
    yield from _capture()


def _keeping(folder: Path) -> Iterator[Row]:
    with _bare_station() as address, httpx2.Client(base_url=address, timeout=30.0) as client:
        bare = station_http.p95(_timed(lambda number: client.post("/", json=draft(f"b-{number}"))))
    kept = station_http.keeping(folder)
    echo = "the same JSON answered, and a bare row kept"
    yield Row(_GROUP, "a draft kept, wall, p95", 1e3 * kept.kept, echo, 1e3 * (bare + kept.bare))
    yield Row(
        _GROUP, "kept to what it changed, wall, p95", 1e3 * kept.told, echo, 1e3 * (bare + kept.bare), aim="150 ms"
    )


def _meanwhile(folder: Path) -> Iterator[Row]:
    """Keeping on a small day, on a quiet station and while the findings of a big one are worked out over and over."""
    text = EXAMPLE.read_text(encoding="utf-8")
    drafts = text[text.index("[[drafts]]") :]
    big = "\n".join([text, *([drafts] * (_BIG // 6 - 1))])
    with Served(folder / "meanwhile.db") as served, served.client() as client:
        small, long = (client.post("/api/v1/days", content=each).json()["id"] for each in (text, big))
        address = f"/api/v1/days/{small}"
        client.get(f"{address}/findings")
        quiet = station_http.p95(_timed(lambda number: client.post(f"{address}/drafts", json=draft(f"q-{number}"))))
        with _busy(served, long):
            loud = station_http.p95(_timed(lambda number: client.post(f"{address}/drafts", json=draft(f"l-{number}"))))
    what = f"kept while {_BIG} drafts are reckoned, wall, p95"
    yield Row(_GROUP, what, 1e3 * loud, "the same on a quiet station", 1e3 * quiet, aim="3x")


@contextmanager
def _busy(served: Served, day_id: str) -> Iterator[None]:
    stop = threading.Event()

    def go() -> None:
        with served.client() as client:
            number = 0
            while not stop.is_set():
                client.post(f"/api/v1/days/{day_id}/drafts", json=draft(f"busy-{number}"))
                client.get(f"/api/v1/days/{day_id}/findings")
                number += 1

    thread = threading.Thread(target=go)
    thread.start()
    time.sleep(1.0)
    try:
        yield
    finally:
        stop.set()
        thread.join()


def _opening(folder: Path) -> Iterator[Row]:
    few = station_http.opening(folder, station_http.FEW)
    many = station_http.opening(folder, station_http.MANY)
    for what, took, floor in (
        ("list of days", many.days, few.days),
        ("first page", many.page, few.page),
        ("a day at the pads", many.pads, few.pads),
    ):
        beside = f"the same with {station_http.FEW} days"
        yield Row(_GROUP, f"{what}, {station_http.MANY} days, wall", 1e3 * took, beside, 1e3 * floor, aim="2x")


def _capture() -> Iterator[Row]:
    figures = station_capture.measure()
    parsing = "the number taken out of its line"
    yield Row(_GROUP, "a reading, bytes to steady sign", 1e3 * figures.reading, parsing, 1e3 * figures.bare)
    second = 1e3 * figures.share
    yield Row(_GROUP, "a second of 50 readings from 8 sockets", second, "one core", 1e3, aim="100 ms")


def _timed(keep: Callable[[int], httpx2.Response]) -> list[float]:
    times: list[float] = []
    for number in range(_KEPT):
        begun = time.perf_counter()
        answer = keep(number)
        times.append(time.perf_counter() - begun)
        assert answer.status_code == 201, answer.text
        time.sleep(_PAUSE)
    assert statistics.median(times) > 0.0
    return times


@contextmanager
def _bare_station() -> Iterator[str]:
    """A server of the same libraries that reads JSON, says 201 and knows nothing."""

    async def answer(request: Request) -> JSONResponse:
        return JSONResponse({"key": (await request.json())["key"]}, 201)

    app = Starlette(routes=[Route("/", answer, methods=["POST"])])
    config = uvicorn.Config(app, port=0, http="h11", ws="none", lifespan="off", log_level="warning", access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run)
    thread.start()
    while not server.started:
        time.sleep(0.01)
    try:
        port = server.servers[0].sockets[0].getsockname()[1]
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join()
