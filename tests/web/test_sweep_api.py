"""Logs of growing load through the interface: fitted as the command does, recorded, kept, and taught to the yard."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from steelyard.capture import Live, Manner, Sample, Settled
from steelyard.cli import cli
from steelyard.dayfile import parse_day
from steelyard.model import WeighDay
from steelyard.store import open_store
from steelyard.web import Settings
from steelyard.web.station import sweeping
from steelyard.web.station.recording import MOST_ROWS, Recording, Take
from steelyard.web.station.simulate import Simulation
from steelyard.web.station.station import Station
from tests.released.near import differences
from tests.waiting import until
from tests.web.conftest import Making
from tests.web.serving import EXAMPLE, ROOT, TOKEN

LOG = ROOT / "examples" / "quay-bakery-sweep.csv"
TEXT = LOG.read_text(encoding="utf-8")
DAY = parse_day(EXAMPLE.read_text(encoding="utf-8"), "day")
PADS = {"truck/1L": "p1", "truck/1R": "p2", "truck/2L": "p3", "truck/2R": "p4"}
QUICK = Manner(approach=0.2, sway=0.0, wobble=0.4)


def printed(log: Path, *options: str) -> dict[str, Any]:
    result = CliRunner().invoke(cli, ["sweep", str(EXAMPLE), str(log), "--state", "solo", *options, "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.output)


def bare(data: dict[str, Any]) -> dict[str, Any]:
    """Without the names of the files."""
    return {key: value for key, value in data.items() if key not in ("file", "log")}


def csv_sent(client: TestClient, day_id: str, text: str, *, to: str = "sweep", **query: str) -> Any:
    headers = {"content-type": "text/csv"}
    return client.post(f"/api/v1/days/{day_id}/{to}", params=query, content=text.encode(), headers=headers)


def test_a_log_is_fitted_as_the_command_does(script: TestClient, day_id: str) -> None:
    wanted = printed(LOG, "--at", "ball", "--height-division", "0.05 in")
    sent = csv_sent(script, day_id, TEXT, state="solo", at="ball", height_division="0.05 in")
    assert sent.status_code == 200, sent.text
    assert bare(sent.json()) == bare(wanted)
    names, *lines = [line.split(",") for line in TEXT.splitlines() if line and not line.startswith("#")]
    rows = [dict(zip(names, map(float, line), strict=True)) for line in lines]
    body = {"state": "solo", "at": "ball", "height_division": "0.05 in", "rows": rows}
    answer = script.post(f"/api/v1/days/{day_id}/sweep", json=body)
    assert bare(answer.json()) == bare(wanted)


def test_a_long_log_is_worked_out_in_a_process_of_its_own(
    script: TestClient, day_id: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    near = csv_sent(script, day_id, TEXT, state="solo").json()
    monkeypatch.setattr(sweeping, "_LONG", 10)
    apart = csv_sent(script, day_id, TEXT, state="solo").json()
    assert differences(json.dumps(near, indent=1), json.dumps(apart, indent=1)) == []
    bad = csv_sent(script, day_id, TEXT.replace("2,2180", "2,2181", 1), state="solo")
    assert bad.status_code == 422
    fault = bad.json()["error"]["faults"][0]
    assert (fault["line"], fault["path"], fault["value"]) == (3, "truck/1L", "2181")
    one = csv_sent(script, day_id, "t,truck/1L,truck/2L\n0,20,20\n1,20,20\n2,20,20\n", state="solo")
    assert (one.status_code, one.json()["error"]["code"]) == (422, "teaches_nothing")


@pytest.mark.parametrize(
    ("query", "message"),
    [
        ({}, "state: is missing; the day has solo, hitched, levelled, market"),
        ({"state": "solo", "on": "oven"}, "on: oven: is not in state 'solo'; there are truck"),
        ({"state": "solo", "at": "here"}, None),
        (
            {"state": "solo", "pad": "truck/1L"},
            "pads: truck/1L: is not a place and an instrument; write them as in tow/1L=p1",
        ),
        ({"state": "solo", "on": "t" * 201}, f"on: {'t' * 57}...: is not a text of at most 200 letters"),
        ({"state": "solo", "height_division": "0 in"}, "height_division: 0 in: is not above zero"),
    ],
)
def test_what_cannot_be_asked_is_said(
    script: TestClient, day_id: str, query: dict[str, str], message: str | None
) -> None:
    answer = csv_sent(script, day_id, TEXT, **query)
    assert answer.status_code == 422
    said = answer.json()["error"]["message"]
    if message is None:
        assert said.startswith("at: here: is not a place; write a coupling of truck (ball), or two lengths")
    else:
        assert said == message


ROWS = [{"t": 0, "truck/1L": 2180}, {"t": 1, "truck/1L": 2100}]


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ({"state": "solo"}, "rows: a log is given once, as rows or as csv"),
        ({"state": "solo", "csv": TEXT, "rows": ROWS}, "rows: a log is given once, as rows or as csv"),
        ({"rows": ROWS}, "state: is missing; the day has solo, hitched, levelled, market"),
        ({"state": "solo", "rows": []}, "rows: is empty; a sweep takes three rows or more"),
        ({"state": "solo", "rows": [3]}, "rows[1]: 3: is not a table of keys and values"),
        ({"state": "solo", "rows": [*ROWS, {"t": 2}]}, "rows[3]: has other names than the first row: t, truck/1L"),
        (
            {"state": "solo", "rows": [*ROWS, {"t": 2, "truck/1L": None}, {"t": True, "truck/1L": 10**20}]},
            "rows[3].truck/1L: null: is not a number; write what the instrument showed (and 2 further faults)",
        ),
        ({"log": 0}, "log: 0: is not a whole number from 1 to 999999999"),
        ({"log": 1, "csv": TEXT}, "csv: is an unknown key; the keys are on, at, height_division, log"),
        (
            {"state": "solo", "rows": ROWS, "axle": 1},
            "axle: is an unknown key; the keys are state, csv, rows, name, pads, on",
        ),
    ],
)
def test_a_log_that_cannot_be_read_is_refused_with_its_place(
    script: TestClient, day_id: str, body: dict[str, Any], message: str
) -> None:
    answer = script.post(f"/api/v1/days/{day_id}/sweep", json=body)
    assert answer.json()["error"]["code"] == "faults"
    assert answer.json()["error"]["message"].startswith(message)


def test_the_number_of_a_kept_log_asks_what_it_teaches(script: TestClient, day_id: str) -> None:
    csv_sent(script, day_id, TEXT, to="sweeps", state="solo", name="flour.csv")
    wanted = script.get(f"/api/v1/days/{day_id}/sweeps/1/answer?at=ball").json()
    assert script.post(f"/api/v1/days/{day_id}/sweep", json={"log": 1, "at": "ball", "on": ""}).json() == wanted
    again = script.post(f"/api/v1/days/{day_id}/sweeps", json={"log": 1})
    assert again.json()["error"]["message"] == "log: 1: is kept already"


@pytest.mark.parametrize(
    ("to", "body", "message"),
    [
        ("recording", {}, "state: is missing; the day has solo, hitched, levelled, market"),
        ("recording", {"state": "sol"}, "state: sol: there is no such state; did you mean 'solo'?"),
        ("recording", {"state": "solo", "take": "some"}, "take: some: is not one of steady, every, hand"),
        (
            "recording",
            {"state": "solo", "pads": {"truck/1L": 1}},
            "pads.truck/1L: 1: is not a text of at most 200 letters",
        ),
        ("recording", {"state": "solo", "pads": {"truck/9L": "p1"}}, "pads: 'truck/9L' is not a place: "),
        ("recording/rows", {"row": 0, "readings": {}}, "row: 0: is not a whole number from 1 to 1000000000"),
        ("recording/rows", {"row": 1, "readings": {"truck/1L": "2 in"}}, "readings.truck/1L: 2 in: "),
        ("recording/rows", {"row": 1}, "readings: is missing"),
        ("recording/finish", {"at": 3}, "at: 3: is not a text of at most 200 letters"),
        ("recording/finish", {"on_": "truck"}, "on_: is an unknown key; did you mean 'on'?"),
    ],
)
def test_a_recording_is_told_what_is_wrong_with_a_body(
    script: TestClient, day_id: str, to: str, body: dict[str, Any], message: str
) -> None:
    answer = script.post(f"/api/v1/days/{day_id}/{to}", json=body)
    assert answer.status_code == 422, answer.text
    assert answer.json()["error"]["message"].startswith(message)


def test_a_log_is_kept_once_and_comes_out_as_it_went_in(script: TestClient, day_id: str, tmp_path: Path) -> None:
    first = csv_sent(script, day_id, TEXT, to="sweeps", state="solo", at="ball", name="flour.csv")
    assert (first.status_code, first.json()) == (201, {"number": 1, "replay": False})
    again = csv_sent(script, day_id, TEXT, to="sweeps", state="solo", at="ball", name="flour.csv")
    assert (again.status_code, again.json()) == (200, {"number": 1, "replay": True})
    got = script.get(f"/api/v1/days/{day_id}/sweeps/1/log.csv")
    assert got.text == TEXT
    assert got.headers["content-disposition"] == 'attachment; filename="sweep-1.csv"'
    answer = script.get(f"/api/v1/days/{day_id}/sweeps/1/answer").json()
    assert bare(answer) == bare(printed(LOG, "--at", "ball"))
    assert answer["log"] == "flour.csv"
    with open_store(tmp_path / "station.db") as store:
        kept = store.log(day_id, 1)
        assert kept is not None
        assert kept.text == TEXT
    bad = csv_sent(script, day_id, "t,truck/1L\n", to="sweeps", state="solo")
    assert bad.status_code == 422
    assert len(script.get(f"/api/v1/days/{day_id}/sweeps").json()["logs"]) == 1


def test_a_stranger_may_not_keep(making: Making, day_id: str) -> None:
    page = {"origin": "http://127.0.0.1:8765"}
    guest = making(headers=page)
    assert csv_sent(guest, day_id, TEXT, to="sweeps", state="solo").status_code == 401
    assert guest.post(f"/api/v1/days/{day_id}/recording", json={"state": "solo"}).status_code == 401


def test_what_was_learned_goes_to_the_yard_as_the_command_does_it(
    script: TestClient, day_id: str, tmp_path: Path
) -> None:
    options = {"at": "ball", "height_division": "0.05 in"}
    csv_sent(script, day_id, TEXT, to="sweeps", state="solo", name=str(LOG), **options)
    taught = script.post(f"/api/v1/days/{day_id}/sweeps/1/teach", json={})
    assert (taught.status_code, taught.json()) == (201, {"name": "truck", "version": 1})
    again = script.post(f"/api/v1/days/{day_id}/sweeps/1/teach", json={})
    assert (again.status_code, again.json()["version"]) == (200, 1)
    kept = script.get("/api/v1/yard/vehicles/truck").json()
    other = tmp_path / "cli.db"
    printed(LOG, "--at", "ball", "--height-division", "0.05 in", "--yard", str(other))
    with open_store(other) as store:
        from steelyard.store import Shelf

        by_command = store.kept(Shelf.VEHICLE, "truck")
    assert by_command is not None
    assert kept["text"] == by_command.text
    learned = kept["learned"]["sweeps"]["solo"]
    assert learned["learned"] == by_command.learned["sweeps"]["solo"]["learned"]
    assert "learned in solo:" in script.get("/yard").text
    new = script.post("/api/v1/yard/days", json={"vehicles": ["truck"], "instruments": []}).json()["id"]
    assert "700.7 lb/in +/- 5.8 lb/in" in script.get(f"/api/v1/days/{new}").text


def test_rows_by_hand_are_kept_once_and_go_to_the_log(script: TestClient, day_id: str) -> None:
    base = f"/api/v1/days/{day_id}/recording"
    assert script.post(f"{base}/finish", json={}).json()["error"]["code"] == "not_recording"
    begun = script.post(base, json={"state": "solo", "take": "hand"})
    assert begun.status_code == 201, begun.text
    assert script.post(base, json={"state": "solo"}).json()["error"]["code"] == "recording"
    table = [(2180, 2100, 1560, 1560), (2100, 2020, 1900, 1900), (2020, 1940, 2240, 2240)]
    for number, values in enumerate(table, 1):
        row = {"row": number, "readings": dict(zip(PADS, values, strict=True))}
        assert script.post(f"{base}/rows", json=row).status_code == 201
        assert script.post(f"{base}/rows", json=row).status_code == 200
    other = {"row": 3, "readings": dict(zip(PADS, table[0], strict=True))}
    assert script.post(f"{base}/rows", json=other).json()["error"]["code"] == "row_taken"
    assert script.delete(f"{base}/rows/2").json()["error"]["code"] == "not_the_last"
    assert script.delete(f"{base}/rows/3").json()["recording"]["rows"] == 2
    few = script.post(f"{base}/finish", json={})
    assert few.json()["error"]["message"] == "a log takes 3 rows or more, and this one has 2; go on or let it go"
    script.post(f"{base}/rows", json={"row": 3, "readings": dict(zip(PADS, table[2], strict=True))})
    over = script.post(f"{base}/rows", json={"row": 4, "readings": dict(zip(PADS, (15000, 0, 0, 0), strict=True))})
    assert "its capacity of 15000 lb or more. Take load off at once." in over.json()["error"]["message"]
    assert script.post(f"{base}/finish", json={"at": "ball"}).json() == {"number": 1}
    assert script.get(base).json() == {"recording": None}
    text = script.get(f"/api/v1/days/{day_id}/sweeps/1/log.csv").text
    assert text.splitlines()[1] == "t,truck/1L,truck/1R,truck/2L,truck/2R"
    assert text.splitlines()[3].endswith(",2100,2020,1900,1900")


def test_the_pads_are_recorded_and_the_log_goes_through_the_command(making: Making, tmp_path: Path) -> None:
    settings = Settings(store=tmp_path / "rig.db", token=TOKEN)
    simulation = Simulation(DAY, manner=QUICK)
    simulation.port.rate = 50.0
    station = Station(open_store(settings.store), settings, simulation=simulation)
    client = making(station=station, headers={"authorization": f"Bearer {TOKEN}"})
    day_id = client.post("/api/v1/days", content=simulation.text).json()["id"]
    client.post("/api/v1/simulation", json={"drive": 1})
    base = f"/api/v1/days/{day_id}/recording"
    channels = station.live.channels
    until(lambda: len(channels) == 4 and all(loaded(live) for live in channels.values()), "a load on each pad")
    assert client.post(base, json={"state": "solo", "take": "every", "pads": PADS}).status_code == 201
    for _ in range(4):
        longer(client, base, more=6)
        assert client.post("/api/v1/simulation", json={"put_on": "400 lb", "at": "truck/ball"}).status_code == 200
    longer(client, base, more=6)
    until(lambda: client.get(base).json()["recording"]["steady"], "a steady reading")
    client.post("/api/v1/simulation", json={"drive": None})
    until(lambda: not client.get(base).json()["recording"]["running"], "the end of the recording")
    now = client.get(base).json()["recording"]
    assert "went empty: the rig moved, or a wheel lifted." in now["stopped"]
    number = client.post(f"{base}/finish", json={"at": "ball"}).json()["number"]
    log = tmp_path / "log.csv"
    log.write_text(client.get(f"/api/v1/days/{day_id}/sweeps/{number}/log.csv").text)
    pads = [part for place, name in PADS.items() for part in ("--pad", f"{place}={name}")]
    answer = client.get(f"/api/v1/days/{day_id}/sweeps/{number}/answer").json()
    assert answer["learned"] == printed(log, "--at", "ball", *pads)["learned"]
    slope = next(item for item in answer["learned"] if item["id"] == "solo/slope/truck/1/per/truck/2")
    expected = slope["expected"]
    assert slope["value"] == pytest.approx(expected["value"], abs=3.0)


def loaded(live: Live) -> bool:
    return live.settled.steady and bool(live.sample.value_kg)


def longer(client: TestClient, base: str, *, more: int) -> None:
    """Wait until the recording has so many rows more."""
    begun = client.get(base).json()["recording"]["rows"]
    until(lambda: client.get(base).json()["recording"]["rows"] >= begun + more, f"{more} more rows")


def recorded(day: WeighDay, take: Take) -> Recording:
    pads = {"truck/1L": "p1", "truck/2L": "p3"}
    return Recording("solo", pads, take, day.units, day.instruments, "key", "test", clock=lambda: 0.0)


def heard(recording: Recording, pad: str, pounds: float, *, steady: bool = True) -> None:
    value = pounds * 0.45359237
    recording.hear(Live(pad, Sample(pad, value, 0.0), Settled(steady, value, None, None, "")))


def test_rows_come_only_from_steady_pads_and_never_grow_without_end() -> None:
    recording = recorded(DAY, Take.STEADY)
    heard(recording, "p1", 2000)
    assert not recording.rows
    heard(recording, "p3", 1500, steady=False)
    assert not recording.rows
    heard(recording, "p1", 2000)
    heard(recording, "p3", 1500)
    assert recording.rows == [(0.0, 2000.0, 1500.0)]
    heard(recording, "p1", 2010)
    assert recording.trouble == "p1 shows 2010 lb, no multiple of its division of 20 lb."
    assert len(recording.rows) == 1
    for _ in range(MOST_ROWS + 100):
        heard(recording, "p1", 2000)
        heard(recording, "p3", 1500)
    assert len(recording.rows) < MOST_ROWS
    assert recording.standing().thinned == 2
