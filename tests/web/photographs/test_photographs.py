"""Photographs of displays in the station: kept with their digest in the text of the day, replay-safe, shown again."""

from __future__ import annotations

import hashlib
import io
import sqlite3
import zipfile
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from pypdf import PdfReader
from starlette.requests import Request
from starlette.testclient import TestClient

from steelyard.dayfile import Beside, parse_day, photograph_files
from steelyard.store import DeviceRole
from steelyard.web.api.photographs import photographer
from steelyard.web.http.sessions import Viewer
from tests.web.shapes import draft, error

DAYS = "/api/v1/days"
PNG = {"content-type": "image/png"}
JPEG = {"content-type": "image/jpeg"}
PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(100)
DIGEST = hashlib.sha256(PICTURE).hexdigest()
AT = "2026-05-14T09:12:00Z"


@pytest.fixture(name="day")
def _day(script: TestClient, day_id: str) -> str:
    """A day with one more draft, ``k-1``; the address of its photographs."""
    assert script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1")).status_code == 201
    return f"{DAYS}/{day_id}"


def send(script: TestClient, day: str, data: bytes = PICTURE, headers: dict[str, str] = PNG, **asked: str) -> Any:
    return script.post(f"{day}/photographs", params={"draft": "k-1"} | asked, content=data, headers=headers)


def test_a_photograph_is_kept_with_its_digest_in_the_text_of_the_day(script: TestClient, day: str) -> None:
    wheel = send(script, day, key="p-1", place="truck/1L", at=AT)
    assert wheel.status_code == 201, wheel.text
    count = len(parse_day(script.get(day).text, "day").drafts)
    name = f"draft-{count}-truck-1L-{DIGEST[:12]}.png"
    assert wheel.json() == {"key": "p-1", "number": 1, "seq": 2, "replay": False, "sha256": DIGEST, "file": name}
    assert send(script, day, PICTURE + b"2", key="p-2", place="truck/1L").status_code == 201
    assert send(script, day, PICTURE + b"3", key="p-3").status_code == 201
    found = parse_day(script.get(day).text, "day")
    last = found.drafts[-1]
    assert [(item.place, item.by) for item in found.photographs_of(last)] == [
        ("truck/1L", ""),
        ("truck/1L", ""),
        (None, ""),
    ]
    assert found.photographs[0].sha256 == DIGEST
    assert str(found.photographs[0].at) == "2026-05-14 09:12:00+00:00"
    assert len(found.photographs_at(last, last.readings[0].place)) == 2
    listed = script.get(f"{day}/photographs").json()["photographs"]
    assert [(item["number"], item["draft"], item["place"], item["kept"]) for item in listed] == [
        (1, count, "truck/1L", True),
        (2, count, "truck/1L", True),
        (3, count, None, True),
    ]
    shown = script.get(f"{day}/photographs/{DIGEST.upper()}")
    assert (shown.content, shown.headers["content-type"]) == (PICTURE, "image/png")
    assert shown.headers["x-content-type-options"] == "nosniff"


@pytest.mark.parametrize(
    ("viewer", "said"),
    [
        (Viewer(DeviceRole.WEIGH, "Ida's phone"), ("Ida's phone", "Ida's phone")),
        (Viewer(DeviceRole.WEIGH, "this device", here=True), ("this device", "")),
        (None, ("", "")),
    ],
)
def test_a_record_names_a_device_that_a_stranger_can_tell_from_others(
    viewer: Viewer | None, said: tuple[str, str]
) -> None:
    assert photographer(Request({"type": "http", "state": {"viewer": viewer}})) == said


def test_what_is_sent_again_is_kept_once(script: TestClient, day: str) -> None:
    assert send(script, day, key="p-1", place="truck/1L").status_code == 201
    text = script.get(day).text
    again = send(script, day, key="p-1", place="truck/1L", at=AT)
    assert (again.status_code, again.json()["replay"], again.json()["number"]) == (200, True, 1)
    error(send(script, day, PICTURE + b"other", key="p-1", place="truck/1L"), 409, "key_taken")
    error(send(script, day, key="p-1", place="truck/1R"), 409, "key_taken")
    error(send(script, day, key="p-1"), 409, "key_taken")
    error(send(script, day, key="k-1", place="truck/1R"), 409, "conflict")
    message = error(send(script, day, key="p-2", place="truck/1L"), 422, "faults")
    assert "stands twice for draft" in message
    assert script.get(day).text == text
    # the same picture shows two displays
    assert send(script, day, key="p-2", place="truck/1R").status_code == 201


