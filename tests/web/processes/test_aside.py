"""Findings in a process of their own: the same figures, begun anew where it dies, gone with the station."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import sys
import threading
import time
from dataclasses import replace
from pathlib import Path

import pytest

from steelyard.dayfile import extended, parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import WeighDay
from steelyard.questions.findings import findings_data
from steelyard.store import open_store
from steelyard.web.http.problem import problem_of
from steelyard.web.settings import Settings
from steelyard.web.station import aside as aside_module
from steelyard.web.station.apart import command_of
from steelyard.web.station.aside import Aside, Asides
from steelyard.web.station.reckon import Reckoner
from steelyard.web.station.refused import GoneError, RefusalError
from steelyard.web.station.station import Station
from tests.released.near import differences
from tests.waiting import PATIENCE, until
from tests.web.serving import EXAMPLE, Served
from tests.web.shapes import draft

TEXT = EXAMPLE.read_text(encoding="utf-8")
DAY = parse_day(TEXT, "day")
DRAFT = """
[[drafts]]
state = "solo"
key = "k-{0}"
readings = {{ "truck/1L" = ["p1", {1}], "truck/1R" = ["p2", 2100] }}
"""
LONG = parse_day(TEXT + "".join(DRAFT.format(number, 2160 + number % 3 * 20) for number in range(450)), "day")


def running(pid: int) -> bool:
    """Whether a process is there and no corpse that nobody took away."""
    try:
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    except OSError:
        return False
    return stat.rpartition(")")[2].split()[0] != "Z"


def gone(pid: int) -> bool:
    """Whether a process ends."""
    until(lambda: not running(pid), f"the end of process {pid}")
    return True


def children(pid: int) -> list[int]:
    """The processes that a process began."""
    text = Path(f"/proc/{pid}/task/{pid}/children").read_text(encoding="utf-8")
    found = [int(word) for word in text.split()]
    for thread in Path(f"/proc/{pid}/task").iterdir():
        with contextlib.suppress(OSError):
            found += [int(word) for word in (thread / "children").read_text(encoding="utf-8").split()]
    return sorted(set(found))


def same(there: Findings, here: Findings) -> None:
    """The findings are the same, but for the last digits: the process multiplies with one thread, this one may not."""
    one, other = (json.dumps(findings_data(each, file="d"), indent=1) for each in (here, there))
    assert differences(one, other) == []


def test_the_figures_are_those_of_this_process() -> None:
    aside = Aside()
    try:
        for day in (DAY, LONG, DAY, replace(LONG, drafts=LONG.drafts[1:])):
            here, there = weigh(day), aside.weigh(day)
            same(there, here)
            assert there.day == day
    finally:
        aside.close()


def test_only_new_drafts_go_over() -> None:
    aside = Aside()
    try:
        aside.weigh(LONG)
        longer = extended(LONG, DRAFT.format("new", 2200))
        same(aside.weigh(longer), weigh(longer))
        shorter = replace(longer, drafts=longer.drafts[:3])
        same(aside.weigh(shorter), weigh(shorter))
    finally:
        aside.close()


def test_a_process_that_died_is_begun_anew() -> None:
    aside = Aside()
    try:
        aside.weigh(DAY)
        first = aside.pid
        assert first is not None
        os.kill(first, signal.SIGKILL)
        assert gone(first)
        same(aside.weigh(DAY), weigh(DAY))
        assert aside.pid not in (None, first)
    finally:
        aside.close()


def test_where_no_process_can_be_begun_the_day_is_worked_out_here(tmp_path: Path) -> None:
    for command in ((str(tmp_path / "nowhere"),), (sys.executable, "-c", "import sys; sys.stdin.buffer.read(10)")):
        aside = Aside(command)
        same(aside.weigh(DAY), weigh(DAY))
        assert aside.pid is None
        aside.close()


def test_a_process_that_dies_of_a_day_is_said(tmp_path: Path) -> None:
    deadly = tmp_path / "deadly"
    code = f"""
import os, sys
if not os.path.exists({str(deadly)!r}):
    os.execv(sys.executable, {list(command_of(aside_module.__file__))!r})
