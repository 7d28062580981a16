"""What lies beside the days: photos, the yard, taught patterns, devices and secrets."""

from __future__ import annotations

import hashlib
import json
import threading
from typing import Any

import pytest

from steelyard.dayfile import Part, parse_day
from steelyard.store import LARGEST_PHOTO, DayEntry, DeviceRole, Photo, Reason, Shelf, Store, StoreError
from tests.store.samples import DAY, OPEN, draft, photograph

JPEG = Photo("image/jpeg", b"\xff\xd8\xff" + bytes(range(256)))
PNG = Photo("image/png", b"\x89PNG\r\n\x1a\n" + b"\0" * 10)


def digest(photo: Photo) -> str:
    return hashlib.sha256(photo.data).hexdigest()


def test_a_picture_is_kept_with_the_record_that_has_its_digest(opened: OPEN) -> None:
    store = opened()
    day_id = store.add_day(DAY)
    store.append(day_id, draft("k1"))
    one = store.append(day_id, photograph("p1", "k1", JPEG, device="phone"), picture=JPEG)
    two = store.append(day_id, photograph("p2", "first", PNG), picture=PNG)
    assert (one.seq, one.number, two.seq, two.number) == (2, 1, 3, 2)
    again = store.append(day_id, photograph("p1", "k1", PNG), picture=PNG)
    assert (again.replay, again.number) == (True, 1)
    assert store.append(day_id, photograph("p3", "first", JPEG), picture=JPEG).number == 3
    anew = opened()
    assert anew.pictures(day_id) == {digest(JPEG), digest(PNG)}
    assert anew.picture(day_id, digest(JPEG)) == JPEG
    assert anew.picture(day_id, digest(PNG)) == PNG
    assert anew.picture(day_id, digest(Photo("image/png", b"other"))) is None
    day = parse_day(anew.day_text(day_id), "out")
    assert [(item.draft, item.sha256) for item in day.photographs] == [
        (2, digest(JPEG)),
        (1, digest(PNG)),
        (1, digest(JPEG)),
    ]
    assert anew.photo_keys(day_id) == frozenset()


def test_records_that_came_with_the_file_are_counted(store: Store) -> None:
    text = DAY + f'[[photographs]]\ndraft = 1\nsha256 = "{"0" * 64}"\n'
    day_id = store.add_day(text)
    assert store.append(day_id, photograph("p1", "first", JPEG), picture=JPEG).number == 2
    assert store.append(day_id, photograph("p2", "first", PNG), picture=PNG).number == 3
    assert store.pictures(day_id) == {digest(JPEG), digest(PNG)}


TRULY = "a photo is one of image/jpeg, image/png, image/webp, and says truly which"


@pytest.mark.parametrize(
    ("photo", "message"),
    [
        (Photo("image/svg+xml", b"<svg/>"), TRULY),
        (Photo("image/jpeg", b"<svg xmlns='http://www.w3.org/2000/svg'/>"), TRULY),
        (Photo("image/jpeg", b"<!doctype html><script>"), TRULY),
        (Photo("image/png", JPEG.data), TRULY),
        (Photo("image/webp", b"RIFF\0\0\0\0WAVEfmt "), TRULY),
        (Photo("image/jpeg", b""), "the photo is empty: it has no bytes; take it again"),
        (Photo("image/jpeg", JPEG.data + b"\0" * LARGEST_PHOTO), "a photo has at most 5 MB; this one has 5.0"),
    ],
)
def test_what_is_no_photo_is_refused(store: Store, photo: Photo, message: str) -> None:
    day_id = store.add_day(DAY)
    with pytest.raises(StoreError) as error:
        store.append(day_id, photograph("p1", "first", photo), picture=photo)
    assert error.value.reason is Reason.REFUSED
    assert str(error.value).startswith(message)
    assert (store.pictures(day_id), store.day_text(day_id)) == (frozenset(), DAY)


def test_a_record_and_its_picture_come_together(store: Store) -> None:
    day_id = store.add_day(DAY)
    together = "the record of a photograph and its picture are kept together"
    for entry, picture, message in (
        (photograph("p1", "first", JPEG), None, together),
        (draft("k1"), JPEG, together),
        (photograph("p1", "first", JPEG), PNG, "the picture is not the one whose digest the record has"),
        (DayEntry(Part.PHOTOGRAPH, "p1", "[[photographs]]\nsha256 = 3\n"), PNG, "the picture is not the one whose"),
    ):
        with pytest.raises(StoreError) as error:
            store.append(day_id, entry, picture=picture)
        assert error.value.reason is Reason.REFUSED
        assert str(error.value).startswith(message)
    assert (store.pictures(day_id), store.day_text(day_id)) == (frozenset(), DAY)


def test_the_largest_photo_comes_back_whole(store: Store) -> None:
    day_id = store.add_day(DAY)
    photo = Photo("image/jpeg", (JPEG.data * 20_000)[:LARGEST_PHOTO])
    store.append(day_id, photograph("p1", "first", photo), picture=photo)
    assert store.picture(day_id, digest(photo)) == photo


def test_a_picture_belongs_to_its_day(store: Store) -> None:
    one, other = store.add_day(DAY), store.add_day(DAY)
    store.append(one, photograph("p1", "first", JPEG), picture=JPEG)
    assert store.picture(other, digest(JPEG)) is None
    assert store.pictures(other) == frozenset()
    for ask in (
        lambda: store.append("x", photograph("p1", "first", JPEG), picture=JPEG),
        lambda: store.picture("x", digest(JPEG)),
        lambda: store.pictures("x"),
        lambda: store.photo("x", "k1"),
        lambda: store.photo_keys("x"),
    ):
        with pytest.raises(StoreError) as error:
            ask()
        assert error.value.reason is Reason.NO_SUCH_DAY


