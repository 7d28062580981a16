"""What a weigher publishes, what others make of it, and what a hostile ``keys.json`` gets."""

from __future__ import annotations

import base64
import json
import random
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from steelyard.dayfile import DayFileError
from steelyard.seals.cbor import encoded
from steelyard.seals.cose import signed
from steelyard.seals.handover import Handover, HandoverError, check_handover, handed_over, statement
from steelyard.seals.keybook import KeyBook, PublishedKey, Revocation, book_bytes, read_book, text_of
from steelyard.seals.keys import UnlockedKey, fresh
from steelyard.seals.known import KnownKeys, known_keys
from steelyard.seals.record import RecordError, from_bytes, to_bytes
from steelyard.seals.sealing import record_of
from tests.seals.weighers import HOUR, NOON, content, weigher
from tests.studies import days

LATER = NOON + HOUR


def chain(count: int, *, at: int = NOON) -> tuple[list[UnlockedKey], KeyBook]:
    """A weigher who rotated their key every hour, and what they publish."""
    privates = [fresh() for _ in range(count)]
    keys = [PublishedKey(privates[0].public, at)]
    for number in range(1, count):
        moment = at + number * HOUR
        keys[-1] = replace(keys[-1], retired=moment)
        proof = handed_over(privates[number - 1], privates[number], moment)
        keys.append(PublishedKey(privates[number].public, moment, follows=(keys[-1].fingerprint, proof)))
    return privates, KeyBook("Marta Ruiz", tuple(keys))


def changed(book: KeyBook, number: int, **values: Any) -> KeyBook:
    keys = list(book.keys)
    keys[number] = replace(keys[number], **values)
    return replace(book, keys=tuple(keys))


def test_what_is_published_comes_back_and_is_always_the_same(tmp_path: Path) -> None:
    marta = weigher(tmp_path)
    marta.seal(content(), NOON)
    marta.rotate(LATER, "Marta Ruiz")
    marta.revoke(None, "ended", LATER)
    book = marta.book()
    assert book is not None
    data = marta.published()
    assert read_book(data, "keys.json") == book
    assert data == book_bytes(book) == marta.published()
    assert set(json.loads(data)) == {"format", "name", "keys"}  # and no seal
    assert text_of(book.keys[0].public) == json.loads(data)["keys"][0]["public"]
    assert b"PRIVATE" not in data


def test_a_public_key_is_written_as_the_standard_does() -> None:
    # RFC 8037, A.2: the key of RFC 8032, 7.1, test 1
    public = bytes.fromhex("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")
    assert text_of(public) == "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"


def test_a_key_that_nobody_named_is_unknown() -> None:
    standing = KnownKeys().standing(fresh().public, NOON)
    assert (standing.state, standing.good) == ("unknown", False)
    assert standing.why == "Nobody told the program this key."
    assert not KnownKeys()


def test_the_keys_of_a_file_are_known_with_their_name_and_time() -> None:
    privates, book = chain(2)
    known = KnownKeys([("keys.json", book)])
    old, new = (known.standing(private.public, LATER) for private in privates)
    assert (old.state, old.good, old.name, old.since, old.until) == ("retired", True, "Marta Ruiz", NOON, LATER)
    assert old.cautions == ()
    assert (new.state, new.good, new.since, new.cautions) == ("known", True, LATER, ())
    (late,) = known.standing(privates[0].public, LATER + 1).cautions
    assert "after another key took the place of this one" in late
    (early,) = known.standing(privates[1].public, NOON).cautions
    assert "before the key was made" in early


def test_a_fingerprint_alone_makes_a_key_known() -> None:
    private = fresh()
    fingerprint = PublishedKey(private.public, NOON).fingerprint
    standing = KnownKeys(fingerprints=[fingerprint]).standing(private.public, NOON)
    assert (standing.state, standing.good, standing.name) == ("known", True, None)


