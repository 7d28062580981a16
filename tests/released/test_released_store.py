"""Stores of every form are still opened, with everything that was in them. Kept as the statements that make them."""

from __future__ import annotations

import datetime
import sqlite3
from collections.abc import Generator
from pathlib import Path

import pytest
from sqlalchemy import text

from steelyard.dayfile import Part, parse_day
from steelyard.store import DayEntry, DeviceRole, Photo, Shelf, Store, open_store
from tests.store.samples import DAY, HEAD, draft

HERE = Path(__file__).parent


@pytest.fixture(name="store")
def _store(tmp_path: Path) -> Generator[Store, None, None]:
    path = tmp_path / "store.sqlite"
    connection = sqlite3.connect(path)
    connection.executescript((HERE / "store-form-4.sql").read_text(encoding="utf-8"))
    connection.close()
    with open_store(path) as store:
        yield store


def test_days_and_their_history(store: Store) -> None:
    closed, grown = store.list_days()
    assert (grown.id, grown.title, grown.drafts, grown.seq) == ("kqfwhcshbf", "Ferry landing", 3, 5)
    entries = store.entries(grown.id)
    assert [(entry.kind, entry.key, entry.number) for entry in entries] == [
        (Part.DRAFT, "k1", 2),
        (Part.CARGO, "k2", 2),
        (Part.STATE, "k3", 2),
        (Part.CORRECTION, "k4", 1),
        (Part.DRAFT, "k5", 3),
    ]
    offset = datetime.timezone(datetime.timedelta(hours=-3, minutes=-30))
    assert entries[0].at == datetime.datetime(2026, 5, 14, 9, 12, 0, 250_000, offset)
    assert (entries[0].device, entries[1].device) == ("tablet", "")
    assert store.day_text(grown.id) == DAY + "".join(f"\n{entry.text}" for entry in entries)
    day = parse_day(store.day_text(grown.id), "out")
    assert [item.key for item in day.drafts] == ["first", "k1", "k5"]
    assert store.day_text(closed.id) == HEAD + "states = { }\ndrafts = []\n"


def test_it_goes_on_from_there(store: Store) -> None:
    closed, grown = store.list_days()
    assert store.append(grown.id, draft("k1")).replay
    assert store.append(grown.id, draft("first")).replay
    added = store.append(grown.id, draft("k6"))
    assert (added.seq, added.number) == (6, 4)
    crate = '[cargo.crate]\non = "van"\n'
    vehicle = DAY.partition("[vehicles.van]")[2].partition("[cargo.driver]")[0]
    for part, key, block in ((Part.VEHICLE, "a", f"[vehicles.van]{vehicle}"), (Part.CARGO, "b", crate)):
        store.append(closed.id, DayEntry(part, key, block))
    assert list(parse_day(store.day_text(closed.id), "out").cargo) == ["crate"]


def test_what_lies_beside(store: Store) -> None:
    grown = store.list_days()[1]
    assert store.photo(grown.id, "k1") == Photo("image/png", b"\x89PNG\r\n\x1a\n\x00\x01")
    assert store.photo(grown.id, "first") is None
    assert (store.photo_keys(grown.id), store.pictures(grown.id)) == ({"k1"}, frozenset())
    assert [(kept.version, kept.learned) for kept in store.versions(Shelf.VEHICLE, "van")] == [
        (1, {"ride_rate": [6800.0, 680.0]}),
        (2, {}),
    ]
    assert [kept.name for kept in store.shelf(Shelf.TEACHING)] == ["dock box"]
    assert [kept.name for kept in store.shelf(Shelf.INSTRUMENT)] == ["p1"]
    tablet = store.find_device("hash-1")
    assert tablet is not None
    assert (tablet.name, tablet.role) == ("tablet", DeviceRole.WEIGH)
    assert store.find_device("hash-2") is None
    assert store.secret("cookie", lambda: b"another") == bytes(range(8))


def test_it_gets_the_digests_that_it_did_not_have(store: Store) -> None:
    for day in store.list_days():
        history = store.history(day.id)
        assert history.faults == ()
        assert (history.head.seq, history.head.digest) == (day.seq, history.items[-1].digest)
        assert history.notes[0].startswith(f"The digests up to number {history.head.link} were made on ")
    assert [item.kind for item in store.history("kqfwhcshbf").items] == [
        *("day", "drafts", "cargo", "states", "corrections", "drafts"),
        "photo",
    ]
    store.append("kqfwhcshbf", draft("k6"))
    with store.database.writing() as connection:
        connection.execute(text("UPDATE photos SET device = 'another'"))
    (fault,) = store.history("kqfwhcshbf").faults
    assert fault.startswith("The photo of draft 'k1' (")
    assert fault.endswith(") was changed: the device that it came from.")
