"""A store goes from SQLite to PostgreSQL and back without the loss of a byte, or not at all."""

from __future__ import annotations

import contextlib
import datetime
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select, text

from steelyard.store import (
    Away,
    Copied,
    DeviceRole,
    KeptSeal,
    Listed,
    Photo,
    Reason,
    Shelf,
    Store,
    StoreError,
    copy_store,
    copying,
    migrations,
    open_store,
    rows,
)
from steelyard.store.schema import METADATA, SECRETS
from tests.store.postgres import Cluster
from tests.store.samples import DAY, FILES, cargo, correction, draft, photograph, state, title
from tests.store.test_migrations import as_form_1

PICTURE = Photo("image/jpeg", b"\xff\xd8\xff" + bytes(range(256)) * 40)
AT = datetime.datetime(2026, 5, 14, 9, 12, 0, 123456, tzinfo=datetime.timezone(datetime.timedelta(hours=-7)))


def furnish(store: Store) -> str:
    """Something in every table, in odd letters too; the day with most of it."""
    for text_ in (DAY, FILES[0].read_text(encoding="utf-8")):
        store.add_day(text_)
    day = store.add_day(DAY.replace("Ferry landing", "Fähre 🚚 e\u0301 \u2028 \U0010ffff") + "\r\n# \ufeff\ttab\r\n")
    for number in range(4):
        store.append(day, draft(f"k{number} é🚚", device="ph\u0301one", at=AT))
    for entry in (state("s", "later"), cargo("c", "crate"), correction("x", "k0 é🚚", 1600), title("t", "Später 🚚")):
        store.append(day, entry)
    store.append(day, photograph("p", "first", PICTURE), picture=PICTURE)
    store.keep_log(day, "log", "0,1\n0.5,2\n", about={"state": "solo", "ü": [1.5, None]})
    store.keep_seal(day, KeptSeal(7, "Weigher", "", b"\x00\xff", b'{"a": 1}'))
    for word in ("one", "two"):
        store.save(Shelf.VEHICLE, "van", f"[vehicles.van] # {word}", learned={"mass": 1e-300})
    store.put_away(Listed.VEHICLE, "van", device="ph\u0301one")
    store.bring_back(Listed.VEHICLE, "van")
    store.put_away(Listed.DAY, day)
    store.revoke_device(store.add_device("tablet", DeviceRole.WEIGH, "hash 1").id)
    store.add_device("phone", DeviceRole.LOOK, "hash 2")
    store.secret("cookies", lambda: bytes(range(32)))
    with store.database.writing() as connection:  # as an older version kept them
        values = {"number": 1, "data": b"\x00" * 9, "at": "2024-01-01T00:00:00+00:00"}
        columns = "day, kind, draft, media_type, data, device, received"
        row = "(1, 'drafts', 'first', 'image/png', :data, '', :at)"
        connection.execute(text(f"INSERT INTO photos ({columns}) VALUES {row}"), values)
        connection.execute(text("INSERT INTO rule_choices VALUES (1, 7)"))
    store.ready_search()
    return day


def everything(store: Store) -> dict[str, list[tuple[Any, ...]]]:
    """Every value of every table, sorted here."""
    with store.database.reading() as connection:
        return {
            table.name: sorted((tuple(row) for row in connection.execute(select(table))), key=repr)
            for table in METADATA.sorted_tables
        }


class StoppedError(BaseException):
    """Ends a copy from outside, as the keyboard does."""


def said(job: Callable[[], object]) -> tuple[Reason, str]:
    with pytest.raises(StoreError) as error:
        job()
    return error.value.reason, str(error.value)


def test_there_and_back_every_value_is_equal(tmp_path: Path, postgres: Cluster) -> None:
    first, there, back = tmp_path / "a.sqlite", postgres.new_database(), tmp_path / "b.sqlite"
    with open_store(first) as store:
        day = furnish(store)
        meant = everything(store)
        assert all(meant.values()), [name for name, found in meant.items() if not found]
        told = list[tuple[str, int, int]]()
        copied = copy_store(first, there, secrets=True, told=lambda *step: told.append(step))
        assert everything(store) == meant
    total = sum(map(len, meant.values()))
    assert told == [("copying", total, total), ("comparing", total, total)]
    assert {table.name: table.rows for table in copied.tables} == {name: len(found) for name, found in meant.items()}
    again = copy_store(there, back, secrets=True)
    assert again == copied
    assert copied.notes == ()
    history = None
    for where in (first, there, back):
        with open_store(where) as store:
            assert everything(store) == meant
            assert store.history(day).faults == ()
            history = history or store.history(day)
            assert store.history(day) == history
            assert [store.picture(day, digest) for digest in store.pictures(day)] == [PICTURE]
    for where in (there, back):  # numbers go on after the largest
        with open_store(where) as store:
            new = store.add_day(DAY)
            assert store.list_days(1)[0].id == new
            store.add_device("more", DeviceRole.LOOK, "hash 3")
            assert store.append(day, draft("after")).seq == len(history.items) - 3 if history else 0
            assert store.history(day).faults == ()
    assert sorted(path.name for path in tmp_path.iterdir() if path.stat().st_size) == ["a.sqlite", "b.sqlite"]
    assert back.stat().st_mode & 0o777 == 0o600


