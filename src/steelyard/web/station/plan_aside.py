"""Plans made aside, each in a process of its own that can be told that it is enough: nobody who weighs waits for it.

This file is also the job of that process: it takes one question and tells how far it is, then the answer.
"""

from __future__ import annotations

import importlib
import signal
import threading
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from steelyard.model import WeighDay

if TYPE_CHECKING:
    from steelyard.questions.plan import PlanQuestion
    from steelyard.web.station.apart import Worker

LONGEST = 60.0
"""s that the search for a plan may take at most."""

_SPARE = 30.0  # s beyond twice its time after which a process is given up
_QUICK = 0.5  # s for a plan that somebody ended before there was any
_MOST = 4  # plans that wait at a time


@dataclass(slots=True)
class Run:
    """One plan in the making. ``progress`` is what the process said last."""

    key: str
    progress: dict[str, Any] = field(default_factory=dict[str, Any])
    enough: bool = False
    worker: Worker | None = None

    def stop(self) -> None:
        """Say that the best plan so far is enough."""
        self.enough = True
        # before its first word it is deaf; then it is told at that word
        if self.progress and self.worker is not None:
            self.worker.interrupt()


class Planners:
    """The queue of plans to make, one plan at a time. Safe to share between threads."""

    def __init__(self) -> None:
        self.pool = ThreadPoolExecutor(1, thread_name_prefix="plan")
        self._runs: dict[str, Run] = {}
        self._lock = threading.Lock()
        self._closed = False

    def begin(self, key: str) -> Run:
        """A run of that name, to be passed to ``plan`` in ``pool``.

        Raises
        ------
        RefusalError: too many plans wait, or one of that name is being made.
        """
        with self._lock:
            if key in self._runs:
                raise _refused("plan_busy", "a plan with this key is being made; use another key")
            if len(self._runs) >= _MOST:
                raise _refused("plan_busy", f"{len(self._runs)} plans are being made already; try again in a while")
            run = self._runs[key] = Run(key)
        return run

    def run(self, key: str) -> Run | None:
        """The run of that name, while it lasts."""
        return self._runs.get(key)

    def plan(self, run: Run, day: WeighDay, question: PlanQuestion, file: str) -> dict[str, Any]:
        """The plan as data, made in a process of its own; waits for it.

        Raises
        ------
        RefusalError: the day cannot be planned so, or no answer came in time.
        """
        try:
            if self._closed:
                raise _refused("plan_gone", "the station is closing")
            return self._ask(run, day, question, file)
        finally:
            self.end(run)

    def end(self, run: Run) -> None:
        """Forget a run."""
        with self._lock:
            if self._runs.get(run.key) is run:
                del self._runs[run.key]

    def close(self) -> None:
        """End what runs."""
        self._closed = True
        for run in list(self._runs.values()):
            if run.worker is not None:
                run.worker.kill()
        self.pool.shutdown(wait=True, cancel_futures=True)

    def _ask(self, run: Run, day: WeighDay, question: PlanQuestion, file: str) -> dict[str, Any]:
        from steelyard.web.station.apart import Worker, command_of  # only the station has the web room at hand

        worker = run.worker = Worker(command_of(__file__), alone=True, seconds=2.0 * question.seconds + _SPARE)
        try:
            if self._closed:  # closed while it began
                worker.kill()
            return _heard(run, worker, (day, question, file))
        finally:
            worker.end()


def _refused(code: str, message: str) -> Exception:
    from steelyard.web.station.refused import Refusal, RefusalError

    return RefusalError(Refusal(code), message)


def _failure(words: str) -> Exception:
    from steelyard.web.station.failed import FailedError

    return FailedError(words)


def _heard(run: Run, worker: Worker, question: Any) -> dict[str, Any]:
    """The answer of the process; its progress is noted in ``run`` until then."""
    from steelyard.web.station.apart import LOST

    try:
        worker.send([question])
        while True:
            told: dict[str, Any] = worker.hear()
            if "answer" in told:
                return told["answer"]
            if "failed" in told:
                raise _failure(told["failed"])
            if "refused" in told:
                raise _refused("plan_cannot_be", told["refused"])
            run.progress = told
            if run.enough:  # said before there was anybody to hear it
                run.stop()
    except LOST:
        raise _refused(
            "plan_late", "no plan came in its time; ask for fewer findings, or give it more seconds"
        ) from None


def answered(day: WeighDay, question: PlanQuestion, file: str, told: Any = None) -> dict[str, Any]:
    """The published plan that answers a question; ``told`` hears of progress.

    Raises
    ------
    PlanError, WishError: the day cannot be planned so.
    """
    from steelyard.questions.plan import PLAN, planned

    return PLAN.data(planned(day, question, told), file=file)


# -- in the process --------------------------------------------------------------------------------------------------


def _answer(day: WeighDay, question: PlanQuestion, file: str, tell: Callable[[Any], None]) -> dict[str, Any]:
    def told(progress: Any) -> None:
        tell({"cost": progress.cost, "bound": progress.bound})

    importlib.import_module("steelyard.findings")  # loaded before anybody may interrupt

    try:
        signal.signal(signal.SIGINT, _once)
        tell({"cost": None, "bound": 0.0})
        return answered(day, question, file, told)
    except KeyboardInterrupt:
        # ended before there was a plan, or while it was seen what more would buy
        return answered(day, replace(question, seconds=_QUICK, more=False), file)


def _why(error: Exception) -> dict[str, str]:
    """Why there is no plan: the day cannot be planned so, or the program failed on it."""
    from steelyard.planning import PlanError
    from steelyard.questions.plan import WishError

    if isinstance(error, PlanError | WishError):
        return {"refused": str(error)}
    from steelyard.web.station.failed import failed

    return {"failed": str(failed("the plan", error))}


def _once(number: int, frame: Any) -> None:
    """Interrupt, and be deaf from then on: whoever is impatient presses twice."""
    del number, frame
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    raise KeyboardInterrupt


def work(take: Callable[[], Any], tell: Callable[[Any], None]) -> None:
    """Answer one question; what the program failed on is told in words, all of it to the station's own output."""
    try:
        day, question, file = take()
        answer = _answer(day, question, file, tell)
    except Exception as error:  # noqa: BLE001 - told in words
        tell(_why(error))
    else:
        tell({"answer": answer})
