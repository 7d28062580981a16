"""``steelyard serve`` in a process of its own, on a free port: typed as a person does, or begotten ready loaded."""

from __future__ import annotations

import atexit
import json
import os
import re
import signal
import subprocess
import sys
import tempfile
import threading
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from types import TracebackType
from typing import Any, Self
from unittest import mock

import httpx2
from click.testing import CliRunner, Result

from steelyard.cli import cli
from steelyard.web.run import Ready
from tests.waiting import PATIENCE, until

ROOT = Path(__file__).resolve().parents[2]
EXAMPLE = ROOT / "examples" / "quay-bakery.toml"
TOKEN = "trial"

ENVIRONMENT = {**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}", "PYTHONUNBUFFERED": "1"}
COMMAND = [sys.executable, "-m", "steelyard", "serve"]


class _Begetter:
    """The process of :mod:`tests.web.begetting`, one for each worker."""

    def __init__(self) -> None:
        pipe = subprocess.PIPE
        command = [sys.executable, "-m", "tests.web.begetting"]
        self._process = subprocess.Popen(command, cwd=ROOT, env=ENVIRONMENT, stdin=pipe, stdout=pipe, text=True)

    def ask(self, **what: object) -> int | None:
        """Have a station begotten, or ask after one."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        answer: int | None = json.loads(self._process.stdout.readline())
        return answer

    def close(self) -> None:
        """End it."""
        self._process.communicate()


@cache
def _begetter() -> _Begetter:
    one = _Begetter()
    atexit.register(one.close)
    return one


class Begotten:
    """A station that another process begot, with the names of ``subprocess.Popen``."""

    def __init__(self, arguments: Sequence[str], files: int | None) -> None:
        with tempfile.TemporaryDirectory() as folder:
            pipe = Path(folder) / "said"
            os.mkfifo(pipe)
            pid = _begetter().ask(out=str(pipe), arguments=arguments, files=files)
            assert pid is not None
            self.pid, self.returncode = pid, None
            self.stdout = pipe.open(encoding="utf-8")  # waits until the station has it open

    pid: int
    returncode: int | None

    def send_signal(self, number: int) -> None:
        """Send a signal, unless it has ended."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def poll(self) -> int | None:
        """The exit status; None while it runs."""
        if self.returncode is None:
            self.returncode = _begetter().ask(ended=self.pid)
        return self.returncode

    def wait(self, timeout: float = PATIENCE) -> int:
        """Wait until it has ended; its exit status."""
        until(lambda: self.poll() is not None, f"the end of process {self.pid}", patience=timeout)
        assert self.returncode is not None
        return self.returncode


class Served:
    """One running station, begotten of a process that has the program loaded; ``typed``: of the command itself.

    ``said`` is what it printed until it served; ``files``: how many it may have open.
    """

    process: subprocess.Popen[str] | Begotten

    def __init__(
        self, store: Path | str, *options: str, port: int = 0, files: int | None = None, typed: bool = False
    ) -> None:
        arguments = ["--port", str(port), "--store", str(store), "--token", TOKEN, *options]
        if typed:
            pipe = subprocess.PIPE
            self.process = subprocess.Popen(
                [*COMMAND, *arguments], cwd=ROOT, env=ENVIRONMENT, stdout=pipe, stderr=subprocess.STDOUT, text=True
            )
        else:
            self.process = Begotten(["serve", *arguments], files)
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
            except (subprocess.TimeoutExpired, AssertionError):
                self.kill()
        self._emptying.join(PATIENCE)
        return self.process.wait()


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
