"""Days go in and come out exactly, and grow by additions that are kept once, in order, whoever makes them."""

from __future__ import annotations

import datetime
import threading
from pathlib import Path
from typing import Any

import pytest

from steelyard.dayfile import (
    LARGEST,
    DayFileError,
    Part,
    parse_day,
    read_cargo,
    read_correction,
    read_day,
    read_draft,
    read_state,
    with_cargo,
    with_correction,
    with_draft,
    with_state,
    write_cargo,
    write_correction,
    write_draft,
    write_state,
)
from steelyard.store import Appended, DayEntry, Reason, Store, StoreError
from steelyard.units import UNITS
from tests.store.samples import DAY, FILES, HEAD, OPEN, ROOT, cargo, correction, draft, state

NOON = datetime.datetime(2026, 5, 14, 12, 0, 0, 250_000, datetime.timezone(datetime.timedelta(hours=-3, minutes=-30)))
OTHER_TITLE = DAY.replace("title", "# ", 1)


def refusal(error: pytest.ExceptionInfo[StoreError]) -> tuple[Reason, str]:
    return error.value.reason, str(error.value)


def test_a_day_made_twice_under_one_key_is_one_day(opened: OPEN) -> None:
    """Who did not hear the answer asks again, from another opening of the store too; the first text stays."""
    day_id = opened().add_day(DAY, key="0f" * 16)
    assert opened().add_day(OTHER_TITLE, key="0f" * 16) == day_id
    assert opened().day_text(day_id) == DAY
    assert opened().add_day(DAY, key="1f" * 16) != day_id
    assert len(opened().list_days()) == 2


def test_many_who_send_one_key_at_once_make_one_day(opened: OPEN) -> None:
    store, made = opened(), list[str]()
    threads = [threading.Thread(target=lambda: made.append(store.add_day(DAY, key="k"))) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(made), len(set(made)), len(store.list_days())) == (6, 1, 1)


# -- in and out ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_a_file_comes_out_as_it_went_in_byte_for_byte(opened: OPEN, file: Path) -> None:
    data = file.read_bytes()
    day_id = opened().add_day(data.decode())
    assert opened().day_text(day_id).encode() == data


@pytest.mark.parametrize(
    "text",
    [
        DAY.rstrip("\n"),
        DAY.replace("\n", "\r\n"),
        "\ufeff" + DAY,
        DAY + "# an end without a newline, ½ and 🚚",
        HEAD + "drafts = []\n",
        HEAD + "states = { }\n",
    ],
    ids=["no newline", "carriage returns", "byte-order mark", "comment", "closed list", "closed table"],
)
def test_odd_texts_come_out_as_they_went_in(store: Store, text: str) -> None:
    day_id = store.add_day(text)
    assert store.day_text(day_id) == text


def test_additions_stand_at_the_end_and_the_base_stays(store: Store) -> None:
    day_id = store.add_day(DAY.rstrip("\n"))
    for entry in (draft("k1"), state("k2", "empty"), draft("k3")):
        store.append(day_id, entry)
    blocks = [draft("k1").text, state("k2", "empty").text, draft("k3").text]
    assert store.day_text(day_id) == "\n".join([DAY, *blocks])


def test_a_grown_day_is_the_day_that_was_meant(store: Store) -> None:
    day_id = store.add_day(DAY)
    entries = [draft("k1", 1500), cargo("k2", "crate"), state("k3", "empty"), correction("k4", "k1", 1540), draft("k5")]
    for entry in entries:
        store.append(day_id, entry)
    day = parse_day(store.day_text(day_id), "out")
    assert [item.key for item in day.drafts] == ["first", "k1", "k5"]
    assert list(day.states) == ["solo", "empty"]
    assert list(day.cargo) == ["driver", "crate"]
    pounds = UNITS["lb"].factor
    assert [reading.value for reading in day.readings_of(day.drafts[1])] == [1540 * pounds]
    assert day.readings_of(day.drafts[1])[0].written == 1500 * pounds
    assert day.readings_of(day.drafts[1])[0].reason == "misread"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_every_known_file_can_grow(store: Store, file: Path) -> None:
    day = read_day(file)
    day_id = store.add_day(file.read_text(encoding="utf-8"))
    name = next(iter(day.vehicles))
    store.append(day_id, DayEntry(Part.STATE, "k", f'[states.later]\nvehicles = ["{name}"]\n'))
    grown = parse_day(store.day_text(day_id), "out")
    assert list(grown.states) == [*day.states, "later"]
    assert grown.drafts == day.drafts


