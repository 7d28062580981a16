"""Verifications at the station: judged, kept and printed as the command does of the same file; taken in and away."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from steelyard.store import Shelf, open_store
from tests.cli.days import ROOT, run
from tests.web.shapes import error

FILES = [ROOT / "examples" / f"pads-{year}.toml" for year in (2025, 2026)]
TEXTS = [path.read_text(encoding="utf-8") for path in FILES]
JUDGE, KEEP, PAD = "/api/v1/verify", "/api/v1/yard/verifications", "/api/v1/yard/instruments/p1"


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_the_station_judges_as_the_command_does(script: TestClient, path: Path) -> None:
    said = json.loads(run("verify", str(path), "--json").stdout)
    answer = script.post(JUDGE, content=path.read_bytes())
    assert answer.status_code == 200
    assert answer.json() == said | {"file": "verification"}
    assert script.get("/api/v1/yard").json()["instruments"] == []


def test_the_record_is_the_one_that_the_command_prints(script: TestClient, tmp_path: Path) -> None:
    name = script.post(KEEP, content=TEXTS[1]).json()["name"]
    run("verify", str(FILES[1]), "--record", str(tmp_path / "record.pdf"), "--paper", "a4")
    pdf = script.get(f"/yard/verifications/{name}/record.pdf?paper=a4")
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content == (tmp_path / "record.pdf").read_bytes()
    assert script.get(f"/yard/verifications/{name}/check.toml").text == TEXTS[1]


def test_what_is_kept_is_what_the_command_keeps(script: TestClient, tmp_path: Path) -> None:
    store = tmp_path / "other.db"
    kept: list[object] = []
    for path, text in zip(FILES, TEXTS, strict=True):
        answer = script.post(KEEP, content=text)
        assert answer.status_code == 201
        assert run("verify", str(path), "--yard", str(store)).exit_code == 0
        assert {pad["version"] for pad in answer.json()["pads"]} == {FILES.index(path) + 1}
        kept.append(answer.json())
    again = script.post(KEEP, content=TEXTS[1])
    assert (again.status_code, again.json()) == (200, kept[-1])
    with open_store(store) as other:
        for pad in other.shelf(Shelf.INSTRUMENT):
            own = script.get(f"/api/v1/yard/instruments/{pad.name}").json()
            assert (own["version"], own["text"], own["learned"]) == (pad.version, pad.text, dict(pad.learned))
        assert [one.text for one in other.shelf(Shelf.VERIFICATION)] == TEXTS


def test_a_verification_that_the_yard_cannot_take_changes_nothing(script: TestClient) -> None:
    script.post(KEEP, content=TEXTS[1])
    before = script.get(PAD).json()
    assert "verified later" in error(script.post(KEEP, content=TEXTS[0]), 409, "conflict")
    other = TEXTS[1].replace('serial = "A-0417"', 'serial = "B-1"').replace("2026-02-20", "2026-03-20")
    assert "serial" in error(script.post(KEEP, content=other), 409, "conflict")
    error(script.post(KEEP, content=TEXTS[1].replace("5020", "5021")), 422, "faults")
    error(script.post(JUDGE, content="format = 1"), 422, "faults")
    error(script.post(JUDGE, content=b"\xff"), 400, "not_utf8")
    error(script.post(KEEP, content=TEXTS[1] + "#" * 70_000), 422, "refused")
    assert script.get(PAD).json() == before


def test_the_pages_show_the_record_and_lead_to_it(script: TestClient) -> None:
    for text in TEXTS:
        script.post(KEEP, content=text)
    walk = script.get("/yard/verify").text
    names = re.findall(r"/yard/verifications/(2026[\w-]+)\"", walk)
    page = script.get(f"/yard/verifications/{names[0]}").text
    assert "span 0.139 % <span" in page
    assert "(95 %: 0.079 to 0.200 %)" in page
    assert page.count("<h3>p") == 4
    assert "p1, known masses" in page
    assert "no legal verification" in page
    thing = script.get("/yard/instruments/p1").text
    assert f'href="/yard/verifications/{names[0]}"' in thing
    assert thing.count("<circle") == 2
    assert script.get("/yard/verifications/2026-nothing").status_code == 404
