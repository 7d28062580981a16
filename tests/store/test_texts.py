"""The texts of all days come one after the other, equal to each day's own, however many there are."""

from __future__ import annotations

import itertools
import sqlite3
import tracemalloc
from pathlib import Path

import pytest
from sqlalchemy import text

from steelyard.store import Reason, Store, StoredText, StoreError, open_store, read_store, texts
from tests.store.samples import DAY, FILES, draft
from tests.store.test_cost import statements


@pytest.fixture(name="ids")
def _ids(store: Store) -> list[str]:
    """Days of a few kinds: plain, added to, in a form that cannot grow."""
    ids = [store.add_day(path.read_text(encoding="utf-8")) for path in FILES[:3]]
    ids += [store.add_day(DAY.replace("Ferry landing", f"Pier {number}")) for number in range(4)]
    for day in (ids[4], ids[6]):
        for number in range(3):
            store.append(day, draft(f"k{number}"))
    return ids


def test_each_text_is_that_of_its_day(store: Store, ids: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    each = [
        StoredText(day, store.day(day).changed.isoformat(timespec="milliseconds"), store.day_text(day)) for day in ids
    ]
    assert store.count_days() == len(ids)
    assert list(store.texts()) == each
    for few, size in ((2, 4_000_000), (100, 1)):  # cut by number, and by bytes
        monkeypatch.setattr(texts, "_FEW", few)
        monkeypatch.setattr(texts, "_BYTES", size)
        assert list(store.texts()) == each
        assert list(store.texts(after=ids[2], limit=3)) == each[3:6]
    assert list(store.texts(after=ids[-1])) == []
    assert list(store.texts(limit=0)) == []
    with pytest.raises(StoreError, match="there is no day 'nosuchday'"):
        next(store.texts(after="nosuchday"))


def test_they_ask_little_of_the_database_and_memory(tmp_path: Path) -> None:
    with open_store(tmp_path / "days.sqlite") as store:
        store.add_day(DAY)
        with store.database.writing() as connection:
            columns = (
                "id, title, created, changed, size, seq, instruments, vehicles, cargo, states, drafts, corrections"
            )
            counted = "WITH RECURSIVE n(i) AS (SELECT 2 UNION ALL SELECT i + 1 FROM n WHERE i < 3000)"
            values = "SELECT printf('day%07d', i), title, created, changed, size, 0, 2, 1, 1, 1, 1, 0 FROM days, n"
            connection.execute(text(f"INSERT INTO days ({columns}) {counted} {values} WHERE number = 1"))
            connection.execute(
                text("INSERT INTO day_texts SELECT number, :base || number, NULL FROM days WHERE number > 1"),
                {"base": DAY + "#" * 3000},
            )
        asked = statements(store, lambda: [None for _ in store.texts()])
        assert len([one for one in asked if not one.startswith("BEGIN")]) <= 3 * 32
        tracemalloc.start()
        try:
            list(itertools.islice(store.texts(), 200))
            few = tracemalloc.get_traced_memory()[1]
            tracemalloc.reset_peak()
            assert sum(1 for _ in store.texts()) == 3000
            many = tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()
        assert many < few * 1.5  # all texts together are fifteen times as much


def test_one_that_is_only_read_is_neither_made_nor_written(where: str, tmp_path: Path) -> None:
    with pytest.raises(StoreError, match=r"^there is no store .*none\.sqlite; a store is the file that 'serve'"):
        read_store(tmp_path / "none.sqlite")
    assert not (tmp_path / "none.sqlite").exists()
    with pytest.raises(StoreError, match=r" is a folder and no store; a store is the file that 'serve' keeps"):
        read_store(tmp_path)
    (tmp_path / "empty.sqlite").touch()
    with pytest.raises(StoreError, match=r"holds no weigh days; 'serve' makes a store when it is first started$"):
        read_store(tmp_path / "empty.sqlite")
    with open_store(where) as store:
        day = store.add_day(DAY)
    with read_store(where) as store:
        assert [one.id for one in store.texts()] == [day]
        with pytest.raises(StoreError) as error:
            store.add_day(DAY)
        assert error.value.reason is Reason.READ_ONLY


def test_one_of_an_older_form_is_left_as_it_is(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from steelyard.store import migrations

    monkeypatch.setattr(migrations, "STEPS", migrations.STEPS[:3])
    open_store(where).close()
    monkeypatch.undo()
    with pytest.raises(StoreError) as error:
        read_store(where)
    assert error.value.reason is Reason.OLDER
    assert "was written by an older version: its form is 3, this version knows " in str(error.value)


def test_a_damaged_text_stops_nothing(tmp_path: Path) -> None:
    path = tmp_path / "days.sqlite"
    with open_store(path) as store:
        ids = [store.add_day(DAY) for _ in range(3)]
    other = sqlite3.connect(path)
    other.execute("UPDATE day_texts SET base = CAST(x'66ff' AS TEXT) WHERE day = 1")
    other.execute("DELETE FROM day_texts WHERE day = 2")
    other.commit()
    other.close()
    with read_store(path) as store:
        assert [(one.id, one.text) for one in store.texts()] == [(ids[0], "f\udcff"), (ids[1], ""), (ids[2], DAY)]
