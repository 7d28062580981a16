"""The folder of keys: one key for each weigher, running numbers that are given once, and nothing lost in a crash."""

from __future__ import annotations

import hashlib
import os
import stat
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import cbor2
import pytest
from nacl.signing import VerifyKey

from steelyard.seals.files import KeyFileError
from steelyard.seals.keybook import PublishedKey
from steelyard.seals.keys import PassPhrase
from steelyard.seals.ring import KeyRing, Weigher, keys_folder
from tests.seals.weighers import HOUR, NOON, content, weigher


@pytest.fixture
def marta(tmp_path: Path) -> Weigher:
    return weigher(tmp_path / "keys")


def test_the_folder_is_where_it_is_said_to_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.delenv("STEELYARD_KEYS", raising=False)
    assert keys_folder() == tmp_path / "steelyard" / "keys"
    monkeypatch.setenv("STEELYARD_KEYS", str(tmp_path / "told"))
    assert keys_folder() == tmp_path / "told"
    assert keys_folder(tmp_path / "given") == tmp_path / "given"


def test_a_key_is_made_on_first_use_which_is_said(tmp_path: Path) -> None:
    one = KeyRing(tmp_path / "keys").weigher()
    assert one.name == "weigher"
    assert not (tmp_path / "keys").exists()  # asking makes nothing
    first = one.seal(content(), NOON)
    (note,) = first.notes
    key = _current(one)
    assert key.fingerprint in note
    assert str(one.folder) in note
    assert "Nobody can make a lost private key again" in note
    assert first.record.public == key.public
    for folder in (one.folder, one.folder.parent):
        assert stat.S_IMODE(folder.stat().st_mode) & 0o077 == 0
    assert {path.name for path in one.folder.iterdir()} == {
        "keys.json", "lock", "seals.jsonl", f"{key.fingerprint.replace(' ', '')}.pem",
    }  # fmt: skip
    assert one.seal(content("another"), NOON).notes == ()


def _current(one: Weigher) -> PublishedKey:
    book = one.book()
    assert book is not None
    assert book.current is not None
    return book.current


def test_another_library_reads_the_seal_and_finds_its_signature_right(marta: Weigher) -> None:
    given = marta.seal(content(), NOON)
    protected, unprotected, payload, signature = cbor2.loads(given.data).value
    assert unprotected == {}
    signed = cbor2.dumps(["Signature1", protected, b"", payload])
    record = cbor2.loads(payload)
    VerifyKey(record[0]).verify(signed, signature)  # raises where it does not fit
    assert cbor2.loads(protected)[4] == hashlib.sha256(record[0]).digest()[:8]


def test_each_seal_names_the_one_before(marta: Weigher) -> None:
    seals = [marta.seal(content(f"day {number}"), NOON + number) for number in range(4)]
    assert [seal.record.number for seal in seals] == [1, 2, 3, 4]
    assert [seal.record.previous for seal in seals] == [None, *(seal.digest for seal in seals[:-1])]
    assert [seal.number for seal in marta.log().seals()] == [1, 2, 3, 4]


def test_the_same_day_gives_the_same_seal_byte_for_byte(marta: Weigher) -> None:
    first = marta.seal(content(), NOON)
    other = marta.seal(content(gross=1234.6), NOON + HOUR)
    again = marta.seal(content(), NOON + 2 * HOUR)
    assert again.data == first.data
    assert again.again
    assert not other.again
    assert other.data != first.data
    assert marta.log().count == 2


def test_a_clock_that_is_behind_is_said_and_not_hidden(marta: Weigher) -> None:
    assert marta.seal(content(), NOON).notes == ()
    behind = marta.seal(content("later"), NOON - HOUR)
    (note,) = behind.notes
    assert note.startswith(
        "The clock is behind: seal 1 was made at 2026-11-30 12:00 UTC, and this one says 2026-11-30 11:00 UTC. Whoever"
    )
    assert behind.record.sealed_at == NOON - HOUR
    assert marta.seal(content("set right"), NOON).notes == ()
    assert marta.seal(content("same second"), NOON).notes == ()


