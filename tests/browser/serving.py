"""A station in a process of its own, for the browser to talk to: started, killed and started again by the tests."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlunsplit

from tests.waiting import PATIENCE, until

ROOT = Path(__file__).resolve().parents[2]
PLAIN = "station.test"
"""A name that the browser takes to this machine and does not trust: no secure context, as on a LAN address."""


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@dataclass
class Serving:
    """One station on one port over one store; ``pairs``: it hands out codes as one on a LAN does."""

    store: Path
    simulate: Path | None = None
    pairs: bool = False
    port: int = field(default_factory=_free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Its address on this machine, a secure context."""
        return urlunsplit(("http", f"localhost:{self.port}", "", "", ""))

    @property
    def plain_url(self) -> str:
        """Its address as on a LAN, no secure context."""
        return urlunsplit(("http", f"{PLAIN}:{self.port}", "", "", ""))

    def start(self) -> None:
        """Start it and wait until it answers."""
        options = [*(["pairs"] if self.pairs else []), *([] if self.simulate is None else [str(self.simulate)])]
        command = [sys.executable, "-m", "tests.browser.serving", str(self.port), str(self.store), *options]
        paths = os.pathsep.join([str(ROOT / "src"), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
        log = (self.store.parent / "station.log").open("ab")
        with log:
            self.process = subprocess.Popen(
                command, cwd=ROOT, env={**os.environ, "PYTHONPATH": paths}, stdout=log, stderr=log
            )
        process = self.process
        until(lambda: self.answers() or process.poll() is not None, "the start of the station")
        assert process.poll() is None, (self.store.parent / "station.log").read_text()

    def answers(self) -> bool:
        """Whether it answers now."""
        try:
            with urllib.request.urlopen(f"{self.url}/offline", timeout=PATIENCE):
                return True
        except (OSError, urllib.error.URLError):
            return False

    def kill(self) -> None:
        """End it as a flat battery would."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None

    def freeze(self) -> None:
        """Keep its lines open and say nothing any more, as when the network is gone."""
        assert self.process is not None
        self.process.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        """Go on."""
        assert self.process is not None
        self.process.send_signal(signal.SIGCONT)

    def get(self, path: str) -> str:
        """What it answers to a program on this machine."""
        with urllib.request.urlopen(f"{self.url}{path}", timeout=PATIENCE) as answer:
            return answer.read().decode()

    def post(self, path: str, data: object, media_type: str = "application/json") -> str:
        """What it answers to a program that sends it something."""
        body = data.encode() if isinstance(data, str) else json.dumps(data).encode()
        headers = {"authorization": "Bearer trial", "content-type": media_type}
        request = urllib.request.Request(f"{self.url}{path}", body, headers, method="POST")
        with urllib.request.urlopen(request, timeout=PATIENCE) as answer:
            return answer.read().decode()

    def import_day(self, text: str) -> str:
        """Put a weigh day into it; its id."""
        return json.loads(self.post("/api/v1/days", text, "application/toml"))["id"]


def main(port: int, store: str, simulate: str | None) -> None:
    """Serve until killed, also under a name that stands for a LAN address."""
    from steelyard.web import Settings, prepare
    from steelyard.web.pairing import Pairing

    pairs = simulate == "pairs"
    settings = Settings(store=store, port=port, token="trial", addresses=(PLAIN,), simulate=None if pairs else simulate)
    ready = prepare(settings)
    if pairs:
        ready.station.pairing = Pairing(urlunsplit(("http", f"{PLAIN}:{port}", "/", "", "")))
    ready.serve()


if __name__ == "__main__":
    main(int(sys.argv[1]), sys.argv[2], sys.argv[3] if len(sys.argv) > 3 else None)
