"""Roles of a shared PostgreSQL: each may do what it is for, and is told in words what it may not."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass

import psycopg
import pytest
from sqlalchemy import text

from steelyard.dayfile import Part
from steelyard.store import (
    DayEntry,
    DeviceRole,
    KeptSeal,
    Listed,
    Reason,
    Shelf,
    Store,
    StoreError,
    YardRole,
    open_store,
    read_store,
)
from steelyard.store import migrations as migrations_file
from steelyard.store.migrations import STEPS
from steelyard.store.roles import RIGHTS, roles_script
from steelyard.store.schema import METADATA
from tests.cli.days import run
from tests.store.postgres import Cluster
from tests.store.samples import DAY, draft, photograph, title
from tests.store.test_beside import JPEG

CHOICE = '[[rule_choices]]\napply = []\nwhere = "DE"\n'
SEAL = KeptSeal(0, "weigher", "", b"seal", b"findings")


@dataclass(frozen=True)
class Yard:
    """A database with its roles, and a person in each: ``NAME_owner_person``."""

    postgres: Cluster
    name: str
    day_id: str

    def person(self, role: YardRole) -> str:
        return f"{self.name}_{role}_person"

    def address(self, role: YardRole) -> str:
        return self.postgres.address(self.name, self.person(role))

    def run(self, role: YardRole, statement: str) -> list[tuple[object, ...]]:
        return self.postgres.run(statement, self.name, self.person(role))


def make_roles(postgres: Cluster, name: str) -> None:
    """As the documents say: the script, then people."""
    postgres.run(roles_script(name), name)
    for role in YardRole:
        postgres.run(f'CREATE ROLE "{name}_{role}_person" LOGIN IN ROLE "{name}_{role}"')


@pytest.fixture(scope="module", name="yard")
def _yard(postgres: Cluster) -> Yard:
    name = postgres.new_database().rpartition("/")[2]
    make_roles(postgres, name)
    yard = Yard(postgres, name, "")
    with open_store(yard.address(YardRole.OWNER)) as store:
        day_id = store.add_day(DAY)
        store.append(day_id, draft("k1"))
        store.append(day_id, photograph("p1", "k1", JPEG), picture=JPEG)
        store.keep_log(day_id, "log", "a,b", about={})
        store.keep_seal(day_id, SEAL)
        store.save(Shelf.VEHICLE, "van", "text")
        store.append(day_id, title("t1", "Quarry"))
        store.put_away(Listed.VEHICLE, "van")
        store.secret("cookies", lambda: b"hush")
        store.add_device("phone", DeviceRole.WEIGH, "hash")
    return Yard(postgres, name, day_id)


@pytest.fixture(name="opened_as")
def _opened_as(yard: Yard) -> Generator[Callable[[YardRole], Store], None, None]:
    stores: list[Store] = []

    def opened(role: YardRole) -> Store:
        stores.append(open_store(yard.address(role)))
        return stores[-1]

    yield opened
    for store in stores:
        store.close()


AS = Callable[[YardRole], Store]


def refused(work: Callable[[], object]) -> str:
    with pytest.raises(StoreError) as error:
        work()
    assert error.value.reason is Reason.NOT_ALLOWED
    return str(error.value)


def days_read(store: Store, day_id: str) -> list[Callable[[], object]]:
    return [
        store.list_days,
        lambda: store.days_with_vehicle("van"),
        lambda: store.day(day_id),
        lambda: store.day_text(day_id),
        lambda: store.snapshot_at(day_id, 1),
        lambda: store.away(Listed.DAY),
    ]


def rest_read(store: Store, day_id: str) -> list[Callable[[], object]]:
    return [
        lambda: store.history(day_id),
        lambda: store.entries(day_id),
        lambda: store.head(day_id),
        lambda: store.seals(day_id),
        lambda: store.pictures(day_id),
        lambda: store.photo_keys(day_id),
        lambda: store.logs(day_id),
        lambda: store.shelf(Shelf.VEHICLE),
        store.devices,
    ]


def writes(store: Store, day_id: str) -> list[Callable[[], object]]:
    return [
        lambda: store.add_day(DAY),
        lambda: store.append(day_id, draft("w1")),
        lambda: store.append(day_id, DayEntry(Part.CHOICE, "w2", CHOICE)),
        lambda: store.append(day_id, photograph("w3", "k1", JPEG), picture=JPEG),
        lambda: store.keep_log(day_id, "w4", "a,b", about={}),
        lambda: store.keep_seal(day_id, KeptSeal(0, "weigher", "", b"other", b"findings")),
        lambda: store.save(Shelf.VEHICLE, "van", "other text"),
        lambda: store.append(day_id, title("w5", "Other quarry")),
        lambda: store.put_away(Listed.DAY, day_id),
        lambda: store.bring_back(Listed.DAY, day_id),
        lambda: store.add_device("tablet", DeviceRole.LOOK, "another hash"),
        lambda: store.secret("new", lambda: b"x"),
    ]


def test_a_reader_reads_all_but_secrets_and_writes_nothing(yard: Yard, opened_as: AS) -> None:
    store = opened_as(YardRole.READER)
    for read in (*days_read(store, yard.day_id), *rest_read(store, yard.day_id)):
        read()
    assert store.history(yard.day_id).faults == ()
    said = [refused(work) for work in (*writes(store, yard.day_id), lambda: store.secret("cookies", lambda: b"x"))]
    assert all("permission denied for table" in one and "nothing was kept of this" in one for one in said)
    assert said[0] == (
        f"the store {store.where}: the role that the station has in this database may not do that (permission denied "
        "for table days); nothing was kept of this, and who owns the database can allow it"
    )
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        yard.run(YardRole.READER, "SELECT token_hash FROM devices")


def test_a_batch_reads_days_and_nothing_else(yard: Yard, opened_as: AS) -> None:
    store = opened_as(YardRole.BATCH)
    for read in days_read(store, yard.day_id):
        read()
    for work in (*rest_read(store, yard.day_id), *writes(store, yard.day_id)):
        refused(work)
    with read_store(yard.address(YardRole.BATCH)) as opened:  # as the command of that name opens it
        assert {one.id for one in opened.texts()} == {one.id for one in store.list_days()}


def test_a_weigher_adds_and_can_neither_delete_nor_change(yard: Yard, opened_as: AS) -> None:
    store = opened_as(YardRole.WEIGHER)
    for work in (*days_read(store, yard.day_id), *rest_read(store, yard.day_id), *writes(store, yard.day_id)):
        work()
    assert store.secret("cookies", lambda: b"x") == b"hush"
    assert store.revoke_device(store.devices()[0].id)
    before = store.history(yard.day_id)
    assert before.faults == ()
    changeable = {name: set(rights.change) for name, rights in RIGHTS.items()}
    asked: list[str] = []
    for table in METADATA.tables.values():
        columns = {column.name for column in table.c} - changeable[table.name]
        asked += [f"DELETE FROM {table}", f"TRUNCATE {table} CASCADE", f"DROP TABLE {table}"]
        asked += [f"UPDATE {table} SET {one} = {one}" for one in sorted(columns)]
    address = yard.address(YardRole.WEIGHER)
    with psycopg.connect(address, autocommit=True) as connection:
        for statement in (*asked, "CREATE TABLE own (a INTEGER)", "DROP TRIGGER days_only_grow ON days"):
            with pytest.raises(psycopg.errors.InsufficientPrivilege):
                connection.execute(statement.encode())
    assert store.history(yard.day_id) == before


@pytest.mark.parametrize(
    "change",
    ["seq = 0", "drafts = 0", "links = links + 2", "head = ''", "size = 1", "links = links + 1, seq = seq + 2"],
)
def test_the_counts_that_a_weigher_writes_only_grow(yard: Yard, change: str) -> None:
    with pytest.raises(psycopg.errors.InsufficientPrivilege, match="a day only grows"):
        yard.run(YardRole.WEIGHER, f"UPDATE days SET {change}")
    yard.run(YardRole.OWNER, "UPDATE days SET title = title")


def test_a_weigher_makes_days_ready_to_be_found(yard: Yard, opened_as: AS) -> None:
    yard.run(YardRole.OWNER, "DELETE FROM day_words; UPDATE days SET searched = 0")
    assert not opened_as(YardRole.READER).search_days("landing").days
    assert yard.day_id in {day.id for day in opened_as(YardRole.WEIGHER).search_days("landing").days}
    assert yard.day_id in {day.id for day in opened_as(YardRole.READER).search_days("landing").days}


def test_the_rights_name_every_table_and_its_columns() -> None:
    assert set(RIGHTS) == set(METADATA.tables)
    for name, rights in RIGHTS.items():
        assert {*rights.change, *(rights.reader or ())} <= {column.name for column in METADATA.tables[name].c}


# -- who makes the tables --------------------------------------------------------------------------------------------


def test_only_the_owner_makes_and_changes_the_form(postgres: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    name = postgres.new_database().rpartition("/")[2]
    make_roles(postgres, name)
    yard = Yard(postgres, name, "")
    shown = f"{name} at 127.0.0.1:{postgres.port}"
    for role in (YardRole.WEIGHER, YardRole.READER, YardRole.BATCH):
        assert refused(lambda role=role: open_store(yard.address(role))) == (
            f"the store {shown}: the role that the station has in this database may not do that (permission denied for "
            f"schema public); nothing was kept of this, and who owns the database can allow it. This version needs "
            f"{len(STEPS)} more steps of its form: start it once as the owner"
        )
    open_store(yard.address(YardRole.OWNER)).close()
    open_store(yard.address(YardRole.BATCH)).close()
    added = "CREATE TABLE more (a INTEGER)"
    monkeypatch.setattr(
        migrations_file, "STEPS", (*STEPS, ("later", lambda _: [added, "ALTER TABLE days ADD b INTEGER"]))
    )
    said = refused(lambda: open_store(yard.address(YardRole.WEIGHER)))
    assert said.endswith(". This version needs 1 more step of its form: start it once as the owner")
    open_store(yard.address(YardRole.OWNER)).close()
    monkeypatch.undo()
    owners = postgres.run("SELECT DISTINCT tableowner FROM pg_tables WHERE schemaname = 'public'", name)
    assert owners == [(f"{name}_owner",)]


def test_a_store_that_was_there_before_its_roles_goes_over_to_the_owner(postgres: Cluster) -> None:
    where = postgres.new_database()
    name = where.rpartition("/")[2]
    with open_store(where) as store:
        day_id = store.add_day(DAY)
    make_roles(postgres, name)
    postgres.run(roles_script(name), name)  # once more does no harm
    yard = Yard(postgres, name, day_id)
    with pytest.raises(StoreError, match="permission denied for table store_migrations"):
        open_store(yard.address(YardRole.WEIGHER))
    open_store(yard.address(YardRole.OWNER)).close()
    with open_store(yard.address(YardRole.WEIGHER)) as store:
        store.append(day_id, draft("k1"))
        assert store.history(day_id).faults == ()
    postgres.run(f'REVOKE INSERT ON links FROM PUBLIC; REVOKE INSERT ON links FROM "{name}_weigher"', name)
    open_store(yard.address(YardRole.OWNER)).close()
    with open_store(yard.address(YardRole.WEIGHER)) as store, store.database.reading() as connection:
        assert connection.execute(text("SELECT has_table_privilege('links', 'INSERT')")).scalar()


def test_whoever_is_in_no_role_is_not_let_in(yard: Yard) -> None:
    stranger = f"{yard.name}_stranger"
    yard.postgres.run(f'CREATE ROLE "{stranger}" LOGIN')
    with pytest.raises(StoreError, match="permission denied for database") as error:
        open_store(yard.postgres.address(yard.name, stranger))
    assert error.value.reason is Reason.UNREACHABLE


def test_the_command_prints_the_script() -> None:
    result = run("grant", "yard")
    assert (result.exit_code, result.stdout, result.stderr) == (0, roles_script("yard"), "")
    result = run("grant", "The Yard")
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr == (
        "the name of a database for several stations has 1 to 50 letters a-z, digits, - and _; 'The Yard' is not such "
        "a name\n"
    )


@pytest.mark.parametrize("name", ["", "Yard", "two words", 'a"b', "a$$b", "a'b", "y" * 51, "ä"])
def test_a_name_that_is_no_database_for_stations_is_refused(name: str) -> None:
    with pytest.raises(StoreError, match="the name of a database for several stations has 1 to 50 letters"):
        roles_script(name)


def test_the_script_for_another_database_makes_nothing(postgres: Cluster) -> None:
    with pytest.raises(psycopg.errors.RaiseException, match="makes the roles of another database than postgres"):
        postgres.run(roles_script("somewhere"))
    assert postgres.run("SELECT 1 FROM pg_roles WHERE rolname LIKE 'somewhere%'") == []
