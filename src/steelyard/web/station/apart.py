"""A process of its own for what takes long: begun in one way, with bounded memory, wherever something is worked out."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence

from steelyard.web.station import memory


def file_command(path: str) -> tuple[str, ...]:
    """The command that runs one file of the program."""
    return (sys.executable, "-P", path)


def begin(command: Sequence[str], *, alone: bool = False) -> subprocess.Popen[bytes]:
    """Begin a process with pipes to its input and output. It finds the program as this one does.

    Parameters
    ----------
    command: what is run. alone: whether Ctrl-C at the station's terminal is kept from it.

    Raises
    ------
    OSError: it cannot be begun.
    """
    # one thread for the arithmetic: a process each for several days is quicker than many threads for one
    environment = {"OPENBLAS_NUM_THREADS": "1"} | os.environ | {"PYTHONPATH": os.pathsep.join(filter(None, sys.path))}
    pipe = subprocess.PIPE
    process = subprocess.Popen(command, stdin=pipe, stdout=pipe, env=environment, start_new_session=alone)  # noqa: S603
    memory.bound(process.pid)
    return process