BAD: dict[str, tuple[bytes, dict[str, str], dict[str, str], int, str]] = {
    "no draft": (PICTURE, PNG, {"draft": ""}, 404, "no_such_draft"),
    "unknown draft": (PICTURE, PNG, {"draft": "nobody"}, 404, "no_such_draft"),
    "draft 0": (PICTURE, PNG, {"draft": "0"}, 404, "no_such_draft"),
    "draft 999": (PICTURE, PNG, {"draft": "999"}, 404, "no_such_draft"),
    "a wheel that was not read": (PICTURE, PNG, {"place": "oven/1L"}, 422, "faults"),
    "a wheel that is not there": (PICTURE, PNG, {"place": "truck/9L"}, 422, "faults"),
    "no time": (PICTURE, PNG, {"at": "noon"}, 422, "faults"),
    "no key": (PICTURE, PNG, {"key": ""}, 422, "no_key"),
    "a key without end": (PICTURE, PNG, {"key": "k" * 201}, 422, "no_key"),
    "nothing": (b"", PNG, {}, 422, "refused"),
    "a drawing": (b"<svg onload='alert(1)'/>", {"content-type": "image/svg+xml"}, {}, 422, "refused"),
    "a drawing called a photo": (b"<svg onload='alert(1)'/>", JPEG, {}, 422, "refused"),
    "a page called a photo": (b"<!doctype html><script>alert(1)</script>", JPEG, {}, 422, "refused"),
    "another kind": (PICTURE, JPEG, {}, 422, "refused"),
    "no kind": (PICTURE, {"content-type": ""}, {}, 422, "refused"),
    "too many bytes": (PICTURE + bytes(5_000_000), PNG, {}, 422, "refused"),
    "40 MB": (bytes(40_000_000), PNG, {}, 413, "too_large"),
}


def test_what_cannot_be_kept_is_said(script: TestClient, day: str) -> None:
    text = script.get(day).text
    for name, (data, headers, asked, status, code) in BAD.items():
        assert error(send(script, day, data, headers, **({"key": "p-1"} | asked)), status, code), name
    assert script.get(day).text == text
    assert script.get(f"{day}/photographs").json() == {"photographs": []}


def test_a_draft_without_a_key_is_named_by_its_number(script: TestClient, day: str) -> None:
    assert send(script, day, key="p-1", draft="2").status_code == 201
    assert parse_day(script.get(day).text, "day").photographs[0].draft == 2
    error(script.get(f"{day}/photographs/{'0' * 64}"), 404, "no_such_photo")
    error(script.get(f"{day}/photographs/..%5c..%5cetc"), 404, "no_such_photo")


def test_the_one_photo_of_a_draft_is_a_photograph_with_a_record(script: TestClient, day: str) -> None:
    address = f"{day}/drafts/k-1/photo"
    assert send(script, day, PICTURE + b"wheel", key="p-1", place="truck/1L").status_code == 201
    error(script.get(address), 404, "no_such_photo")  # a wheel's is not the whole draft's
    assert script.put(address, content=PICTURE, headers=PNG).status_code == 201
    assert script.put(address, content=PICTURE + b"later", headers=PNG).json() == {"key": "k-1", "replay": True}
    assert script.get(address).content == PICTURE
    last = parse_day(script.get(day).text, "day").photographs[-1]
    assert (last.sha256, last.place, last.by) == (DIGEST, None, "")
    history = script.get(f"{day}/history").json()["entries"]
    assert [entry["kind"] for entry in history] == ["drafts", "photographs", "photographs"]


def test_the_photo_that_came_by_the_other_address_stays_too(script: TestClient, day: str) -> None:
    assert send(script, day, key="p-1").status_code == 201
    answer = script.put(f"{day}/drafts/k-1/photo", content=PICTURE + b"later", headers=PNG)
    assert (answer.status_code, answer.json()["replay"]) == (200, True)
    assert script.get(f"{day}/drafts/k-1/photo").content == PICTURE


def test_the_bench_says_which_reading_a_photograph_belongs_to(script: TestClient, day: str) -> None:
    assert send(script, day, key="p-1", place="truck/1L", at=AT).status_code == 201
    page = script.get(day.replace("/api/v1", "")).text
    count = len(parse_day(script.get(day).text, "day").drafts)
    assert f'href="{day}/photographs/{DIGEST}"' in page
    assert f'<code>{DIGEST[:8]}</code><span class="unseen"> of draft {count}, truck/1L</span>' in page
    assert 'taken <time datetime="2026-05-14T09:12:00Z" data-local>2026-05-14 09:12 UTC</time><' in page


