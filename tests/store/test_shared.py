"""Several programs over one store: two who write at once, and programs of different versions side by side."""

from __future__ import annotations

import threading
from collections.abc import Callable, Generator

import pytest
from sqlalchemy import text

from steelyard import __version__
from steelyard.dayfile import parse_day
from steelyard.store import Reason, Store, StoreError, open_store
from steelyard.store import migrations as migrations_file
from steelyard.store.migrations import LOCK, STEPS, USABLE_FROM, Dialect
from tests.store.hands import Hands
from tests.store.postgres import Cluster
from tests.store.samples import DAY, OPEN, draft
from tests.store.test_migrations import as_form_1, older, recorded
from tests.studies import days
from tests.waiting import until

TURNS = days(100, 1000)
"""A turn in which both are let in loses an addition or gives two the same place; the first of them is found."""

FORM = len(STEPS)


@pytest.fixture(scope="module", name="hands")
def _hands() -> Generator[Hands, None, None]:
    hands = Hands()
    yield hands
    hands.close()


def has_all(store: Store, day_id: str, keys: set[str]) -> None:
    """Each addition is there once, in one order without a gap, and the chain fits."""
    kept = store.entries(day_id)
    assert len(kept) == len(keys)
    assert {entry.key for entry in kept} == keys
    assert [entry.seq for entry in kept] == list(range(1, len(kept) + 1))
    assert [entry.number for entry in kept] == list(range(2, len(kept) + 2))
    assert store.day(day_id).drafts == len(kept) + 1
    assert [item.key for item in parse_day(store.day_text(day_id), "out").drafts] == [
        "first",
        *(entry.key for entry in kept),
    ]
    assert store.history(day_id).faults == ()


# -- two who write at once -------------------------------------------------------------------------------------------


def test_of_two_who_saw_the_same_day_one_is_told_what_came_since(opened: OPEN) -> None:
    stores = {"desk": opened(), "phone": opened()}
    day_id = stores["desk"].add_day(DAY)
    together = threading.Barrier(2, timeout=60)
    told: dict[str, list[str]] = {"desk": [], "phone": []}
    errors: list[BaseException] = []

    def keep(name: str) -> None:
        store = stores[name]
        try:
            for turn in range(TURNS):
                together.wait()
                seq = store.day(day_id).seq
                together.wait()  # both saw the same day
                try:
                    store.append(day_id, draft(f"{name}-{turn}", device=name), expect=seq)
                except StoreError as error:
                    told[name].append(f"{error.reason}: {error}")
                    store.append(day_id, draft(f"{name}-{turn}", device=name), expect=store.day(day_id).seq)
        except BaseException as error:  # noqa: BLE001 - told below, in the thread that looks
            errors.append(error)
            together.abort()

    threads = [threading.Thread(target=keep, args=(name,)) for name in stores]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert errors == []
    assert len(told["desk"]) + len(told["phone"]) == TURNS  # one of the two in every turn
    for name, other in (("desk", "phone"), ("phone", "desk")):
        assert all(said.startswith("moved on: the day has ") for said in told[name])
        assert all(f" from {other}; look at it again before adding to it" in said for said in told[name])
    has_all(stores["desk"], day_id, {f"{name}-{turn}" for name in stores for turn in range(TURNS)})


