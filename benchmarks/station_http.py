"""The station as a tablet meets it: from a kept draft to its findings, the weight of a page, few days and many.

``python -m benchmarks.station_http`` starts real stations and prints what it measured beside what is aimed at.
"""

from __future__ import annotations

import json
import re
import sqlite3
import statistics
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

import httpx2

from steelyard.dayfile import parse_day
from steelyard.store import open_store
from tests.web.serving import EXAMPLE, Served
from tests.web.shapes import draft

DRAFTS = 60
A_DAY = 10  # of them on each day, beside the six that it begins with
FEW, MANY = 10, 10_000
MOST_SECONDS = 0.150
MOST_BYTES = 150_000
TIMES = 40


@dataclass(frozen=True)
class Keeping:
    """From pressing the button, each at the 95th percentile [s].

    Attributes
    ----------
    kept: the draft is on disk. told: the stream said what it changed. fetched: a page has all findings.
    bare: a bare insert into an SQLite file with the same settings: the floor under ``kept``.
    """

    kept: float
    told: float
    fetched: float
    bare: float


@dataclass(frozen=True)
class Opening:
    """The median time [s] to get the list of days, the first page and one day's findings page."""

    days: float
    page: float
    pads: float


def p95(times: list[float]) -> float:
    """The 95th percentile."""
    return sorted(times)[max(int(len(times) * 0.95) - 1, 0)]


def keeping(folder: Path, count: int = DRAFTS) -> Keeping:
    """Keep drafts one after the other, as a person would, and wait for what each changed."""
    kept: list[float] = []
    told: list[float] = []
    fetched: list[float] = []
    with Served(folder / "keeping.db") as served, served.client() as client:
        for _ in range(count // A_DAY):
            day_id = client.post("/api/v1/days", content=EXAMPLE.read_text(encoding="utf-8")).json()["id"]
            client.get(f"/api/v1/days/{day_id}/findings")
            with client.stream("GET", f"/api/v1/days/{day_id}/events") as stream, served.client() as other:
                events = _findings(stream)
                for number in range(1, A_DAY + 1):
                    begun = time.perf_counter()
                    answer = other.post(f"/api/v1/days/{day_id}/drafts", json=draft(f"k-{number}"))
                    kept.append(time.perf_counter() - begun)
                    assert answer.status_code == 201, answer.text
                    while next(events) < number:
                        pass
                    told.append(time.perf_counter() - begun)
                    assert other.get(f"/api/v1/days/{day_id}/findings").status_code == 200
                    fetched.append(time.perf_counter() - begun)
    return Keeping(p95(kept), p95(told), p95(fetched), p95(_bare(folder, count)))


def _findings(stream: httpx2.Response) -> Iterator[int]:
    """The number of the last addition in each ``findings`` event."""
    event = ""
    for line in stream.iter_lines():
        if line.startswith("event: "):
            event = line.removeprefix("event: ")
        elif line.startswith("data: ") and event == "findings":
            yield json.loads(line.removeprefix("data: "))["seq"]


def _bare(folder: Path, count: int) -> list[float]:
    """One row and its commit, with nothing around it."""
    times: list[float] = []
    with closing(sqlite3.connect(folder / "bare.db", isolation_level=None)) as connection:
        connection.execute("PRAGMA journal_mode = TRUNCATE")
        connection.execute("PRAGMA synchronous = EXTRA")
        connection.execute("CREATE TABLE entries (number INTEGER PRIMARY KEY, text TEXT) STRICT")
        for _ in range(count):
            begun = time.perf_counter()
            connection.execute("INSERT INTO entries (text) VALUES (?)", ("x" * 200,))
            times.append(time.perf_counter() - begun)
    return times


def weight(folder: Path) -> dict[str, int]:
    """What each page costs over the wire [bytes], with the style and the scripts that it asks for, nothing kept yet."""
    with Served(folder / "weight.db") as served, httpx2.Client(base_url=served.url) as client:
        day_id = client.get("/api/v1/days").json()["days"][0]["id"]
        pages = {"days": "/", "at the pads": f"/days/{day_id}/pads", "bench": f"/days/{day_id}", "new": "/days/new"}
        return {name: _weigh(client, path) for name, path in pages.items()}


def _weigh(client: httpx2.Client, page: str) -> int:
    total, waiting, seen = 0, [page], set[str]()
    while waiting:
        path = waiting.pop()
        if path in seen:
            continue
        seen.add(path)
        with client.stream("GET", path) as answer:
            total += sum(len(chunk) for chunk in answer.iter_raw())
        text = client.get(path).text if path == page or path.split("?")[0].endswith(".js") else ""
        found = re.findall(r'(?:src|href)="(/static/[^"]+\.(?:js|css|svg)[^"]*)"', text)
        found += [f"/static/{name}" for name in re.findall(r'from "\./([\w-]+\.js)"', text)]
        waiting += found
    return total


@contextmanager
def filled(path: Path, count: int) -> Iterator[Served]:
    """A station over a store of so many days."""
    from steelyard.store.days import Import

    text = EXAMPLE.read_text(encoding="utf-8")
    with open_store(path) as store, store.database.writing() as connection:
        new = Import(text, None)
        for _ in range(count):
            new.keep(connection)
    with Served(path) as served:
        yield served


def opening(folder: Path, count: int) -> Opening:
    """How quickly a station of so many days opens."""
    with filled(folder / f"{count}.db", count) as served, served.client() as client:
        day_id = client.get("/api/v1/days").json()["days"][-1]["id"]
        assert parse_day(client.get(f"/api/v1/days/{day_id}").text, "day").title
        # as many lines of a list from either store: ten days are not shown quicker for being shown in a shorter list
        paths = (f"/api/v1/days?limit={FEW}", "/", f"/days/{day_id}/pads")
        return Opening(*(_median(client, path) for path in paths))


def _median(client: httpx2.Client, path: str) -> float:
    times: list[float] = []
    for _ in range(TIMES):
        begun = time.perf_counter()
        assert client.get(path).status_code == 200
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def main() -> int:
    """Measure, print, and say whether every aim was met."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        kept = keeping(folder)
        sizes = weight(folder)
        few, many = opening(folder, FEW), opening(folder, MANY)
    print(f"kept to on disk          {kept.kept * 1e3:7.1f} ms  p95; a bare insert takes {kept.bare * 1e3:.1f} ms")
    print(f"kept to what it changed  {kept.told * 1e3:7.1f} ms  p95; aim: under {MOST_SECONDS * 1e3:g} ms")
    print(f"kept to all findings     {kept.fetched * 1e3:7.1f} ms  p95")
    for page, size in sizes.items():
        print(f"page '{page}'".ljust(24), f"{size / 1e3:7.1f} kB  aim: under {MOST_BYTES / 1e3:g} kB")
    for what in ("days", "page", "pads"):
        one, other = getattr(few, what), getattr(many, what)
        print(f"open '{what}'".ljust(24), f"{other * 1e3:7.1f} ms  with {MANY} days; {one * 1e3:.1f} ms with {FEW}")
    met = kept.told < MOST_SECONDS and max(sizes.values()) < MOST_BYTES and many.days < 2 * few.days + 0.005
    print("every aim is met" if met else "an aim is missed")
    return 0 if met else 1


if __name__ == "__main__":
    sys.exit(main())
