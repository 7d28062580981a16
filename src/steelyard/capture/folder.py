"""Lines from a file that grows, a directory of such files, or a pipe: what another program leaves for us."""

from __future__ import annotations

import asyncio
import os
import stat
from collections.abc import Mapping
from pathlib import Path

from steelyard.capture.line import LinePattern
from steelyard.capture.line_port import LinePort, Patience, Wire

_LOOK = 0.1  # s between looks at a file: what is written is on the screen in less than a person notices
_AT_ONCE = 65536  # bytes taken from a file at a time
_HALF = 4096  # bytes kept of a line that has no end yet


class FollowWire:
    """Follows files: what was there before counts as old, what is added or appears later is read."""

    joined = False

    def __init__(self, path: Path) -> None:
        self._path = path
        self._places = self._sizes()
        self._halves: dict[Path, bytes] = {}

    async def read(self) -> bytes:
        """The next whole lines that were added to any file; raises OSError when the path is gone."""
        while True:
            for file, size in self._sizes().items():
                data = self._added(file, size)
                if data:
                    return data
            await asyncio.sleep(_LOOK)

    async def write(self, data: bytes) -> None:
        """Nobody to send to.

        Raises
        ------
        OSError: always.
        """
        raise OSError(f"a file is only read; {len(data)} bytes were not sent")

    async def close(self) -> None:
        """Nothing is held open."""

    def _sizes(self) -> dict[Path, int]:
        """The files followed, with their sizes; those in a directory that vanish meanwhile are left out."""
        if not self._path.is_dir():
            return {self._path: self._path.stat().st_size}
        sizes: dict[Path, int] = {}
        with os.scandir(self._path) as entries:
            for entry in entries:
                try:
                    if entry.is_file() and not entry.name.startswith("."):
                        sizes[Path(entry.path)] = entry.stat().st_size
                except FileNotFoundError:
                    continue
        return dict(sorted(sizes.items()))

    def _added(self, file: Path, size: int) -> bytes:
        place = self._places.get(file, 0)
        if size < place:  # written anew: read from its beginning
            place = 0
            self._halves.pop(file, None)
        if size == place:
            self._places[file] = place
            return b""
        with file.open("rb") as handle:
            handle.seek(place)
            data = handle.read(_AT_ONCE)
        self._places[file] = place + len(data)
        whole, end, half = (self._halves.pop(file, b"") + data).rpartition(b"\n")
        if len(half) > _HALF:
            return whole + end + half + b"\n"
        if half:
            self._halves[file] = half
        return whole + end


class FilePort(LinePort):
    """Lines from a file, the files of a directory, or a named pipe."""

    kind = "file"

    def __init__(
        self,
        name: str,
        path: Path,
        pattern: LinePattern | None = None,
        *,
        channels: Mapping[str, str] | None = None,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, pattern, channels=channels, patience=patience)
        self.path = path

    @property
    def place(self) -> str:
        """The path."""
        return str(self.path)

    async def connect(self) -> Wire:
        """Open the pipe, or note where the files end now."""
        if stat.S_ISFIFO(self.path.stat().st_mode):
            return await _open_pipe(self.path)
        return FollowWire(self.path)


async def _open_pipe(path: Path) -> Wire:
    """A named pipe, held open for writing too, so that it does not end each time a writer goes away."""
    loop = asyncio.get_running_loop()
    reader = asyncio.StreamReader(loop=loop)
    descriptor = os.open(path, os.O_RDWR | os.O_NONBLOCK)
    file = os.fdopen(descriptor, "rb", buffering=0)
    transport, _ = await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader, loop=loop), file)
    return PipeWire(reader, transport)


class PipeWire:
    """An open named pipe."""

    joined = True

    def __init__(self, reader: asyncio.StreamReader, transport: asyncio.ReadTransport) -> None:
        self._reader = reader
        self._transport = transport

    async def read(self) -> bytes:
        """The next bytes, as they come."""
        return await self._reader.read(4096)

    async def write(self, data: bytes) -> None:
        """Nobody to send to.

        Raises
        ------
        OSError: always.
        """
        raise OSError(f"a pipe is only read; {len(data)} bytes were not sent")

    async def close(self) -> None:
        """Close the pipe."""
        self._transport.close()
        await asyncio.sleep(0)  # the loop closes it in its next round
