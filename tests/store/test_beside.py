"""What lies beside the days: photos, the yard, taught patterns, devices and secrets."""

from __future__ import annotations

import json
import threading
from typing import Any

import pytest

from steelyard.store import LARGEST_PHOTO, DeviceRole, Photo, Reason, Shelf, Store, StoreError
from tests.store.samples import DAY, OPEN, draft

JPEG = Photo("image/jpeg", b"\xff\xd8\xff" + bytes(range(256)))
PNG = Photo("image/png", b"\x89PNG\r\n\x1a\n" + b"\0" * 10)


def test_a_draft_has_one_photo_and_the_first_stays(store: Store) -> None:
    day_id = store.add_day(DAY)
    store.append(day_id, draft("k1"))
    assert store.photo(day_id, "k1") is None
    assert store.put_photo(day_id, "k1", JPEG, device="phone")
    assert not store.put_photo(day_id, "k1", PNG)
    assert store.photo(day_id, "k1") == JPEG
    assert store.put_photo(day_id, "first", PNG)
    assert store.photo_keys(day_id) == {"k1", "first"}
    assert store.day_text(day_id).count("[[drafts]]") == 2


@pytest.mark.parametrize(
    ("photo", "message"),
    [
        (
            Photo("image/svg+xml", b"<svg/>"),
            "a photo is one of image/jpeg, image/png, image/webp, and says truly which",
        ),
        (
            Photo("image/png", JPEG.data),
            "a photo is one of image/jpeg, image/png, image/webp, and says truly which",
        ),
        (Photo("image/jpeg", JPEG.data + b"\0" * LARGEST_PHOTO), "a photo has at most 5 MB; this one has 5.0"),
    ],
)
def test_what_is_no_photo_is_refused(store: Store, photo: Photo, message: str) -> None:
    day_id = store.add_day(DAY)
    with pytest.raises(StoreError) as error:
        store.put_photo(day_id, "first", photo)
    assert (error.value.reason, str(error.value)) == (Reason.REFUSED, message)
    assert store.photo_keys(day_id) == frozenset()


def test_the_largest_photo_comes_back_whole(store: Store) -> None:
    day_id = store.add_day(DAY)
    photo = Photo("image/jpeg", (JPEG.data * 20_000)[:LARGEST_PHOTO])
    assert store.put_photo(day_id, "first", photo)
    assert store.photo(day_id, "first") == photo


def test_a_photo_belongs_to_a_draft_of_its_day(store: Store) -> None:
    one, other = store.add_day(DAY), store.add_day(DAY)
    store.append(one, draft("k1"))
    for day_id, key in ((other, "k1"), (one, "driver")):
        with pytest.raises(StoreError) as error:
            store.put_photo(day_id, key, JPEG)
        assert (error.value.reason, str(error.value)) == (Reason.NO_SUCH_DRAFT, "there is no draft of that key")
    for ask in (
        lambda: store.put_photo("x", "k1", JPEG),
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
