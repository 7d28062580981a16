"""News: what other programs add to the days of a shared PostgreSQL, heard the moment that it is kept."""

from __future__ import annotations

import selectors
import socket
import threading
from contextlib import closing, suppress
from typing import Any, Protocol

from sqlalchemy import Engine

from steelyard.store.fault import Reason, StoreError, in_words, translated
from steelyard.store.migrations import CHANNEL
from steelyard.store.records import DayId

_SOONEST, _LATEST = 0.1, 2.0  # s between two attempts to reach a server that is away
_MORE = 1.6  # by which the pause grows
_STILL_THERE = 10.0  # s of silence after which the server is asked whether it is there


class Hearer(Protocol):
    """The receiver of news. Its methods run in the listening thread and must not take long."""

    def added(self, day_id: DayId, seq: int) -> None:
        """An addition was kept, by whichever program."""

    def there(self) -> None:
        """From now on everything is heard; what was added before may have been missed."""

    def away(self, words: str) -> None:
        """The server is away, and nothing is heard until it is back."""


class News:
    """A connection that listens in a thread of its own, and comes back by itself after the server was away."""

    def __init__(self, engine: Engine, where: str, hearer: Hearer) -> None:
        self._engine = engine
        self._where = where
        self._hearer = hearer
        self._ended = threading.Event()
        self._wake, self._woken = socket.socketpair()
        self._thread = threading.Thread(target=self._listen, name="news", daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Listen no more."""
        self._ended.set()
        self._wake.send(b"!")
        self._thread.join(_STILL_THERE)
        self._wake.close()

    def _listen(self) -> None:
        from psycopg import Error  # there wherever there is an engine for PostgreSQL

        pause, said = _SOONEST, False
        with closing(self._woken):
            while not self._ended.is_set():
                try:
                    with in_words(self._where), self._engine.connect() as connection:
                        listening: Any = connection.connection.driver_connection
                        listening.execute(f"LISTEN {CHANNEL}")
                        pause, said = _SOONEST, False
                        self._hearer.there()
                        try:
                            self._hear(listening)
                        except Error:  # a lost connection is not to be tidied up, which would fail with a traceback
                            connection.invalidate()
                            raise
                except (StoreError, Error, OSError) as error:
                    if not said and not self._ended.is_set():
                        said = self._say(error)
                    self._ended.wait(pause)
                    pause = min(pause * _MORE, _LATEST)

    def _say(self, error: Exception) -> bool:
        """Say that the server is away; whether it is. One that cannot tell news, as a standby, answers all the same."""
        if isinstance(error, StoreError):
            reason, words = error.reason, str(error)
        else:
            reason, said = translated(error)
            words = f"the store {self._where}: {said}"
        if reason is Reason.UNREACHABLE:
            self._hearer.away(words)
        return reason is Reason.UNREACHABLE

    def _hear(self, plain: Any) -> None:
        """Pass on what is told until the server is gone, which raises, or the listening is to end."""
        with selectors.DefaultSelector() as ready:
            ready.register(plain.fileno(), selectors.EVENT_READ)
            ready.register(self._woken, selectors.EVENT_READ)
            while not self._ended.is_set():
                if not ready.select(_STILL_THERE):
                    plain.execute("SELECT 1")
                for told in plain.notifies(timeout=0):
                    day_id, _, seq = told.payload.partition(" ")
                    with suppress(ValueError):  # of somebody else who uses the channel
                        self._hearer.added(day_id, int(seq))
