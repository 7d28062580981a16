"""A day is sealed at the station on the owner's word, and the seal says what came after it."""

from __future__ import annotations

import hashlib
import io
import sqlite3
from pathlib import Path

import pytest
from PIL import Image
from pypdf import PdfReader
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from steelyard.model import digest_of
from steelyard.seals.cose import parse
from steelyard.seals.ed25519 import verified
from steelyard.seals.keys import PassPhrase
from steelyard.seals.record import SealRecord, from_bytes
from steelyard.seals.ring import KeyRing
from steelyard.store import open_store
from steelyard.store.chain import link_day
from tests.web.conftest import Making
from tests.web.serving import TOKEN


@pytest.fixture
def keys(tmp_path: Path) -> Path:
    return tmp_path / "keys"


@pytest.fixture
def owner(making: Making, keys: Path) -> TestClient:
    return making(headers={"authorization": f"Bearer {TOKEN}"}, keys=keys)


@pytest.fixture
def day_id(owner: TestClient) -> str:
    from tests.web.serving import EXAMPLE

    return owner.post("/api/v1/days", content=EXAMPLE.read_text(encoding="utf-8")).json()["id"]


def sealed(owner: TestClient, day_id: str, number: int = 1) -> SealRecord:
    """The record of a seal whose signature is right."""
    answer = owner.get(f"/api/v1/days/{day_id}/seals/{number}.seal")
    assert answer.headers["content-type"] == "application/cose"
    assert f'filename="{day_id}-sealed-{number}.seal"' in answer.headers["content-disposition"]
    message = parse(answer.content)
    record = from_bytes(message.payload)
    assert verified(record.public, message.to_be_signed, message.signature)
    return record


def test_the_owner_seals_and_the_same_day_again_is_the_same_seal(owner: TestClient, day_id: str) -> None:
    first = owner.post(f"/api/v1/days/{day_id}/seals", json={})
    assert first.status_code == 201, first.text
    assert first.json()["number"] == 1
    assert "A key was made" in first.json()["notes"][0]
    again = owner.post(f"/api/v1/days/{day_id}/seals", json={})
    assert (again.status_code, again.json()["number"], again.json()["replay"]) == (200, 1, True)
    record = sealed(owner, day_id)
    text = owner.get(f"/api/v1/days/{day_id}").content
    assert record.day_file == hashlib.sha256(text).digest()
    assert record.readings.hex() == digest_of(parse_day(text.decode(), "day"))
    assert record.history is not None
    assert record.history.kept_by == "station"
    (one,) = owner.get(f"/api/v1/days/{day_id}/seals").json()["seals"]
    assert (one["since"], one["linked"], one["person"], one["running_number"]) == ({}, True, "weigher", 1)


def test_what_comes_later_is_told_and_the_sealed_file_stays(owner: TestClient, day_id: str) -> None:
    display = io.BytesIO()
    Image.new("RGB", (90, 60), "red").save(display, "PNG")
    asked = {"key": "p", "draft": "1", "place": "truck/1L"}
    kind = {"content-type": "image/png"}
    owner.post(f"/api/v1/days/{day_id}/photographs", params=asked, content=display.getvalue(), headers=kind)
    owner.post(f"/api/v1/days/{day_id}/seals", json={})
    before = owner.get(f"/api/v1/days/{day_id}").content
    correction = {"key": "c", "draft": 1, "place": "truck/1L", "reason": "read again", "value": "2160 lb"}
    assert owner.post(f"/api/v1/days/{day_id}/corrections", json=correction).status_code == 201
    (one,) = owner.get(f"/api/v1/days/{day_id}/seals").json()["seals"]
    assert one["since"] == {"corrections": 1}
    file = owner.get(f"/days/{day_id}/sealed/1.toml")
    assert file.content == before
    assert f'filename="{day_id}-sealed-1.toml"' in file.headers["content-disposition"]
    second = owner.post(f"/api/v1/days/{day_id}/seals", json={})
    assert (second.status_code, second.json()["number"]) == (201, 2)
    assert sealed(owner, day_id, 2).number == 2
    assert sealed(owner, day_id, 2).previous is not None
    page = owner.get(f"/days/{day_id}", headers={"accept": "text/html"}).text
    assert "Since then came 1 correction, which it does not cover." in page
    history = owner.get(f"/days/{day_id}/history", headers={"accept": "text/html"}).text
    corrected, one, two, picture = (
        history.index(words)
        for words in ("correction 1", "Seal 1 of weigher names", "Seal 2 of weigher names", ">picture")
    )
    assert corrected < two < picture < one
    assert "The day is still as it was sealed." in page
    ticket = owner.get(f"/days/{day_id}/ticket.pdf?seal=1")
    reader = PdfReader(io.BytesIO(ticket.content))
    assert (90, 60) in [image.image.size for page in reader.pages for image in page.images if image.image]
    attached = reader.attachments
    assert attached["day.toml"] == [before]
    assert attached["seal.cose"] == [owner.get(f"/api/v1/days/{day_id}/seals/1.seal").content]


