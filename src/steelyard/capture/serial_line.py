"""Lines over a serial port. The library that opens it is loaded when it is opened: not everybody has a cable."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from steelyard.capture.line import LinePattern
from steelyard.capture.line_port import Asking, LinePort, Patience, StreamWire


@dataclass(frozen=True, slots=True)
class SerialSettings:
    """How a serial port is set.

    Attributes
    ----------
    device: such as ``/dev/ttyUSB0`` or ``COM3``. speed: in bits a second. bits: of a character. parity: N, E or O.
    stop: stop bits.
    """

    device: str
    speed: int = 9600
    bits: int = 8
    parity: str = "N"
    stop: int = 1

    def __str__(self) -> str:
        return f"{self.device} at {self.speed} {self.bits}{self.parity}{self.stop}"


async def open_serial(settings: SerialSettings) -> StreamWire:
    """Open a serial port; raises OSError where it cannot be opened.

    Raises
    ------
    OSError: no such port, no right to it, or the extra ``capture`` is not installed.
    """
    try:
        import serialx
    except ImportError as error:
        raise OSError("serial ports need the extra 'capture' of this program") from error
    reader, writer = await serialx.open_serial_connection(
        settings.device,
        baudrate=settings.speed,
        byte_size=settings.bits,
        parity=serialx.Parity(settings.parity),
        stopbits=serialx.StopBits(settings.stop),
    )
    return StreamWire(reader, writer)


class SerialPort(LinePort):
    """Lines from a serial port."""

    kind = "serial"

    def __init__(
        self,
        name: str,
        settings: SerialSettings,
        pattern: LinePattern | None = None,
        *,
        channels: Mapping[str, str] | None = None,
        asking: Asking | None = None,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, pattern, channels=channels, asking=asking, patience=patience)
        self.settings = settings

    @property
    def place(self) -> str:
        """Device, speed and framing."""
        return str(self.settings)

    async def connect(self) -> StreamWire:
        """Open the port."""
        return await open_serial(self.settings)
