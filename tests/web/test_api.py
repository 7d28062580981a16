"""The interface for programs keeps its contract."""

from __future__ import annotations

import json
from typing import Any

import jsonschema
import pytest
from starlette.testclient import TestClient

from steelyard.dayfile import parse_day
from steelyard.findings import weigh
from steelyard.questions.findings import findings_data, findings_schema
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, TOKEN
from tests.web.shapes import READINGS, draft, error

DAYS = "/api/v1/days"


def test_a_day_comes_out_letter_for_letter(script: TestClient) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    made = script.post(DAYS, content=text)
    assert made.status_code == 201
    assert set(made.json()) == {"id"}
    answer = script.get(made.headers["location"])
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/toml; charset=utf-8"
    assert answer.content == text.encode()


def test_a_day_with_faults_is_refused_with_all_of_them(script: TestClient) -> None:
    text = EXAMPLE.read_text(encoding="utf-8").replace("capacity =", "capcity =")
    answer = script.post(DAYS, content=text)
    message = error(answer, 422, "faults")
    faults = answer.json()["error"]["faults"]
    assert len(faults) >= 4
    assert all(fault["line"] is not None for fault in faults)
    assert message.startswith("instruments.p1.capacity: is missing")
    assert any("did you mean 'capacity'?" in fault["message"] for fault in faults)
    assert script.get(DAYS).json()["days"] == []


def test_findings_are_those_of_the_command_line(script: TestClient, day_id: str) -> None:
    answer = script.get(f"{DAYS}/{day_id}/findings")
    assert answer.status_code == 200
    data = answer.json()
    jsonschema.validate(data, findings_schema())
    day = parse_day(EXAMPLE.read_text(encoding="utf-8"), "day")
    assert data == json.loads(json.dumps(findings_data(weigh(day), file=f"{day_id}.toml")))


def test_findings_come_in_the_units_asked_for(script: TestClient, day_id: str) -> None:
    pounds = script.get(f"{DAYS}/{day_id}/findings").json()
    kilograms = script.get(f"{DAYS}/{day_id}/findings?units=kg,mm").json()
    assert kilograms["units"] == {"mass": "kg", "length": "mm"}
    for one, other in zip(pounds["findings"], kilograms["findings"], strict=True):
        if one["unit"] == "lb" and one["value"] is not None:
            assert other["value"] == pytest.approx(one["value"] * 0.45359237, rel=1e-8)
    message = error(script.get(f"{DAYS}/{day_id}/findings?units=stone,mm"), 422, "bad_parameter")
    assert message == "units: stone,mm: is not a mass unit and a length unit; write for example lb,in or kg,mm"


def test_a_draft_is_kept_once_whatever_is_sent(script: TestClient, day_id: str) -> None:
    before = script.get(f"{DAYS}/{day_id}").text
    first = script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1", label="again"))
    assert first.status_code == 201
    assert first.json() == {"key": "k-1", "number": 7, "seq": 1, "replay": False}
    again = script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1", label="again"))
    assert again.status_code == 200
    assert again.json() == {"key": "k-1", "number": 7, "seq": 1, "replay": True}
    turned = dict(reversed(READINGS.items()))
    assert script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1", label="again", readings=turned)).status_code == 200
    text = script.get(f"{DAYS}/{day_id}").text
    assert text.startswith(before)
    kept = parse_day(text, "day").drafts
    assert [item.key for item in kept[6:]] == ["k-1"]
    assert [reading.place.text for reading in kept[6].readings] == list(READINGS)


def test_the_same_key_for_another_draft_is_refused(script: TestClient, day_id: str) -> None:
    script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"))
    text = script.get(f"{DAYS}/{day_id}").text
    for other in (draft("k-1", label="another"), draft("k-1", readings={"truck/1L": ["p1", 2160]})):
        message = error(script.post(f"{DAYS}/{day_id}/drafts", json=other), 409, "key_taken")
        assert message == "the key 'k-1' was used before for something else; that is kept and stays as it is"
    assert script.get(f"{DAYS}/{day_id}").text == text


def test_the_key_of_a_draft_that_was_imported_is_known(script: TestClient, day_id: str) -> None:
    script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"))
    copy = script.post(DAYS, content=script.get(f"{DAYS}/{day_id}").text).json()["id"]
    again = script.post(f"{DAYS}/{copy}/drafts", json=draft("k-1"))
    assert again.status_code == 200
    assert again.json() == {"key": "k-1", "number": 7, "seq": 0, "replay": True}
    error(script.post(f"{DAYS}/{copy}/drafts", json=draft("k-1", note="no")), 409, "key_taken")


