"""Days are found by words and dates, newest first; what a search reads does not grow with the store."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import select, text

from steelyard.dayfile import Part, parse_day
from steelyard.store import DayEntry, FoundDays, Reason, Store, StoreError, open_store, read_store, search
from steelyard.store.beginnings import (
    LONGEST,
    beginnings_of,
    terms_of,
    vehicles_and_dates,
    vehicles_and_dates_of_text,
)
from steelyard.store.schema import DAYS, NAMES, TEXTS, WORDS
from tests.store import many
from tests.store.samples import DAY, FILES
from tests.store.test_cost import statements, steps
from tests.studies import days

TRAILER = """\
[vehicles.stage]
role = "trailer"
name = "Bühnenwagen"
[[vehicles.stage.axles]]
x = "100 in"
track = "64 in"
"""


def titles(found: FoundDays) -> list[str]:
    return [day.title for day in found.days]


@pytest.fixture(name="yard")
def _yard(store: Store) -> Store:
    """Six days; the third was weighed on another date than it was begun."""
    for title in ("Ferry landing", "Quarry gate", "Café Übergang", "Ferry, second run", "STRASSE 12", "Straße 14"):
        text_ = DAY.replace("Ferry landing", title)
        store.add_day(f"{text_}\n[record]\ndate = 2024-02-29\n" if "Caf" in title else text_)
    return store


def test_words_are_found_by_their_beginnings_newest_first(yard: Store) -> None:
    for typed, found in {
        "ferry": ["Ferry, second run", "Ferry landing"],
        "FERR": ["Ferry, second run", "Ferry landing"],
        "run  Ferry": ["Ferry, second run"],
        "erry": [],
        "ferries": [],
        "cafe ubergang": ["Café Übergang"],
        unicodedata.normalize("NFD", "Übergang"): ["Café Übergang"],
        "strasse": ["Straße 14", "STRASSE 12"],
        "straße 12": ["STRASSE 12"],
        "2024-02-29": ["Café Übergang"],
        "2024-02": ["Café Übergang"],
        "2024-03": [],
        "2024-02-29 quarry": [],
    }.items():
        assert titles(yard.search_days(typed)) == found, typed
    assert len(yard.search_days("van").days) == 6
    begun = f"{yard.list_days(1)[0].created:%Y-%m-%d}"
    assert len(yard.search_days(begun).days) == len(yard.search_days(begun[:7]).days) == 6
    for nothing in ("", "  ", "!?", "\0", "\ud800", "%", "_", "' OR 1=1 --", "zeppelin"):
        assert yard.search_days(nothing) == FoundDays((), None), ascii(nothing)
    assert yard.search_days("ferry", 0).days == ()
    assert titles(yard.search_days("ferry" * 40)) == []


def test_pages_follow_each_other(yard: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    everything = [day.id for day in yard.list_days()]
    for most in (2_000, 2, 1):  # with one word nothing is looked at in vain, however few are looked at
        monkeypatch.setattr(search, "LOOKED_AT", most)
        found, page = list[str](), yard.search_days("van", 4)
        while True:
            found += [day.id for day in page.days]
            assert page.back_to is None
            if page.more is None:
                break
            page = yard.search_days("van", 4, page.more)
        assert found == everything
    with pytest.raises(StoreError, match="there is no day 'nosuchday'"):
        yard.search_days("van", before="nosuchday")


def test_a_search_that_stops_says_where_and_goes_on(yard: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "LOOKED_AT", 2)
    days = yard.list_days()
    first = yard.search_days("van st")
    assert titles(first) == ["Straße 14", "STRASSE 12"]
    assert (first.more, first.back_to) == (days[1].id, days[1].created)
    # of 'landing' there is one day: fewer than are looked at, so that all are
    assert yard.search_days("van landing") == FoundDays((days[5],), None)
    monkeypatch.setattr(search, "LOOKED_AT", 1)
    pages, page = 1, yard.search_days("van second")
    while page.more is not None:
        pages, page = pages + 1, yard.search_days("van second", before=page.more)
    assert 1 < pages <= 7


def test_a_vehicle_that_comes_later_is_found(store: Store) -> None:
    day = store.add_day(DAY)
    assert store.search_days("buhnen").days == ()
    store.append(day, DayEntry(Part.VEHICLE, "v", TRAILER))
    assert [found.id for found in store.search_days("buhnen stage van").days] == [day]


def older_program(store: Store) -> str:
    """A day as a program keeps it that knows no search."""
    day = store.add_day(DAY)
    with store.database.writing() as connection:
        number = connection.execute(select(DAYS.c.number).where(DAYS.c.id == day)).scalar_one()
        connection.execute(WORDS.delete().where(WORDS.c.day == number))
        connection.execute(DAYS.update().where(DAYS.c.number == number).values(searched=0))
    return day


def test_days_of_an_older_program_are_found_too(where: str, opened: Callable[[], Store]) -> None:
    store = opened()
    days = [older_program(store) for _ in range(3)]
    with read_store(where) as reader:  # who may only read goes without
        assert reader.search_days("ferry").days == ()
    assert [day.id for day in store.search_days("ferry").days] == days[::-1]
    late = older_program(store)
    assert not opened().ready_search()  # opening made it ready
    assert [day.id for day in store.search_days("ferry", 1).days] == [late]


def test_both_ways_to_what_a_day_is_found_by_agree() -> None:
    for path in FILES:
        text_ = path.read_text(encoding="utf-8")
        names, dates = vehicles_and_dates(parse_day(text_, "day"))
        assert vehicles_and_dates_of_text(text_) == (names, dates), path.name
    assert vehicles_and_dates_of_text("= no toml") == ([], [])
    assert vehicles_and_dates_of_text('vehicles = 3\ndrafts = "x"\nrecord = [1]') == ([], [])


def test_what_a_day_is_found_by_is_bounded() -> None:
    word = "a" * 300
    assert terms_of(word) == ("a" * LONGEST,)
    assert len(terms_of(" ".join(map(chr, range(97, 117))))) == 8
    assert len(beginnings_of(" ".join(f"w{number:05d}" for number in range(1000)), (word,), ())) < 60 * LONGEST
    assert beginnings_of("", ("pad", "path"), ("2026-05-14",)) == [
        *("2026", "2026-05", "2026-05-14", "p", "pa", "pad", "pat", "path"),
    ]


def test_the_bulk_form_of_many_days_is_that_of_the_store(tmp_path: Path) -> None:
    """What ``many`` writes is what the store would have kept: only names and times of the days differ."""
    with open_store(tmp_path / "bulk.sqlite") as bulk, open_store(tmp_path / "each.sqlite") as each:
        many.fill(bulk, 8, plans=False)
        for number in range(1, 9):
            each.append(each.add_day(many.text_of(number)), many.draft("later", device="phone"))
        for store in (bulk, each):
            assert all(store.history(day.id).faults == () for day in store.list_days())
        for table, apart in ((DAYS, {"id", "created", "changed", "head"}), (TEXTS, ()), (NAMES, ())):
            columns = [column for column in table.columns if column.name not in apart]
            rows = []
            for store in (bulk, each):
                with store.database.reading() as connection:
                    rows.append(connection.execute(select(*columns).order_by(*table.primary_key.columns)).all())
            assert rows[0] == rows[1]
        for typed in ("van", "ferry", "rig 000003", "fleet"):
            assert titles(bulk.search_days(typed)) == titles(each.search_days(typed))


COUNT = days(3_000, 100_000)


@pytest.fixture(scope="module", name="sizes")
def _sizes(tmp_path_factory: pytest.TempPathFactory) -> tuple[Store, Store]:
    """A store of ten days, and one of many."""
    made = []
    for count in (10, COUNT):
        made.append(open_store(tmp_path_factory.mktemp("sizes") / "days.sqlite"))
        many.fill(made[-1], count)
    return made[0], made[1]


SEARCHES = ("ferry", "rig 000007", "van ferry", "2016-01", "zeppelin")


def test_a_search_reads_no_more_in_a_larger_store(sizes: tuple[Store, Store], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(search, "LOOKED_AT", 50)
    few, large = sizes
    for typed in SEARCHES:
        least = steps(few, lambda typed=typed: few.search_days(typed, 10))
        # the larger has results to read where the smaller has one or none; a row is some hundred instructions
        assert steps(large, lambda typed=typed: large.search_days(typed, 10)) <= least + 10 * 250, typed
    assert COUNT > 10 * 250  # so that one look at every day would be too many
    assert steps(large, lambda: large.search_days("van hauler", 10)) < 50 * 60  # no day has both: so many are looked at


def test_the_pages_of_a_large_store_use_its_indices(sizes: tuple[Store, Store]) -> None:
    _, large = sizes
    middle = large.list_days(COUNT)[COUNT // 2].id
    asked = list[str]()
    for job in (
        lambda: large.list_days(30),
        lambda: large.list_days(30, before=middle),
        lambda: large.days_with_vehicle("van", 12),
        lambda: large.search_days("van ferry", 30),
        lambda: large.search_days("ferry", 30, middle),
        lambda: large.day(middle),
        lambda: large.day_text(middle),
    ):
        asked += statements(large, job)
    with large.database.engine.connect() as connection:
        plain = connection.connection.driver_connection
        assert plain is not None
        for statement in asked:
            if statement.startswith("SELECT"):
                marks = statement.count("?")
                plan = plain.execute(f"EXPLAIN QUERY PLAN {statement}", [1] * marks).fetchall()
                steps_ = [str(row[-1]) for row in plan]
                assert not [step for step in steps_ if "TEMP B-TREE" in step], (statement, steps_)
                # the list of days itself goes through its table from its end, and stops
                scans = [step for step in steps_ if step.startswith("SCAN") and "store_migrations" not in step]
                assert scans in ([], ["SCAN days"], ["SCAN anon_1"], ["SCAN days USING INDEX days_not_searched"]), (
                    statement,
                    steps_,
                )


def test_an_unready_day_is_sought_in_an_index(store: Store) -> None:
    store.add_day(DAY)
    (asked,) = [one for one in statements(store, store.ready_search) if "searched" in one]
    with store.database.reading() as connection:
        if connection.dialect.name == "sqlite":
            plan = connection.execute(text(f"EXPLAIN QUERY PLAN {asked.replace('?', '1')}")).all()
            assert "days_not_searched" in str(plan)


def test_a_store_that_will_not_write_still_finds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_store(tmp_path / "days.sqlite") as store:
        day = store.add_day(DAY)
        older_program(store)

        def busy(*_: object) -> int:
            raise StoreError(Reason.BUSY, "held by another program")

        monkeypatch.setattr(search, "catch_up", busy)
        assert [found.id for found in store.search_days("ferry").days] == [day]
