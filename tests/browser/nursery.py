"""A process with everything loaded that begets the stations of the browser tests, each a process of its own.

    python -m tests.browser.nursery

A line of JSON in, ``{"port", "store", "log", "simulate", "pairs", "dies"}``, begets a station and is answered by its
process; one that ``dies`` ends by itself at the next page that is opened or thing that is sent (``Dies``).
``{"bury": PROCESS}`` waits until that one is dead. A new Python would take a second for each to load the program.
When the input ends, so do all.
"""

from __future__ import annotations

import asyncio
import importlib
import json
import os
import signal
import sys
import tempfile
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urlunsplit

from starlette.testclient import TestClient
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from steelyard.findings import weigh
from steelyard.web import Settings, prepare
from steelyard.web.api import days as api
from steelyard.web.http.pairing import Pairing
from steelyard.web.station.reckon import Reckoner
from tests.browser.serving import PLAIN, Dies
from tests.waiting import PATIENCE

LOADED = ("uvicorn.protocols.http.h11_impl", "uvicorn.lifespan.on", "steelyard.report.pieces", "steelyard.dayfile")


class Mortal:
    """A station that is killed while it answers, as by a flat battery."""

    def __init__(self, app: ASGIApp, dies: Dies) -> None:
        self.app = app
        self.dies = dies

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer; die over whatever changes something, and over pages that somebody opens."""
        if not is_of_a_tap(scope):
            await self.app(scope, receive, send)
            return
        if self.dies == "asked":
            die()

        async def dying(message: Message) -> None:
            if message["type"] == "http.response.body":
                if self.dies == "kept":
                    die()  # it was done, and nobody hears of it
                await send({**message, "body": message.get("body", b"")[:-1], "more_body": True})
                await asyncio.sleep(0.01)  # what was said so far is on its way
                die()
            if self.dies != "kept":
                await send(message)

        await self.app(scope, receive, dying)


def is_of_a_tap(scope: Scope) -> bool:
    """Whether a tap makes this request, and not a page by itself."""
    if scope["type"] != "http":
        return False
    return scope["method"] == "POST" or (b"sec-fetch-mode", b"navigate") in scope["headers"]


def die() -> None:
    """End at once."""
    os.kill(os.getpid(), signal.SIGKILL)


def serve(port: int, store: str, simulate: str | None, *, pairs: bool, dies: Dies | None) -> None:
    """Serve until killed, also under a name that stands for a LAN address; findings are worked out here."""
    keys = Path(store).with_name("keys")
    settings = Settings(store=store, port=port, token="trial", addresses=(PLAIN,), simulate=simulate, keys=keys)
    ready = prepare(settings)
    ready.station.reckoner = Reckoner(weigh)
    ready.station.patience = api.PATIENCE = PATIENCE
    if pairs:
        ready.door.pairing = Pairing(urlunsplit(("http", f"{PLAIN}:{port}", "/", "", "")))
    if dies:
        ready = replace(ready, app=Mortal(ready.app, dies))
    ready.serve()


def warm_up() -> None:
    """Show the pages of a day once in this process, so that all it begets have their templates and addresses made."""
    with tempfile.TemporaryDirectory() as folder:
        ready = prepare(Settings(store=f"{folder}/station.db", port=0, token="trial", keys=Path(folder) / "keys"))
        ready.station.reckoner = Reckoner(weigh)
        with TestClient(ready.app, ready.address, client=("127.0.0.1", 1)) as client:
            (day,) = client.get("/api/v1/days").json()["days"]
            for page in ("/offline", "/", "/days/new", *(f"/days/{day['id']}{one}" for one in ("/pads", "", "/ask"))):
                client.get(page).raise_for_status()
        for listener, _ in ready.listeners:
            listener.close()


def beget(asked: dict[str, Any]) -> int:
    """Begin a station; its process."""
    pid = os.fork()
    if pid == 0:
        try:
            log = os.open(asked["log"], os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o644)
            nothing = os.open(os.devnull, os.O_RDONLY)
            for end, place in ((nothing, 0), (log, 1), (log, 2)):
                os.dup2(end, place)
            serve(asked["port"], asked["store"], asked["simulate"], pairs=asked["pairs"], dies=asked["dies"])
        finally:
            os._exit(1)
    return pid


def main() -> None:
    """Beget and bury until the input ends."""
    for name in LOADED:
        importlib.import_module(name)
    warm_up()
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
