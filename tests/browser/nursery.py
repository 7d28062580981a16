"""A process with everything loaded that begets the stations of the browser tests, each a process of its own.

    python -m tests.browser.nursery

A line of JSON in, ``{"port", "store", "log", "simulate", "pairs"}``, begets a station and is answered by its process;
``{"bury": PROCESS}`` waits until that one is dead. A new Python would take a second for each to load the program.
When the input ends, so do all.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import sys
from pathlib import Path
from typing import Any
from urllib.parse import urlunsplit

from steelyard.findings import weigh
from steelyard.web import Settings, prepare
from steelyard.web.api import days as api
from steelyard.web.http.pairing import Pairing
from steelyard.web.station.reckon import Reckoner
from tests.browser.serving import PLAIN
from tests.waiting import PATIENCE

LOADED = ("uvicorn.protocols.http.h11_impl", "uvicorn.lifespan.on", "steelyard.report.pieces", "steelyard.dayfile")


def serve(port: int, store: str, simulate: str | None, *, pairs: bool) -> None:
    """Serve until killed, also under a name that stands for a LAN address; findings are worked out here."""
    keys = Path(store).with_name("keys")
    settings = Settings(store=store, port=port, token="trial", addresses=(PLAIN,), simulate=simulate, keys=keys)
    ready = prepare(settings)
    ready.station.reckoner = Reckoner(weigh)
    ready.station.patience = api.PATIENCE = PATIENCE
    if pairs:
        ready.door.pairing = Pairing(urlunsplit(("http", f"{PLAIN}:{port}", "/", "", "")))
    ready.serve()


def beget(asked: dict[str, Any]) -> int:
    """Begin a station; its process."""
    pid = os.fork()
    if pid == 0:
        try:
            log = os.open(asked["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
            nothing = os.open(os.devnull, os.O_RDONLY)
            for end, place in ((nothing, 0), (log, 1), (log, 2)):
                os.dup2(end, place)
            serve(asked["port"], asked["store"], asked["simulate"], pairs=asked["pairs"])
        finally:
            os._exit(1)
    return pid


def main() -> None:
    """Beget and bury until the input ends."""
    for name in LOADED:
        importlib.import_module(name)
    alive: set[int] = set()
    for line in sys.stdin:
        asked = json.loads(line)
        pid = asked.get("bury")
        if pid is None:
            pid = beget(asked)
            alive.add(pid)
        else:
            os.waitpid(pid, 0)
            alive.discard(pid)
        print(pid, flush=True)
    for pid in alive:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)


if __name__ == "__main__":
    main()
