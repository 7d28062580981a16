"""Modbus, over TCP and over a serial line (RTU): registers are asked for, in turn.

Source: Modbus Application Protocol Specification V1.1b3 and Modbus over Serial Line V1.02 (open standards); frames are
made and read by the library, which is loaded when the port opens.
"""

from __future__ import annotations

import asyncio
import logging
import time
from abc import abstractmethod
from collections.abc import AsyncGenerator, Iterator, Sequence
from contextlib import aclosing
from typing import TYPE_CHECKING, Protocol

from steelyard.capture.line_port import Patience, StreamWire, reason
from steelyard.capture.port import Clock, Port
from steelyard.capture.registers import Bit, Register, RegisterTable
from steelyard.capture.sample import Sample, Trouble, TroubleKind, trouble_sample
from steelyard.capture.serial_line import SerialSettings, open_serial

if TYPE_CHECKING:
    from pymodbus.client import AsyncModbusTcpClient
    from pymodbus.pdu import ModbusPDU

_LATE = 0.05  # s without a byte, after which a late answer is over
_SILENCES = 3  # rounds without any answer, after which the connection is made anew
_NOWHERE = logging.NullHandler()
_MISSING = "Modbus needs the extra 'capture' of this program"


class RefusedError(Exception):
    """The instrument answered that it does not have what was asked for."""


class Master(Protocol):
    """An open connection that can ask for registers."""

    async def read(self, table: RegisterTable, address: int, *, count: int, device: int) -> list[int]:
        """The registers; raises TimeoutError for no answer, OSError for a break, RefusedError for an exception."""
        ...

    async def close(self) -> None:
        """Close, whatever state it is in."""
        ...


class TcpMaster:
    """A Modbus TCP connection."""

    def __init__(self, client: AsyncModbusTcpClient) -> None:
        self._client = client

    async def read(self, table: RegisterTable, address: int, *, count: int, device: int) -> list[int]:
        """The registers.

        Raises
        ------
        TimeoutError: no answer. OSError: the connection is gone. RefusedError: the answer is an exception.
        """
        from pymodbus.exceptions import ModbusException, ModbusIOException

        ask = (
            self._client.read_holding_registers if table is RegisterTable.HOLDING else self._client.read_input_registers
        )
        try:
            answer = await ask(address, count=count, device_id=device)
        except ModbusIOException as error:
            if not self._client.connected:
                raise OSError("it was closed") from error
            raise TimeoutError(str(error)) from error
        except ModbusException as error:
            raise OSError(str(error)) from error
        if answer.isError():
            raise RefusedError(f"exception {answer.exception_code}")
        return list(answer.registers)

    async def close(self) -> None:
        """Close."""
        self._client.close()
        await asyncio.sleep(0)


class RtuMaster:
    """A serial line with instruments that answer one at a time."""

    def __init__(self, wire: StreamWire, *, timeout: float) -> None:
        from pymodbus.framer.rtu import FramerRTU
        from pymodbus.pdu import DecodePDU

        self._wire = wire
        self._timeout = timeout
        self._late = False
        self._framer = FramerRTU(DecodePDU(is_server=False))

    async def read(self, table: RegisterTable, address: int, *, count: int, device: int) -> list[int]:
        """The registers.

        Raises
        ------
        TimeoutError: no sound answer in time. OSError: the line is gone. RefusedError: it answered with an exception.
        """
        from pymodbus.pdu.register_message import ReadHoldingRegistersRequest, ReadInputRegistersRequest

        if self._late:
            await self._drain()
        request = ReadHoldingRegistersRequest if table is RegisterTable.HOLDING else ReadInputRegistersRequest
        await self._wire.write(self._framer.buildFrame(request(address=address, count=count, dev_id=device)))
        self._late = True
        async with asyncio.timeout(self._timeout):
            answer = await self._answer(device)
        self._late = False
        if answer.isError():
            raise RefusedError(f"exception {answer.exception_code}")
        return list(answer.registers)

    async def _answer(self, device: int) -> ModbusPDU:
        from pymodbus.exceptions import ModbusException

        held = b""
        while True:
            data = await self._wire.read()
            if not data:
                raise OSError("the serial line has ended")
            held += data
            try:
                used, answer = self._framer.handleFrame(held, device, 0)
            except ModbusException as error:
                raise OSError(str(error)) from error
            held = held[used:]
            if answer is not None:
                return answer

    async def _drain(self) -> None:
        """Throw away what comes late: an answer to the last question must not be taken for one to the next."""
        try:
            while True:
                async with asyncio.timeout(_LATE):
                    if not await self._wire.read():
                        return
        except TimeoutError:
            return

    async def close(self) -> None:
        """Close the line."""
        await self._wire.close()


