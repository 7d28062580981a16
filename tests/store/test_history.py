"""The chain of a day: every hand that reaches into the database is found, and what it did is named."""

from __future__ import annotations

import hashlib
import json
import re
import threading
from collections.abc import Generator
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from sqlalchemy import text

from steelyard.store import ChainHead, ItemState, Photo, Reason, Store, StoreError, chain, open_store
from steelyard.store.days import number_of_day
from tests.store.postgres import Cluster
from tests.store.samples import DAY, OPEN, cargo, correction, draft, photograph, state

PNG = Photo("image/png", b"\x89PNG\r\n\x1a\n\x00\x01")
KEPT = r"kept \d{4}-\d\d-\d\d \d\d:\d\d:\d\d UTC"
NO_DIGEST = (
    "no digest: it was put in by hand or by an older version of the program that was still running, or its digest was "
    r"deleted\."
)


def kept_day(store: Store) -> str:
    """A day of seven additions, a picture and a log; its links are 0 the text, 1 to 6, 7 the picture, 8 the log, 9."""
    day_id = store.add_day(DAY)
    for entry in (
        draft("k1", device="phone"),
        cargo("k2", "crate"),
        state("k3", "empty"),
        correction("k4", "k1", 1540),
    ):
        store.append(day_id, entry)
    store.append(day_id, draft("k5", 1600))
    store.append(day_id, photograph("p1", "k1", PNG, device="phone"), picture=PNG)
    store.keep_log(day_id, "l1", "t,p1\n0,1\n", about={"state": "solo"})
    store.append(day_id, draft("k6"))
    return day_id


