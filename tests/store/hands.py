"""Programs that share one store, each a process of its own, begun at the same moment.

``python -m tests.store.hands`` reads lines of JSON, each a list of jobs. For each line it begets a process for every
job, lets all of them go at once, and prints what each of them says as one list.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Sequence
from typing import Any

from steelyard.store import Reason, StoreError, open_store
from steelyard.store import migrations as migrations_file
from steelyard.store.schema import DAYS
from tests.store.samples import ROOT, draft


def keep(job: dict[str, Any]) -> dict[str, Any]:
    """Keep drafts, each checked against the day as it was a moment before; again where somebody was quicker."""
    moved = 0
    with open_store(job["where"]) as store:
        for number in range(job["turns"]):
            while True:
                seq = store.day(job["day"]).seq
                try:
                    store.append(job["day"], draft(f"{job['name']}-{number}", device=job["name"]), expect=seq)
                except StoreError as error:
                    if error.reason is not Reason.MOVED_ON:
                        raise
                    moved += 1
                else:
                    break
    return {"moved": moved}


def begin(job: dict[str, Any]) -> dict[str, Any]:
    """Open a store as a program of some form does, and keep one draft."""
    if job["form"] is not None:
        migrations_file.STEPS = migrations_file.STEPS[: job["form"]]
        if "search" not in dict(migrations_file.STEPS):
            DAYS._columns.remove(DAYS.c.searched)  # which such a program does not know
    with open_store(job["where"]) as store:
        if job["day"] is not None:
            store.append(job["day"], draft(job["name"]))
        return {"kept": job["name"]}


def work(job: dict[str, Any]) -> dict[str, Any]:
    """Do a job; what the store says against it is its answer."""
    try:
        return {"keep": keep, "begin": begin}[job["do"]](job)
    except StoreError as error:
        return {"refused": error.reason, "message": str(error)}


def at_once(jobs: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What processes say that begin their jobs at the same moment."""
    gate, opener = os.pipe()
    answers: list[int] = []
    for job in jobs:
        answer, out = os.pipe()
        if os.fork() == 0:
            try:
                os.close(opener)
                os.read(gate, 1)
                os.write(out, json.dumps(work(job)).encode())
            finally:
                os._exit(0)
        os.close(out)
        answers.append(answer)
    os.close(gate)
    os.close(opener)
    said: list[dict[str, Any]] = []
    for answer in answers:
        with os.fdopen(answer, "rb") as pipe:
            said.append(json.loads(pipe.read()))
        os.wait()
    return said


class Hands:
    """The process that begets them."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.store.hands"],
            cwd=ROOT,
            env={**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def at_once(self, jobs: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
        """What the programs say, in the order of the jobs."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps(jobs) + "\n")
        self._process.stdin.flush()
        answers: list[dict[str, Any]] = json.loads(self._process.stdout.readline())
        return answers

    def close(self) -> None:
        """End it."""
        self._process.communicate()


def main() -> None:
    """Do the jobs of each line of the input."""
    for line in sys.stdin:
        print(json.dumps(at_once(json.loads(line))), flush=True)


if __name__ == "__main__":
    main()
