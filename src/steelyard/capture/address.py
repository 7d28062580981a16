"""The address of an instrument, as a person writes it: ``serial:/dev/ttyUSB0@9600``, ``tcp:host:port`` and so on."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from steelyard.capture.folder import FilePort
from steelyard.capture.line import LinePattern
from steelyard.capture.line_port import Asking, Patience
from steelyard.capture.modbus import ModbusRtuPort, ModbusTcpPort
from steelyard.capture.port import Port
from steelyard.capture.registers import Register
from steelyard.capture.serial_line import SerialPort, SerialSettings
from steelyard.capture.tcp import TcpPort
from steelyard.capture.udp import UdpPort

ADDRESSES: Mapping[str, str] = {
    SerialPort.kind: "serial:/dev/ttyUSB0@9600 (or @9600,7E1)",
    TcpPort.kind: "tcp:host:port",
    UdpPort.kind: "udp:port (or udp:host:port for one of this machine's addresses)",
    ModbusTcpPort.kind: "modbus-tcp:host:port",
    ModbusRtuPort.kind: "modbus-rtu:/dev/ttyUSB0@9600,8N1",
    FilePort.kind: "file:path (a file that grows, a directory of them, or a named pipe)",
}
"""The forms of an address, by its first word."""

_SERIAL = re.compile(
    r"(?P<device>[^@]+)(?:@(?P<speed>[1-9][0-9]{1,6})(?:,(?P<bits>[5-8])(?P<parity>[NEO])(?P<stop>[12]))?)?"
)
_SOCKET = re.compile(r"(?:(?P<host>\[[0-9A-Fa-f:.%\w]+\]|[\w.-]+):)?(?P<port>[0-9]{1,5})")


class AddressError(ValueError):
    """A text that is no address of an instrument; the message says what would be right."""


def open_port(
    name: str,
    address: str,
    *,
    pattern: LinePattern | None = None,
    registers: Sequence[Register] = (),
    channels: Mapping[str, str] | None = None,
    asking: Asking | None = None,
    patience: Patience | None = None,
) -> Port:
    """The port at an address. Nothing is connected yet.

    Parameters
    ----------
    name: of the port, and of its only channel. pattern, channels, asking: of ports of lines. registers: of Modbus.

    Raises
    ------
    AddressError: an unknown kind, a port number that is none, a Modbus instrument without registers.
    """
    kind, sign, rest = address.partition(":")
    if not sign or kind not in ADDRESSES or not rest:
        raise AddressError(f"{address!r} is not an address of an instrument; write {_all_forms()}")
    if kind.startswith("modbus") and not registers:
        raise AddressError(f"{address!r}: say which registers to read")
    if kind == FilePort.kind:
        return FilePort(name, Path(rest), pattern, channels=channels, patience=patience)
    if kind == SerialPort.kind:
        settings = _serial(address, rest)
        return SerialPort(name, settings, pattern, channels=channels, asking=asking, patience=patience)
    if kind == ModbusRtuPort.kind:
        return ModbusRtuPort(name, _serial(address, rest), registers, patience=patience)
    host, port = _socket(address, rest)
    if kind == UdpPort.kind:
        return UdpPort(name, host, port, pattern, channels=channels, patience=patience)
    if not host:
        raise AddressError(f"{address!r} names no host; write {ADDRESSES[kind]}")
    if kind == TcpPort.kind:
        return TcpPort(name, host, port, pattern, channels=channels, asking=asking, patience=patience)
    return ModbusTcpPort(name, host, port, registers, patience=patience)


def _all_forms() -> str:
    *most, last = ADDRESSES.values()
    return f"{', '.join(most)} or {last}"


def _serial(address: str, rest: str) -> SerialSettings:
    match = _SERIAL.fullmatch(rest)
    if match is None:
        raise AddressError(f"{address!r} is not a serial port; write for example {ADDRESSES[SerialPort.kind]}")
    return SerialSettings(
        match["device"],
        int(match["speed"] or 9600),
        int(match["bits"] or 8),
        match["parity"] or "N",
        int(match["stop"] or 1),
    )


def _socket(address: str, rest: str) -> tuple[str, int]:
    match = _SOCKET.fullmatch(rest)
    if match is None or not 0 < int(match["port"]) <= 65535:
        raise AddressError(f"{address!r} has no port from 1 to 65535; write for example {ADDRESSES[TcpPort.kind]}")
    return (match["host"] or "").strip("[]"), int(match["port"])
