"""Findings worked out aside: whoever keeps a draft never waits for them, and only the latest are worked out."""

from __future__ import annotations

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from steelyard.model import WeighDay
from steelyard.store import DayId
from steelyard.web.station.aside import Asides
from steelyard.web.station.book import OpenDay
from steelyard.web.station.failed import foreseen

if TYPE_CHECKING:
    from steelyard.findings import Findings

_MOST = 32  # days whose findings are held ready
_THREADS = 2

# A finding counts as changed where its value moved by this share of its standard uncertainty, or that doubt itself did:
# every further reading moves every number by something, and nobody wants to see that. The figure is the project's own.
_MOVED = 0.1


@dataclass(frozen=True, slots=True)
class Reckoned:
    """The findings of a day as of addition ``seq``; ``before`` are those that were known until then, if any."""

    id: DayId
    seq: int
    findings: Findings
    before: Findings | None


@dataclass(frozen=True, slots=True)
class Underway:
    """Findings that are being worked out: as of addition ``seq``, of so many ``drafts``, for so many ``seconds``."""

    seq: int
    drafts: int
    seconds: float


class Reckoner:
    """Works out findings on request and keeps the last ones of each day. Belongs to one event loop.

    By default they are worked out in other processes; ``weigh`` is called in a thread instead.
    """

    def __init__(self, weigh: Callable[[WeighDay], Findings] | None = None) -> None:
        self.asides: Asides | None = None
        if weigh is None:
            self.asides = Asides()
            weigh = self.asides.weigh
        self._weigh = weigh
        self._pool = ThreadPoolExecutor(_THREADS, thread_name_prefix="reckon")
        self._answers: OrderedDict[DayId, Reckoned] = OrderedDict()
        self._latest: dict[DayId, OpenDay] = {}
        self._running: dict[DayId, asyncio.Task[Reckoned]] = {}
        self._begun: dict[DayId, tuple[float, OpenDay]] = {}

    def warm(self) -> None:
        """Load the arithmetic before anyone waits for it."""
        self._pool.submit(self._weigh, WeighDay())

    async def of(self, opened: OpenDay) -> Reckoned:
        """The findings of a day as it stands, or as it stands by now."""
        latest = self._latest.get(opened.id)
        if latest is None or latest.seq < opened.seq:
            self._latest[opened.id] = opened
        while True:
            answer = self._answers.get(opened.id)
            if answer is not None and answer.seq >= opened.seq:
                self._answers.move_to_end(opened.id)
                return answer
            running = self._running.get(opened.id)
            if running is None:
                running = self._begin(self._latest.get(opened.id, opened))
            await asyncio.shield(running)

    def underway(self, day_id: DayId) -> Underway | None:
        """The computation of a day that is under way; None where there is none."""
        begun = self._begun.get(day_id)
        if begun is None:
            return None
        since, opened = begun
        return Underway(opened.seq, len(opened.day.drafts), time.monotonic() - since)

    def close(self) -> None:
        """Let go of threads and processes; what a process works on is lost."""
        if self.asides is not None:
            self.asides.close()
        self._pool.shutdown(wait=False, cancel_futures=True)

    def _begin(self, opened: OpenDay) -> asyncio.Task[Reckoned]:
        task = asyncio.get_running_loop().create_task(self._work_out(opened))
        self._running[opened.id] = task
        self._begun[opened.id] = (time.monotonic(), opened)
        return task

    async def _work_out(self, opened: OpenDay) -> Reckoned:
        try:
            last = self._answers.get(opened.id)
            found = None if last is None else _with_photographs(last.findings, opened.day)
            if found is None:
                found = await foreseen(
                    "the findings of this day",
                    asyncio.get_running_loop().run_in_executor(self._pool, self._weigh, opened.day),
                )
            answer = Reckoned(opened.id, opened.seq, found, None if last is None else last.findings)
            self._answers[opened.id] = answer
            self._answers.move_to_end(opened.id)
            if len(self._answers) > _MOST:
                self._answers.popitem(last=False)
            return answer
        finally:
            del self._running[opened.id], self._begun[opened.id]
            if self._latest.get(opened.id) is opened:
                del self._latest[opened.id]


def _with_photographs(findings: Findings, day: WeighDay) -> Findings | None:
    """The findings of a day that differs by photographs alone, on which no finding depends; None for any other."""
    if len(day.photographs) == len(findings.day.photographs):
        return None
    same = replace(findings.day, photographs=day.photographs) == day
    return replace(findings, day=day) if same else None


def changes(answer: Reckoned) -> dict[str, Any]:
    """The changes by the last additions, in the published shape: findings that moved or became known, new verdicts.

    ``questioned`` are the suspects among the readings of the last draft: the rig may still stand on the pads. Findings
    and verdicts are None where those before are not known, so that all may have changed.
    """
    from steelyard.questions.findings import findings_data

    now = findings_data(answer.findings, file=answer.id)
    consistency = now["consistency"]
    last = len(answer.findings.day.drafts)
    told: dict[str, Any] = {"seq": answer.seq, "findings": None, "verdicts": None, "consistency": consistency}
    told["questioned"] = [item for item in consistency["suspects"] if item["draft"] == last]
    if answer.before is None:
        return told
    before = findings_data(answer.before, file=answer.id)
    old = {item["id"]: item for item in before["findings"]}
    judged = {item["id"]: item["verdict"] for item in before["verdicts"]}
    told["findings"] = [item for item in now["findings"] if _moved(item, old.get(item["id"]))]
    told["verdicts"] = [item for item in now["verdicts"] if item["verdict"] != judged.get(item["id"])]
    return told


def _moved(now: dict[str, Any], before: dict[str, Any] | None) -> bool:
    if before is None or before["determined"] != now["determined"]:
        return bool(now["determined"]) or before is not None
    if not now["determined"]:
        return False
    doubt = max(before["u"], now["u"])
    moved = max(abs(now["value"] - before["value"]), abs(now["u"] - before["u"]))
    return bool(moved > _MOVED * doubt)