class ModbusPort(Port):
    """Registers asked for in turn, ``rate`` times a second."""

    def __init__(
        self,
        name: str,
        registers: Sequence[Register],
        *,
        rate: float = 6.25,
        patience: Patience | None = None,
        clock: Clock = time.monotonic,
    ) -> None:
        super().__init__(name, clock=clock)
        if not registers:
            raise ValueError(f"no registers are given for {name}")
        self.registers = tuple(registers)
        self.rate = rate
        self.patience = patience if patience is not None else Patience(silence=1.0)

    @property
    def known_channels(self) -> tuple[str, ...]:
        """The channels of the registers."""
        return tuple(dict.fromkeys(register.channel for register in self.registers))

    @property
    @abstractmethod
    def place(self) -> str:
        """The address of the instrument, in words."""

    @abstractmethod
    async def connect(self) -> Master:
        """Open the connection; raises OSError where that fails."""

    async def samples(self) -> AsyncGenerator[Sample, None]:
        """Samples of all registers, round after round; troubles as they come and go; never ends by itself."""
        said = ""
        while True:
            try:
                async with asyncio.timeout(self.patience.connect):
                    master = await self.connect()
            except OSError as error:
                words = f"Cannot open {self.place}: {reason(error)}. Trying again."
            else:
                try:
                    async with aclosing(self._rounds(master)) as rounds:
                        async for sample in rounds:
                            yield sample
                    words = f"{self.place} gives no answer at all. Trying again."
                except OSError as error:
                    words = f"The connection to {self.place} broke: {reason(error)}. Trying again."
                finally:
                    await master.close()
            if words != said:
                for sample in self._everywhere(words):
                    yield sample
            said = words
            await asyncio.sleep(self.patience.retry)

    async def _rounds(self, master: Master) -> AsyncGenerator[Sample, None]:
        """The samples of one connection; ends after some rounds without any answer, raises OSError when it breaks."""
        silences = 0
        while silences < _SILENCES:
            begun = self.clock()
            silent = True
            for register in self.registers:
                sample = await self._sample(master, register)
                silent &= sample.trouble is not None and sample.trouble.kind is TroubleKind.SILENT
                yield sample
            silences = silences + 1 if silent else 0
            await asyncio.sleep(max(0.0, 1 / self.rate - (self.clock() - begun)))

    async def _sample(self, master: Master, register: Register) -> Sample:
        """The sample of one register. One that is silent does not stop the others: they may be other instruments."""
        try:
            words = await self._ask(master, register, register.address, register.count)
            stable = await self._bit(master, register, register.stable)
            over = await self._bit(master, register, register.overload)
        except RefusedError as error:
            text = f"{self.place} does not have register {register.address}: {error}."
            return trouble_sample(register.channel, TroubleKind.GARBLED, text, at=self.clock())
        except TimeoutError:
            text = f"Unit {register.device} on {self.place} gives no sound answer to register {register.address}."
            return trouble_sample(register.channel, TroubleKind.SILENT, text, at=self.clock())
        raw = " ".join(f"{word:04x}" for word in words)
        value = register.value_kg(words)
        trouble = None
        if over:
            trouble = Trouble(TroubleKind.OVERLOAD, f"{self.place} reports an overload of {register.channel}.")
        elif value is None:
            trouble = Trouble(TroubleKind.GARBLED, f"Register {register.address} holds no number: {raw}.")
        return Sample(register.channel, value if trouble is None else None, self.clock(), stable, raw, trouble)

    async def _ask(self, master: Master, register: Register, address: int, count: int) -> list[int]:
        words = await master.read(register.table, address, count=count, device=register.device)
        if len(words) != count:
            raise OSError(f"{count} registers were asked for and {len(words)} came")
        return words

    async def _bit(self, master: Master, register: Register, bit: Bit | None) -> bool | None:
        if bit is None:
            return None
        (word,) = await self._ask(master, register, bit.address, 1)
        return bool(word >> bit.bit & 1)

    def _everywhere(self, words: str) -> Iterator[Sample]:
        channels = dict.fromkeys(register.channel for register in self.registers)
        return (trouble_sample(channel, TroubleKind.DROPPED, words, at=self.clock()) for channel in channels)


class ModbusTcpPort(ModbusPort):
    """Registers of an instrument on the network."""

    kind = "modbus-tcp"

    def __init__(
        self,
        name: str,
        host: str,
        port: int,
        registers: Sequence[Register],
        *,
        rate: float = 6.25,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, registers, rate=rate, patience=patience)
        self.host = host
        self.port = port

    @property
    def place(self) -> str:
        """Host and port."""
        return f"{self.host}:{self.port}"

    async def connect(self) -> TcpMaster:
        """Connect to the instrument.

        Raises
        ------
        OSError: nobody answers there, or the extra ``capture`` is not installed.
        """
        try:
            from pymodbus.client import AsyncModbusTcpClient
        except ImportError as error:
            raise OSError(_MISSING) from error
        # It is this port that tries again and says so; the library's own words go nowhere unless somebody listens.
        logging.getLogger("pymodbus").addHandler(_NOWHERE)
        client = AsyncModbusTcpClient(
            self.host, port=self.port, timeout=self.patience.silence, retries=0, reconnect_delay=0
        )
        try:
            connected = await client.connect()
        except BaseException:
            client.close()
            raise
        if not connected:
            client.close()
            raise OSError("nobody answers there")
        return TcpMaster(client)


class ModbusRtuPort(ModbusPort):
    """Registers of instruments on a serial line."""

    kind = "modbus-rtu"

    def __init__(
        self,
        name: str,
        settings: SerialSettings,
        registers: Sequence[Register],
        *,
        rate: float = 6.25,
        patience: Patience | None = None,
    ) -> None:
        super().__init__(name, registers, rate=rate, patience=patience)
        self.settings = settings

    @property
    def place(self) -> str:
        """Device, speed and framing."""
        return str(self.settings)

    async def connect(self) -> RtuMaster:
        """Open the line.

        Raises
        ------
        OSError: no such line, or the extra ``capture`` is not installed.
        """
        wire = await open_serial(self.settings)
        try:
            return RtuMaster(wire, timeout=self.patience.silence)
        except ImportError as error:
            await wire.close()
            raise OSError(_MISSING) from error