def test_a_replay_is_known_by_a_new_server(making: Making) -> None:
    headers = {"authorization": f"Bearer {TOKEN}"}
    one = making(headers=headers)
    day = one.post(DAYS, content=EXAMPLE.read_text(encoding="utf-8")).json()["id"]
    sent = draft("k-1", at="2026-05-14T09:12:00.250+02:00", readings={"truck/1L": ["p1", "979.7595192 kg"]})
    assert one.post(f"{DAYS}/{day}/drafts", json=sent).status_code == 201
    other = making(headers=headers)
    assert other.post(f"{DAYS}/{day}/drafts", json=sent).status_code == 200


CORRECTION = {"draft": 1, "place": "truck/1L", "reason": "the pad was not zeroed"}


def test_a_correction_stands_beside_its_reading(script: TestClient, day_id: str) -> None:
    place = next(iter(parse_day(script.get(f"{DAYS}/{day_id}").text, "day").drafts[0].readings)).place.text
    sent = CORRECTION | {"key": "c-1", "place": place, "value": 4000}
    made = script.post(f"{DAYS}/{day_id}/corrections", json=sent)
    assert made.status_code == 201, made.text
    assert script.post(f"{DAYS}/{day_id}/corrections", json=sent).status_code == 200
    error(script.post(f"{DAYS}/{day_id}/corrections", json=sent | {"value": 4020}), 409, "key_taken")
    day = parse_day(script.get(f"{DAYS}/{day_id}").text, "day")
    assert len(day.corrections) == 1
    assert day.readings_of(day.drafts[0])[0].reason == "the pad was not zeroed"
    entries = script.get(f"{DAYS}/{day_id}/history").json()["entries"]
    assert [(entry["seq"], entry["kind"], entry["key"], entry["device"]) for entry in entries] == [
        (1, "corrections", "c-1", "script")
    ]


def test_a_correction_without_reason_is_refused(script: TestClient, day_id: str) -> None:
    sent = {"key": "c-1", "draft": 1, "place": "truck/1L"}
    assert "reason" in error(script.post(f"{DAYS}/{day_id}/corrections", json=sent), 422, "faults")


def test_a_state_is_made_from_another(script: TestClient, day_id: str) -> None:
    sent = {"key": "s-1", "name": "solo_again", "same": "solo"}
    assert script.post(f"{DAYS}/{day_id}/states", json=sent).status_code == 201
    assert script.post(f"{DAYS}/{day_id}/states", json=sent).status_code == 200
    kept = script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1", state="solo_again"))
    assert kept.status_code == 201, kept.text
    day = parse_day(script.get(f"{DAYS}/{day_id}").text, "day")
    assert day.states["solo_again"].vehicles == day.states["solo"].vehicles
    taken = error(script.post(f"{DAYS}/{day_id}/states", json={"name": "solo", "same": "solo"}), 422, "faults")
    assert "is taken" in taken


def test_a_cargo_is_added(script: TestClient, day_id: str) -> None:
    sent = {"key": "g-1", "name": "crate", "title": "A crate", "on": "truck", "mass": "40 kg", "x": "2 m", "y": "0 m"}
    assert script.post(f"{DAYS}/{day_id}/cargo", json=sent).status_code == 201
    assert script.post(f"{DAYS}/{day_id}/cargo", json=sent).status_code == 200
    crate = parse_day(script.get(f"{DAYS}/{day_id}").text, "day").cargo["crate"]
    assert (crate.title, crate.on) == ("A crate", "truck")


PICTURE = b"\x89PNG\r\n\x1a\n" + bytes(100)


def test_the_first_photo_of_a_draft_stays(script: TestClient, day_id: str) -> None:
    script.post(f"{DAYS}/{day_id}/drafts", json=draft("k-1"))
    address = f"{DAYS}/{day_id}/drafts/k-1/photo"
    error(script.get(address), 404, "no_such_photo")
    png = {"content-type": "image/png"}
    assert script.put(address, content=PICTURE, headers=png).status_code == 201
    assert script.put(address, content=PICTURE + b"other", headers=png).status_code == 200
    kept = script.get(address)
    assert (kept.content, kept.headers["content-type"]) == (PICTURE, "image/png")
    error(script.put(address, content=b"<svg/>", headers={"content-type": "image/svg+xml"}), 422, "refused")
    error(script.put(address, content=b"<script>", headers=png), 422, "refused")
    error(script.put(f"{DAYS}/{day_id}/drafts/nobody/photo", content=PICTURE, headers=png), 404, "no_such_draft")
    error(script.put(address, content=bytes(6_000_000), headers=png), 413, "too_large")


