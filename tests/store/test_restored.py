"""A store in PostgreSQL comes back whole from a dump, also one that an older program left; as the documents say."""

from __future__ import annotations

from pathlib import Path

import pytest

from steelyard.store import DeviceRole, KeptSeal, Listed, Shelf, YardRole, open_store
from steelyard.store.migrations import STEPS
from steelyard.store.schema import METADATA
from tests.cli.days import run
from tests.store.postgres import DUMP, RESTORE, Cluster, dump, restore
from tests.store.samples import DAY, ROOT, draft, photograph, title
from tests.store.test_beside import JPEG, digest
from tests.store.test_migrations import as_form_1, older, recorded
from tests.store.test_roles import Yard, make_roles


def rows(postgres: Cluster, where: str) -> dict[str, list[tuple[object, ...]]]:
    """Everything that is in the tables of a store."""
    name = where.rpartition("/")[2]
    return {table: sorted(postgres.run(f"SELECT * FROM {table}", name), key=repr) for table in METADATA.tables}


def filled(where: str) -> str:
    """A store with something of everything; its day."""
    with open_store(where) as store:
        day_id = store.add_day(DAY.replace("\n", "\r\n"))
        store.append(day_id, draft("k1", device="phone"))
        store.append(day_id, photograph("p1", "k1", JPEG), picture=JPEG)
        store.keep_log(day_id, "log", "a,b\n1,2\n", about={"state": "solo"})
        store.append(day_id, title("t1", "Ferry landing, morning"))
        seal = KeptSeal(3, "weigher", store.head(day_id).digest, bytes(range(256)), b'{"findings": []}')
        store.keep_seal(day_id, seal)
        store.save(Shelf.VEHICLE, "van", "½ van", learned={"mass": 1.5})
        store.put_away(Listed.VEHICLE, "van")
        store.add_device("phone", DeviceRole.WEIGH, "hash")
        store.secret("cookies", lambda: b"\0\1hush")
        return day_id


def test_a_restored_store_is_the_one_that_was_dumped(postgres: Cluster, tmp_path: Path) -> None:
    where, anew = postgres.new_database(), postgres.new_database()
    day_id = filled(where)
    before = rows(postgres, where)
    assert all(before[name] for name in METADATA.tables if name not in ("photos", "rule_choices"))
    dump(where, tmp_path / "yard.dump")
    restore(tmp_path / "yard.dump", anew)
    assert rows(postgres, anew) == before
    with open_store(where) as old, open_store(anew) as new:
        assert new.day_text(day_id) == old.day_text(day_id)
        assert new.picture(day_id, digest(JPEG)) == JPEG
        assert new.seal(day_id, 1) == old.seal(day_id, 1)
        assert new.history(day_id) == old.history(day_id)
        assert new.history(day_id).faults == ()
        assert new.append(day_id, draft("k2")).seq == 4  # and it goes on, with days of new numbers
        assert new.add_day(DAY) in {day.id for day in new.list_days()}
    found = run("history", day_id, "--store", anew)
    assert found.exit_code == 0, found.output


def test_a_dump_of_an_older_program_is_brought_up(
    postgres: Cluster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    where, anew = postgres.new_database(), postgres.new_database()
    older([name for name, _ in STEPS].index("links"), monkeypatch)
    with open_store(where) as store:
        as_form_1(store)
    dump(where, tmp_path / "yard.dump")
    monkeypatch.undo()
    restore(tmp_path / "yard.dump", anew)
    with open_store(anew) as store:
        assert len(recorded(store)) == len(STEPS)
        assert store.day_text("abcdefghjk") == f"{DAY}\n{draft('k1').text}"
        assert store.append("abcdefghjk", draft("k2")).seq == 2
        assert store.history("abcdefghjk").faults == ()


def test_the_roles_are_made_anew_where_the_dump_came_from_another_server(postgres: Cluster, tmp_path: Path) -> None:
    name, anew = (postgres.new_database().rpartition("/")[2] for _ in range(2))
    make_roles(postgres, name)
    day_id = filled(Yard(postgres, name, "").address(YardRole.OWNER))
    dump(postgres.address(name), tmp_path / "yard.dump")
    restore(tmp_path / "yard.dump", postgres.address(anew), "--no-owner", "--no-acl")
    make_roles(postgres, anew)
    yard = Yard(postgres, anew, day_id)
    open_store(yard.address(YardRole.OWNER)).close()
    with open_store(yard.address(YardRole.WEIGHER)) as store:
        store.append(day_id, draft("k2"))
        assert store.history(day_id).faults == ()
    with open_store(yard.address(YardRole.READER)) as store:
        assert store.day(day_id).drafts == 3


def test_the_documents_dump_and_restore_as_is_tested_here() -> None:
    page = (ROOT / "docs" / "how-to" / "many" / "shared-yard.md").read_text(encoding="utf-8")
    assert f"\n{' '.join(DUMP)} --file=yard.dump --dbname=postgresql://" in page
    assert f"\n{' '.join(RESTORE)} --dbname=postgresql://" in page
    assert f"\n{' '.join(RESTORE)} --no-owner --no-acl --dbname=postgresql://" in page
