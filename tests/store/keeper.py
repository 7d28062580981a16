"""A program that keeps drafts and says so, made to be killed.

``python -m tests.store.keeper ADDRESS DAY`` waits for lines ``ROUND`` on its input. For each it says ``pid N`` and
starts a process of its own, which opens the store and keeps drafts without end, each answered by ``kept KEY`` once the
store says that it is durable. When that process is dead, it says ``dead``.
"""

from __future__ import annotations

import os
import sys
from itertools import count

from steelyard.store import open_store
from tests.store.samples import draft


def keep(address: str, day_id: str, round_: str) -> None:
    """Keep drafts until killed."""
    out = sys.stdout.fileno()
    with open_store(address) as store:
        for number in count():
            key = f"{round_}-{number}"
            store.append(day_id, draft(key, 20 * (number % 500)))
            os.write(out, f"kept {key}\n".encode())


def main(address: str, day_id: str) -> None:
    """Start a process for each line of input."""
    for line in sys.stdin:
        pid = os.fork()
        if pid == 0:
            try:
                keep(address, day_id, line.strip())
            finally:
                os._exit(1)
        print(f"pid {pid}", flush=True)
        os.waitpid(pid, 0)
        print("dead", flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])
