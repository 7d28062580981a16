"""A store of 100,000 days beside one of ten: what the list, the yard, a search, a day's page and a draft more cost.

``python -m benchmarks.store`` prints the figures for SQLite and, where it is installed, PostgreSQL. Times are processor
time: of this process, in which the station answers without a client of its own; and of the servers of PostgreSQL that
work for it, from ``/proc``.
"""

from __future__ import annotations

import asyncio
import json
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import ExitStack, contextmanager
from itertools import count
from pathlib import Path
from typing import Any

from starlette.applications import Starlette

from benchmarks.measure import Row
from steelyard.store import Store, open_store
from steelyard.web import Settings, create_app
from tests.store.many import VEHICLES, fill
from tests.store.postgres import Cluster, cluster

FEW, MANY = 10, 100_000
_TURNS = 15
_TOKEN = "benchmark"
_GROUP = "store"
_SEARCHES = {
    "a word of one day in seven": "ferry",
    "words of one day alone": "rig 000007",
    "two common words, one day in 35": "van ferry",
    "two common words of no day": "van hauler",
    "a month": "2016-01",
    "nothing like it": "zeppelin",
}


class Asked:
    """A station over a store, asked in this process."""

    def __init__(self, store: Store, pids: Callable[[], list[int]]) -> None:
        self.store = store
        self._pids = pids
        self._app: Starlette = create_app(Settings(store=Path("unused"), token=_TOKEN), store=store)
        self._loop = asyncio.new_event_loop()
        self._lives = self._app.router.lifespan_context(self._app)
        self._loop.run_until_complete(self._lives.__aenter__())
        self._keys = count()

    def close(self) -> None:
        """End the station."""
        self._loop.run_until_complete(self._lives.__aexit__(None, None, None))
        self._loop.run_until_complete(self._loop.shutdown_default_executor())
        self._loop.close()

    def ask(self, path: str, query: str = "", body: Any = None) -> bytes:
        """The answer to a request.

        Raises
        ------
        RuntimeError: it is none.
        """
        got = self._loop.run_until_complete(_answer(self._app, path, query, body))
        if got[0] not in (200, 201):
            raise RuntimeError(f"{path}?{query}: {got[0]} {got[1][:200]!r}")
        return got[1]

    def draft(self, day: str, place: str) -> None:
        """Keep a draft more, of one reading."""
        sent = {"key": f"b{next(self._keys)}", "state": "solo", "readings": {place: ["p1", 1800]}}
        self.ask(f"/api/v1/days/{day}/drafts", body=sent)

    def cost(self, call: Callable[[], object]) -> float:
        """Processor time of a call [ms], here and in the database."""
        pids = self._pids()
        before, start = _servers(pids), time.process_time()
        call()
        return 1e3 * (time.process_time() - start + _servers(pids) - before)


async def _answer(app: Starlette, path: str, query: str, body: Any) -> tuple[int, bytes]:
    data = b"" if body is None else json.dumps(body).encode()
    headers = [(b"host", b"127.0.0.1:8765"), (b"authorization", f"Bearer {_TOKEN}".encode())]
    headers += [(b"content-type", b"application/json"), (b"content-length", str(len(data)).encode())] if data else []
    scope = {"type": "http", "asgi": {"version": "3.0"}, "http_version": "1.1", "method": "POST" if data else "GET"}
    scope |= {
        "scheme": "http",
        "path": path,
        "raw_path": path.encode(),
        "query_string": query.encode(),
        "root_path": "",
    }
    scope |= {"headers": headers, "client": ("127.0.0.1", 1), "server": ("127.0.0.1", 8765), "state": {}}
    status, parts = 0, list[bytes]()

    async def receive() -> dict[str, Any]:
        return {"type": "http.request", "body": data, "more_body": False}

    async def send(message: Any) -> None:
        nonlocal status
        status = message.get("status", status)
        parts.append(message.get("body", b""))

    await app(scope, receive, send)
    return status, b"".join(parts)


def _servers(pids: list[int]) -> float:
    """Processor time of some processes so far [s]."""
    return sum(int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) for pid in pids) / 1e9