@pytest.mark.parametrize(
    "closed",
    [
        DAY.partition("[[drafts]]")[0].replace(
            HEAD,
            HEAD + 'drafts = [{ key = "first", state = "solo", '
            'readings = { "van/1L" = ["p1", 1800], "van/1R" = ["p2", 1820] } }]\n',
        ),
        DAY.replace('[states.solo]\nvehicles = ["van"]\ncargo = ["driver"]\n', "").replace(
            HEAD, HEAD + 'states = { solo = { vehicles = ["van"], cargo = ["driver"] } }\n'
        ),
    ],
    ids=["drafts", "states"],
)
def test_a_closed_text_comes_out_exactly_until_it_has_to_grow(store: Store, closed: str) -> None:
    meant = parse_day(DAY, "meant")
    assert parse_day(closed, "closed") == meant
    day_id = store.add_day(closed)
    assert store.day_text(day_id) == closed
    assert store.append(day_id, draft("k1")) == Appended(1, replay=False, number=2)
    store.append(day_id, state("k2", "empty"))
    grown = parse_day(store.day_text(day_id), "out")
    assert [item.key for item in grown.drafts] == ["first", "k1"]
    assert grown.drafts[0] == meant.drafts[0]
    assert (grown.cargo, grown.vehicles, list(grown.states)) == (meant.cargo, meant.vehicles, ["solo", "empty"])


def test_what_is_no_weigh_day_is_not_kept(store: Store) -> None:
    with pytest.raises(DayFileError):
        store.add_day("format = 2\n")
    assert store.list_days() == ()


# -- replay and conflict ---------------------------------------------------------------------------------------------


def test_the_same_key_again_is_the_same_draft(store: Store) -> None:
    day_id = store.add_day(DAY)
    assert store.append(day_id, draft("k1", 1500)) == Appended(1, replay=False, number=2)
    assert store.append(day_id, draft("k2")) == Appended(2, replay=False, number=3)
    text = store.day_text(day_id)
    assert store.append(day_id, draft("k1", 9000)) == Appended(1, replay=True, number=2)
    assert store.day_text(day_id) == text
    assert store.find(day_id, Part.DRAFT, "k2") == Appended(2, replay=True, number=3)
    assert store.find(day_id, Part.DRAFT, "k9") is None


def test_a_draft_that_came_with_the_file_is_known_by_its_key(store: Store) -> None:
    day_id = store.add_day(DAY)
    assert store.append(day_id, draft("first")) == Appended(0, replay=True, number=1)
    assert store.find(day_id, Part.DRAFT, "first") == Appended(0, replay=True, number=1)
    assert store.day_text(day_id) == DAY


def test_keys_are_of_a_day_and_not_of_the_store(store: Store) -> None:
    one, other = store.add_day(DAY), store.add_day(DAY)
    assert not store.append(one, draft("k1")).replay
    assert not store.append(other, draft("k1")).replay


def test_a_key_of_another_kind_is_a_conflict(store: Store) -> None:
    day_id = store.add_day(DAY)
    store.append(day_id, draft("k1"))
    with pytest.raises(StoreError) as error:
        store.append(day_id, state("k1", "empty"))
    assert refusal(error) == (Reason.CONFLICT, "the key 'k1' belongs to one of drafts, not of states")


