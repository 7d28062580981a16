"""``steelyard serve`` in a process of its own, on a free port, as a person starts it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import threading
from pathlib import Path
from types import TracebackType
from typing import Any, Self
from unittest import mock

import httpx2
from click.testing import CliRunner, Result

from steelyard.cli import cli
from steelyard.web.run import Ready
from tests.waiting import PATIENCE

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "quay-bakery.toml"
TOKEN = "trial"

ENVIRONMENT = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}", "PYTHONUNBUFFERED": "1"}
COMMAND = [sys.executable, "-m", "steelyard", "serve"]


class Served:
    """One running station. ``said`` is what it printed until it served; ``files``: how many it may have open."""

    def __init__(self, store: Path | str, *options: str, port: int = 0, files: int | None = None) -> None:
        arguments = [*COMMAND, "--port", str(port), "--store", str(store), "--token", TOKEN, *options]
        if files is not None:
            arguments = ["sh", "-c", f'ulimit -n {files} && exec "$@"', "sh", *arguments]
        self.process = subprocess.Popen(
            arguments, cwd=ROOT, env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True
        )
        self.said: list[str] = []
        self.later: list[str] = []
        self._listen()
        found = re.search(r"(https?)://127\.0\.0\.1:(\d+)/", "".join(self.said))
        assert found is not None, "".join(self.said)
        self.scheme, self.port = found[1], int(found[2])

    def _listen(self) -> None:
        assert self.process.stdout is not None
        for line in self.process.stdout:
            self.said.append(line)
            if line.startswith("Stop it with"):
                break
        # a pipe that nobody empties would stop the server
        self._emptying = threading.Thread(target=self._empty, args=(self.process.stdout,), daemon=True)
        self._emptying.start()

    def _empty(self, stream: Any) -> None:
        with stream:
            self.later.extend(stream)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.end()

    @property
    def url(self) -> str:
        """Where it is."""
        return f"{self.scheme}://127.0.0.1:{self.port}"

    def client(self, **options: Any) -> httpx2.Client:
        """A script that has the token."""
        headers = {"authorization": f"Bearer {TOKEN}"} | options.pop("headers", {})
        return httpx2.Client(base_url=self.url, headers=headers, timeout=PATIENCE, **options)

    def kill(self) -> None:
        """Die as from a flat battery."""
        self.process.send_signal(signal.SIGKILL)
        self.process.wait()
        self._emptying.join(PATIENCE)

    def end(self) -> int:
        """Ask it to stop; its exit status."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGINT)
            try:
                self.process.wait(PATIENCE)
            except subprocess.TimeoutExpired:
                self.kill()
        self._emptying.join(PATIENCE)
        return self.process.returncode


def refused(*options: str) -> Result:
    """What ``steelyard serve`` says where a station does not come up; asked in this process."""
    with mock.patch.object(Ready, "serve", side_effect=AssertionError("the station came up")):
        return CliRunner().invoke(cli, ["serve", "--port", "0", *options], prog_name="steelyard")


def refused_by_shell(*options: str) -> subprocess.CompletedProcess[str]:
    """The same in a process of its own, as a person starts it."""
    return subprocess.run(
        [*COMMAND, "--port", "0", *options],
        cwd=ROOT,
        env=ENVIRONMENT,
        capture_output=True,
        text=True,
        timeout=PATIENCE,
        check=False,
    )
