"""How times are taken: turn by turn, best of many, processor time unless it is said otherwise.

The best of many turns is what the code costs; every other turn is the code and what else the machine was doing. Things
that are compared take their turns in alternation, so that a slow second of the machine falls on both.
"""

from __future__ import annotations

import atexit
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
SHORTEST = 0.002
"""A turn lasts at least this long [s]; quicker calls are repeated within it."""

_LAUNCH = Path(__file__).with_name("launch.py")
_PROGRAM = "from steelyard.cli import main; main()"


@dataclass(frozen=True, slots=True)
class Row:
    """One comparison.

    Attributes
    ----------
    what: was measured. beside: what it is held against. took, floor: their times [ms] or sizes [MB].
    unit: of both. aim: the ratio, or the amount where it ends in the unit, that should not be passed; empty: none.
    """

    group: str
    what: str
    took: float
    beside: str
    floor: float
    unit: str = "ms"
    aim: str = ""

    @property
    def ratio(self) -> float:
        """How many times the floor."""
        return self.took / self.floor


@dataclass(frozen=True, slots=True)
class Run:
    """One run of a process: wall and processor time [s], children included, and its largest process [bytes]."""

    wall: float
    cpu: float
    largest: int


def side_by_side(calls: Mapping[str, Callable[[], object]], *, seconds: float) -> dict[str, float]:
    """The best processor time of each call [ms], taken in turns for about so many seconds altogether."""
    repeats = {name: _repeats(call) for name, call in calls.items()}
    least = dict.fromkeys(calls, float("inf"))
    end = time.perf_counter() + seconds
    turns = 0
    while time.perf_counter() < end or turns < 5:
        for name, call in calls.items():
            start = time.process_time()
            for _ in range(repeats[name]):
                call()
            least[name] = min(least[name], (time.process_time() - start) / repeats[name])
        turns += 1
    return {name: 1e3 * value for name, value in least.items()}


def _repeats(call: Callable[[], object]) -> int:
    call()  # whatever is only done once
    start = time.process_time()
    call()
    once = time.process_time() - start
    return max(1, round(SHORTEST / max(once, 1e-7)))


def process(command: Sequence[str], *, output: Path | None = None, folder: Path = ROOT) -> Run:
    """Run a command of its own.

    Raises
    ------
    RuntimeError: it failed.
    """
    environment = os.environ | {"PYTHONPATH": str(ROOT / "src"), "PYTHONPYCACHEPREFIX": _byte_code()}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    launch = [sys.executable, "-S", str(_LAUNCH), str(output or os.devnull), *command]
    done = subprocess.run(launch, cwd=folder, env=environment, capture_output=True, text=True, check=True)
    told = json.loads(done.stdout)
    if told["code"] != 0:
        raise RuntimeError(f"{' '.join(command[:6])} ended with status {told['code']}: {done.stderr}")
    return Run(told["wall"], told["cpu"], told["largest"])


@cache
def _byte_code() -> str:
    """A folder for byte code as an installed program has it, whatever the environment says of it; gone at the end."""
    folder = tempfile.TemporaryDirectory(prefix="byte-code-")
    atexit.register(folder.cleanup)
    return folder.name


def python(code: str, *arguments: str) -> list[str]:
    """The command that runs a piece of Python."""
    return [sys.executable, "-c", code, *arguments]


def program(*arguments: str) -> list[str]:
    """The command that runs the program, as its installed script does."""
    return python(_PROGRAM, *arguments)


def processes(commands: Mapping[str, list[str]], *, turns: int, folder: Path = ROOT) -> dict[str, Run]:
    """The best of each command, taken in turns: wall time, processor time and memory each by itself."""
    runs: dict[str, list[Run]] = {name: [] for name in commands}
    for turn in range(turns + 1):
        for name, command in commands.items():
            run = process(command, folder=folder)
            if turn > 0:  # the first writes the byte code and fills the disk's memory
                runs[name].append(run)
    return {name: best(of) for name, of in runs.items()}


def best(runs: Sequence[Run]) -> Run:
    """The least wall time, processor time and memory, each by itself."""
    return Run(min(run.wall for run in runs), min(run.cpu for run in runs), min(run.largest for run in runs))
