"""Processes for plans and long logs: whoever stops the station waits for none of them."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
from collections.abc import Callable
from typing import Any

import pytest

from steelyard.dayfile import parse_day
from steelyard.questions.plan import PlanQuestion
from steelyard.questions.sweep import SWEEP
from steelyard.questions.sweep.question import SweepQuestion
from steelyard.web.station import apart, sweeping
from steelyard.web.station.plan_aside import Planners
from steelyard.web.station.refused import Refusal, RefusalError
from steelyard.web.station.sweeping import Sweeper
from tests.waiting import PATIENCE, comes_about
from tests.web.serving import EXAMPLE, ROOT

DAY = parse_day(EXAMPLE.read_text(encoding="utf-8"), "day")
LOG = (ROOT / "examples" / "quay-bakery-sweep.csv").read_text(encoding="utf-8")


@pytest.fixture(name="begun")
def _begun(monkeypatch: pytest.MonkeyPatch) -> list[apart.Worker]:
    """Every worker that is begun; each stands still, as one that works for hours, and no clock ends it."""
    return stood_still(monkeypatch, lambda: None)


def stood_still(monkeypatch: pytest.MonkeyPatch, then: Callable[[], object]) -> list[apart.Worker]:
    begun: list[apart.Worker] = []
    begin = apart.Worker

    def standing(command: Any, *, alone: bool = False, seconds: float | None = None) -> apart.Worker:
        del seconds
        worker = begin(command, alone=alone)
        os.kill(worker.pid, signal.SIGSTOP)
        begun.append(worker)
        then()
        return worker

    monkeypatch.setattr(apart, "Worker", standing)
    return begun


def long_question(monkeypatch: pytest.MonkeyPatch) -> SweepQuestion:
    monkeypatch.setattr(sweeping, "_LONG", 10)
    return SWEEP.read(DAY, {"state": "solo", "csv": LOG}, "question", {})


async def refused(asked: asyncio.Task[Any]) -> Refusal:
    with pytest.raises(RefusalError) as caught:
        await asyncio.wait_for(asked, PATIENCE)
    return caught.value.refusal


def test_a_long_log_ends_with_the_station(monkeypatch: pytest.MonkeyPatch, begun: list[apart.Worker]) -> None:
    question = long_question(monkeypatch)

    async def run() -> None:
        sweeper = Sweeper()
        asked = [asyncio.create_task(sweeper.ask(DAY, question)) for _ in range(2)]
        try:
            await comes_about(lambda: len(begun) == 2, "a process for each log")
            assert all(worker.runs for worker in begun)
            sweeper.close()
            assert [await refused(task) for task in asked] == [Refusal.SWEEP_FAILED] * 2
            assert not any(worker.runs for worker in begun)
        finally:
            end(begun)

    asyncio.run(run())


def test_a_long_log_begun_as_the_station_closes_ends_too(monkeypatch: pytest.MonkeyPatch) -> None:
    question, sweeper = long_question(monkeypatch), Sweeper()
    begun = stood_still(monkeypatch, sweeper.close)

    async def run() -> None:
        try:
            assert await refused(asyncio.create_task(sweeper.ask(DAY, question))) is Refusal.SWEEP_FAILED
        finally:
            end(begun)

    asyncio.run(run())
    assert [worker.runs for worker in begun] == [False]


def test_a_plan_begun_as_the_station_closes_ends_too(monkeypatch: pytest.MonkeyPatch) -> None:
    planners = Planners()
    run, question = planners.begin("day/a"), PlanQuestion(want=("hitched/coupling/load",), pads=("p1",))
    begun = stood_still(monkeypatch, planners.close)
    late = threading.Timer(PATIENCE, lambda: end(begun))  # else a fault here would hold up all tests for ever
    late.start()
    try:
        with pytest.raises(RefusalError):
            planners.plan(run, DAY, question, "day.toml")
        assert late.is_alive(), "only the test ended the process"
    finally:
        late.cancel()
    assert [worker.runs for worker in begun] == [False]


def end(begun: list[apart.Worker]) -> None:
    for worker in begun:
        worker.kill()
