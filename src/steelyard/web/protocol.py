"""HTTP as the server speaks it, with one difference: what is no HTTP is answered in the shape of every other error."""

from __future__ import annotations

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from steelyard.web.problem import Problem
from steelyard.web.security import HEADERS

_ANSWERING = (h11.IDLE, h11.SEND_RESPONSE)


class Protocol(H11Protocol):
    """One connection."""

    def send_400_response(self, msg: str) -> None:
        """Answer what cannot be read as a request, and hang up; nothing where an answer is on its way already."""
        del msg
        if self.conn.our_state in _ANSWERING:
            answer = Problem(400, "no_http", "this is no request that can be read as HTTP/1.1").to_response()
            headers = [*answer.raw_headers, (b"connection", b"close")]
            headers += [(name.encode(), value.encode()) for name, value in HEADERS.items()]
            events = (
                h11.Response(status_code=400, headers=headers, reason=b"Bad Request"),
                h11.Data(data=bytes(answer.body)),
                h11.EndOfMessage(),
            )
            for event in events:
                self.transport.write(self.conn.send(event) or b"")
        self.transport.close()