@pytest.fixture(scope="module", params=["sqlite", "postgresql"], name="shared")
def _shared(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Generator[Store, None, None]:
    """One store for all days of this file: a test makes its own, and reaches into no other."""
    if request.param == "sqlite":
        where = str(tmp_path_factory.mktemp("history") / "days.sqlite")
    else:
        running: Cluster = request.getfixturevalue("postgres")
        where = running.new_database()
    with open_store(where) as store:
        yield store


def by_hand(store: Store, day_id: str, *statements: str) -> None:
    """Run statements on the database as somebody would who goes round the program; ``:d`` is the day's number."""
    with store.database.writing() as connection:
        number = connection.execute(text("SELECT number FROM days WHERE id = :id"), {"id": day_id}).scalar_one()
        for statement in statements:
            connection.execute(text(statement), {"d": number} if ":d" in statement else {})


def test_a_day_as_it_was_kept_has_no_faults(shared: Store) -> None:
    day_id = kept_day(shared)
    history = shared.history(day_id)
    assert (history.faults, history.notes) == ((), ())
    assert [(item.link, item.kind, item.seq, item.number, item.key) for item in history.items] == [
        (0, "day", 0, 0, "Ferry landing"),
        (1, "drafts", 1, 2, "k1"),
        (2, "cargo", 2, 2, "k2"),
        (3, "states", 3, 2, "k3"),
        (4, "corrections", 4, 1, "k4"),
        (5, "drafts", 5, 3, "k5"),
        (6, "photographs", 6, 1, "p1"),
        (7, "picture", 0, 0, hashlib.sha256(PNG.data).hexdigest()),
        (8, "log", 0, 1, "l1"),
        (9, "drafts", 7, 4, "k6"),
    ]
    assert {item.state for item in history.items} == {ItemState.KEPT}
    assert [item.device for item in history.items if item.device] == ["phone"] * 3
    assert history.items[1].text == draft("k1").text
    assert shared.head(day_id) == history.head == ChainHead(9, 7, history.items[-1].digest)
    assert [history.link_of(item.digest) for item in history.items] == list(range(10))
    assert history.link_of("0" * 64) is None
    replay = shared.append(day_id, draft("k6"))
    assert replay.replay
    again = photograph("p2", "k1", PNG)
    assert shared.head(day_id) == history.head
    shared.append(day_id, again, picture=PNG)  # its bytes are there already
    assert shared.history(day_id).items[-1].kind == "photographs"
    assert shared.history(day_id).faults == ()


def test_the_digests_can_be_made_by_hand(shared: Store) -> None:
    """A stranger's way, from the columns of the tables: each digest over the 32 bytes of the one before."""

    def sha(data: bytes) -> str:
        return hashlib.sha256(data).hexdigest()

    day_id = shared.add_day(DAY)
    shared.append(day_id, draft("k1", device="phone"))
    beginning, first = shared.history(day_id).items
    content = {"id": day_id, "base": sha(DAY.encode()), "open_base": None}
    link: dict[str, Any] = {"link": 0, "kind": "day", "seq": 0, "number": 0, "key": "Ferry landing", "device": ""}
    link |= {"received": beginning.received, "at": None, "made": beginning.received}
    digest = sha(bytes.fromhex(sha(b"")) + rfc8785.dumps(link | {"content": sha(rfc8785.dumps(content))}))
    assert beginning.digest == digest
    content = {"text": sha(draft("k1").text.encode())}
    link = {"link": 1, "kind": "drafts", "seq": 1, "number": 2, "key": "k1", "device": "phone"}
    link |= {"received": first.received, "at": None, "made": first.received}
    digest = sha(bytes.fromhex(digest) + rfc8785.dumps(link | {"content": sha(rfc8785.dumps(content))}))
    assert first.digest == digest == shared.head(day_id).digest


def entry(number: int, kind: str, *, phone: bool = False) -> str:
    """How an addition of ``kept_day`` is named in a sentence, as a pattern."""
    return rf"ddition {number} \({kind} {'from phone, ' if phone else ''}{KEPT}\)"


ONE, TWO, THREE, FIVE, SEVEN = (
    entry(1, "draft 2", phone=True),
    entry(2, "cargo 2"),
    entry(3, "state 2"),
    entry(5, "draft 3"),
    entry(7, "draft 4"),
)
BREAKS = "does not follow from the one before, of"
ONE_OF_TWO = r": one of the two was changed\."
OF = "WHERE day = :d AND"

BY_HAND: dict[str, tuple[list[str], list[str]]] = {
    # additions changed
    "a letter of a text": (
        [f"UPDATE entries SET text = text || ' ' {OF} seq = 1"],
        [rf"A{ONE} was changed: its text\."],
    ),
    "a device and a time": (
        [f"UPDATE entries SET device = 'tablet', at = '2026-05-14T09:00:00' {OF} seq = 1"],
        [rf"A{ONE} was changed: the device that it came from, when it was made\."],
    ),
    "a number": (
        [f"UPDATE entries SET number = 7 {OF} seq = 5"],
        [rf"A{FIVE} was changed: its number\."],
    ),
    "a key": ([f"UPDATE entries SET key = 'zz' {OF} seq = 2"], [rf"A{TWO} was changed: its key\."]),
    "when it was received": (
        [f"UPDATE entries SET received = '2026-05-14T09:00:00.000+00:00' {OF} seq = 7"],
        [rf"A{SEVEN} was changed: when it was received\."],
    ),
    # deleted
    "one deleted": ([f"DELETE FROM entries {OF} seq = 2"], [rf"A{TWO} was deleted\."]),
    "the last deleted": ([f"DELETE FROM entries {OF} seq = 7"], [rf"A{SEVEN} was deleted\."]),
    "the last deleted, and uncounted": (
        [f"DELETE FROM entries {OF} seq = 7", "UPDATE days SET seq = 6 WHERE number = :d"],
        [rf"A{SEVEN} was deleted\.", r"The day counts 6 additions, and there are 7\."],
    ),
    "the last deleted with its digest": (
        [f"DELETE FROM entries {OF} seq = 7", f"DELETE FROM links {OF} seq = 7"],
        [r"Addition 7 was deleted, and its digest with it\."],
    ),
    "the last deleted with its digest, and uncounted": (
        [
            f"DELETE FROM entries {OF} seq = 7",
            f"DELETE FROM links {OF} seq = 7",
            "UPDATE days SET seq = 6, links = 8 WHERE number = :d",
        ],
        [rf"The newest digest, that of log 1 \({KEPT}\), does not fit the head that the day keeps\."],
    ),
    "two deleted with their digests": (
        [f"DELETE FROM entries {OF} seq IN (2, 3)", f"DELETE FROM links {OF} seq IN (2, 3)"],
        [r"Additions 2 to 3 were deleted, and their digests with them\."],
    ),
    "all deleted": (
        ["DELETE FROM entries WHERE day = :d", f"DELETE FROM links {OF} seq > 0"],
        [
            r"Additions 1 to 7 were deleted, and their digests with them\.",
        ],
    ),
    # put in, and put elsewhere
    "one put in": (
        [
            f"INSERT INTO entries SELECT day, 8, kind, 'new', 5, text, device, at, received FROM entries {OF} seq = 7",
            "UPDATE days SET seq = 8 WHERE number = :d",
        ],
        [rf"Addition 8 \(draft 5 {KEPT}\) has {NO_DIGEST}"],
    ),
    "two swapped": (
        [
            f"UPDATE entries SET seq = 99 {OF} seq = 2",
            f"UPDATE entries SET seq = 2 {OF} seq = 3",
            f"UPDATE entries SET seq = 3 {OF} seq = 99",
        ],
        [
            rf"A{TWO} stands in place 3: the order was changed\.",
            rf"A{THREE} stands in place 2: the order was changed\.",
        ],
    ),
    "one deleted, and the rest moved up": (
        [
            f"DELETE FROM entries {OF} seq = 3",
            *(f"UPDATE entries SET seq = {seq - 1} {OF} seq = {seq}" for seq in (4, 5, 6, 7)),
        ],
        [rf"A{THREE} was deleted\.", r"Additions 4 to 7 stand in places 3 to 6: the order was changed\."],
    ),
    # the text that was imported
    "a remark in the text": (
        ["UPDATE day_texts SET base = base || '#' WHERE day = :d"],
        [r"The imported text of the day was changed\."],
    ),
    "the other form of the text": (
        ["UPDATE day_texts SET open_base = base WHERE day = :d"],
        [r"The imported text of the day was changed\."],
    ),
    "the text deleted": (
        ["DELETE FROM day_texts WHERE day = :d"],
        [r"The imported text of the day was deleted\."],
    ),
    "the title": (
        ["UPDATE days SET title = 'Other' WHERE number = :d"],
        [r"The title of the day was changed; the title was 'Ferry landing', and is now 'Other'\."],
    ),
    "when the day was made": (
        ["UPDATE days SET created = '2020-01-01T00:00:00.000+00:00' WHERE number = :d"],
        [r"The time at which the day was made was changed\."],
    ),
    # photos and logs
    "a picture": (
        ["UPDATE pictures SET data = (SELECT value FROM secrets) WHERE day = :d"],
        [rf"The picture [0-9a-f]{{12}} \(from phone, {KEPT}\) was changed: its bytes\."],
    ),
    "no picture": (
        ["DELETE FROM pictures WHERE day = :d"],
        [rf"The picture [0-9a-f]{{12}} \(from phone, {KEPT}\) was deleted\."],
    ),
    "neither picture nor digest": (
        ["DELETE FROM pictures WHERE day = :d", f"DELETE FROM links {OF} kind = 'picture'"],
        [r"Digest 7 is missing from the chain, and perhaps what was kept with it\."],
    ),
    "what is said of a log": (
        ["UPDATE logs SET about = '{}' WHERE day = :d"],
        [rf"Log 1 \({KEPT}\) was changed: its text, or what is said of it\."],
    ),
    "no log": (["DELETE FROM logs WHERE day = :d"], [rf"Log 1 \({KEPT}\) was deleted\."]),
    # the chain itself
    "a digest": (
        [f"UPDATE links SET digest = content {OF} link = 2"],
        [
            rf"The digest of a{TWO} {BREAKS} a{ONE}{ONE_OF_TWO}",
            rf"The digest of a{THREE} {BREAKS} a{TWO}{ONE_OF_TWO}",
        ],
    ),
    "a row and what its link says": (
        [
            f"UPDATE entries SET device = '' {OF} seq = 1",
            f"UPDATE links SET device = '' {OF} seq = 1",
        ],
        [rf"The digest of a{entry(1, 'draft 2')} {BREAKS} the imported text of the day{ONE_OF_TWO}"],
    ),
    "a link deleted": (
        [f"DELETE FROM links {OF} link = 3"],
        [r"Digest 3 is missing from the chain, and perhaps what was kept with it\.", rf"A{THREE} has {NO_DIGEST}"],
    ),
    "the first link deleted": (
        [f"DELETE FROM links {OF} link = 0"],
        [
            r"Digest 0 is missing from the chain, and perhaps what was kept with it\.",
            f"The imported text of the day has {NO_DIGEST}",
        ],
    ),
    "the first link changed": (
        [f"UPDATE links SET made = '2020-01-01T00:00:00.000+00:00' {OF} link = 0"],
        [
            (
                "The digest of the imported text of the day does not fit what it was made from: one of the two was "
                r"changed\."
            )
        ],
    ),
    "the chain deleted": (
        ["DELETE FROM links WHERE day = :d", "UPDATE days SET links = 0, head = '' WHERE number = :d"],
        [
            (
                "The day has no chain of digests: it was taken away, or the day was kept by an older version of the "
                r"program that was still running\."
            )
        ],
    ),
    # the head
    "the head": (
        ["UPDATE days SET head = 'x' WHERE number = :d"],
        [rf"The newest digest, that of a{SEVEN}, does not fit the head that the day keeps\."],
    ),
    "an older head": (
        [
            (
                "UPDATE days SET links = 2, head = (SELECT digest FROM links WHERE day = :d AND link = 2) "
                "WHERE number = :d"
            ),
        ],
        [r"The day counts 2 digests after its first, and there are 9\."],
    ),
    "additions that are not counted": (
        ["UPDATE days SET seq = 1 WHERE number = :d"],
        [r"The day counts 1 addition, and there are 7\."],
    ),
    "additions that never were": (
        ["UPDATE days SET seq = 2000000000 WHERE number = :d"],
        [r"Additions 8 to 2000000000 were deleted, and their digests with them\."],
    ),
}


@pytest.mark.parametrize("what", BY_HAND)
def test_what_was_done_by_hand_is_found_and_named(shared: Store, what: str) -> None:
    shared.secret("any", lambda: PNG.data + b"\2")
    day_id, other = kept_day(shared), shared.add_day(DAY)
    statements, patterns = BY_HAND[what]
    by_hand(shared, day_id, *statements)
    faults = shared.history(day_id).faults
    assert len(faults) == len(patterns), faults
    for fault, pattern in zip(faults, patterns, strict=True):
        assert re.fullmatch(pattern, fault), fault
    assert shared.history(other).faults == ()


def test_a_device_that_is_no_name_is_shown_on_one_line(shared: Store) -> None:
    day_id = kept_day(shared)
    letter = "char" if shared.database.engine.name == "sqlite" else "chr"
    device = f"UPDATE entries SET device = 'a' || {letter}(10) || {letter}(27) {OF} seq = 1"
    by_hand(shared, day_id, device, f"DELETE FROM links {OF} seq = 1")
    assert all(fault.isprintable() for fault in shared.history(day_id).faults)


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE days SET head = 'x' WHERE number = :d",
        "UPDATE days SET head = '', links = 0 WHERE number = :d; DELETE FROM links WHERE day = :d",
        (
            f"DELETE FROM entries {OF} seq = 7; DELETE FROM links {OF} link = 9; UPDATE days SET seq = 6, links = 8 "
            "WHERE number = :d"
        ),
    ],
)
def test_a_damaged_day_goes_on_and_stays_damaged(shared: Store, statement: str) -> None:
    day_id = kept_day(shared)
    by_hand(shared, day_id, *statement.split("; "))
    assert shared.history(day_id).faults
    assert not shared.append(day_id, draft("later")).replay
    assert shared.history(day_id).faults
    assert "later" in shared.day_text(day_id)


