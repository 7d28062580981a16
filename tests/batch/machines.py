"""A scheduler of Dask and four workers of it, as real processes on this host; each can be killed, and a line cut.

They are started as ``docs/how-to/many/several-machines.md`` says. What is ``sparing`` only saves processor time:
workers are made by a fork of a process that has all libraries loaded, and Dask looks after them less often.
"""

from __future__ import annotations

import json
import os
import random
import select
import signal
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import psutil

from tests.cli.days import ROOT
from tests.waiting import until

WORKERS = 4

_DASK = (sys.executable, "-m", "dask")
_QUIET = ("--no-dashboard", "--dashboard-address", "127.0.0.1:0")
_SPARING = {
    "DASK_DISTRIBUTED__WORKER__MULTIPROCESSING_METHOD": "forkserver",
    "DASK_DISTRIBUTED__WORKER__PROFILE__ENABLED": "False",
    "DASK_DISTRIBUTED__ADMIN__SYSTEM_MONITOR__INTERVAL": "10s",
    "DASK_DISTRIBUTED__WORKER__MEMORY__MONITOR_INTERVAL": "1s",
    "DASK_DISTRIBUTED__SCHEDULER__ACTIVE_MEMORY_MANAGER__START": "False",
}


class Machines:
    """A scheduler and its workers."""

    def __init__(self, folder: Path, *, workers: int = WORKERS, sparing: bool = True) -> None:
        self._folder, self._sparing = folder, sparing
        known = folder / "scheduler.json"
        local = ("--host", "127.0.0.1", *_QUIET)
        self.scheduler = self._begin("scheduler", *local, "--port", "0", "--scheduler-file", str(known))
        until(lambda: known.exists() and known.read_text(encoding="utf-8").endswith("}"), "a scheduler")
        self.address: str = json.loads(known.read_text(encoding="utf-8"))["address"]
        self._keepers = [self.more_workers("w", "--nworkers", str(workers))]

    def more_workers(self, name: str, *options: str, path: Path = ROOT) -> subprocess.Popen[bytes]:
        """Begin to start workers; ``path`` is where they find the program and the tests before elsewhere."""
        local = ("--host", "127.0.0.1", *_QUIET, "--local-directory", str(self._folder), "--nthreads", "1")
        preload = ("--preload-nanny", "tests.batch.forked") if self._sparing and "--nworkers" in options else ()
        limit = ("--memory-limit", "700MiB", "--name", name)
        return self._begin("worker", self.address, *local, *limit, *preload, *options, path=path)

    def _begin(self, *command: str, path: Path = ROOT) -> subprocess.Popen[bytes]:
        environment = (
            os.environ
            | {"PYTHONPATH": os.pathsep.join((str(path), str(ROOT), str(ROOT / "src")))}
            | (_SPARING if self._sparing else {})
        )
        log = (self._folder / f"{command[0]}.log").open("ab")
        with log:
            return subprocess.Popen([*_DASK, *command], cwd=self._folder, env=environment, stdout=log, stderr=log)

    def workers(self) -> list[int]:
        """The processes of the workers that live now; not of those that look after them."""
        found: list[int] = []
        for keeper in self._keepers:
            with suppress(psutil.Error):
                for process in psutil.Process(keeper.pid).children(recursive=True):
                    with suppress(psutil.Error):
                        if process.ppid() != keeper.pid or _spawned(process):
                            found.append(process.pid)
        return sorted(found)

    def kill_one(self, chance: random.Random) -> int:
        """Kill one worker with SIGKILL, which is then replaced; how many were killed, 0 where none lives just now."""
        living = self.workers()
        if not living:
            return 0
        try:
            os.kill(chance.choice(living), signal.SIGKILL)
        except ProcessLookupError:
            return 0
        return 1

    def stop(self) -> None:
        """End all of them."""
        everything = [self.scheduler, *self._keepers]
        family = [child for one in self._keepers for child in _children(one.pid)]
        for process in reversed(everything):
            process.terminate()
        for process in reversed(everything):
            try:
                process.wait(timeout=20)
            except subprocess.TimeoutExpired:
                process.kill()
                process.wait()
        for child in family:
            with suppress(psutil.Error):
                child.kill()

    def processor_seconds(self) -> float:
        """What its processes have taken so far, those that have ended included where they were waited for."""
        total = 0.0
        for root in (self.scheduler, *self._keepers):
            with suppress(psutil.Error):
                for process in (psutil.Process(root.pid), *_children(root.pid)):
                    with suppress(psutil.Error):
                        total += sum(process.cpu_times()[:4])
        return total


def _spawned(process: psutil.Process) -> bool:
    return any("spawn_main" in word for word in process.cmdline())


def _children(pid: int) -> list[psutil.Process]:
    try:
        return psutil.Process(pid).children(recursive=True)
    except psutil.Error:
        return []


@contextmanager
def line_to(address: str) -> Iterator[tuple[str, threading.Event]]:
    """An address that leads to another one, and what cuts the line between once and for all as it is set."""
    host, _, port = address.removeprefix("tcp://").rpartition(":")
    cut = threading.Event()
    with socket.create_server(("127.0.0.1", 0)) as ear:
        thread = threading.Thread(target=_carry, args=(ear, (host, int(port)), cut), daemon=True)
        thread.start()
        yield f"tcp://127.0.0.1:{ear.getsockname()[1]}", cut
        cut.set()
        thread.join()


def _carry(ear: socket.socket, to: tuple[str, int], cut: threading.Event) -> None:
    other: dict[socket.socket, socket.socket] = {}
    while not cut.is_set():
        for ready in select.select([ear, *other], [], [], 0.05)[0]:
            if ready is ear:
                near, far = ear.accept()[0], socket.create_connection(to)
                other[near], other[far] = far, near
                continue
            if ready not in other:
                continue
            try:
                data = ready.recv(1 << 16)
                other[ready].sendall(data)
            except OSError:
                data = b""
            if not data:
                far = other.pop(ready)
                del other[far]
                ready.close()
                far.close()
    ear.close()
    for line in other:
        line.close()