def test_a_clock_behind_the_key_is_said_and_replaces_no_key(marta: Weigher) -> None:
    (note,) = marta.seal(content(), NOON - HOUR).notes
    assert note.startswith("The clock is behind: the key was made at 2026-11-30 12:00 UTC, and this one says")
    with pytest.raises(KeyFileError, match="the clock is behind: the key was made at 2026-11-30 12:00 UTC"):
        marta.rotate(NOON - 1)
    assert len(list(marta.folder.glob("*.pem"))) == 1


def test_a_key_that_is_replaced_while_a_pass_phrase_is_typed_seals_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("steelyard.seals.keys.ROUNDS", 1000)
    other = weigher(tmp_path, pass_phrase=b"quay")

    def typed(path: Path) -> bytes:
        del path
        other.rotate(NOON + HOUR)
        return b"quay"

    one = KeyRing(tmp_path).weigher(pass_phrase=PassPhrase(ask=typed))
    with pytest.raises(KeyFileError, match="was changed by another process in this moment; try again"):
        one.seal(content(), NOON + HOUR)
    assert other.log().count == 0


def test_the_numbers_go_on_with_the_next_key(marta: Weigher) -> None:
    last = marta.seal(content(), NOON)
    old, new = marta.rotate(NOON + HOUR)
    assert not old.signs
    assert _current(marta) == new
    assert new.follows is not None
    assert new.follows[0] == old.fingerprint
    after = marta.seal(content(), NOON + 2 * HOUR)  # the same day, by another key
    assert after.record.public == new.public
    assert (after.record.number, after.record.previous) == (2, last.digest)
    assert marta.private_path(old).exists()  # nothing is thrown away


def test_a_revoked_key_seals_nothing_and_the_next_goes_on(marta: Weigher) -> None:
    last = marta.seal(content(), NOON)
    old = _current(marta)
    marta.private_path(old).unlink()
    assert marta.revoke(None, "lost", NOON + HOUR).fingerprint == old.fingerprint  # without its private half
    with pytest.raises(KeyFileError, match=r"is revoked \(lost\) and seals nothing any more; 'steelyard key new --as"):
        marta.seal(content("next"), NOON + HOUR)
    with pytest.raises(KeyFileError, match="is revoked"):
        marta.rotate(NOON + HOUR)
    new = marta.make(NOON + HOUR)
    assert new.follows is None
    assert marta.seal(content("next"), NOON + HOUR).record.previous == last.digest
    with pytest.raises(KeyFileError, match=r"is revoked already \(lost\)"):
        marta.revoke(old.fingerprint[:8], "lost", NOON)
    assert marta.revoke(old.fingerprint, "stolen", NOON + 2 * HOUR).revoked is not None
    book = marta.book()
    assert book is not None
    assert book.keys[0].revoked is not None
    assert (book.keys[0].revoked.at, book.keys[0].revoked.reason) == (NOON + HOUR, "stolen")


def test_a_key_that_is_named_wrongly_is_not_revoked(marta: Weigher) -> None:
    for typed in ("", "1234567", "0" * 32, _current(marta).fingerprint[:5]):
        with pytest.raises(KeyFileError, match="8 digits or more of a fingerprint do"):
            marta.revoke(typed, "lost", NOON)
    with pytest.raises(KeyFileError, match="is no reason to revoke a key; there are lost, stolen, ended"):
        marta.revoke(None, "bored", NOON)
    assert _current(marta).signs


