"""One draft more costs the same on a day of thousands as on an empty one; so does a page of the list of days."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, insert, text

from steelyard.dayfile import parse_day
from steelyard.store import Store, open_store
from steelyard.store.days import new_id
from steelyard.store.schema import DAYS, ENTRIES, NAMES, TEXTS
from tests.store.samples import DAY, draft

MANY = 5000


def statements(store: Store, work: Callable[[], object]) -> list[str]:
    """What the database is asked while ``work`` runs."""
    asked: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        asked.append(statement)

    event.listen(store.database.engine, "before_cursor_execute", note)
    try:
        work()
    finally:
        event.remove(store.database.engine, "before_cursor_execute", note)
    return asked


def steps(store: Store, work: Callable[[], object]) -> int:
    """How many instructions of its machine SQLite runs for ``work``: rows looked at, whatever the clock says."""
    count = 0

    def one() -> int:
        nonlocal count
        count += 1
        return 0

    with store.database.engine.connect() as connection:
        plain = connection.connection.driver_connection
    assert isinstance(plain, sqlite3.Connection)
    plain.set_progress_handler(one, 1)
    try:
        work()
    finally:
        plain.set_progress_handler(None, 1)
    return count


def fill(store: Store, day_id: str, count: int) -> None:
    """Drafts by the thousand, in one transaction."""
    with store.database.writing() as connection:
        day = connection.execute(text("SELECT number FROM days WHERE id = :id"), {"id": day_id}).scalar_one()
        rows = [
            {
                "day": day,
                "seq": seq,
                "kind": "drafts",
                "key": f"f{seq}",
                "number": seq + 1,
                "text": draft(f"f{seq}").text,
            }
            | {"device": "", "at": None, "received": "2026-05-14T00:00:00+00:00"}
            for seq in range(1, count + 1)
        ]
        connection.execute(insert(ENTRIES), rows)
        names = [
            {"day": day, "kind": "drafts", "name": f"f{seq}", "number": seq + 1, "seq": seq}
            for seq in range(1, count + 1)
        ]
        connection.execute(insert(NAMES), names)
        counts = {"drafts": count + 1, "seq": count, "size": len(DAY) + count * (len(draft("f9999").text) + 2)}
        connection.execute(DAYS.update().where(DAYS.c.number == day).values(**counts))


def test_a_draft_more_asks_the_same_of_the_database_however_many_there_are(store: Store) -> None:
    day_id = store.add_day(DAY)
    first = statements(store, lambda: store.append(day_id, draft("k1")))
    day_id = store.add_day(DAY)
    fill(store, day_id, MANY)
    last = statements(store, lambda: store.append(day_id, draft("k2")))
    assert first == last
    assert len([asked for asked in first if not asked.startswith("BEGIN")]) <= 7
    assert store.day(day_id).drafts == MANY + 2
    assert len(parse_day(store.day_text(day_id), "out").drafts) == MANY + 2
    replays = statements(store, lambda: store.append(day_id, draft("k2")))
    assert len(replays) < len(last)


def test_a_draft_more_looks_at_no_more_rows_however_many_there_are(tmp_path: Path) -> None:
    with open_store(tmp_path / "days.sqlite") as store:
        day_id = store.add_day(DAY)
        for number in range(3):
            store.append(day_id, draft(f"k{number}"))
        few = steps(store, lambda: store.append(day_id, draft("next")))
        other = store.add_day(DAY)
        fill(store, other, MANY)
        many = steps(store, lambda: store.append(other, draft("next")))
        assert 20 < few < 2000
        assert many <= few * 1.2
        history = steps(store, lambda: store.entries(other, after=MANY))
        assert history < few


def test_ten_thousand_days_are_listed_as_quickly_as_ten(tmp_path: Path) -> None:
    with open_store(tmp_path / "days.sqlite") as store:
        for _ in range(10):
            store.add_day(DAY)
        few = steps(store, lambda: store.list_days(10))
        with_few = steps(store, lambda: store.days_with_vehicle("van", 10))
        moment = "2026-05-14T00:00:00+00:00"
        names = ("size", "seq", "instruments", "vehicles", "cargo", "states", "drafts", "corrections")
        row = {"title": "x", "created": moment, "changed": moment} | dict.fromkeys(names, 0)
        numbers = range(11, 10_001)
        with store.database.writing() as connection:
            connection.execute(insert(DAYS), [row | {"number": number, "id": new_id()} for number in numbers])
            connection.execute(insert(TEXTS), [{"day": number, "base": DAY} for number in numbers])
            taken = {"kind": "vehicles", "name": "hauler", "number": 1, "seq": 0}
            connection.execute(insert(NAMES), [taken | {"day": number} for number in numbers])
        assert len(store.list_days(20_000)) == 10_000
        assert steps(store, lambda: store.list_days(10)) <= few * 1.2
        middle = store.list_days(5000)[-1].id
        assert steps(store, lambda: store.list_days(10, before=middle)) <= few * 1.4
        for vehicle in ("van", "hauler"):  # of the oldest ten days, of all others
            assert len(store.days_with_vehicle(vehicle, 10)) == 10
            assert steps(store, lambda name=vehicle: store.days_with_vehicle(name, 10)) <= with_few * 1.2
        opened = store.list_days(1)[0].id
        assert steps(store, lambda: store.day_text(opened)) < few


@pytest.mark.parametrize("pragma", [("journal_mode", "truncate"), ("synchronous", 3), ("foreign_keys", 1)])
def test_the_settings_survive_a_power_cut(tmp_path: Path, pragma: tuple[str, object]) -> None:
    name, value = pragma
    path = tmp_path / "days.sqlite"
    open_store(path).close()
    other = sqlite3.connect(path)
    other.execute("PRAGMA journal_mode = WAL")  # what another program may have left behind
    other.close()
    with open_store(path) as store, store.database.reading() as connection:
        assert connection.execute(text(f"PRAGMA {name}")).scalar() == value
