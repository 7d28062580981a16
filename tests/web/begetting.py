"""A process with the whole program loaded that begets ``steelyard serve``, each a process of its own.

    python -m tests.web.begetting

A line of JSON in begets one, with its arguments and the pipe that its output goes into; a line out says its process.
Another line asks whether that has ended, and is answered by its exit status or null. A new Python would take a second
for each to load the program.
"""

from __future__ import annotations

import importlib
import json
import os
import resource
import sys
from typing import Any

from steelyard.cli import main as steelyard

LOADED = ("uvicorn.protocols.http.h11_impl", "uvicorn.lifespan.on", "steelyard.cli.commands.serve", "steelyard.web.run")


def become(asked: dict[str, Any]) -> None:
    """Be ``steelyard serve``, with as many open files as it may have."""
    pipe, nothing = os.open(asked["out"], os.O_WRONLY), os.open(os.devnull, os.O_RDONLY)
    for end, place in ((nothing, 0), (pipe, 1), (pipe, 2)):
        os.dup2(end, place)
    os.close(pipe)
    if asked["files"] is not None:
        resource.setrlimit(resource.RLIMIT_NOFILE, (asked["files"], asked["files"]))
    sys.argv = ["steelyard", *asked["arguments"]]
    steelyard()


def ended(pid: int) -> int | None:
    """The exit status of a process as ``subprocess`` tells it; None while it runs."""
    done, status = os.waitpid(pid, os.WNOHANG)
    return os.waitstatus_to_exitcode(status) if done else None


def main() -> None:
    """Beget and bury until the input ends."""
    for name in LOADED:
        importlib.import_module(name)
    for line in iter(sys.stdin.readline, ""):
        asked = json.loads(line)
        if "ended" in asked:
            print(json.dumps(ended(asked["ended"])), flush=True)
            continue
        pid = os.fork()
        if pid == 0:
            become(asked)
            return
        print(pid, flush=True)


if __name__ == "__main__":
    main()
