"""The socket that the station listens on: how many connections may be open, and which one goes when there are too many.

They are counted where they are accepted, so that one that never finishes its handshake or its first request counts too.
"""

from __future__ import annotations

import contextlib
import socket
import sys
import time
from dataclasses import dataclass, field
from typing import Any

if sys.platform != "win32":
    import resource

_MOST, _FEWEST = 1000, 16  # connections
_WANTED_FILES = 4096
_WAITING = 128  # connections that the system holds until they are accepted
AT_ONCE = 16
"""Connections that are accepted before anything else has its turn; the ones that went for them are closed by then."""


@dataclass(slots=True)
class _Connection:
    socket: socket.socket
    busy: bool = False
    cut: bool = False
    since: float = field(default_factory=time.monotonic)


class Doorway(socket.socket):
    """A listening socket that knows its connections.

    Where ``most`` are open and another one comes, the one is cut that has waited for a request for longest, or sends
    one that does not come to its end; the new one is, where all others are being answered.
    """

    def __init__(self, *args: Any, most: int | None = None) -> None:
        super().__init__(*args)
        self.most = most_connections() if most is None else most
        self._open: dict[int, _Connection] = {}

    def listen(self, backlog: int = _WAITING, /) -> None:
        """Listen; however few are accepted at once, ``_WAITING`` may wait for it."""
        super().listen(max(backlog, _WAITING))

    def accept(self) -> tuple[socket.socket, Any]:
        """Accept a connection. Where there are too many, one of them is cut: it, or another one."""
        made, address = super().accept()
        self._open[made.fileno()] = _Connection(made)
        if len(self._open) > self.most:
            self._open = {fd: item for fd, item in self._open.items() if item.socket.fileno() == fd}
        uncut = [item for item in self._open.values() if not item.cut] if len(self._open) > self.most else []
        if len(uncut) > self.most:
            oldest = min((item for item in uncut if not item.busy), key=lambda item: item.since)
            oldest.cut = True
            with contextlib.suppress(OSError):  # the other end may have gone
                oldest.socket.shutdown(socket.SHUT_RDWR)
        return made, address

    def say(self, fd: int, *, busy: bool) -> None:
        """A connection is being answered from now on, or waits for a request."""
        connection = self._open.get(fd)
        if connection is not None and connection.busy != busy:
            connection.busy, connection.since = busy, time.monotonic()


def most_connections() -> int:
    """How many connections may be open: half of the files that the process may have, for the store needs some too."""
    if sys.platform == "win32":
        return _MOST
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    if soft < _WANTED_FILES:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, _WANTED_FILES), hard))
        soft, _ = resource.getrlimit(resource.RLIMIT_NOFILE)
    return min(max(soft // 2, _FEWEST), _MOST)
