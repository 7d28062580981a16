"""Lines over UDP: an indicator or a radio that sends datagrams to this machine."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping

from steelyard.capture.line import LinePattern
from steelyard.capture.line_port import LinePort, Patience

_HELD = 1000  # datagrams that wait; live loads are worth nothing late, so the oldest go first


class _Datagrams(asyncio.DatagramProtocol):
    def __init__(self) -> None:
        self.queue: asyncio.Queue[bytes | OSError] = asyncio.Queue()

    def datagram_received(self, data: bytes, addr: tuple[str, int]) -> None:  # noqa: ARG002 - asyncio's signature
        self._put(data + b"\n")  # a datagram is whole, whether its last line has an end or not

    def error_received(self, exc: Exception) -> None:
        self._put(exc if isinstance(exc, OSError) else OSError(str(exc)))

    def connection_lost(self, exc: Exception | None) -> None:
        self._put(OSError(str(exc)) if exc is not None else b"")

    def _put(self, item: bytes | OSError) -> None:
        while self.queue.qsize() >= _HELD:
            self.queue.get_nowait()
        self.queue.put_nowait(item)


class UdpWire:
    """A bound UDP socket; it can only listen."""

    joined = False

    def __init__(self, transport: asyncio.DatagramTransport, queue: asyncio.Queue[bytes | OSError]) -> None:
        self._transport = transport
        self._queue = queue

    async def read(self) -> bytes:
        """The next datagram, with a line end.

        Raises
        ------
        OSError: the system reported an error on the socket.
        """
        item = await self._queue.get()
        if isinstance(item, OSError):
            raise OSError(item.errno, item.strerror or str(item))
        return item

    async def write(self, data: bytes) -> None:
        """Nobody to send to.

        Raises
        ------
        OSError: always.
        """
        raise OSError(f"a UDP port listens only; {len(data)} bytes were not sent")

    async def close(self) -> None:
        """Close the socket."""
        self._transport.close()
        await asyncio.sleep(0)  # the loop closes it in its next round


class UdpPort(LinePort):
    """Lines from datagrams. The box pushes; there is no asking."""

    kind = "udp"

    def __init__(
        self,
        name: str,
        host: str,
        port: int,
        pattern: LinePattern | None = None,
        *,
        channels: Mapping[str, str] | None = None,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, pattern, channels=channels, patience=patience)
        self.host = host
        self.port = port

    @property
    def place(self) -> str:
        """The port that it listens on, and the address if it is not any."""
        return f"UDP port {self.port}" + (f" of {self.host}" if self.host else "")

    async def connect(self) -> UdpWire:
        """Bind the socket."""
        loop = asyncio.get_running_loop()
        transport, protocol = await loop.create_datagram_endpoint(
            _Datagrams,
            local_addr=(self.host or "0.0.0.0", self.port),  # noqa: S104 - asked for by its address
        )
        return UdpWire(transport, protocol.queue)
