"""HTTP as the server speaks it, with one difference: what is no HTTP is answered in the shape of every other error."""

from __future__ import annotations

from uvicorn.protocols.http.h11_impl import H11Protocol, RequestResponseCycle

from steelyard.web.problem import Problem
from steelyard.web.security import HEADERS


class Protocol(H11Protocol):
    """One connection."""

    def send_400_response(self, msg: str) -> None:
        """Answer what cannot be read as a request, and hang up; nothing where an answer is on its way already."""
        del msg
        cycle = getattr(self, "cycle", None)  # none before the first request
        if not isinstance(cycle, RequestResponseCycle) or cycle.response_complete or not cycle.response_started:
            answer = Problem(400, "no_http", "this is no request that can be read as HTTP/1.1").to_response()
            headers = {**answer.headers, "connection": "close", **HEADERS}
            lines = ["HTTP/1.1 400 Bad Request", *(f"{name}: {value}" for name, value in headers.items()), "", ""]
            self.transport.write("\r\n".join(lines).encode() + bytes(answer.body))
        self.transport.close()