def test_the_day_comes_with_its_photographs_as_one_folder_that_checks_itself(
    script: TestClient, day: str, tmp_path: Path
) -> None:
    for key, place, data in (("p-1", "truck/1L", PICTURE), ("p-2", "truck/1R", PICTURE), ("p-3", "truck/2L", b"3")):
        assert send(script, day, PICTURE + data, key=key, place=place).status_code == 201
    name = day.rpartition("/")[2]
    packed = script.get(f"/days/{name}/folder.zip")
    assert packed.headers["content-type"] == "application/zip"
    named = 'attachment; filename="2026-04-09 quay-bakery-before-the-market-season.zip"'
    assert packed.headers["content-disposition"] == named
    assert packed.content == script.get(f"/days/{name}/folder.zip").content
    zipfile.ZipFile(io.BytesIO(packed.content)).extractall(tmp_path)
    folder = tmp_path / name
    text = script.get(day).text
    assert (folder / f"{name}.toml").read_text(encoding="utf-8") == text
    files = list(photograph_files(parse_day(text, "day"), folder / f"{name}.toml"))
    assert [item.kept for item in files] == [Beside.SAME] * 3
    listed = dict(line.split("  ")[::-1] for line in (folder / "SHA256SUMS").read_text().splitlines())
    assert sorted(listed) == sorted(path.name for path in folder.iterdir() if path.name != "SHA256SUMS")
    for path, digest in listed.items():
        assert hashlib.sha256((folder / path).read_bytes()).hexdigest() == digest
    page = script.get(f"/days/{name}").text
    assert f'href="/days/{name}/folder.zip"' in page
    assert f'href="/days/{name}/ticket.pdf?thumbnails=yes"' in page
    error(script.get("/days/nobody/folder.zip"), 404, "no_such_day")


def test_a_day_without_photographs_offers_none(script: TestClient, day: str) -> None:
    name = day.rpartition("/")[2]
    page = script.get(f"/days/{name}").text
    assert "folder.zip" not in page
    assert "thumbnails" not in page
    assert script.get(f"/days/{name}/folder.zip").status_code == 200


def test_the_ticket_of_the_station_shows_displays_when_it_is_asked_to(
    script: TestClient, day: str, tmp_path: Path
) -> None:
    out = io.BytesIO()
    Image.new("RGB", (90, 60), (200, 120, 40)).save(out, "PNG")
    assert send(script, day, out.getvalue(), key="p-1", place="truck/1L").status_code == 201
    assert send(script, day, key="p-2", place="truck/1R").status_code == 201  # no sound picture
    assert send(script, day, PICTURE + b"3", key="p-3", place="truck/2L").status_code == 201
    changed = hashlib.sha256(PICTURE + b"3").hexdigest()
    with sqlite3.connect(tmp_path / "station.db") as database:  # somebody puts another picture in its place
        database.execute("UPDATE pictures SET data = ? WHERE sha256 = ?", (out.getvalue(), changed))
    name = day.rpartition("/")[2]
    pdf = script.get(f"/days/{name}/ticket.pdf?thumbnails=yes")
    pages = PdfReader(io.BytesIO(pdf.content)).pages
    assert [image.image.size for page in pages for image in page.images if image.image] == [(90, 60)]
    said = " ".join(" ".join(page.extract_text() for page in pages).split())
    digest = hashlib.sha256(out.getvalue()).hexdigest()
    assert f"truck/1L 2,160 lb on p1 {digest[:8]}" in said
    assert "truck/1R, draft-" in said
    assert "is damaged: it does not say how wide" in said
    other = f"its SHA-256 begins with {digest[:12]}, the record has {changed[:12]}"
    assert f"is not the one that was kept: {other}" in said


def test_an_imported_record_has_its_picture_elsewhere(script: TestClient, day: str) -> None:
    assert send(script, day, key="p-1", place="truck/1L").status_code == 201
    other = script.post(DAYS, content=script.get(day).text).json()["id"]
    (item,) = script.get(f"{DAYS}/{other}/photographs").json()["photographs"]
    assert (item["sha256"], item["kept"]) == (DIGEST, False)
    assert "not in this station" in script.get(f"/days/{other}").text
