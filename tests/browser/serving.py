"""A station in a process of its own, for the browser to talk to: started, killed and started again by the tests."""

from __future__ import annotations

import atexit
import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Literal
from urllib.parse import urlunsplit

from tests.waiting import PATIENCE, until

ROOT = Path(__file__).resolve().parents[2]
PLAIN = "station.test"
"""A name that the browser takes to this machine and does not trust: no secure context, as on a LAN address."""
Dies = Literal["asked", "kept", "answering"]
"""When a station ends by itself over a request: before it looks at it, when all is done and nothing said, within its
answer."""


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Nursery:
    """Begets stations for one worker, from a process that has the program loaded."""

    def __init__(self) -> None:
        paths = os.pathsep.join([str(ROOT / "src"), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.browser.nursery"],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": paths},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def ask(self, **what: object) -> int:
        """Have a station begotten or buried; its process."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        return int(self._process.stdout.readline())

    def close(self) -> None:
        """End it, and every station that is left."""
        self._process.communicate()


@cache
def nursery() -> Nursery:
    """The one of this worker."""
    one = Nursery()
    atexit.register(one.close)
    return one


def _dead(pid: int) -> bool:
    stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8")
    return stat.rpartition(")")[2].split()[0] == "Z"


@dataclass
class Serving:
    """One station on one port over one store; ``pairs``: it hands out codes as one on a LAN does."""

    store: Path
    simulate: Path | None = None
    pairs: bool = False
    port: int = field(default_factory=_free_port)
    process: int | None = None

    @property
    def url(self) -> str:
        """Its address on this machine, a secure context."""
        return urlunsplit(("http", f"localhost:{self.port}", "", "", ""))

    @property
    def plain_url(self) -> str:
        """Its address as on a LAN, no secure context."""
        return urlunsplit(("http", f"{PLAIN}:{self.port}", "", "", ""))

    def start(self, dies: Dies | None = None) -> None:
        """Start it and wait until it answers; with ``dies`` it then ends by itself, while it is asked."""
        log = self.store.parent / "station.log"
        simulate = None if self.simulate is None else str(self.simulate)
        self.process = pid = nursery().ask(
            port=self.port, store=str(self.store), log=str(log), simulate=simulate, pairs=self.pairs, dies=dies
        )
        until(lambda: self.answers() or _dead(pid), "the start of the station")
        assert dies or not _dead(pid), log.read_text()  # one that dies may have been asked already

    def answers(self) -> bool:
        """Whether it answers now."""
        try:
            with urllib.request.urlopen(f"{self.url}/offline", timeout=PATIENCE):
                return True
        except (OSError, urllib.error.URLError):
            return False

    def is_dead(self) -> bool:
        """Whether it has ended by itself; then it can be started again."""
        if self.process is None or not _dead(self.process):
            return False
        self.kill()
        return True

    def kill(self) -> None:
        """End it as a flat battery would."""
        if self.process is not None:
            os.kill(self.process, signal.SIGKILL)
            nursery().ask(bury=self.process)
            self.process = None

    def freeze(self) -> None:
        """Keep its lines open and say nothing any more, as when the network is gone."""
        assert self.process is not None
        os.kill(self.process, signal.SIGSTOP)

    def thaw(self) -> None:
        """Go on."""
        assert self.process is not None
        os.kill(self.process, signal.SIGCONT)

    def get(self, path: str) -> str:
        """What it answers to a program on this machine."""
        with urllib.request.urlopen(f"{self.url}{path}", timeout=PATIENCE) as answer:
            return answer.read().decode()

    def post(self, path: str, data: object, media_type: str = "application/json") -> str:
        """What it answers to a program that sends it something."""
        text = data if isinstance(data, (str, bytes)) else json.dumps(data)
        body = text.encode() if isinstance(text, str) else text
        headers = {"authorization": "Bearer trial", "content-type": media_type}
        request = urllib.request.Request(f"{self.url}{path}", body, headers, method="POST")
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return answer.read().decode()

    def import_day(self, text: str) -> str:
        """Put a weigh day into it; its id."""
        return json.loads(self.post("/api/v1/days", text, "application/toml"))["id"]