def test_a_whole_chain_made_anew_is_seen_by_a_head_that_was_noted_before(shared: Store) -> None:
    """The bounds of a chain: who may write can make it anew, and then only a head kept elsewhere tells."""
    day_id = kept_day(shared)
    noted = shared.head(day_id).digest
    shared.append(day_id, draft("k7"))
    assert shared.history(day_id).link_of(noted) == 9
    by_hand(shared, day_id, f"UPDATE entries SET text = text || ' ' {OF} seq = 1")
    by_hand(shared, day_id, "DELETE FROM links WHERE day = :d")
    with shared.database.writing() as connection:
        chain.link_day(connection, number_of_day(connection, day_id), "2026-05-14T09:00:00.000+00:00")
    history = shared.history(day_id)
    assert history.faults == ()
    assert history.link_of(noted) is None


def test_no_day_has_no_history(shared: Store) -> None:
    for ask in (shared.history, shared.head):
        with pytest.raises(StoreError) as error:
            ask("nowhere")
        assert (error.value.reason, str(error.value)) == (Reason.NO_SUCH_DAY, "there is no day 'nowhere'")


def test_a_history_is_of_one_moment_while_others_add(opened: OPEN) -> None:
    keeper, looker = opened(), opened()
    day_id = keeper.add_day(DAY)
    done = threading.Event()

    def keep() -> None:
        try:
            for number in range(30):
                keeper.append(day_id, draft(f"k{number}"))
        finally:
            done.set()

    thread = threading.Thread(target=keep)
    thread.start()
    seen: list[int] = []
    while not done.is_set() or not seen:
        history = looker.history(day_id)
        assert history.faults == ()
        seen.append(history.head.seq)
    thread.join()
    assert seen == sorted(seen)
    assert looker.history(day_id).head == ChainHead(30, 30, looker.head(day_id).digest)