def test_a_pass_phrase_is_asked_for_never_repeated_and_slowed_when_wrong(
    owner: TestClient, day_id: str, keys: Path
) -> None:
    KeyRing(keys).any_weigher("ada", PassPhrase(b"north wind")).make(1_790_000_000)
    address = f"/api/v1/days/{day_id}/seals"
    needed = owner.post(address, json={"person": "ada"})
    assert (needed.status_code, needed.json()["error"]["code"]) == (422, "wrong_pass_phrase")
    assert "is needed" in needed.json()["error"]["message"]
    too_long = owner.post(address, json={"person": "ada", "pass_phrase": "secret " * 200})
    assert too_long.status_code == 422
    assert "secret" not in too_long.text
    for _ in range(3):
        wrong = owner.post(address, json={"person": "ada", "pass_phrase": "south wind"})
        assert wrong.status_code == 422
        assert "south" not in wrong.text
    slowed = owner.post(address, json={"person": "ada", "pass_phrase": "north wind"})
    assert (slowed.status_code, slowed.json()["error"]["code"]) == (429, "slow_down")
    other = owner.post(address, json={"person": "bob"})
    assert (other.status_code, other.json()["error"]["code"]) == (422, "cannot_seal")
    assert "there is no weigher 'bob'" in other.json()["error"]["message"]


def test_a_day_that_was_changed_by_hand_is_not_taken_for_the_sealed_one(
    owner: TestClient, day_id: str, tmp_path: Path
) -> None:
    owner.post(f"/api/v1/days/{day_id}/seals", json={})
    connection = sqlite3.connect(tmp_path / "station.db")
    connection.execute("UPDATE day_texts SET base = replace(base, 'Quay', 'Quai')")
    connection.execute("UPDATE links SET digest = replace(digest, substr(digest, 1, 4), 'aaaa')")
    connection.commit()
    connection.close()
    (one,) = owner.get(f"/api/v1/days/{day_id}/seals").json()["seals"]
    assert one["linked"] is False
    refused = owner.get(f"/days/{day_id}/sealed/1.toml", headers={"accept": "application/json"})
    assert refused.status_code == 409
    assert "changed in the database by hand" in refused.text
    page = owner.get(f"/days/{day_id}", headers={"accept": "text/html"}).text
    assert "something was changed in the database by hand" in page


def test_there_is_no_seal_of_a_number_that_none_has(owner: TestClient, day_id: str) -> None:
    for number in ("1", "0", "x", "99999999999"):
        assert owner.get(f"/api/v1/days/{day_id}/seals/{number}.seal").status_code == 404
    assert owner.get(f"/days/{day_id}/ticket.pdf?seal=7", headers={"accept": "application/json"}).status_code == 404


CHANGES = {
    "deleted": ("DELETE FROM seals", "Seal 1 (from script, kept "),
    "changed": ("UPDATE seals SET findings = x'7b7d'", "was changed: its bytes, or what it seals."),
    "given to another": ("UPDATE seals SET person = 'bob'", "was changed: its bytes, or what it seals."),
}


@pytest.mark.parametrize(("statement", "said"), CHANGES.values(), ids=CHANGES)
def test_a_seal_that_is_changed_by_hand_is_named_by_the_history(
    owner: TestClient, day_id: str, tmp_path: Path, statement: str, said: str
) -> None:
    owner.post(f"/api/v1/days/{day_id}/seals", json={})
    sound = owner.get(f"/api/v1/days/{day_id}/history").json()
    assert [one["kind"] for one in sound["beside"]] == ["seal"]
    assert sound["faults"] == []
    by_hand(tmp_path, statement)
    (fault,) = owner.get(f"/api/v1/days/{day_id}/history").json()["faults"]
    assert said in fault


def test_a_chain_that_was_made_anew_is_not_the_one_that_a_seal_names(
    owner: TestClient, day_id: str, tmp_path: Path
) -> None:
    owner.post(f"/api/v1/days/{day_id}/seals", json={})
    by_hand(tmp_path, "UPDATE day_texts SET base = replace(base, 'Quay', 'Quai')", "DELETE FROM links")
    with open_store(tmp_path / "station.db") as store, store.database.writing() as connection:
        link_day(connection, 1, "2026-05-14T09:00:00.000+00:00")
    faults = owner.get(f"/api/v1/days/{day_id}/history").json()["faults"]
    assert any(fault.startswith("Seal 1 names the digest ") and "made anew" in fault for fault in faults)


def by_hand(folder: Path, *statements: str) -> None:
    """Change the database of the station as somebody would who has the file."""
    connection = sqlite3.connect(folder / "station.db")
    for statement in statements:
        connection.execute(statement)
    connection.commit()
    connection.close()