@pytest.mark.parametrize("entry", [state("k", "solo"), state("k", "empty"), cargo("k", "driver")])
def test_a_name_that_is_taken_is_a_conflict(store: Store, entry: DayEntry) -> None:
    day_id = store.add_day(DAY)
    store.append(day_id, state("before", "empty"))
    text = store.day_text(day_id)
    with pytest.raises(StoreError) as error:
        store.append(day_id, entry)
    name = entry.text.partition(".")[2].partition("]")[0]
    message = f"the day has the name {name!r} among its {entry.kind} already; choose another"
    assert refusal(error) == (Reason.CONFLICT, message)
    assert store.day_text(day_id) == text


def test_whoever_looked_too_early_is_told(store: Store) -> None:
    day_id = store.add_day(DAY)
    assert store.append(day_id, draft("k1"), expect=0).seq == 1
    with pytest.raises(StoreError) as error:
        store.append(day_id, draft("k2"), expect=0)
    message = "the day has 1 addition by now, not 0; since then came draft 2; look at it again before adding to it"
    assert refusal(error) == (Reason.MOVED_ON, message)
    assert store.append(day_id, draft("k1"), expect=0).replay
    assert store.append(day_id, draft("k2"), expect=1).seq == 2
    for entry in (draft("k3", device="phone"), state("k4", "empty"), correction("k5", "k1", 1540)):
        store.append(day_id, entry)
    with pytest.raises(StoreError) as error:
        store.append(day_id, draft("k6"), expect=1)
    assert str(error.value) == (
        "the day has 5 additions by now, not 1; since then came others, draft 4 from phone, state 2, correction 1; "
        "look at it again before adding to it"
    )
    store.append(day_id, draft("k7", device="this device"))  # whoever reads that sits at another one
    with pytest.raises(StoreError, match="since then came draft 5 from the station's own machine; "):
        store.append(day_id, draft("k8"), expect=5)


def test_a_day_that_is_not_there_is_said(store: Store) -> None:
    missing = "zzzzzzzzzz"
    for ask in (
        lambda: store.day_text(missing),
        lambda: store.day(missing),
        lambda: store.entries(missing),
        lambda: store.append(missing, draft("k")),
        lambda: store.find(missing, Part.DRAFT, "k"),
        lambda: store.list_days(before=missing),
    ):
        with pytest.raises(StoreError) as error:
            ask()
        assert refusal(error) == (Reason.NO_SUCH_DAY, "there is no day 'zzzzzzzzzz'")
    with pytest.raises(StoreError) as error:
        store.day("x" * 1000)
    assert str(error.value) == "there is no day that name"


REFUSED = {
    "no key": (DayEntry(Part.DRAFT, "", draft("").text), "a key has 1 to 200 letters that can be printed"),
    "an endless key": (draft("k" * 201), "a key has 1 to 200 letters that can be printed"),
    "a key that cannot be printed": (draft("a\x07b"), "a key has 1 to 200 letters that can be printed"),
    "another key in the text": (
        DayEntry(Part.DRAFT, "k2", draft("k1").text),
        "the draft does not carry its key, 'k2', in its text",
    ),
    "another kind": (
        DayEntry(Part.CARGO, "k", state("k", "s").text),
        "the addition is of states, not of cargo",
    ),
    "two at once": (
        DayEntry(Part.DRAFT, "k1", draft("k1").text + draft("k2").text),
        "the addition cannot stand in a weigh-day file: is not one draft, correction, state, cargo or the like",
    ),
    "two kinds at once": (
        DayEntry(Part.DRAFT, "k1", draft("k1").text + state("k1", "s").text),
        "the addition cannot stand in a weigh-day file: is not one draft, correction, state, cargo or the like",
    ),
    "half a block": (
        DayEntry(Part.DRAFT, "k1", draft("k1").text[:-4]),
        (
            "the addition cannot stand in a weigh-day file: line 4: "
            'readings = { "van/2L" = ["p1", 1500: is not valid TOML: a list is not closed before this; '
            "it ends with ] and has commas between its members"
        ),
    ),
    "endless": (
        DayEntry(Part.DRAFT, "k1", draft("k1").text + "#" * 64_000),
        "an addition has at most 64000 bytes; this has 64076",
    ),
}