def test_two_stations_keep_one_chain(opened: OPEN) -> None:
    stores = [opened(), opened()]
    day_id = stores[0].add_day(DAY)

    def keep(who: int) -> None:
        for number in range(10):
            stores[who].append(day_id, draft(f"{who}-{number}"))
            stores[who].keep_log(day_id, f"{who}-{number}", "t\n0\n", about={})

    threads = [threading.Thread(target=keep, args=(who,)) for who in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    history = stores[0].history(day_id)
    assert (history.faults, history.head.link, history.head.seq) == ((), 40, 20)


@pytest.mark.parametrize(
    ("statement", "fault"),
    [
        ("UPDATE entries SET text = CAST(x'ff00fe' AS TEXT) WHERE seq = 1", rf"A{ONE} was changed: its text\."),
        (
            "UPDATE entries SET device = CAST(x'ff' AS TEXT) WHERE seq = 1",
            rf"A{ONE} was changed: the device that it came from\.",
        ),
        ("UPDATE pictures SET media_type = CAST(x'ff' AS TEXT)", r"The picture .* was changed: its bytes\."),
        (
            "UPDATE links SET received = CAST(x'ff' AS TEXT), number = 1 << 60 WHERE seq = 1",
            r"Addition 1 .* was changed: its number, when it was received\.",
        ),
        (
            "UPDATE days SET title = CAST(x'ff' AS TEXT)",
            r"The title of the day was changed; the title was 'Ferry landing', and is now ' '\.",
        ),
        ("UPDATE entries SET seq = -1 WHERE seq = 1", rf"A{ONE} stands in place -1: the order was changed\."),
        (
            "UPDATE days SET title = hex(zeroblob(1000))",
            r"The title of the day was changed; the title was 'Ferry landing', and is now '0{100}…'\.",
        ),
    ],
)
def test_what_no_program_would_write_is_named_too(tmp_path: Path, statement: str, fault: str) -> None:
    """SQLite keeps any bytes as a text; PostgreSQL refuses them."""
    with open_store(tmp_path / "days.sqlite") as store:
        day_id = kept_day(store)
        by_hand(store, day_id, *statement.split("; "))
        history = store.history(day_id)
        assert re.fullmatch(fault, history.faults[0]), history.faults
        json.dumps([item.text + item.device + item.key for item in history.items], ensure_ascii=False).encode()
        if "text" in statement.partition("=")[0]:
            with pytest.raises(StoreError, match="holds a text that is no UTF-8") as error:
                store.day_text(day_id)
            assert error.value.reason is Reason.BROKEN
