"""A process with everything loaded that begets stations: each is a process of its own, killed and begotten again.

    python -m tests.web.nursery STORE TOKEN

A line in begets one; a line out says its process and its port, another that it is dead. The findings are never worked
out here: what keeps drafts is the real thing.
"""

from __future__ import annotations

import os
import sys
from typing import NoReturn

from steelyard.model import WeighDay
from steelyard.store import open_store
from steelyard.web.app import create_app
from steelyard.web.http import network
from steelyard.web.http.pairing import Door
from steelyard.web.run import Ready
from steelyard.web.settings import Settings
from steelyard.web.station.reckon import Reckoner
from steelyard.web.station.station import Station


def _never(day: WeighDay) -> NoReturn:
    raise RuntimeError(f"no findings of {day.title!r} here")


def serve(store: str, token: str) -> None:
    """Be a station until killed."""
    listener = network.listen(0, lan=False)
    port = listener.getsockname()[1]
    settings = Settings(store=store, port=port, token=token, keys=f"{store}.keys")
    station = Station(open_store(store), settings, reckoner=Reckoner(_never))
    door = Door()
    ready = Ready(station, door, create_app(settings, station=station, door=door), ((listener, None),), "")
    print(f"serves {os.getpid()} {port}", flush=True)
    ready.serve()


def main(store: str, token: str) -> None:
    """Beget until the input ends."""
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            try:
                serve(store, token)
            finally:
                os._exit(1)
        os.waitpid(child, 0)
        print("dead", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
