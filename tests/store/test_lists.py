"""Days get other titles, and days and things of the yard are put away and brought back; nothing of them is lost."""

from __future__ import annotations

from pathlib import Path

import pytest
from sqlalchemy import select, text

from steelyard.dayfile import Part, parse_day
from steelyard.store import Away, DayEntry, Listed, Reason, Shelf, Store, StoreError, open_store
from steelyard.store.schema import PUT_AWAY
from tests.store.samples import DAY, OPEN, draft, title
from tests.store.test_cost import steps


def ids(store: Store, away: Away = Away.WITHOUT) -> list[str]:
    return [day.id for day in store.list_days(away=away)]


def found(store: Store, typed: str, away: Away = Away.WITHOUT) -> list[str]:
    return [day.id for day in store.search_days(typed, away=away).days]


def test_a_day_that_was_put_away_is_in_no_list_and_comes_back(opened: OPEN) -> None:
    store = opened()
    one, two, three = (store.add_day(DAY) for _ in range(3))
    before = store.history(two)
    assert store.put_away(Listed.DAY, two, device="phone")
    assert not store.put_away(Listed.DAY, two, device="tablet")
    for again in (store, opened()):
        assert ids(again) == found(again, "ferry") == found(again, "ferry landing") == [three, one]
        assert ids(again, Away.WITH) == found(again, "ferry", Away.WITH) == [three, two, one]
        assert ids(again, Away.ONLY) == found(again, "ferry", Away.ONLY) == [two]
        assert [(away.name, away.device) for away in again.away(Listed.DAY)] == [(two, "phone")]
    assert store.append(two, draft("k1")).seq == 1  # its address stays, and what a phone still had goes in
    assert (store.history(two).faults, store.history(two).items[0]) == ((), before.items[0])
    assert store.day(two).drafts == 2
    assert two in {day.id for day in store.texts()}
    assert store.bring_back(Listed.DAY, two, device="tablet")
    assert not store.bring_back(Listed.DAY, two)
    assert ids(store) == found(store, "ferry") == [three, two, one]
    assert store.away(Listed.DAY) == ()


def test_who_put_what_away_and_brought_it_back_stays_on_record(store: Store) -> None:
    store.save(Shelf.VEHICLE, "van", "text")
    for device in ("phone", "tablet"):
        store.put_away(Listed.VEHICLE, "van", device=device)
        store.bring_back(Listed.VEHICLE, "van", device=f"other {device}")
    with store.database.reading() as connection:
        rows = connection.execute(select(PUT_AWAY).order_by(PUT_AWAY.c.number)).all()
    assert [(row.kind, row.name, row.number, row.device, row.back_device) for row in rows] == [
        ("vehicle", "van", 1, "phone", "other phone"),
        ("vehicle", "van", 2, "tablet", "other tablet"),
    ]
    assert all(row.since <= row.back for row in rows)
    assert store.shelf(Shelf.VEHICLE)[0].text == "text"


def test_what_is_not_there_cannot_be_put_away(store: Store) -> None:
    store.save(Shelf.VEHICLE, "van", "text")
    for kind, name, reason, said in (
        (Listed.DAY, "nosuchday2", Reason.NO_SUCH_DAY, "there is no day 'nosuchday2'"),
        (Listed.INSTRUMENT, "van", Reason.NOT_IN_THE_YARD, "the yard has no instrument 'van'"),
        (Listed.VEHICLE, "\0", Reason.NOT_IN_THE_YARD, "the yard has no vehicle of that name"),
    ):
        for work in (store.put_away, store.bring_back):
            with pytest.raises(StoreError) as error:
                work(kind, name)
            assert (error.value.reason, str(error.value)) == (reason, said)


def test_a_later_title_is_shown_and_the_earlier_ones_stay(opened: OPEN) -> None:
    store = opened()
    day_id = store.add_day(DAY)
    store.append(day_id, title("t1", "Big blue", device="phone"))
    assert store.append(day_id, title("t2", "Quarry 🚚")).number == 2
    assert store.append(day_id, title("t2", "Something else")).replay
    for again in (store, opened()):
        assert again.day(day_id).title == again.list_days()[0].title == again.history(day_id).title == "Quarry 🚚"
        for word in ("ferry", "quarry", "big"):
            assert found(again, word) == [day_id], word
        assert again.search_days("quarry").days[0].title == "Quarry 🚚"
        assert again.history(day_id).faults == ()
    day = parse_day(store.day_text(day_id), "out")
    assert (day.title, day.earlier_titles) == ("Quarry 🚚", ("Ferry landing", "Big blue"))
    assert store.day_text(day_id).startswith(DAY)


def test_titles_that_came_with_the_file_are_counted(store: Store) -> None:
    day_id = store.add_day(DAY + '[[titles]]\ntitle = "Second"\n[[titles]]\ntitle = "Third"\n')
    assert store.day(day_id).title == "Third"
    assert store.append(day_id, title("t1", "Fourth")).number == 3
    assert store.day(day_id).title == "Fourth"


@pytest.mark.parametrize("said", ["title = 3", 'title = ""', f'title = "{"x" * 201}"', 'title = "a\\nb"', 'name = "x"'])
def test_what_is_no_title_is_refused(store: Store, said: str) -> None:
    day_id = store.add_day(DAY)
    with pytest.raises(StoreError) as error:
        store.append(day_id, DayEntry(Part.TITLE, "t1", f"[[titles]]\n{said}\n"))
    assert (error.value.reason, str(error.value)) == (
        Reason.REFUSED,
        "a title has 1 to 200 letters that can be printed",
    )
    assert store.day_text(day_id) == DAY


def test_a_page_of_days_costs_the_same_whatever_was_put_away_before_it(tmp_path: Path) -> None:
    with open_store(tmp_path / "days.sqlite") as store:
        days = [store.add_day(DAY) for _ in range(40)]
        few = steps(store, lambda: store.list_days(10))
        with store.database.writing() as connection:
            rows = [{"name": f"gone{number}", "since": "2026-05-14T00:00:00+00:00"} for number in range(3000)]
            values = "('day', :name, 1, :since, '')"
            connection.execute(text(f"INSERT INTO put_away (kind, name, number, since, device) VALUES {values}"), rows)
        for day in days[:20]:  # older than those of the page
            store.put_away(Listed.DAY, day)
        assert steps(store, lambda: store.list_days(10)) <= few * 1.2
        assert len(store.list_days(50)) == 20
