"""A client whose requests are answered in the thread that asks: for thousands of requests, one after the other.

The usual test client has a thread for the station. Every request wakes it eight times, which costs more than most
answers. What a station does between requests stands still here.
"""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from httpx2 import ASGITransport, AsyncClient, Response
from starlette.applications import Starlette


class Client:
    """Sends requests of a script on this machine, with the headers given."""

    def __init__(self, app: Starlette, loop: asyncio.AbstractEventLoop, base: str, headers: dict[str, str]) -> None:
        self._loop = loop
        transport = ASGITransport(app, raise_app_exceptions=False, client=("127.0.0.1", 1))
        self._client = AsyncClient(transport=transport, base_url=base, headers=headers, follow_redirects=True)

    def request(self, method: str, address: str, **sent: Any) -> Response:
        """The answer to a request."""
        return self._loop.run_until_complete(self._client.request(method.upper(), address, **sent))

    def get(self, address: str) -> Response:
        """What is at an address."""
        return self.request("GET", address)

    def close(self) -> None:
        """Let its connections go."""
        self._loop.run_until_complete(self._client.aclose())


@contextmanager
def answering(app: Starlette, base: str, headers: dict[str, str]) -> Iterator[Client]:
    """A client of an application that has begun, and ends afterwards."""
    loop = asyncio.new_event_loop()
    lives = app.router.lifespan_context(app)
    loop.run_until_complete(lives.__aenter__())
    client = Client(app, loop, base, headers)
    try:
        yield client
    finally:
        client.close()
        loop.run_until_complete(lives.__aexit__(None, None, None))
        loop.run_until_complete(loop.shutdown_default_executor())
        loop.close()
