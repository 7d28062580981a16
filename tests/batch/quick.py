"""Stands in for the work on a part where only the handing out is looked at: it weighs nothing and writes nothing."""

from __future__ import annotations

import time

from steelyard import __version__
from steelyard.batch.part import PartDone, PartJob


def work(job: PartJob) -> PartDone:
    """Say that a part is whole, after a moment in which it costs nothing."""
    time.sleep(0.02)
    return PartDone(job.name, __version__, len(job), 0)


def fails(job: PartJob) -> PartDone:
    """Fail as no part should."""
    raise ZeroDivisionError(job.name)