def test_secrets_go_only_where_they_are_asked_for(tmp_path: Path) -> None:
    with open_store(tmp_path / "a.sqlite") as store:
        furnish(store)
    copied = copy_store(tmp_path / "a.sqlite", tmp_path / "b.sqlite")
    assert SECRETS.name not in {table.name for table in copied.tables}
    with open_store(tmp_path / "b.sqlite") as store:
        assert everything(store)["secrets"] == []
        assert len(everything(store)["devices"]) == 2


@pytest.fixture(name="source")
def _source(tmp_path: Path) -> Path:
    path = tmp_path / "source.sqlite"
    with open_store(path) as store:
        furnish(store)
    return path


def by_hand(path: Path, statement: str, *values: object) -> None:
    other = sqlite3.connect(path)
    other.execute(statement, values)
    other.commit()
    other.close()


def test_what_postgresql_cannot_hold_is_refused_with_its_row(
    source: Path, tmp_path: Path, postgres: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    there = postgres.new_database()
    by_hand(source, "UPDATE entries SET text = 'ab' || char(0) || 'c' WHERE day = 3 AND seq = 2")
    reason, message = said(lambda: copy_store(source, there))
    assert reason is Reason.REFUSED
    assert message.endswith(
        "table entries, row of day 3, seq 2: its text has a zero byte as letter 3, which no text of PostgreSQL can "
        "hold; nothing was copied"
    )
    copied = copy_store(source, tmp_path / "same.sqlite", secrets=True)  # SQLite can
    assert copied.notes == ()
    by_hand(source, "UPDATE entries SET text = CAST(x'61ff' AS TEXT) WHERE day = 3 AND seq = 2")
    assert "seq 2: its text is no UTF-8 from letter 2 on" in said(lambda: copy_store(source, there))[1]
    by_hand(source, "UPDATE entries SET text = 'a', number = 3000000000 WHERE day = 3 AND seq = 2")
    assert "its number is 3000000000, and a whole number of" in said(lambda: copy_store(source, there))[1]
    by_hand(source, "UPDATE entries SET number = 3 WHERE day = 3 AND seq = 2")
    monkeypatch.setattr(rows, "LARGEST_VALUE", 5000)
    assert "table pictures, row of day 3, sha256 '" in said(lambda: copy_store(source, there))[1]
    assert tables_of(postgres, there) == []  # nothing of any of it is there


def tables_of(postgres: Cluster, where: str) -> list[tuple[object, ...]]:
    return postgres.run("SELECT tablename FROM pg_tables WHERE schemaname = 'public'", where.rpartition("/")[2])


def test_a_target_that_holds_something_is_left_alone(source: Path, tmp_path: Path, postgres: Cluster) -> None:
    there = postgres.new_database()
    with open_store(there) as store:
        day = store.add_day(DAY)
    reason, message = said(lambda: copy_store(source, there))
    assert reason is Reason.REFUSED
    assert "in its table day" in message
    with open_store(there) as store:
        assert [one.id for one in store.list_days()] == [day]
    taken = tmp_path / "taken.txt"
    taken.write_text("a letter")
    for target in (taken, source, tmp_path):
        assert "is there already" in said(lambda target=target: copy_store(source, target))[1]
    assert taken.read_text() == "a letter"
    (tmp_path / "new.sqlite-journal").write_text("left over")
    assert "new.sqlite-journal is there already" in said(lambda: copy_store(source, tmp_path / "new.sqlite"))[1]
    assert "there is no folder" in said(lambda: copy_store(source, tmp_path / "no" / "new.sqlite"))[1]
    assert "File name too long" in said(lambda: copy_store(source, tmp_path / ("n" * 250)))[1]
    assert "there is no store" in said(lambda: copy_store(tmp_path / "none", tmp_path / "b.sqlite"))[1]
    assert "is not a store of weigh days" in said(lambda: copy_store(taken, tmp_path / "b.sqlite"))[1]
    assert "the name of the store is empty" in said(lambda: copy_store(source, " "))[1]
    assert not (tmp_path / "b.sqlite").exists()


def test_an_empty_store_of_the_same_form_is_filled(source: Path, postgres: Cluster) -> None:
    there = postgres.new_database()
    open_store(there).close()
    assert isinstance(copy_store(source, there), Copied)


@pytest.mark.parametrize("name", ["new.sqlite.tmp", ".new.sqlite.half-copied"])
def test_no_file_with_the_name_of_an_unfinished_copy_is_lost(source: Path, tmp_path: Path, name: str) -> None:
    store, letter = source.rename(tmp_path / name), tmp_path / "other.sqlite.tmp"
    letter.write_text("a letter")
    before = store.read_bytes()
    try:
        copy_store(store, tmp_path / "new.sqlite")
    except StoreError as error:
        assert f"{name}, which is the store to copy; rename that" in str(error)  # noqa: PT017 - the other name is taken
    assert store.read_bytes() == before
    with contextlib.suppress(StoreError):
        copy_store(store, tmp_path / "other.sqlite")
    assert letter.read_text() == "a letter"
    assert store.read_bytes() == before


def test_two_copies_to_one_name_do_not_disturb_each_other(source: Path, tmp_path: Path) -> None:
    refused: list[str] = []

    def told(_what: str, _done: int, _all: int) -> None:
        if not refused:
            refused.append(said(lambda: copy_store(source, tmp_path / "new.sqlite"))[1])

    copied = copy_store(source, tmp_path / "new.sqlite", told=told)
    assert "another program is copying to it now" in refused[0]
    with open_store(tmp_path / "new.sqlite") as store:
        assert len(everything(store)["logs"]) == next(table.rows for table in copied.tables if table.name == "logs")
    leftover = tmp_path / ".again.sqlite.half-copied"  # of a copy that was killed
    leftover.write_bytes(b"half" * 5000)
    leftover.with_name(f"{leftover.name}-journal").write_bytes(b"half" * 5000)
    assert copy_store(source, tmp_path / "again.sqlite") == copied
    assert not leftover.exists()


@pytest.mark.parametrize("where", ["sqlite", "postgresql"])
@pytest.mark.parametrize("stage", ["copying", "comparing"])
def test_an_interrupted_copy_leaves_nothing(
    source: Path, tmp_path: Path, request: pytest.FixtureRequest, where: str, stage: str
) -> None:
    postgres: Cluster | None = request.getfixturevalue("postgres") if where == "postgresql" else None
    there = postgres.new_database() if postgres is not None else str(tmp_path / "new.sqlite")

    def told(what: str, _done: int, _all: int) -> None:
        if what == stage:
            raise StoppedError

    with pytest.raises(StoppedError):
        copy_store(source, there, told=told)
    assert sorted(path.name for path in tmp_path.iterdir() if path.stat().st_size) == ["source.sqlite"]
    if postgres is not None:
        assert tables_of(postgres, there) == []
    assert isinstance(copy_store(source, there), Copied)


def test_a_copy_that_is_not_equal_is_none(
    source: Path, tmp_path: Path, postgres: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    def careless(connection: Any, table: Any, columns: Any, found: Any, where: str) -> None:
        changed = [(*row[:-1], f"{row[-1]} ") if table.name == "names_" else row for row in found]
        put(connection, table, columns, changed[1:] if table.name == "logs" else changed, where)

    put = copying.put_rows
    monkeypatch.setattr(copying, "put_rows", careless)
    there = postgres.new_database()
    for target in (there, tmp_path / "new.sqlite"):
        reason, message = said(lambda target=target: copy_store(source, target))
        assert reason is Reason.BROKEN
        assert "its table logs is not as it was copied: 0 of 1 rows, digest e3b0c44298fc1c14 and not " in message
    assert tables_of(postgres, there) == []
    assert not (tmp_path / "new.sqlite").exists()


def test_an_older_store_is_copied_as_it_is_and_then_brought_up(
    tmp_path: Path, postgres: Cluster, monkeypatch: pytest.MonkeyPatch
) -> None:
    old, there = tmp_path / "old.sqlite", postgres.new_database()
    steps = migrations.STEPS
    monkeypatch.setattr(migrations, "STEPS", steps[:3])
    with open_store(old) as store:
        as_form_1(store)
    monkeypatch.undo()
    before = old.read_bytes()
    copied = copy_store(old, there)
    assert old.read_bytes() == before
    assert f"{old} has form 3, of version " in copied.notes[0]
    assert f"brought to form {len(steps)} of this version" in copied.notes[0]
    with open_store(there) as store:
        assert store.history("abcdefghjk").faults == ()
        assert [day.id for day in store.search_days("ferry").days] == ["abcdefghjk"]


def test_a_store_of_a_newer_form_is_not_copied(source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    newer = (*migrations.STEPS, ("later", lambda _: ["CREATE TABLE later (a INTEGER) STRICT"]))
    for marks in ({}, {"later": 10}):  # also where this version may use it
        path = tmp_path / f"newer-{len(marks)}.sqlite"
        path.write_bytes(source.read_bytes())
        monkeypatch.setattr(migrations, "STEPS", newer)
        monkeypatch.setattr(migrations, "USABLE_FROM", {**migrations.USABLE_FROM, **marks})
        open_store(path).close()
        monkeypatch.undo()
        assert said(lambda path=path: copy_store(path, tmp_path / "b.sqlite"))[0] is Reason.NEWER


def test_damage_is_copied_as_it_is_and_said(source: Path, postgres: Cluster) -> None:
    with open_store(source) as store:
        day = store.list_days(1, away=Away.ONLY)[0].id
    by_hand(source, "UPDATE links SET device = 'someone' WHERE day = 3 AND link = 2")
    (note,) = copy_store(source, postgres.new_database()).notes
    assert note.startswith(f"The record of {day} does not follow its digests, in the store ")
