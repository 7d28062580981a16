"""Stands in for the work on a part: it weighs nothing, or fails, or takes all memory at one day."""

from __future__ import annotations

import time

from steelyard import __version__
from steelyard.batch import part
from steelyard.batch.part import PartDone, PartJob, weigh_part
from steelyard.findings import Findings
from steelyard.model import WeighDay
from tests.waiting import PATIENCE

HOARDS = "hoards"
_weigh = part.weigh


def work(job: PartJob) -> PartDone:
    """Say that a part is whole, after a moment in which it costs nothing."""
    time.sleep(0.02)
    return PartDone(job.name, __version__, len(job), 0)


def fails(job: PartJob) -> PartDone:
    """Fail as no part should."""
    raise ZeroDivisionError(job.name)


def hoarding(job: PartJob) -> PartDone:
    """Weigh a part; at a day called ``HOARDS`` this process takes more memory than a worker may."""
    part.weigh = _or_hoard
    return weigh_part(job)


def _or_hoard(day: WeighDay) -> Findings:
    if day.title == HOARDS:
        taken = b"x" * (800 << 20)
        time.sleep(PATIENCE)
        del taken
    return _weigh(day)
