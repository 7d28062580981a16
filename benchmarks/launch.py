"""Runs one command and prints what it took: wall time, processor time and the memory of its largest process.

A process of its own, and a small one: a child's largest memory counts from its parent's, so a parent that has NumPy
loaded would hide everything smaller than itself. Standard library only; run as a script.
"""

from __future__ import annotations

import json
import os
import sys
import time


def main() -> None:
    """Run the command given as arguments; its output goes to the file named first."""
    output, *command = sys.argv[1:]
    opened = [(os.POSIX_SPAWN_OPEN, 1, output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)]
    start = time.perf_counter()
    process = os.posix_spawn(command[0], command, os.environ, file_actions=opened)
    _, status, used = os.wait4(process, 0)
    wall = time.perf_counter() - start
    largest = used.ru_maxrss * (1 if sys.platform == "darwin" else 1024)
    code = os.waitstatus_to_exitcode(status)
    print(json.dumps({"wall": wall, "cpu": used.ru_utime + used.ru_stime, "largest": largest, "code": code}))


if __name__ == "__main__":
    main()
