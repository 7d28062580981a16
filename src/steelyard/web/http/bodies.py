"""The body of a request: refused where it is larger than its address takes, or does not come to an end in time."""

from __future__ import annotations

import asyncio
import time

from starlette.datastructures import Headers
from starlette.types import Message, Receive

from steelyard.web.http.problem import Problem

_SECONDS = 30.0  # s that a body may take to arrive


def limited(receive: Receive, headers: Headers, limit: int) -> Receive:
    """``receive`` that refuses a body over ``limit`` bytes, or one that does not come to an end in time."""
    announced = headers.get("content-length", "")
    total, done, until = 0, False, time.monotonic() + _SECONDS

    def too_large() -> Problem:
        return Problem(413, "too_large", f"the request is too large; this takes at most {limit:,} bytes")

    async def bounded() -> Message:
        nonlocal total, done
        if done:
            return await receive()
        if announced.isdecimal() and int(announced[:15]) > limit:
            await _drain(receive)
            raise too_large()
        try:
            message = await asyncio.wait_for(receive(), max(until - time.monotonic(), 0.0))
        except TimeoutError:
            raise Problem(408, "too_slow", f"the request did not arrive within {_SECONDS:g} s") from None
        if message["type"] == "http.request":
            total += len(message.get("body", b""))
            done = not message.get("more_body", False)
            if total > limit:
                await _drain(receive, done=done)
                raise too_large()
        return message

    return bounded


async def _drain(receive: Receive, *, done: bool = False) -> None:
    """Let the rest of a body pass, for a while: most clients only listen once they have said everything."""
    passed, until = 0, time.monotonic() + 10.0
    while not done and passed < 100_000_000 and time.monotonic() < until:
        try:
            message = await asyncio.wait_for(receive(), 2.0)
        except TimeoutError:
            return
        passed += len(message.get("body", b""))
        done = message["type"] != "http.request" or not message.get("more_body", False)