def test_a_fingerprint_reaches_along_handovers_both_ways_and_no_further() -> None:
    privates, book = chain(3)
    stranger = fresh()
    smuggled = replace(book, keys=(*book.keys, PublishedKey(stranger.public, NOON)))
    for start in range(3):
        known = KnownKeys([("keys.json", smuggled)], [book.keys[start].fingerprint])
        assert all(known.standing(private.public, NOON).good for private in privates)
        standing = known.standing(stranger.public, NOON)
        assert standing.state == "unknown"
        assert "no signed handover ties it to a fingerprint that you gave" in standing.why
    # a file alone is taken at its word: who gives it trusts it
    assert KnownKeys([("keys.json", smuggled)]).standing(stranger.public, NOON).good


def test_a_stranger_who_claims_to_follow_a_key_is_not_trusted_nor_is_who_follows_them() -> None:
    privates, book = chain(1)
    thief, next_one = fresh(), fresh()
    forged = Handover(*2 * (signed(statement(privates[0].public, thief.public, LATER), thief.public, thief.sign),))
    first = PublishedKey(thief.public, LATER, follows=(book.keys[0].fingerprint, forged))
    proof = handed_over(thief, next_one, LATER)
    second = PublishedKey(next_one.public, LATER, follows=(first.fingerprint, proof))
    given = replace(book, keys=(*book.keys, first, second))
    for fingerprints in ([], [book.keys[0].fingerprint]):
        known = KnownKeys([("keys.json", given)], fingerprints)
        assert known.standing(privates[0].public, NOON).good
        assert "does not prove it: the signature of the old key does not fit" in known.standing(thief.public, NOON).why
        assert not known.standing(next_one.public, NOON).good
    assert "ties this key to one that is not proved" in KnownKeys([("k", given)]).standing(next_one.public, NOON).why


def test_nobody_can_pass_off_anothers_key_as_the_successor_of_their_own() -> None:
    """A liar signs that Marta's key follows theirs; Marta never said so, and their old seals do not become hers."""
    liar, (privates, book) = fresh(), chain(1)
    by_liar = signed(statement(liar.public, privates[0].public, NOON), liar.public, liar.sign)
    liars = PublishedKey(liar.public, NOON, retired=NOON)
    hers = replace(book.keys[0], follows=(liars.fingerprint, Handover(by_liar, by_liar)))
    known = KnownKeys([("keys.json", KeyBook(None, (liars, hers)))], [book.keys[0].fingerprint])
    assert not known.standing(liar.public, NOON).good
    assert known.standing(privates[0].public, NOON).good  # its own fingerprint was given


def test_a_stolen_key_leads_to_no_other() -> None:
    privates, book = chain(2)
    anchor = [book.keys[0].fingerprint]
    for reason, leads in (("stolen", False), ("lost", False), ("ended", True)):
        given = changed(book, 0, revoked=Revocation(LATER, reason))
        known = KnownKeys([("keys.json", given)], anchor)
        assert known.standing(privates[1].public, LATER).good is leads
        assert known.standing(privates[0].public, NOON).state == "revoked"


@pytest.mark.parametrize(
    ("reason", "when", "words"),
    [
        (
            "stolen",
            NOON,
            "before the key was revoked. That time is only claimed: whoever has the private key can claim",
        ),
        ("ended", NOON, "before the key was revoked. That time is only claimed, by the weigher's own clock."),
        ("lost", LATER, "after the key was revoked."),
    ],
)
def test_a_seal_of_a_revoked_key_is_told_how_its_time_stands(reason: str, when: int, words: str) -> None:
    privates, book = chain(1)
    known = KnownKeys([("keys.json", changed(book, 0, revoked=Revocation(LATER, reason)))])
    standing = known.standing(privates[0].public, when)
    assert (standing.state, standing.good) == ("revoked", False)
    assert f"is revoked ({reason}) since 2026-11-30 13:00 UTC" in standing.why
    assert words in standing.cautions[0]


