"""Stands in for the work on a part, in processes of their own: one day kills the process that comes to it."""

from __future__ import annotations

import os
import signal

from steelyard.batch import part
from steelyard.batch.part import PartDone, PartJob, weigh_part
from steelyard.findings import Findings
from steelyard.model import WeighDay

KILLS = "kills"
_weigh = part.weigh


def work(job: PartJob) -> PartDone:
    """Weigh a part; a day called ``KILLS`` ends this process."""
    part.weigh = _or_die
    return weigh_part(job)


def _or_die(day: WeighDay) -> Findings:
    if day.title == KILLS:
        os.kill(os.getpid(), signal.SIGKILL)
    return _weigh(day)