def test_several_weighers_are_told_apart(tmp_path: Path) -> None:
    marta, jon = weigher(tmp_path, "marta"), weigher(tmp_path, "jon")
    ring = KeyRing(tmp_path)
    assert ring.names() == ("jon", "marta")
    marta.seal(content(), NOON)
    assert jon.seal(content(), NOON).record.number == 1
    with pytest.raises(KeyFileError, match="has the keys of jon, marta; say whose with --as NAME"):
        ring.weigher()
    with pytest.raises(KeyFileError, match=r"no weigher 'mrata'; did you mean 'marta'\?.*key new --as mrata"):
        ring.weigher("mrata")
    with pytest.raises(KeyFileError, match="has a weigher 'marta'; write the name in the same capitals"):
        ring.any_weigher("Marta")
    for name in ("", "..", "a/b", "a b", "-a", "é", "a" * 41, "a\n", "a\x1b[31m"):
        with pytest.raises(KeyFileError, match="cannot be the name of a weigher's folder") as refused:
            ring.any_weigher(name)
        assert str(refused.value).isprintable()
    with pytest.raises(KeyFileError, match="a name to show has 1 to 60 letters"):
        ring.any_weigher("new").make(NOON, "two\nlines")
    assert not (tmp_path / "new").exists()


def test_a_second_key_is_not_made_beside_one_in_use(marta: Weigher) -> None:
    with pytest.raises(KeyFileError, match=r"has the key .* since 2026-11-30 12:00 UTC; 'steelyard key rotate'"):
        marta.make(NOON + HOUR)
    assert len(list(marta.folder.glob("*.pem"))) == 1


def test_a_line_that_was_torn_is_dropped_and_its_number_is_given(marta: Weigher) -> None:
    marta.seal(content("one"), NOON)
    path = marta.folder / "seals.jsonl"
    whole = path.read_bytes()
    second = marta.seal(content("two"), NOON)
    torn_at = (len(whole) + len(path.read_bytes())) // 2
    path.write_bytes(path.read_bytes()[:torn_at])
    third = marta.seal(content("three"), NOON)
    assert third.record.number == second.record.number == 2
    (note,) = third.notes
    assert "the last line was torn" in note
    assert "number 2" in note
    assert [seal.number for seal in marta.log().seals()] == [1, 2]


def test_a_line_that_only_lacks_its_end_is_whole(marta: Weigher) -> None:
    first = marta.seal(content("one"), NOON)
    path = marta.folder / "seals.jsonl"
    path.write_bytes(path.read_bytes()[:-1])
    assert marta.seal(content("one"), NOON).data == first.data
    second = marta.seal(content("two"), NOON)
    assert (second.record.number, second.notes) == (2, ())
    assert [seal.number for seal in marta.log().seals()] == [1, 2]


def test_a_full_disk_gives_no_number_away(marta: Weigher, monkeypatch: pytest.MonkeyPatch) -> None:
    marta.seal(content("one"), NOON)
    before = (marta.folder / "seals.jsonl").read_bytes()
    write, calls = os.write, []

    def full(descriptor: int, data: memoryview) -> int:
        calls.append(1)
        if len(calls) == 2:
            raise OSError(28, "No space left on device")
        return write(descriptor, data[:10])

    with monkeypatch.context() as patched:
        patched.setattr(os, "write", full)
        with pytest.raises(KeyFileError, match=r"seals.jsonl: cannot be written: No space left on device"):
            marta.seal(content("two"), NOON)
    assert (marta.folder / "seals.jsonl").read_bytes() == before
    assert marta.seal(content("two"), NOON).record.number == 2


def test_a_log_that_was_changed_is_found(marta: Weigher) -> None:
    for title in ("one", "two", "three"):
        marta.seal(content(title), NOON)
    path = marta.folder / "seals.jsonl"
    lines = path.read_bytes().splitlines(keepends=True)

    def refused(*changed: bytes) -> str:
        path.write_bytes(b"".join(changed))
        with pytest.raises(KeyFileError, match="is not what was written there") as error:
            list(marta.log().seals())
        return str(error.value)

    assert "seals.jsonl:2: " in refused(lines[0], lines[2])  # one left out
    assert "seals.jsonl:1: " in refused(lines[1], lines[0], lines[2])
    assert "another digest" in refused(lines[0], lines[1].replace(b'"seal":"0', b'"seal":"1'), lines[2])
    assert "cannot be read" in refused(b"{}\n", *lines[1:])
    assert "it is no entry" in refused(b"[1]\n", *lines[1:])
    path.write_bytes(b"".join([lines[0], lines[1], lines[2].replace(b'"number":3', b'"number":7')]))
    with pytest.raises(KeyFileError, match=r"seals.jsonl:3: .*it has the number 7"):
        marta.seal(content("four"), NOON)