def test_of_files_that_contradict_one_another_the_worst_counts() -> None:
    privates, book = chain(1)
    lost = changed(book, 0, revoked=Revocation(NOON + 5, "lost"))
    stolen = changed(book, 0, revoked=Revocation(LATER, "stolen"))
    files = [("a.json", book), ("b.json", lost), ("c.json", stolen)]
    for order in (files, files[::-1]):
        standing = KnownKeys(order).standing(privates[0].public, NOON)
        assert standing.revoked == Revocation(NOON + 5, "stolen")
        assert "contradict each other about this key; the worst" in standing.cautions[0]
    assert KnownKeys([("a.json", book), ("d.json", book)]).standing(privates[0].public, NOON).cautions == ()


def test_a_key_that_two_files_call_by_two_names_is_told_of_both() -> None:
    privates, book = chain(1)
    files = [("a.json", book), ("b.json", replace(book, name="Somebody"))]
    standing = KnownKeys(files).standing(privates[0].public, NOON)
    assert standing.name == "Marta Ruiz"
    assert standing.cautions == ("a.json and b.json call the holder of this key Marta Ruiz and Somebody.",)


def test_a_handover_is_never_a_seal_and_a_seal_never_a_handover() -> None:
    old, new = fresh(), fresh()
    payload = statement(old.public, new.public, NOON)
    with pytest.raises(RecordError, match="is no map"):
        from_bytes(payload)
    record = record_of(content(), public=old.public, number=1, previous=None, sealed_at=NOON)
    sealed = Handover(signed(to_bytes(record), old.public, old.sign), signed(to_bytes(record), new.public, new.sign))
    with pytest.raises(HandoverError, match="is none that one key follows another"):
        check_handover(sealed, old.public, new.public)


def _signed(old: UnlockedKey, new: UnlockedKey, value: Any) -> Handover:
    return Handover(signed(encoded(value), old.public, old.sign), signed(encoded(value), new.public, new.sign))


def test_a_handover_of_any_other_form_proves_nothing() -> None:
    old, new, other = fresh(), fresh(), fresh()
    name = "steelyard key handover"
    good = handed_over(old, new, NOON)
    assert check_handover(good, old.public, new.public) == NOON
    cases = [
        (Handover(good.by_old, handed_over(old, new, NOON + 1).by_new), "sign different statements"),
        (Handover(good.by_new, good.by_old), "the signature of the old key does not fit"),
        (handed_over(other, new, NOON), "of other keys"),
        (Handover(b"", good.by_new), "a statement is cut short"),
        (_signed(old, new, [name, True, old.public, new.public, NOON]), "is none that one key follows another"),
        (_signed(old, new, [name, 1, old.public, new.public, True]), "no moment"),
        (_signed(old, new, [name, 1, old.public, new.public, -1]), "no moment"),
        (_signed(old, new, [name, 1, old.public, new.public]), "is none that one key follows another"),
        (_signed(old, new, "steelyard"), "is none that one key follows another"),
        (_signed(other, new, [name, 1, old.public, new.public, NOON]), "old key does not fit"),
        (_signed(old, other, [name, 1, old.public, new.public, NOON]), "new key does not fit"),
    ]
    for handover, words in cases:
        with pytest.raises(HandoverError, match=words):
            check_handover(handover, old.public, new.public)


