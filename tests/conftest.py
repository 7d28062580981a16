"""What every worker pays for collecting the tests, paid once where that is possible."""

from __future__ import annotations

import gc
import os
import sys
import tempfile
from collections.abc import Generator
from contextlib import suppress
from pathlib import Path

import pytest

from tests.waiting import until

gc.set_threshold(50_000, 20, 20)
"""Tests make much that stays to the end: trees of sources, days, answers. To look through it for circles as often as
Python does by itself would cost a tenth of all tests."""

# As in the Makefile, for those who run pytest by itself: threads for matrices this small only wait for one another.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("OMP_NUM_THREADS", "1")

os.environ["SOURCE_DATE_EPOCH"] = "1796040000"  # 2026-11-30: what says how old a rule set is says the same for ever
os.environ["STEELYARD_KEYS"] = f"{os.devnull}/keys"  # a test that seals has a folder of keys of its own, or is told so


@pytest.hookimpl(wrapper=True)
def pytest_collection(session: pytest.Session) -> Generator[None, object, object]:
    """Collect without the garbage collector, and take what was collected out of its sight.

    It would look again and again at hundreds of thousands of objects that all stay until the end. The other workers
    wait for the first, which compiles the tests with their assertions spelled out: they read what it has written.
    """
    mark = _mark(session.config)
    if mark is not None and not _first(session.config):
        with suppress(AssertionError):  # after a long while it goes its own way
            until(mark.exists)
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.enable()
        if mark is not None and _first(session.config):
            mark.touch()


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Leave no mark behind; by now every worker has seen it."""
    mark = _mark(session.config)
    if mark is not None and _first(session.config):
        mark.unlink(missing_ok=True)


def _mark(config: pytest.Config) -> Path | None:
    """A file that says the first worker of this run has collected; None where nobody waits for it."""
    worker = getattr(config, "workerinput", None)
    if worker is None or sys.dont_write_bytecode:
        return None
    return Path(tempfile.gettempdir()) / f"collected-{worker['testrunuid']}"


def _first(config: pytest.Config) -> bool:
    return bool(config.workerinput["workerid"] == "gw0")  # type: ignore[attr-defined]