def test_days_come_in_pages(script: TestClient) -> None:
    text = EXAMPLE.read_text(encoding="utf-8")
    made = [script.post(DAYS, content=text).json()["id"] for _ in range(5)]
    seen: list[str] = []
    before: str | None = None
    for _ in range(3):
        page = script.get(DAYS, params={"limit": 2} | ({} if before is None else {"before": before})).json()
        seen += [day["id"] for day in page["days"]]
        before = page["before"]
    assert seen == made[::-1]
    assert before is None
    for limit in ("0", "201", "-1", "x", "1e1", "٣"):
        message = error(script.get(DAYS, params={"limit": limit}), 422, "bad_parameter")
        assert message == f"limit: {limit}: is not a whole number from 1 to 200"
    error(script.get(DAYS, params={"before": "nobody"}), 404, "no_such_day")


BAD_BODIES = [
    (b"", 400, "bad_json"),
    (b"{", 400, "bad_json"),
    (b'{"key": "a", "key": "b"}', 400, "bad_json"),
    (b'{"readings": {"truck/1L": ["p1", 1], "truck/1L": ["p2", 2]}}', 400, "bad_json"),
    (b'{"key": NaN}', 400, "bad_json"),
    (b'{"key": "\xff"}', 400, "not_utf8"),
    (b"[" * 50_000, 400, "bad_json"),
    (b'{"a":' * 40_000 + b"1" + b"}" * 40_000, 400, "bad_json"),
    (b'{"key": ' + b"9" * 5_000 + b"}", 400, "bad_json"),
    (b"[]", 422, "faults"),
    (b"null", 422, "faults"),
    (b'"text"', 422, "faults"),
    (b"1", 422, "faults"),
    (b"{}", 422, "no_key"),
    (b'{"key": 7}', 422, "no_key"),
    (b'{"key": ""}', 422, "no_key"),
    (b'{"key": "a\\u0000b"}', 422, "no_key"),
    (b'{"key": "\\ud800"}', 422, "no_key"),
    (b'{"key": "a"}', 422, "faults"),
    (b'{"key": "a", "state": 1, "readings": []}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", 1e999]}}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", -20]}}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", true]}}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", "\\ud800"]}}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", ' + b"9" * 400 + b"]}}", 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/9L": ["p1", 20]}}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", 20]}, "at": "yesterday"}', 422, "faults"),
    (b'{"key": "a", "state": "solo", "readings": {"truck/1L": ["p1", 20]}, "colour": "red"}', 422, "faults"),
]


@pytest.mark.parametrize(("body", "status", "code"), BAD_BODIES)
def test_a_bad_draft_is_one_clear_error_and_nothing_is_kept(
    script: TestClient, day_id: str, body: bytes, status: int, code: str
) -> None:
    text = script.get(f"{DAYS}/{day_id}").text
    assert error(script.post(f"{DAYS}/{day_id}/drafts", content=body), status, code)
    assert script.get(f"{DAYS}/{day_id}").text == text


@pytest.mark.parametrize("where", ["", "/findings", "/history", "/events"])
@pytest.mark.parametrize("name", ["nobody", "x" * 41, "%00", "..%2f..", "a%20b", "ä"])
def test_a_day_that_is_not_there_is_not_found(script: TestClient, where: str, name: str) -> None:
    answer = script.get(f"{DAYS}/{name}{where}")
    assert answer.status_code == 404
    assert answer.json()["error"]["code"] in ("no_such_day", "not_found")


def test_a_draft_for_a_day_that_is_not_there_is_not_found(script: TestClient) -> None:
    assert (
        error(script.post(f"{DAYS}/nobody/drafts", json=draft("k")), 404, "no_such_day") == "there is no day 'nobody'"
    )


def test_what_is_not_there_is_said_in_the_one_shape(script: TestClient, day_id: str) -> None:
    error(script.get("/api/v1/nothing"), 404, "not_found")
    error(script.delete(f"{DAYS}/{day_id}"), 405, "wrong_method")
    error(script.patch(DAYS), 405, "wrong_method")


def _too_large() -> dict[str, Any]:
    return {"draft": (f"{DAYS}/x/drafts", 300_001), "day": (DAYS, 8_100_001)}


@pytest.mark.parametrize("announced", [True, False])
@pytest.mark.parametrize("what", ["draft", "day"])
def test_a_body_that_is_too_large_is_refused(script: TestClient, what: str, announced: bool) -> None:
    address, size = _too_large()[what]
    body = b"x" * size
    answer = script.post(address, content=body if announced else iter([body[:-1], body[-1:]]))
    assert error(answer, 413, "too_large") == f"the request is too large; this takes at most {size - 1:,} bytes"


def test_an_endless_number_is_said_in_plain_words(script: TestClient, day_id: str) -> None:
    body = b'{"key": -' + b"9" * 6_000 + b"}"
    answer = script.post(f"/api/v1/days/{day_id}/drafts", content=body)
    said = "the body is not JSON: it holds a number of 6,000 digits; write one of a few digits"
    assert error(answer, 400, "bad_json") == said