@pytest.mark.parametrize(("entry", "message"), REFUSED.values(), ids=REFUSED.keys())
def test_what_would_break_the_file_is_refused(store: Store, entry: DayEntry, message: str) -> None:
    day_id = store.add_day(DAY)
    with pytest.raises(StoreError) as error:
        store.append(day_id, entry)
    assert refusal(error) == (Reason.REFUSED, message)
    assert store.day_text(day_id) == DAY


def test_a_day_cannot_grow_beyond_what_can_be_read(store: Store) -> None:
    filler = "# " + "x" * 97 + "\n"
    room = LARGEST - len(DAY) - len(draft("k1").text) - 2
    day_id = store.add_day(DAY + filler * (room // len(filler)))
    left = room % len(filler)
    assert left < 98
    assert store.append(day_id, draft("k1")).seq == 1
    with pytest.raises(StoreError) as error:
        store.append(day_id, draft("k2"))
    assert refusal(error) == (Reason.DAY_FULL, "the day is full: a weigh day has at most 8 MB and 10000 drafts")
    assert len(store.day_text(day_id).encode()) <= LARGEST
    assert store.append(day_id, draft("k1")).replay


# -- history and lists -----------------------------------------------------------------------------------------------


def test_the_history_says_who_and_when(store: Store) -> None:
    before = datetime.datetime.now(datetime.UTC) - datetime.timedelta(seconds=1)
    day_id = store.add_day(DAY)
    store.append(day_id, draft("k1", device="tablet ½", at=NOON))
    store.append(day_id, correction("k2", "k1", 1540))
    one, two = store.entries(day_id)
    assert (one.seq, one.kind, one.key, one.number, one.device, one.at) == (1, Part.DRAFT, "k1", 2, "tablet ½", NOON)
    assert one.text == draft("k1").text
    assert (two.seq, two.kind, two.number, two.device, two.at) == (2, Part.CORRECTION, 1, "", None)
    assert before <= one.received <= two.received <= datetime.datetime.now(datetime.UTC)
    assert store.entries(day_id, after=1) == (two,)
    assert store.entries(day_id, after=2) == store.entries(day_id, after=10**30) == ()
    assert store.entries(day_id, after=-(10**30)) == (one, two)


def test_the_list_has_the_newest_first_and_goes_on_from_anywhere(store: Store) -> None:
    ids = [store.add_day(DAY, title=f"day {number}") for number in range(7)]
    assert [day.title for day in store.list_days(3)] == ["day 6", "day 5", "day 4"]
    assert [day.id for day in store.list_days(3, before=ids[4])] == [ids[3], ids[2], ids[1]]
    assert [day.id for day in store.list_days(3, before=ids[0])] == []
    assert [day.id for day in store.list_days(10**30)] == ids[::-1]
    assert store.list_days(-1) == store.list_days(0) == ()


def test_a_line_of_the_list_counts_along(store: Store) -> None:
    day_id = store.add_day(DAY)
    first = store.day(day_id)
    assert (first.title, first.drafts, first.seq, first.created) == ("Ferry landing", 1, 0, first.changed)
    store.append(day_id, draft("k1"))
    store.append(day_id, state("k2", "empty"))
    later = store.day(day_id)
    assert (later.drafts, later.seq, later.created) == (2, 2, first.created)
    assert later.changed >= first.changed
    assert store.list_days() == (later,)
    assert store.snapshot(day_id).seq == 2


def test_days_of_the_same_vehicle_are_found(store: Store) -> None:
    other = DAY.replace("van", "hauler")
    ids = [store.add_day(text) for text in (DAY, other, DAY)]
    assert [day.id for day in store.days_with_vehicle("van")] == [ids[2], ids[0]]
    assert [day.id for day in store.days_with_vehicle("van", 1)] == [ids[2]]
    assert store.days_with_vehicle("driver") == ()


# -- many at once ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shared", [True, False], ids=["one store", "two stores"])
def test_two_phones_keep_drafts_at_once(opened: OPEN, shared: bool) -> None:
    store = opened()
    day_id = store.add_day(DAY)
    stores = [store, store] if shared else [store, opened()]
    results: list[list[Appended]] = [[], []]

    def keep(phone: int) -> None:
        for number in range(25):
            results[phone].append(stores[phone].append(day_id, draft(f"{phone}-{number}", device=f"phone {phone}")))
            # the other's queue, sent again by mistake
            stores[phone].append(day_id, draft(f"both-{number}"))

    phones = [threading.Thread(target=keep, args=(phone,)) for phone in (0, 1)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join()
    kept = store.entries(day_id)
    assert [entry.seq for entry in kept] == list(range(1, 76))
    assert [entry.number for entry in kept] == list(range(2, 77))
    for phone in (0, 1):
        mine = [entry for entry in kept if entry.device == f"phone {phone}"]
        assert [entry.key for entry in mine] == [f"{phone}-{number}" for number in range(25)]
        assert [item.seq for item in results[phone]] == [entry.seq for entry in mine]
    day = parse_day(store.day_text(day_id), "out")
    assert len(day.drafts) == 76
    assert [item.key for item in day.drafts[1:]] == [entry.key for entry in kept]


# -- a whole day, through every room of keeping ----------------------------------------------------------------------


def test_a_day_at_the_pads_is_the_day_in_memory_after_a_restart(opened: OPEN) -> None:
    """Drafts, corrections, states and cargo as they come over the wire, kept, and read back by another program."""
    text = (ROOT / "examples" / "quay-bakery.toml").read_text(encoding="utf-8")
    store, day = opened(), parse_day(text, "day")
    day_id = store.add_day(text)

    def keep(part: Part, key: str, block: str) -> None:
        added = store.append(day_id, DayEntry(part, key, block), expect=store.day(day_id).seq)
        assert not added.replay

    flour = read_cargo(day, "flour", {"on": "truck", "mass": "210 lb +/- 5 lb", "x": "150 in"})
    keep(Part.CARGO, "c1", write_cargo(day, flour))
    day = with_cargo(day, flour)
    loaded = read_state(day, "loaded", {"same": "levelled", "with": ["flour"], "change": {"water": {"level": "60 %"}}})
    keep(Part.STATE, "s1", write_state(day, loaded))
    day = with_state(day, loaded)
    for number, value in enumerate((2100, 2120, 2140)):
        readings = {"truck/1L": ["p1", value], "truck/2R": ["p4", "2060 lb"]}
        data: dict[str, Any] = {
            "key": f"d{number}",
            "state": "loaded",
            "at": "2026-04-09T11:00:00Z",
            "note": "½ \\ \" '",
        }
        taken = read_draft(day, data | {"readings": readings, "placement": "after lunch"})
        keep(Part.DRAFT, f"d{number}", write_draft(day, taken))
        day = with_draft(day, taken)
    for data in (
        {"draft": "d1", "place": "truck/1L", "value": 2180, "reason": "misread"},
        {"draft": "d1", "place": "truck/2R", "reason": "wheel half off"},
        {
            "draft": 1,
            "place": "truck/1L",
            "value": 2200,
            "reason": "from the picture",
            "at": "2026-04-09T12:00:00+02:00",
        },
    ):
        made = read_correction(day, data)
        keep(Part.CORRECTION, f"x{len(day.corrections)}", write_correction(day, made))
        day = with_correction(day, made)
    store.close()
    again = opened().day_text(day_id)
    assert again.startswith(text)
    assert parse_day(again, "out") == day
    assert [reading.place.text for reading in day.readings_of(day.drafts[7])] == ["truck/1L"]