sys.stdin.buffer.read(10)
"""
    aside = Aside((sys.executable, "-c", code))
    aside.weigh(DAY)
    assert aside.pid is not None
    deadly.touch()
    os.kill(aside.pid, signal.SIGKILL)
    with pytest.raises(GoneError, match="the process that works out the findings has ended") as caught:
        aside.weigh(DAY)
    problem = problem_of(caught.value)
    assert (problem.status, problem.code) == (503, "reckoning_failed")
    assert problem.message == (
        "the findings could not be computed: the process that computes them stopped, perhaps for want of memory; "
        "every draft is kept, ask for them again"
    )
    deadly.unlink()
    same(aside.weigh(DAY), weigh(DAY))
    aside.close()


def test_what_the_arithmetic_raises_is_raised_here() -> None:
    aside = Aside()
    nowhere = replace(DAY, states={})  # drafts of states that are not there: no day that anyone can read
    try:
        with pytest.raises(Exception) as there:  # noqa: PT011 - whatever it is, the same on both sides
            aside.weigh(nowhere)
        with pytest.raises(type(there.value)):
            weigh(nowhere)
        assert not isinstance(there.value, GoneError)
        same(aside.weigh(DAY), weigh(DAY))
    finally:
        aside.close()


def test_closing_ends_what_is_asked_and_the_process() -> None:
    asides = Asides()
    asides.weigh(DAY)
    pid = asides.all[0].pid
    assert pid is not None
    os.kill(pid, signal.SIGSTOP)  # it works on something long
    raised: list[BaseException] = []

    def ask() -> None:
        try:
            asides.weigh(DAY)
        except GoneError as error:
            raised.append(error)

    asker = threading.Thread(target=ask)
    asker.start()
    time.sleep(0.1)
    asides.close()
    asker.join(PATIENCE)
    assert not asker.is_alive()
    assert len(raised) == 1
    assert gone(pid)
    with pytest.raises(GoneError):
        asides.weigh(DAY)


def test_a_short_day_does_not_wait_for_a_long_one() -> None:
    asides = Asides()
    try:
        asides.weigh(DAY)
        busy = asides.all[0].pid
        assert busy is not None
        os.kill(busy, signal.SIGSTOP)
        stuck = threading.Thread(target=lambda: asides.weigh(DAY))
        stuck.start()
        until(lambda: asides._free.qsize() == 1, "the long day")
        same(asides.weigh(DAY), weigh(DAY))
        assert asides.all[1].pid not in (None, busy)
        os.kill(busy, signal.SIGCONT)
        stuck.join(PATIENCE)
        assert not stuck.is_alive()
    finally:
        asides.close()


@pytest.mark.parametrize("how", [signal.SIGKILL, signal.SIGINT])
def test_no_process_is_left_behind(tmp_path: Path, how: signal.Signals) -> None:
    with Served(tmp_path / "station.db") as served, served.client() as client:
        day_id = client.post("/api/v1/days", content=TEXT).json()["id"]
        assert client.get(f"/api/v1/days/{day_id}/findings?wait=120").status_code == 200
        pids = children(served.process.pid)
        assert pids
        assert all(running(pid) for pid in pids)
        served.process.send_signal(how)
        served.process.wait(PATIENCE)
        assert all(gone(pid) for pid in pids)


class Gate:
    """Findings that are there when the test says so."""

    def __init__(self) -> None:
        self.open = threading.Event()

    def __call__(self, day: WeighDay) -> Findings:
        assert self.open.wait(PATIENCE)
        return weigh(day)


def test_whoever_asks_is_told_that_it_takes_long(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("steelyard.web.station.telling._SAID_EVERY", 0.05)
    gate = Gate()

    async def run() -> tuple[RefusalError, bytes]:
        settings = Settings(store=tmp_path / "station.db")
        station = Station(open_store(settings.store), settings, reckoner=Reckoner(gate))
        station.patience = 0.2
        day_id = await station.import_text(TEXT)
        with station.hub.listening(day_id) as listener:
            await station.keep(day_id, draft("k-1"), "test")
            with pytest.raises(RefusalError) as caught:
                await station.findings(day_id)
            gate.open.set()
            station.patience = PATIENCE
            assert (await station.findings(day_id)).seq == 1
            chunks = listener.chunks()
            told = await anext(chunks)
            listener.drop()
        assert station.reckoner.underway(day_id) is None
        await station.close()
        return caught.value, told

    refusal, told = asyncio.run(run())
    problem = problem_of(refusal)
    assert (problem.status, problem.code, problem.headers) == (504, "reckoning", {"retry-after": "5"})
    assert problem.message == (
        "the findings of 7 drafts are still being worked out, for 0 s so far; every draft is kept, "
        "ask for them again in a while"
    )
    assert b'event: reckoning\ndata: {"seq":1,"drafts":7,"seconds":0.' in told