def asked_for(asked: Asked) -> dict[str, Callable[[], object]]:
    """What is measured, by name."""
    newest = asked.store.list_days(1)[0].id
    middle = asked.store.list_days(10**6)[asked.store.count_days() // 2].id
    calls: dict[str, Callable[[], object]] = {
        "home": lambda: asked.ask("/"),
        "home, from the middle on": lambda: asked.ask("/", f"before={middle}"),
        "yard": lambda: asked.ask("/yard"),
        "days of the interface": lambda: asked.ask("/api/v1/days", "limit=10"),
    }
    for what, typed in _SEARCHES.items():
        calls[f"search: {what}"] = lambda typed=typed: asked.ask("/", f"search={typed.replace(' ', '+')}")
    calls["one day's pads"] = lambda: asked.ask(f"/days/{newest}/pads")
    calls["one day's bench"] = lambda: asked.ask(f"/days/{newest}")
    vehicle = next(name for name in VEHICLES if f"[vehicles.{name}]" in asked.store.day_text(newest))
    calls["a draft more"] = lambda: asked.draft(newest, f"{vehicle}/1L")
    return calls


@contextmanager
def stores(kind: str, folder: Path, sizes: tuple[int, ...]) -> Iterator[tuple[list[Store], Callable[[], list[int]]]]:
    """Filled stores of a kind, and what tells the processes of their database."""
    with ExitStack() as stack:
        running: Cluster | None = stack.enter_context(cluster()) if kind == "postgresql" else None
        made: list[Store] = []
        for size in sizes:
            where = str(folder / f"{size}.sqlite") if running is None else running.new_database()
            made.append(stack.enter_context(open_store(where)))
            fill(made[-1], size)
            _furnish(made[-1])

        def pids() -> list[int]:
            if running is None:
                return []
            found = running.run("SELECT pid FROM pg_stat_activity WHERE application_name = 'steelyard'")
            return [int(str(row[0])) for row in found]

        yield made, pids


def _furnish(store: Store) -> None:
    """Take things into the yard: as many, whatever the number of days."""
    from steelyard.dayfile import parse_day, write_instrument, write_vehicle
    from steelyard.store import Shelf

    day = parse_day(store.day_text(store.list_days(1)[0].id), "day")
    for vehicle in day.vehicles.values():
        store.save(Shelf.VEHICLE, vehicle.id, write_vehicle(vehicle, day.units))
    for instrument in day.instruments.values():
        store.save(Shelf.INSTRUMENT, instrument.id, write_instrument(instrument, day.units))


def measured(kind: str, folder: Path, *, many: int = MANY) -> Mapping[str, tuple[float, float]]:
    """By what was asked the processor time [ms] with ten days and with many: the least of several turns."""
    with ExitStack() as stack:
        made, pids = stack.enter_context(stores(kind, folder, (FEW, many)))
        stations = [Asked(store, pids) for store in made]
        for station in stations:
            stack.callback(station.close)
        calls = [asked_for(station) for station in stations]
        least = {what: [float("inf"), float("inf")] for what in calls[0]}
        for turn in range(_TURNS + 2):
            for what, figures in least.items():
                for at, station in enumerate(stations):
                    took = station.cost(calls[at][what])
                    figures[at] = min(figures[at], took) if turn > 1 else figures[at]
        return {what: (few, more) for what, (few, more) in least.items()}


def rows(folder: Path) -> Iterator[Row]:
    """The figures of the table, SQLite."""
    place = folder / "store"
    place.mkdir()
    for what, (few, many) in measured("sqlite", place).items():
        yield Row(_GROUP, f"{what}, {MANY} days", many, f"the same with {FEW} days", few, aim="2x")


def main(kinds: list[str]) -> None:
    """Print the figures."""
    for kind in kinds:
        with tempfile.TemporaryDirectory() as name:
            print(f"{kind}: processor time [ms] with {FEW} and {MANY} days, and the ratio", flush=True)
            for what, (few, many) in measured(kind, Path(name)).items():
                print(f"  {what:45} {few:8.2f} {many:8.2f} {many / few:6.2f}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1:] or ["sqlite", "postgresql"])
