"""Names that no database likes are no such thing, or refused; none is an error of the database."""

from __future__ import annotations

import pytest

from steelyard.dayfile import Part, parse_day
from steelyard.store import DayEntry, DeviceRole, Photo, Reason, Shelf, Store, StoreError
from tests.store.samples import DAY, HEAD, draft, photograph, state

ODD = ["", "\0", "a\0b", "\ud800", "x" * 3000, "\n", "\u2028", "' OR 1=1 --", "%", "🚚"]
PHOTO = Photo("image/jpeg", b"\xff\xd8\xff")


@pytest.mark.parametrize("odd", ODD, ids=ascii)
def test_an_odd_name_is_no_such_thing(store: Store, odd: str) -> None:
    day_id = store.add_day(DAY)
    for ask in (
        lambda: store.day(odd),
        lambda: store.snapshot(odd),
        lambda: store.append(odd, draft("k")),
        lambda: store.entries(odd),
        lambda: store.list_days(before=odd),
        lambda: store.photo(odd, "first"),
        lambda: store.picture(odd, "0" * 64),
    ):
        with pytest.raises(StoreError) as error:
            ask()
        assert error.value.reason is Reason.NO_SUCH_DAY
        assert str(error.value).isprintable()
    assert store.find(day_id, Part.DRAFT, odd) is None
    assert store.photo(day_id, odd) is None
    assert store.picture(day_id, odd) is None
    assert store.days_with_vehicle(odd) == ()
    assert store.kept(Shelf.VEHICLE, odd) is None
    assert store.kept(Shelf.VEHICLE, "van", 10**30) is None
    assert store.versions(Shelf.VEHICLE, odd) == ()
    assert store.find_device(odd) is None
    assert not store.revoke_device(odd)


@pytest.mark.parametrize(
    "odd", [text for text in ODD if not text or not text.isprintable() or len(text) > 200], ids=ascii
)
def test_an_odd_name_is_not_kept(store: Store, odd: str) -> None:
    day_id = store.add_day(DAY)
    text = draft("k").text
    writes = [
        lambda: store.append(day_id, DayEntry(Part.DRAFT, odd, text)),
        lambda: store.save(Shelf.VEHICLE, odd, "x"),
        lambda: store.add_device(odd, DeviceRole.LOOK, "hash"),
        lambda: store.add_device("phone", DeviceRole.LOOK, odd),
    ]
    if odd:
        writes += [
            lambda: store.append(day_id, DayEntry(Part.DRAFT, "k", text, device=odd)),
            lambda: store.append(day_id, DayEntry(Part.DRAFT, "k", text + f"# {odd}" * 22)),
            lambda: store.save(Shelf.VEHICLE, "van", "x", device=odd),
            lambda: store.append(day_id, photograph("k", "first", PHOTO, device=odd), picture=PHOTO),
        ]
    if odd in ("\n", "\u2028"):
        del writes[5]  # which may well stand in a comment
    for write in writes:
        with pytest.raises(StoreError) as error:
            write()
        assert error.value.reason is Reason.REFUSED
    assert store.day_text(day_id) == DAY
    assert store.devices() == ()


def test_an_odd_file_is_kept_exactly_and_grows(store: Store) -> None:
    """Escapes bring tabs and line ends into a title or a key, and a name may be as long as it likes."""
    long = "s" * 5000
    text = (
        DAY.replace('"Ferry landing"', '"Ferry\\t \\n landing ' + "x" * 500 + '"')
        .replace('"first"', '"a\\tb"')
        .replace("solo", long)
    )
    day_id = store.add_day(text)
    assert store.day_text(day_id) == text
    title = store.day(day_id).title
    assert title.startswith("Ferry    landing xxx")
    assert len(title) == 200
    store.append(day_id, state("k", "short"))
    assert list(parse_day(store.day_text(day_id), "out").states) == [long, "short"]
    with pytest.raises(StoreError) as error:
        store.append(day_id, state("k2", long))
    assert str(error.value) == "a name has 1 to 200 letters that can be printed"


def test_a_day_without_a_title_or_anything_else_is_a_day(store: Store) -> None:
    day_id = store.add_day("format = 1\n")
    assert store.day(day_id).title == ""
    assert store.add_day(HEAD, title="\ud800") != day_id