def test_processes_that_write_at_once_lose_nothing(where: str, hands: Hands) -> None:
    with open_store(where) as store:
        day_id = store.add_day(DAY)
        job = {"do": "keep", "where": where, "day": day_id, "turns": TURNS // 5}
        answers = hands.at_once([job | {"name": name} for name in ("a", "b", "c")])
        assert all(answer.keys() == {"moved"} for answer in answers), answers
        has_all(store, day_id, {f"{name}-{turn}" for name in "abc" for turn in range(TURNS // 5)})


# -- several that start at once --------------------------------------------------------------------------------------


def begins(where: str, day: str | None, *forms: int | None) -> list[dict[str, object]]:
    return [
        {"do": "begin", "where": where, "day": day, "name": f"s{at}", "form": form} for at, form in enumerate(forms)
    ]


def test_several_programs_start_on_an_empty_store_at_once(where: str, hands: Hands) -> None:
    answers = hands.at_once(begins(where, None, None, None, None, None))
    assert [answer.get("kept") for answer in answers] == ["s0", "s1", "s2", "s3"], answers
    with open_store(where) as store:
        assert [name for _, name, _ in recorded(store)] == [name for name, _ in STEPS]


def test_programs_of_different_versions_start_on_an_old_store_at_once(
    where: str, hands: Hands, monkeypatch: pytest.MonkeyPatch
) -> None:
    chained = [name for name, _ in STEPS].index("links") + 1
    older(chained - 1, monkeypatch)
    with open_store(where) as store:
        as_form_1(store)
    monkeypatch.undo()
    answers = hands.at_once(begins(where, "abcdefghjk", chained, None, chained + 1, None, None))
    for answer, newest in zip(answers, (False, True, False, True, True), strict=True):
        # an older one is refused, or had kept its draft before a newer one came
        assert "kept" in answer or (not newest and answer["refused"] == Reason.NEWER), answers
        assert "kept" in answer or "version" in answer["message"]
    with open_store(where) as store:
        kept = {entry.key for entry in store.entries("abcdefghjk")}
        assert kept == {"k1", *(answer["kept"] for answer in answers if "kept" in answer)}
        assert store.history("abcdefghjk").faults == ()
        assert len(recorded(store)) == FORM


# -- a newer program beside an older one -----------------------------------------------------------------------------


def with_steps(monkeypatch: pytest.MonkeyPatch, marks: dict[str, int], **steps: list[str]) -> None:
    """Be a newer program, which knows these steps too."""

    def step(statements: list[str]) -> Callable[[Dialect], list[str]]:
        return lambda _: statements

    more = tuple((name, step(statements)) for name, statements in steps.items())
    monkeypatch.setattr(migrations_file, "STEPS", (*STEPS, *more))
    monkeypatch.setattr(migrations_file, "USABLE_FROM", {**USABLE_FROM, **marks})


ADDS = "ALTER TABLE entries ADD COLUMN who TEXT NOT NULL DEFAULT ''"
QUICKER = "CREATE INDEX days_by_title ON days (title)"


def test_a_program_that_runs_while_a_newer_one_changes_the_form_keeps_nothing_more(
    where: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    with open_store(where) as running:
        day_id = running.add_day(DAY)
        running.append(day_id, draft("k1"))
        with_steps(monkeypatch, {}, later=[ADDS])
        with open_store(where) as newer:
            before = running.day_text(day_id)
            for write in (
                lambda: running.append(day_id, draft("k2")),
                lambda: running.add_day(DAY),
                lambda: running.secret("new", lambda: b"x"),
            ):
                with pytest.raises(StoreError) as error:
                    write()
                assert error.value.reason is Reason.NEWER
                assert str(error.value) == (
                    f"the store {running.where}: was brought to form {FORM + 1} by a later state of version "
                    f"{__version__} than this one, while this program was running, which knows form {FORM} and keeps "
                    "nothing more there; what was kept is in the store, start the newer version here"
                )
            assert running.day_text(day_id) == before == newer.day_text(day_id)
            newer.append(day_id, draft("k2"))
            has_all(newer, day_id, {"k1", "k2"})


def test_what_an_older_program_cannot_read_any_more_is_said(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_store(where) as running:
        running.add_day(DAY)
        with_steps(monkeypatch, {}, later=["ALTER TABLE days RENAME COLUMN title TO named"])
        open_store(where).close()
        with pytest.raises(StoreError) as error:
            running.list_days()
    assert error.value.reason is Reason.NEWER
    assert str(error.value) == (
        f"the store {running.where}: was brought to form {FORM + 1} by a later state of version {__version__} than "
        "this one; start the newer version here"
    )


def test_a_form_that_only_adds_is_used_by_older_programs(where: str, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_store(where) as running:
        day_id = running.add_day(DAY)
        with_steps(monkeypatch, {"quicker": FORM, "shorter": FORM}, quicker=[QUICKER], shorter=[])
        with open_store(where) as newer:
            assert len(recorded(newer)) == FORM + 2
            running.append(day_id, draft("k1"))
            newer.append(day_id, draft("k2"))
            monkeypatch.undo()
            with open_store(where) as begun_later:
                begun_later.append(day_id, draft("k3"))
            with_steps(monkeypatch, {"quicker": FORM, "shorter": FORM}, quicker=[QUICKER], shorter=[], later=[ADDS])
            open_store(where).close()
            with pytest.raises(StoreError) as error:
                running.append(day_id, draft("k4"))
            assert error.value.reason is Reason.NEWER
        monkeypatch.undo()
        with pytest.raises(StoreError, match=f"its form is {FORM + 3}, this version knows {FORM}; nothing was changed"):
            open_store(where)
        has_all(running, day_id, {"k1", "k2", "k3"})


def test_the_marks_name_steps_that_leave_every_row_as_older_programs_write_it() -> None:
    numbers = {name: number for number, (name, _) in enumerate(STEPS, 1)}
    assert set(USABLE_FROM) <= set(numbers)
    for name, oldest in USABLE_FROM.items():
        assert numbers["marks"] <= oldest < numbers[name]
    for name in USABLE_FROM:
        for dialect in migrations_file._DIALECTS.values():
            for statement in dict(STEPS)[name](dialect):
                assert isinstance(statement, str)
                assert statement.startswith(("CREATE INDEX", "CREATE FUNCTION", "CREATE TRIGGER")), statement


def test_a_newer_program_waits_for_whoever_is_writing(postgres: Cluster, monkeypatch: pytest.MonkeyPatch) -> None:
    where = postgres.new_database()
    database = where.rpartition("/")[2]
    with open_store(where) as running:
        day_id = running.add_day(DAY)
        with_steps(monkeypatch, {}, later=[ADDS])
        newer: list[Store] = []
        upgrade = threading.Thread(target=lambda: newer.append(open_store(where)))
        with running.database.writing() as connection:
            upgrade.start()
            waiting = (
                f"SELECT 1 FROM pg_locks JOIN pg_database ON pg_database.oid = database WHERE locktype = 'advisory' "
                f"AND objid = {LOCK} AND NOT granted AND datname = '{database}'"
            )
            until(lambda: bool(postgres.run(waiting)), "the newer program to wait")
            connection.execute(text("UPDATE days SET title = 'written to the end'"))
        upgrade.join()
        with newer[0] as store:
            assert store.day(day_id).title == "written to the end"
            assert len(recorded(store)) == FORM + 1
        with pytest.raises(StoreError, match="while this program was running"):
            running.append(day_id, draft("k1"))
