"""Lines over TCP: an indicator with a network socket, or a serial bridge."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping

from steelyard.capture.line import LinePattern
from steelyard.capture.line_port import Asking, LinePort, Patience, StreamWire


class TcpPort(LinePort):
    """Lines from a TCP server."""

    kind = "tcp"

    def __init__(
        self,
        name: str,
        host: str,
        port: int,
        pattern: LinePattern | None = None,
        *,
        channels: Mapping[str, str] | None = None,
        asking: Asking | None = None,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, pattern, channels=channels, asking=asking, patience=patience)
        self.host = host
        self.port = port

    @property
    def place(self) -> str:
        """Host and port."""
        return f"{self.host}:{self.port}"

    async def connect(self) -> StreamWire:
        """Connect to the server."""
        return StreamWire(*await asyncio.open_connection(self.host, self.port))
