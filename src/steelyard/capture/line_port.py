"""Common part of all ports of lines: connect, listen or ask, notice silence, report faults, try again."""

from __future__ import annotations

import asyncio
import time
from abc import abstractmethod
from collections.abc import AsyncGenerator, Iterator, Mapping, Sequence
from contextlib import aclosing
from dataclasses import dataclass
from typing import Protocol

from steelyard.capture.line import LinePattern
from steelyard.capture.port import Clock, Port
from steelyard.capture.reading_lines import LineSamples
from steelyard.capture.sample import Sample, TroubleKind
from steelyard.capture.stream import LineCollector

_QUIET = 0.25  # s of silence before the first byte, after which a line begins there: within a line none is so long
_MOST_AT_ONCE = 500  # lines that come together and are all read: what a quick box prints in some seconds
_NEWEST = 100  # lines that are read of more than that: what is older says nothing about the load now
_SILENCES = 3  # after so many in a row the connection is made anew: a box that lost its power sends no farewell


class Wire(Protocol):
    """An open connection. All of it may raise OSError; ``read`` gives ``b""`` when the other end has closed.

    Attributes
    ----------
    joined: it joins a stream that may be in the middle of a line.
    """

    joined: bool

    async def read(self) -> bytes:
        """The next bytes, as they come."""
        ...

    async def write(self, data: bytes) -> None:
        """Send bytes."""
        ...

    async def close(self) -> None:
        """Close, whatever state it is in."""
        ...


class StreamWire:
    """A wire over a pair of streams."""

    joined = True

    def __init__(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._reader = reader
        self._writer = writer

    async def read(self) -> bytes:
        """The next bytes, as they come."""
        return await self._reader.read(65536)

    async def write(self, data: bytes) -> None:
        """Send bytes."""
        self._writer.write(data)
        await self._writer.drain()

    async def close(self) -> None:
        """Close; what the other end did in the meantime does not matter any more."""
        self._writer.close()
        try:
            async with asyncio.timeout(1.0):
                await self._writer.wait_closed()
        except OSError:  # a time-out is one too
            return


@dataclass(frozen=True, slots=True)
class Patience:
    """How long a port waits [s].

    Attributes
    ----------
    connect: for a connection. silence: for a line, before it says that none comes. retry: before it tries again.
    """

    connect: float = 5.0
    silence: float = 3.0
    retry: float = 1.0


@dataclass(frozen=True, slots=True)
class Asking:
    """The request for a line, for a box that prints only when asked; and the pause after its answer [s]."""

    ask: bytes
    every: float = 0.2


class LinePort(Port):
    """A port whose instrument prints lines.

    Parameters
    ----------
    name: of the port. pattern: how a line is read; None: every line is shown and none is a reading.
    channels: the names here of what the pattern calls channels. asking: None for a box that prints by itself.

    Attributes
    ----------
    skipped: lines that were not read because too many came together.
    """

    def __init__(
        self,
        name: str,
        pattern: LinePattern | None = None,
        *,
        channels: Mapping[str, str] | None = None,
        asking: Asking | None = None,
        patience: Patience | None = None,
        clock: Clock = time.monotonic,
    ) -> None:
        super().__init__(name, clock=clock)
        self.asking = asking
        self.patience = patience if patience is not None else Patience()
        self._lines = LineSamples(name, pattern, channels if channels is not None else {}, clock)
        self.skipped = 0
        self._opened = 0.0
        self._joining = False

    @property
    def pattern(self) -> LinePattern | None:
        """How its lines are read; None: nobody has taught that."""
        return self._lines.pattern

    @property
    def known_channels(self) -> tuple[str, ...]:
        """The channels of the pattern."""
        return self._lines.taught

    @property
    def recent(self) -> tuple[str, ...]:
        """The last few lines, as they came, the newest at the end."""
        return tuple(self._lines.recent)

    @property
    @abstractmethod
    def place(self) -> str:
        """The address that it listens to, in words."""

    @abstractmethod
    async def connect(self) -> Wire:
        """Open the wire; raises OSError where that fails."""

    async def samples(self) -> AsyncGenerator[Sample, None]:
        """Samples as lines arrive; troubles as they come and go; never ends by itself."""
        said = ""
        while True:
            words = ""
            try:
                async with asyncio.timeout(self.patience.connect):
                    wire = await self.connect()
            except OSError as error:
                words = f"Cannot open {self.place}: {reason(error)}. Trying again."
            else:
                said = ""
                try:
                    async with aclosing(self._talk(wire)) as talk:
                        async for sample in talk:
                            yield sample
                    words = f"{self.place} has closed the connection. Trying again."
                except OSError as error:
                    words = f"The connection to {self.place} broke: {reason(error)}. Trying again."
                finally:
                    await wire.close()
            if words != said:
                for sample in self._lines.everywhere(TroubleKind.DROPPED, words):
                    yield sample
            said = words
            await asyncio.sleep(self.patience.retry)

    async def _talk(self, wire: Wire) -> AsyncGenerator[Sample, None]:
        """The samples of one connection; ends when the other end closes, raises OSError when it breaks."""
        lines, silences = LineCollector(), 0
        self._opened = time.monotonic()
        self._joining = wire.joined and self.asking is None
        while True:
            try:
                fresh = await self._hear(wire, lines)
            except TimeoutError:
                silences += 1
                if silences == _SILENCES:
                    raise
                if silences == 1:
                    words = f"{self.place} has sent no line for {self.patience.silence:g} s."
                    for sample in self._lines.everywhere(TroubleKind.SILENT, words):
                        yield sample
                continue
            if fresh is None:
                return
            silences = 0
            for sample in self._skip_old(fresh):
                yield sample
            for line in fresh[-_NEWEST:] if len(fresh) > _MOST_AT_ONCE else fresh:
                for sample in self._lines.read(line):
                    yield sample
            await asyncio.sleep(0)  # what is buffered is read without a pause: others need their turn
            if self.asking is not None:
                await asyncio.sleep(self.asking.every)

    def _skip_old(self, fresh: Sequence[str]) -> Iterator[Sample]:
        """Message where more lines came together than are read."""
        if len(fresh) <= _MOST_AT_ONCE:
            return
        old = len(fresh) - _NEWEST
        self.skipped += old
        words = f"{self.place} sent {len(fresh):,} lines at once; the {old:,} older ones were skipped."
        yield from self._lines.everywhere(TroubleKind.BEHIND, words)

    async def _hear(self, wire: Wire, lines: LineCollector) -> list[str] | None:
        """The next lines, None at the end of the stream; raises TimeoutError where none comes in time."""
        async with asyncio.timeout(self.patience.silence):
            if self.asking is not None:
                await wire.write(self.asking.ask)
            while True:
                data = await wire.read()
                if not data:
                    return None
                await asyncio.sleep(0)  # bytes without an end of line must not keep others waiting either
                if self._joining:
                    self._joining = False
                    if time.monotonic() - self._opened < _QUIET:
                        lines.skip_half()
                fresh = lines.feed(data)
                if fresh:
                    return fresh


def reason(error: OSError) -> str:
    """Message of an error of the operating system."""
    if isinstance(error, TimeoutError):
        return "no answer in time"
    return error.strerror or str(error) or type(error).__name__
