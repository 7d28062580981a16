"""Scripted instruments: what they say, what they expect to be asked, and where the cable breaks."""

from __future__ import annotations

import asyncio
import os
import tty
from collections.abc import AsyncGenerator, Callable, Coroutine, Sequence
from contextlib import aclosing, asynccontextmanager
from dataclasses import dataclass, field
from typing import Any, Self, TypeVar

from steelyard.capture import (
    Chars,
    LinePart,
    LinePattern,
    LinePort,
    NumberFormat,
    PartRole,
    Patience,
    Port,
    Sample,
    line_port,
)
from steelyard.capture.line_port import Wire
from tests.waiting import PATIENCE

T = TypeVar("T")

QUICK = Patience(connect=PATIENCE, silence=PATIENCE, retry=0.01)
"""As a port is patient in tests: it tries again at once, and takes no stall of a busy machine for silence."""

QUIET = line_port._QUIET
"""s of silence after which a line is whole, as the program has it; in most conversations nothing is quiet so long."""

PATTERN = LinePattern(
    "plain",
    (
        LinePart(PartRole.MARK, chars=Chars.LETTERS, words=("ok", "no")),
        LinePart(PartRole.VALUE, gap="*", number=NumberFormat(".", decimals=(1,))),
        LinePart(PartRole.UNIT, chars=Chars.LETTERS, words=("kg",), gap=" "),
    ),
    "kg",
    steady=("ok",),
    moving=("no",),
)
"""``ok 1250.5 kg``"""


def run(main: Coroutine[Any, Any, T]) -> T:
    """Run a conversation; it fails if it takes too long or leaves a task behind."""

    async def watched() -> T:
        async with asyncio.timeout(PATIENCE):
            result = await main
        await asyncio.sleep(0)
        left = asyncio.all_tasks() - {asyncio.current_task()}
        assert not left, f"tasks left behind: {left}"
        return result

    return asyncio.run(watched(), debug=False)


def opened(port: Port) -> asyncio.Event:
    """Set once the wire of a port is open: what is said before is lost, as on a real line."""
    assert isinstance(port, LinePort)
    event, connect = asyncio.Event(), port.connect

    async def connecting() -> Wire:
        wire = await connect()
        event.set()
        return wire

    port.connect = connecting
    return event


async def take(
    port: Port, enough: int | Callable[[list[Sample]], bool], got: list[Sample] | None = None
) -> list[Sample]:
    """The samples of a port until there are enough, in number or by a test; then it is closed. ``got`` fills."""
    got = [] if got is None else got
    done = enough if callable(enough) else lambda samples: len(samples) >= enough
    async with asyncio.timeout(PATIENCE), aclosing(port.samples()) as samples:
        async for sample in samples:
            got.append(sample)
            if done(got):
                break
    return got


def values(samples: Sequence[Sample]) -> list[float]:
    """The loads among samples [kg]."""
    return [sample.value_kg for sample in samples if sample.value_kg is not None]


def kinds(samples: Sequence[Sample]) -> list[str]:
    """The troubles among samples, by kind."""
    return [sample.trouble.kind.value for sample in samples if sample.trouble is not None]


@dataclass
class Script:
    """One connection after another: each a list of (what must be sent first, what is answered); then the end.

    ``sent`` of ``b""`` is answered unasked. After the last pair of a connection the instrument hangs up, or, with
    ``hold``, says nothing more.
    """

    connections: list[list[tuple[bytes, bytes]]]
    hold: bool = False
    faults: list[str] = field(default_factory=list[str])
    served: int = 0

    async def serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        """Play the next connection."""
        pairs = self.connections[min(self.served, len(self.connections) - 1)]
        self.served += 1
        try:
            for sent, answered in pairs:
                got = await reader.readexactly(len(sent)) if sent else b""
                if got != sent:
                    self.faults.append(f"expected {sent!r}, was sent {got!r}")
                writer.write(answered)
                await writer.drain()
            if self.hold:
                await reader.read()  # until the port hangs up
        except (OSError, asyncio.IncompleteReadError):
            pass  # the port has hung up, which is its right
        finally:
            writer.close()

    @asynccontextmanager
    async def listening(self) -> AsyncGenerator[int, None]:
        """A TCP server that plays the script; gives its port number and complains of wrong questions at the end."""
        server = await asyncio.start_server(self.serve, "127.0.0.1", 0)
        try:
            yield server.sockets[0].getsockname()[1]
        finally:
            server.close()
            await server.wait_closed()
            await asyncio.sleep(0.02)
        assert self.faults == []


class Cable:
    """A real pseudo-terminal: the port opens one end, the test is the instrument at the other."""

    def __init__(self) -> None:
        self.master, self._slave = os.openpty()
        tty.setraw(self.master)
        tty.setraw(self._slave)
        self.device = os.ttyname(self._slave)
        self._open = True

    def say(self, data: bytes) -> None:
        """Print, as the instrument."""
        os.write(self.master, data)

    async def hear(self, count: int) -> bytes:
        """What was sent to the instrument, so many bytes."""
        loop = asyncio.get_running_loop()
        heard = b""
        os.set_blocking(self.master, False)
        while len(heard) < count:
            waiter = loop.create_future()
            loop.add_reader(self.master, lambda done=waiter: done.done() or done.set_result(None))
            try:
                await waiter
            finally:
                loop.remove_reader(self.master)
            heard += os.read(self.master, count - len(heard))
        return heard

    def cut(self) -> None:
        """Pull the cable out."""
        if self._open:
            self._open = False
            os.close(self.master)
            os.close(self._slave)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.cut()