def test_a_log_that_is_gone_stops_the_sealing(marta: Weigher) -> None:
    marta.seal(content(), NOON)
    (marta.folder / "seals.jsonl").unlink()
    with pytest.raises(KeyFileError, match="the log of seals is not there, and without it running numbers"):
        marta.seal(content("two"), NOON)
    with pytest.raises(KeyFileError, match="the log of seals is not there"):
        marta.rotate(NOON)
    assert len(list(marta.folder.glob("*.pem"))) == 1


def test_a_keys_json_that_is_gone_is_asked_for(marta: Weigher) -> None:
    marta.seal(content(), NOON)
    kept = marta.published()
    (marta.folder / "keys.json").unlink()
    ring = KeyRing(marta.folder.parent)
    with pytest.raises(KeyFileError, match=r"keys.json: is not there, though days were sealed here"):
        ring.weigher().seal(content("two"), NOON)
    (marta.folder / "keys.json").write_bytes(kept)  # what was published is what is kept
    assert marta.seal(content("two"), NOON).record.number == 2


def test_a_crash_before_the_first_key_is_listed_does_no_harm(tmp_path: Path) -> None:
    one = weigher(tmp_path / "keys")
    (one.folder / "keys.json").unlink()
    assert one.seal(content(), NOON).record.number == 1


def test_a_private_key_under_another_ones_name_is_found(tmp_path: Path) -> None:
    marta, jon = weigher(tmp_path, "marta"), weigher(tmp_path, "jon")
    path = marta.private_path(_current(marta))
    path.write_bytes(jon.private_path(_current(jon)).read_bytes())
    with pytest.raises(KeyFileError, match=r"holds the key .*, not the one that its name says"):
        marta.seal(content(), NOON)


def test_a_folder_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("")
    with pytest.raises(KeyFileError, match=r"cannot be (read|made): "):
        KeyRing(file).weigher().seal(content(), NOON)
    assert file.read_text() == ""


def test_a_rotated_key_has_the_pass_phrase_of_the_old_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("steelyard.seals.keys.ROUNDS", 1000)
    weigher(tmp_path, pass_phrase=b"quay")
    asking = KeyRing(tmp_path).weigher(pass_phrase=PassPhrase(ask=lambda _: b"quay"))
    _, new = asking.rotate(NOON + HOUR)
    assert b"ENCRYPTED" in asking.private_path(new).read_bytes()
    with pytest.raises(KeyFileError, match="the pass phrase is wrong"):
        weigher(tmp_path, pass_phrase=b"key", made=False).seal(content(), NOON)
    assert KeyRing(tmp_path).weigher().log().count == 0  # nothing was begun


def test_two_threads_and_two_processes_never_give_one_number_twice(tmp_path: Path) -> None:
    folder = tmp_path / "keys"
    code = (
        "import sys; from pathlib import Path; from tests.seals.weighers import *\n"
        "one = weigher(Path(sys.argv[1]), 'weigher', made=False)\n"
        "for number in range(6): one.seal(content(f'process {number}'), NOON)\n"
    )
    with subprocess.Popen([sys.executable, "-c", code, str(folder)]) as process:
        one = weigher(folder, "weigher", made=False)  # both may be the one that makes the key

        def job(name: str) -> list[int]:
            return [one.seal(content(f"{name} {number}"), NOON).record.number for number in range(6)]

        with ThreadPoolExecutor(2) as pool:
            numbers = [number for given in pool.map(job, ("a", "b")) for number in given]
        assert process.wait(120) == 0
    assert len(set(numbers)) == 12
    seals = list(one.log().seals())
    assert [seal.number for seal in seals] == list(range(1, 19))
    assert len({seal.record.public for seal in seals}) == 1