def test_the_yard_keeps_every_version(store: Store) -> None:
    assert store.save(Shelf.VEHICLE, "van", "one", device="phone") == 1
    assert store.save(Shelf.VEHICLE, "van", "two", learned={"ride_rate": [1.5, 0.1]}) == 2
    assert store.save(Shelf.VEHICLE, "van", "two", learned={"ride_rate": [1.5, 0.1]}) == 2
    assert store.save(Shelf.VEHICLE, "van", "two") == 2  # what was learned stays until somebody says otherwise
    assert store.save(Shelf.VEHICLE, "van", "two", learned={}) == 3
    assert store.save(Shelf.VEHICLE, "Ähre", "three") == 1
    assert store.save(Shelf.INSTRUMENT, "van", "pad") == 1
    shown = [
        (kept.name, kept.version, kept.text, dict(kept.learned), kept.device) for kept in store.shelf(Shelf.VEHICLE)
    ]
    assert shown == [("van", 3, "two", {}, ""), ("Ähre", 1, "three", {}, "")]
    assert [kept.text for kept in store.versions(Shelf.VEHICLE, "van")] == ["one", "two", "two"]
    second = store.kept(Shelf.VEHICLE, "van", 2)
    assert second is not None
    assert second.learned == {"ride_rate": [1.5, 0.1]}
    assert store.kept(Shelf.VEHICLE, "van") == store.shelf(Shelf.VEHICLE)[0]
    assert store.kept(Shelf.VEHICLE, "van", 4) is None
    assert store.kept(Shelf.TEACHING, "van") is None
    assert [kept.text for kept in store.shelf(Shelf.INSTRUMENT)] == ["pad"]


def test_a_taught_pattern_is_kept_as_it_is(store: Store) -> None:
    pattern = json.dumps({"value": "…", "unit": "kg"}, ensure_ascii=False)
    store.save(Shelf.TEACHING, "dock box", pattern)
    (kept,) = store.shelf(Shelf.TEACHING)
    assert (kept.name, kept.text) == ("dock box", pattern)


@pytest.mark.parametrize(
    ("name", "text", "learned", "message"),
    [
        ("", "x", {}, "a name has 1 to 200 letters that can be printed"),
        ("  ", "x", {}, "a name has 1 to 200 letters that can be printed"),
        ("a\nb", "x", {}, "a name has 1 to 200 letters that can be printed"),
        ("a", "x" * 64_000, {}, "a thing on a shelf is text of at most 64000 bytes; this has 64002"),
        ("a", "x\0", {}, "a thing on a shelf is text of at most 64000 bytes; this has 4"),
        ("a", "x", {"a": float("nan")}, "what was learned is not what JSON can say"),
        ("a", "x", {"a": object()}, "what was learned is not what JSON can say"),
        ("a", "\ud800", {}, "what was learned is not what JSON can say"),
    ],
)
def test_what_cannot_lie_on_a_shelf_is_refused(
    store: Store, name: str, text: str, learned: dict[str, Any], message: str
) -> None:
    with pytest.raises(StoreError) as error:
        store.save(Shelf.VEHICLE, name, text, learned=learned)
    assert (error.value.reason, str(error.value)) == (Reason.REFUSED, message)
    assert store.shelf(Shelf.VEHICLE) == ()


def test_two_who_save_at_once_make_two_versions(opened: OPEN) -> None:
    stores = [opened(), opened()]

    def save(who: int) -> None:
        for number in range(10):
            stores[who].save(Shelf.VEHICLE, "van", f"{who} {number}")

    threads = [threading.Thread(target=save, args=(who,)) for who in (0, 1)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [kept.version for kept in stores[0].versions(Shelf.VEHICLE, "van")] == list(range(1, 21))


def test_a_device_is_let_in_and_shut_out(store: Store) -> None:
    phone = store.add_device("phone", DeviceRole.WEIGH, "hash 1")
    tablet = store.add_device("tablet", DeviceRole.LOOK, "hash 2")
    assert store.find_device("hash 1") == phone
    assert (phone.role, tablet.role, phone.revoked) == (DeviceRole.WEIGH, DeviceRole.LOOK, None)
    assert store.find_device("hash 3") is None
    assert store.devices() == (tablet, phone)
    assert store.revoke_device(phone.id)
    assert not store.revoke_device(phone.id)
    assert not store.revoke_device("nobody")
    assert store.find_device("hash 1") is None
    assert store.find_device("hash 2") == tablet
    assert [device.revoked is None for device in store.devices()] == [True, False]
    with pytest.raises(StoreError) as error:
        store.add_device("another", DeviceRole.LOOK, "hash 1")
    assert (error.value.reason, str(error.value)) == (Reason.CONFLICT, "another device has that token")
    with pytest.raises(StoreError) as error:
        store.add_device("", DeviceRole.LOOK, "hash 4")
    assert error.value.reason is Reason.REFUSED


def test_a_secret_is_made_once(opened: OPEN) -> None:
    one, other = opened(), opened()
    made = [b"\0\xff one", b"other", b"third"]
    assert one.secret("cookie", lambda: made[0]) == made[0]
    assert other.secret("cookie", lambda: made[1]) == made[0]
    assert other.secret("another", lambda: made[2]) == made[2]


def test_a_secret_is_the_same_for_all_who_ask_at_once(opened: OPEN) -> None:
    stores = [opened() for _ in range(4)]
    start = threading.Barrier(4)
    found: list[bytes] = []

    def ask(who: int) -> None:
        start.wait()
        found.append(stores[who].secret("cookie", lambda: bytes([who])))

    threads = [threading.Thread(target=ask, args=(who,)) for who in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert len(set(found)) == 1
