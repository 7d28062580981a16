"""Findings are worked out aside: keeping never waits for them, and only the latest are worked out."""

from __future__ import annotations

import asyncio
import threading
from dataclasses import replace
from pathlib import Path

import pytest

from steelyard.dayfile import parse_day
from steelyard.findings import Findings, weigh
from steelyard.model import Photograph, WeighDay
from steelyard.store import open_store
from steelyard.web.settings import Settings
from steelyard.web.station.book import OpenDay
from steelyard.web.station.reckon import Reckoner, changes
from steelyard.web.station.station import Station
from tests.web.serving import EXAMPLE
from tests.web.shapes import draft

TEXT = EXAMPLE.read_text(encoding="utf-8")
NOTHING = weigh(WeighDay())


class Slow:
    """Findings that take as long as the test wants."""

    def __init__(self) -> None:
        self.gate = threading.Event()
        self.asked: list[int] = []

    def __call__(self, day: WeighDay) -> Findings:
        self.asked.append(len(day.drafts))
        assert self.gate.wait(30)  # shut all the while where keeping waits for it
        return NOTHING


def test_keeping_does_not_wait_for_findings(tmp_path: Path) -> None:
    slow = Slow()

    async def run() -> None:
        settings = Settings(store=tmp_path / "station.db")
        station = Station(open_store(settings.store), settings, reckoner=Reckoner(slow))
        day_id = await station.import_text(TEXT)
        for number in range(30):  # whoever waited here would wait for the gate
            await station.keep(day_id, draft(f"k-{number}"), "test")
        asked = asyncio.create_task(station.findings(day_id))
        await asyncio.sleep(0.05)
        assert not asked.done()
        slow.gate.set()
        answer = await asked
        assert answer.seq == 30
        await station.close()

    asyncio.run(run())
    # the first, and then the last of all that came while it was worked out
    assert slow.asked == [7, 36]


def test_findings_that_fail_are_told_and_cost_nothing(tmp_path: Path) -> None:
    def fail(day: WeighDay) -> Findings:
        raise RuntimeError(f"{len(day.drafts)} drafts are too many")

    async def run() -> None:
        settings = Settings(store=tmp_path / "station.db")
        station = Station(open_store(settings.store), settings, reckoner=Reckoner(fail))
        day_id = await station.import_text(TEXT)
        with station.hub.listening(day_id) as listener:
            assert (await station.keep(day_id, draft("k-1"), "test")).number == 7
            with pytest.raises(RuntimeError, match="7 drafts are too many"):
                await station.findings(day_id)
            await asyncio.sleep(0.05)
            listener.drop()
            told = b"".join([chunk async for chunk in listener.chunks()])
        assert b"event: draft" in told or told == b""
        assert (await station.keep(day_id, draft("k-2"), "test")).number == 8
        await station.close()

    asyncio.run(run())


def told_all(day: WeighDay) -> list[str]:
    """The ids of everything that is known of a day."""
    return [finding.id for finding in weigh(day).findings if finding.determined]


def test_what_a_draft_changed_is_told() -> None:
    day = parse_day(TEXT, "day")
    first, second = (replace(day, drafts=day.drafts[:count]) for count in (1, 3))

    async def run() -> None:
        reckoner = Reckoner(weigh)
        await reckoner.of(OpenDay("d", 1, first))
        same = await reckoner.of(OpenDay("d", 2, first))
        assert changes(same)["findings"] == []
        assert changes(same)["verdicts"] == []
        told = changes(await reckoner.of(OpenDay("d", 3, second)))
        ids = [item["id"] for item in told["findings"]]
        assert "hitched/coupling/load" in ids
        assert len(ids) < len(told_all(second))
        assert told["seq"] == 3
        assert any(item["verdict"] is not None for item in told["verdicts"])
        reckoner.close()

    asyncio.run(run())


def test_a_photograph_has_nothing_worked_out_anew() -> None:
    day = parse_day(TEXT, "day")
    asked: list[WeighDay] = []

    def counting(one: WeighDay) -> Findings:
        asked.append(one)
        return weigh(one)

    async def run() -> None:
        reckoner = Reckoner(counting)
        first = await reckoner.of(OpenDay("d", 1, day))
        shown = replace(day, photographs=(Photograph(1, "0" * 64),))
        second = await reckoner.of(OpenDay("d", 2, shown))
        assert asked == [day]
        assert (second.seq, second.findings.day.photographs) == (2, shown.photographs)
        assert second.findings.findings == first.findings.findings
        assert changes(second)["findings"] == []
        # another draft that comes with a photograph is worked out
        more = replace(shown, drafts=(*day.drafts, replace(day.drafts[-1], number=8, key="k")), photographs=())
        await reckoner.of(OpenDay("d", 3, more))
        assert asked == [day, more]
        reckoner.close()

    asyncio.run(run())
