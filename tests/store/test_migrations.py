"""A store comes to its present form step by step, each recorded; one from the future is left alone."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest
from sqlalchemy import Connection, inspect, select, text

from steelyard import __version__
from steelyard.dayfile import parse_day
from steelyard.store import Reason, Store, StoreError, open_store
from steelyard.store import migrations as migrations_file
from steelyard.store.migrations import STEPS, Dialect
from steelyard.store.schema import METADATA, MIGRATIONS
from tests.store.samples import DAY, OPEN, draft


def recorded(store: Store) -> list[tuple[int, str, str]]:
    with store.database.reading() as connection:
        columns = (MIGRATIONS.c.number, MIGRATIONS.c.name, MIGRATIONS.c.program)
        rows = connection.execute(select(*columns).order_by(MIGRATIONS.c.number))
        return [(row.number, row.name, row.program) for row in rows]


def test_every_step_is_recorded(store: Store) -> None:
    assert recorded(store) == [(number, name, __version__) for number, (name, _) in enumerate(STEPS, 1)]
    assert [name for name, _ in STEPS] == [
        *("days", "photos", "shelves", "access", "logs", "choices", "photographs", "links", "seals"),
        *("marks", "news", "search", "lists"),
    ]


def test_opening_again_changes_nothing(opened: OPEN) -> None:
    store = opened()
    before = recorded(store)
    day_id = store.add_day(DAY)
    assert recorded(opened()) == before
    assert opened().day_text(day_id) == DAY


def columns(connection: Connection) -> dict[str, dict[str, tuple[str, bool, bool]]]:
    """For each table and column of a database: the kind of value, whether it may be null, whether it is in the key."""
    found = inspect(connection)
    tables: dict[str, dict[str, tuple[str, bool, bool]]] = {}
    for table in found.get_table_names():
        key = found.get_pk_constraint(table)["constrained_columns"]
        tables[table] = {
            column["name"]: (column["type"].python_type.__name__, bool(column["nullable"]), column["name"] in key)
            for column in found.get_columns(table)
        }
    return tables


def test_the_steps_lead_to_the_tables_that_the_queries_are_written_in(store: Store) -> None:
    with store.database.reading() as connection:
        made = columns(connection)
        indexes = {index["name"] for table in made for index in inspect(connection).get_indexes(table)}
    meant = {
        table.name: {
            column.name: (column.type.python_type.__name__, bool(column.nullable), bool(column.primary_key))
            for column in table.columns
        }
        for table in METADATA.tables.values()
    }
    assert made == meant
    assert {str(index.name) for table in METADATA.tables.values() for index in table.indexes} <= indexes


def test_tables_of_sqlite_are_strict(opened: OPEN) -> None:
    store = opened()
    with store.database.reading() as connection:
        if connection.dialect.name == "sqlite":
            rows = connection.execute(text("SELECT name, strict FROM pragma_table_list WHERE schema = 'main'")).all()
            assert {row.name for row in rows if row.strict} == set(METADATA.tables)


def older(steps: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(migrations_file, "STEPS", STEPS[:steps])


def test_a_store_of_any_older_form_is_brought_up(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    older(1, monkeypatch)
    with open_store(where) as store:
        assert [number for number, _, _ in recorded(store)] == [1]
        as_form_1(store)
    for form in range(2, len(STEPS) + 1):
        older(form, monkeypatch)
        with open_store(where) as store:
            assert [number for number, _, _ in recorded(store)] == list(range(1, form + 1))
    with open_store(where) as store:
        assert store.day("abcdefghjk").drafts == 2
        assert parse_day(store.day_text("abcdefghjk"), "out").drafts[1].key == "k1"
        assert store.append("abcdefghjk", draft("k1")).replay
        assert store.append("abcdefghjk", draft("k2")).seq == 2
        assert store.history("abcdefghjk").faults == ()


OLD = "2026-05-14T09:00:00.000+00:00"


def as_form_1(store: Store) -> None:
    """A day with one draft added, in the tables of the first form."""
    block = draft("k1").text
    day = {"id": "abcdefghjk", "title": "Ferry landing", "at": OLD, "size": len(DAY) + len(block) + 2}
    with store.database.writing() as connection:
        columns = "id, title, created, changed, size, seq, instruments, vehicles, cargo, states, drafts, corrections"
        statement = text(f"INSERT INTO days ({columns}) VALUES (:id, :title, :at, :at, :size, 1, 2, 1, 1, 1, 2, 0)")
        connection.execute(statement, day)
        connection.execute(text("INSERT INTO day_texts (day, base) VALUES (1, :base)"), {"base": DAY})
        values = "(1, 1, 'drafts', 'k1', 2, :text, 'phone', NULL, :at)"
        connection.execute(text(f"INSERT INTO entries VALUES {values}"), {"text": block, "at": OLD})
        connection.execute(text("INSERT INTO names VALUES (1, 'drafts', 'k1', 2, 1)"))


def test_the_days_of_an_older_store_get_their_chain_once(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    older([name for name, _ in STEPS].index("links"), monkeypatch)
    with open_store(where) as store:
        as_form_1(store)
    monkeypatch.undo()
    stores = opened_at_once(where)
    try:
        histories = [store.history("abcdefghjk") for store in stores]
    finally:
        for store in stores:
            store.close()
    assert histories[0] == histories[1] == histories[2] == histories[3]
    history = histories[0]
    assert history.faults == ()
    assert [(item.link, item.kind, item.device, item.received) for item in history.items] == [
        (0, "day", "", OLD),
        (1, "drafts", "phone", OLD),
    ]
    (note,) = history.notes
    assert note.startswith("The digests up to number 1 were made on 2")
    assert note.endswith(
        " UTC, when the store was brought to its present form; what was changed before then cannot be found."
    )


def opened_at_once(where: str) -> list[Store]:
    """A store opened by four programs at the same moment."""
    start, stores, errors = threading.Barrier(4), list[Store](), list[BaseException]()

    def first() -> None:
        start.wait()
        try:
            stores.append(open_store(where))
        except StoreError as error:
            errors.append(error)

    threads = [threading.Thread(target=first) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    return stores


def test_a_step_that_fails_leaves_the_form_before_it(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(dialect: Dialect) -> list[str]:
        return [f"CREATE TABLE half (a INTEGER){dialect.strict}", "CREATE TABEL other (a INTEGER)"]

    with open_store(where) as store:
        day_id = store.add_day(DAY)
        form = recorded(store)
    monkeypatch.setattr(migrations_file, "STEPS", (*STEPS, ("broken", broken)))
    with pytest.raises(StoreError) as error:
        open_store(where)
    assert error.value.reason is Reason.BROKEN
    monkeypatch.undo()
    with open_store(where) as store:
        assert recorded(store) == form
        assert store.day_text(day_id) == DAY
        with store.database.reading() as connection:
            assert "half" not in inspect(connection).get_table_names()


def test_a_store_of_a_newer_version_is_left_alone(where: str) -> None:
    form = len(STEPS) + 1
    with open_store(where) as store:
        store.add_day(DAY)
        with store.database.writing() as connection:
            values = {"number": form, "name": "later", "applied": "2031-01-01T00:00:00+00:00", "program": "9.1"}
            connection.execute(MIGRATIONS.insert().values(**values))
        shown = store.where
    with pytest.raises(StoreError) as error:
        open_store(where)
    assert error.value.reason is Reason.NEWER
    assert str(error.value) == (
        f"the store {shown}: was written by version 9.1, which is newer than this one, {__version__}: "
        f"its form is {form}, this version knows {form - 1}; nothing was changed, open it with the newer version"
    )


def test_a_store_of_a_later_state_of_this_version_is_said_to_be_that(tmp_path: Path) -> None:
    path, form = tmp_path / "days.sqlite", len(STEPS) + 1
    with open_store(path) as store, store.database.writing() as connection:
        values = {"number": form, "name": "later", "applied": "2031-01-01T00:00:00+00:00", "program": __version__}
        connection.execute(MIGRATIONS.insert().values(**values))
    with pytest.raises(StoreError) as error:
        open_store(path)
    assert str(error.value) == (
        f"the store {path}: was written by a later state of version {__version__} than this one: "
        f"its form is {form}, this version knows {form - 1}; nothing was changed, open it with the newer version"
    )


def test_a_database_of_something_else_is_left_alone(where: str) -> None:
    with open_store(where) as store, store.database.writing() as connection:
        for table in (
            "photos",
            "shelves",
            "secrets",
            "devices",
            "names",
            "entries",
            "day_texts",
            "day_words",
            "store_migrations",
        ):
            connection.execute(text(f"DROP TABLE {table}"))
    with pytest.raises(StoreError) as error:
        open_store(where)
    assert error.value.reason is Reason.NOT_A_STORE
    assert str(error.value).endswith(": is a database of something else; it has a table 'days'")


def test_many_may_open_a_new_store_at_once(where: str) -> None:
    stores = opened_at_once(where)
    try:
        assert [len(recorded(store)) for store in stores] == [len(STEPS)] * 4
    finally:
        for store in stores:
            store.close()