def test_no_flipped_bit_of_a_handover_is_accepted() -> None:
    old, new = fresh(), fresh()
    good = handed_over(old, new, NOON)
    for bit in range(0, 8 * len(good.by_old), 7):
        wrong = bytearray(good.by_old)
        wrong[bit // 8] ^= 1 << bit % 8
        with pytest.raises(HandoverError):
            check_handover(Handover(bytes(wrong), good.by_new), old.public, new.public)


def test_a_handover_at_another_time_than_the_key_was_made_proves_nothing() -> None:
    privates, book = chain(2)
    known = KnownKeys([("keys.json", changed(book, 1, made=LATER - 1))])
    assert "the time of the handover is not that" in known.standing(privates[1].public, LATER).why


# -- hostile files ---------------------------------------------------------------------------------------------------


def whole(change: Callable[[dict[str, Any]], object] = lambda _: None) -> bytes:
    """A sound file, changed."""
    data = json.loads(book_bytes(chain(2)[1]))
    change(data)
    return json.dumps(data).encode()


def lines(data: bytes) -> list[str]:
    with pytest.raises(DayFileError) as refused:
        read_book(data, "keys.json")
    found = refused.value.lines()
    assert all(line.isprintable() and len(line) < 400 for line in found)
    return found


def test_the_sound_file_is_read() -> None:
    assert len(read_book(whole(), "keys.json").keys) == 2
    assert len(read_book(b"\xef\xbb\xbf" + whole(), "keys.json").keys) == 2  # as some editors begin a file


BROKEN = {
    b"": "not JSON at column 1",
    b"\xff\xfe": "not written in UTF-8",
    b"{": "not JSON at column 2",
    b"[" * 100_000: "nested too deeply",
    b"[]": "is no object with format, name, keys",
    b"null": "is no object with",
    b'{"format": 1, "keys": NaN}': "NaN is no number in JSON",
    b'{"format": ' + b"9" * 5000 + b"}": "a number in it is too long",
    b'{"format": 2, "keys": []}': "format: 2: this program reads format 1",
    b'{"format": true, "keys": []}': "format: true: this program reads format 1",
    b'{"format": 1, "keys": []}': "keys: []: is no list of keys, with one at least",
    b'{"format": 1, "keys": {}}': "is no list of keys",
    b'{"keys": [1]}': "format: is missing",
    b" " * 1_000_001: "more than 1000000 bytes",
}


@pytest.mark.parametrize(("data", "words"), BROKEN.items(), ids=range(len(BROKEN)))
def test_what_is_no_keys_json_is_refused_with_one_message(data: bytes, words: str) -> None:
    found = lines(data)
    assert words in found[0]
    assert found[0].startswith("keys.json:")


LOW_ORDER = base64.urlsafe_b64encode(bytes([1]) + bytes(31)).decode().rstrip("=")

FAULTY: dict[str, Callable[[dict[str, Any]], object]] = {
    "name: \"a\\u000Ab\": is no name of 1 to 60 letters": lambda data: data.update(name="a\nb"),
    "name: 7: is no name": lambda data: data.update(name=7),
    "name: \"\\u202Eevil\"": lambda data: data.update(name="\u202eevil"),
    '"secret": is not an entry here': lambda data: data.update(secret=1),
    "keys[1]: \"mad\": is not an entry here; did you mean 'made'?": lambda data: data["keys"][0].update(mad=1),
    "keys[1].made: is missing": lambda data: data["keys"][0].pop("made"),
    "keys[1].made: is missing ": lambda data: data["keys"][0].update(made=None),
    "keys[1].made: 7: is not a time in UTC": lambda data: data["keys"][0].update(made=7),
    "keys[1].retired: \"never\": is not a time in UTC": lambda data: data["keys"][0].update(retired="never"),
    f'keys[1].public: "{LOW_ORDER}": is a point of low order': lambda data: data["keys"][0].update(public=LOW_ORDER),
    "has 3 bytes; a public key has 32": lambda data: data["keys"][0].update(public="AAAA"),
    "is no point of the curve in its one encoding": lambda data: data["keys"][0].update(public="A" * 42 + "E"),
    "is no base64url in its one form": lambda data: data["keys"][0].update(public="A" * 42 + "B"),
    "is not in base64url": lambda data: data["keys"][0].update(public="<script>"),
    "is not in base64url ": lambda data: data["keys"][0].update(public=["A"]),
    "is not that of the key, which is": lambda data: data["keys"][0].update(fingerprint="0" * 32),
    "is the key of keys[1] again": lambda data: data["keys"].append(data["keys"][0]),
    "keys[2].follows.fingerprint: ": lambda data: data["keys"][1]["follows"].update(fingerprint="0" * 32),
    "is not the fingerprint of another key in this file": lambda data: data["keys"].pop(0),
    "keys[1].revoked.reason: \"bored\": is none of lost, stolen, ended": lambda data: data["keys"][0].update(
        revoked={"at": "2026-11-30T12:00:00Z", "reason": "bored"}
    ),
    "keys[1].revoked.reason: []: is none of": lambda data: data["keys"][0].update(
        revoked={"at": "2026-11-30T12:00:00Z", "reason": []}
    ),
    "keys[1].revoked.at: is missing": lambda data: data["keys"][0].update(revoked={"reason": "lost"}),
    "keys[1].revoked: true: is no object with at, reason": lambda data: data["keys"][0].update(revoked=True),
    "keys[2].follows.signed_by_old: is missing": lambda data: data["keys"][1]["follows"].pop("signed_by_old"),
    "keys[3]: 5: is no object with": lambda data: data["keys"].append(5),
    "keys: \"101 keys\": a weigher has at most 100": lambda data: data.update(keys=[1] * 101),
}  # fmt: skip


@pytest.mark.parametrize(("words", "change"), FAULTY.items())
def test_each_fault_has_its_place_and_what_would_be_right(
    words: str, change: Callable[[dict[str, Any]], object]
) -> None:
    found = lines(whole(change))
    assert any(words.strip() in line for line in found), found


def test_all_faults_come_at_once_and_not_without_end() -> None:
    def spoil(data: dict[str, Any]) -> None:
        data["name"] = ""
        data["keys"] = [{"public": "AAAA", "fingerprint": "x", "made": 1}] * 100

    found = lines(whole(spoil))
    assert len(found) == 21
    assert found[-1] == "keys.json: and 281 more faults"
    assert "name" in found[0]


def test_no_changed_byte_makes_a_stranger_known_or_stops_the_program() -> None:
    """A reading that stops in a traceback, or a changed file that vouches for a stranger, would show."""
    privates, book = chain(3)
    sound, anchor, stranger = book_bytes(book), [book.keys[0].fingerprint], fresh().public
    dice = random.Random(13)
    read, refused = 0, set[str]()
    for _ in range(days(300, 30_000)):
        data = bytearray(sound)
        for _ in range(dice.choice((1, 1, 2, 5))):
            at = dice.randrange(len(data))
            put = dice.choice((b"", *(bytes([sign]) for sign in b'"{}[],:0aZ_- \\\x00\xff')))
            data[at : at + dice.choice((0, 1, 1, 40))] = put
        try:
            found = read_book(bytes(data), "keys.json")
        except DayFileError as error:
            refused.update(error.lines())
            continue
        read += 1
        known = KnownKeys([("keys.json", found)], anchor)
        assert not known.standing(stranger, NOON).good
        assert {known.standing(private.public, NOON).state for private in privates} <= {"known", "retired", "unknown"}
    assert read > 5
    assert len(refused) > 20


def test_an_entry_that_stands_twice_is_refused() -> None:
    data = whole().replace(b'"format": 1', b'"format": 1, "format": 1')
    assert lines(data) == ['keys.json: "format": stands twice in one object']


def test_files_that_cannot_be_read_are_named_and_the_others_count(tmp_path: Path) -> None:
    privates, book = chain(1)
    (tmp_path / "good.json").write_bytes(book_bytes(book))
    (tmp_path / "bad.json").write_bytes(b"{}")
    names = [str(tmp_path / name) for name in ("good.json", "bad.json", "none.json")]
    known, errors = known_keys(names)
    assert known.standing(privates[0].public, NOON).good
    assert [error.file for error in errors] == names[1:]
    assert "No such file" in errors[1].lines()[0]
