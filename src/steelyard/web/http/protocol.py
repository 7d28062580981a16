"""HTTP as the server speaks it, with two differences: what is not HTTP is answered in the shape of every other error,
and the head of a request has to arrive in time.
"""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

from steelyard.web.http.doorway import Doorway
from steelyard.web.http.guard import HEADERS
from steelyard.web.http.problem import Problem

HEAD_SECONDS = 10.0
"""s that the head of a request may take to arrive, from its first byte or from the connection."""


class Protocol(H11Protocol):
    """One connection; ``doorway`` is the socket that it came in by, if that counts its connections."""

    def __init__(self, *args: Any, doorway: Doorway | None = None, **more: Any) -> None:
        super().__init__(*args, **more)
        self._doorway = doorway
        self._fd = -1
        self._late: asyncio.TimerHandle | None = None
        self._said = False  # whether anything came since the last request

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """A connection is open; its first request is awaited."""
        super().connection_made(transport)
        connected = transport.get_extra_info("socket")
        self._fd = -1 if connected is None else connected.fileno()
        self._await_head()

    def connection_lost(self, exc: Exception | None) -> None:
        """A connection is gone."""
        self._await_no_head()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Bytes came: perhaps the rest of a head, perhaps one drop more."""
        self._said = True
        super().data_received(data)
        self._look()

    def on_response_complete(self) -> None:
        """A request was answered; the next one may have come already."""
        super().on_response_complete()
        self._look()

    @property
    def awaits_head(self) -> bool:
        """Whether the head of a request is awaited, and not for much longer."""
        return self._late is not None

    def _look(self) -> None:
        """See whether a head is awaited, or a request is being answered."""
        cycle = self._underway()
        if self._doorway is not None:
            self._doorway.say(self._fd, busy=cycle is not None and not cycle.more_body)
        if cycle is None and self._half():
            if not self.transport.is_closing():
                self._await_head()
        else:  # silence between two requests is another matter: see ``timeout_keep_alive``
            self._said = False
            self._await_no_head()

    def _half(self) -> bool:
        """Whether part of a request is there: some of its head, or a body that was answered before its end."""
        return bool(self.conn.trailing_data[0]) or repr(self.conn.their_state) == "SEND_BODY"

    def _underway(self) -> RequestResponseCycle | None:
        cycle = getattr(self, "cycle", None)  # none before the first request
        return cycle if isinstance(cycle, RequestResponseCycle) and not cycle.response_complete else None

    def _await_head(self) -> None:
        if self._late is None:
            self._late = self.loop.call_later(HEAD_SECONDS, self._give_up)

    def _await_no_head(self) -> None:
        if self._late is not None:
            self._late.cancel()
            self._late = None

    def _give_up(self) -> None:
        self._late = None
        if self.transport.is_closing():
            return
        if self._said:
            message = f"the head of the request did not arrive within {HEAD_SECONDS:g} s"
            self._answer("408 Request Timeout", Problem(408, "too_slow", message))
        self.transport.close()

    def send_400_response(self, msg: str) -> None:
        """Answer what cannot be read as a request, and hang up; nothing where an answer is on its way already."""
        del msg
        cycle = self._underway()
        if cycle is None or not cycle.response_started:
            problem = Problem(400, "no_http", "this is not a request that can be read as HTTP/1.1")
            self._answer("400 Bad Request", problem)
        self.transport.close()

    def _answer(self, status: str, problem: Problem) -> None:
        answer = problem.to_response()
        headers = {**answer.headers, "connection": "close", **HEADERS}
        lines = [f"HTTP/1.1 {status}", *(f"{name}: {value}" for name, value in headers.items()), "", ""]
        self.transport.write("\r\n".join(lines).encode() + bytes(answer.body))
