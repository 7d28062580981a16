"""Modbus: a real server on loopback, and instruments on a serial line that are written out byte by byte."""

from __future__ import annotations

import asyncio
import struct
from collections.abc import AsyncGenerator, Sequence
from contextlib import aclosing, asynccontextmanager

import pytest
from pymodbus.server import ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

from steelyard.capture import Patience, Port, RegisterError, Sample, open_port, parse_register
from steelyard.units import UNITS
from tests.conversations.dialogue import QUICK, Cable, kinds, run, take, values
from tests.waiting import PATIENCE

POUND = UNITS["lb"].factor
IMPATIENT = Patience(connect=PATIENCE, silence=1.5, retry=0.01)
"""Where silence is what the test is about."""

# 2960 as a 32-bit integer, -12.5 as a float, -7 in halves, the bits of a mark and of an overload, a float that is none.
WORDS = [0, 2960, *struct.unpack(">2H", struct.pack(">f", -12.5)), 0xFFF9, 0b0101, 0x7FC0, 0, 2961, 0]


@asynccontextmanager
async def server(words: Sequence[int] = tuple(WORDS), number: int = 0) -> AsyncGenerator[int, None]:
    """A Modbus TCP server with these registers from address 100; gives its port number."""
    data = SimData(100, values=list(words), datatype=DataType.REGISTERS)
    modbus = ModbusTcpServer(SimDevice(1, simdata=[data]), address=("127.0.0.1", number))
    await modbus.listen()
    assert modbus.transport is not None
    try:
        yield modbus.transport.sockets[0].getsockname()[1]  # type: ignore[union-attr]
    finally:
        await modbus.shutdown()
        await asyncio.sleep(0.02)


def port_at(number: int, *registers: str, patience: Patience = QUICK) -> Port:
    described = [parse_register(text) for text in registers]
    return open_port("box", f"modbus-tcp:127.0.0.1:{number}", registers=described, patience=patience)


def test_registers_become_samples() -> None:
    async def main() -> None:
        async with server() as number:
            port = port_at(
                number,
                "p1=holding:100:int32:lb:stable=105.0:overload=105.1",
                "p2=holding:102:float32:kg:stable=105.1",
                "p3=input:104:int16:kg:scale=0.5",
                "p4=holding:108:uint32:kg:swapped",
            )
            got = await take(port, 8)
        assert values(got) == pytest.approx([2960 * POUND, -12.5, -3.5, 2961.0] * 2)
        assert [sample.channel for sample in got[:4]] == ["p1", "p2", "p3", "p4"]
        assert [sample.stable_mark for sample in got[:4]] == [True, False, None, None]
        assert got[0].raw == "0000 0b90"

    run(main())


def test_overload_a_float_that_is_none_and_a_missing_register_are_said() -> None:
    async def main() -> None:
        async with server() as number:
            port = port_at(
                number,
                "p1=holding:100:int32:lb:overload=105.2",
                "p2=holding:106:float32:kg",
                "p3=holding:900:int16:kg",
                "p4=holding:104:int16:kg",
            )
            got = await take(port, 4)
        assert kinds(got) == ["overload", "garbled", "garbled"]
        assert [sample.trouble.words for sample in got if sample.trouble is not None] == [
            f"127.0.0.1:{number} reports an overload of p1.",
            "Register 106 holds no number: 7fc0 0000.",
            f"127.0.0.1:{number} does not have register 900: exception 2.",
        ]
        assert values(got) == [-7.0]

    run(main())


def test_a_server_that_goes_and_comes_back() -> None:
    async def main() -> None:
        async with server() as number:
            samples = port_at(number, "p1=holding:100:int32:kg", "p2=holding:104:int16:kg").samples()
            got: list[Sample] = [await anext(samples)]
        while kinds(got) != ["dropped"] * 2:
            got.append(await anext(samples))
        async with server([0, 17, 0, 0, 5], number) as again:
            assert again == number
            while values(got)[-1:] != [17.0]:
                got.append(await anext(samples))
            await samples.aclose()
        assert set(values(got)) <= {2960.0, -7.0, 17.0}
        assert {sample.channel for sample in got if sample.trouble is not None} == {"p1", "p2"}

    run(main())


@pytest.mark.parametrize("kept", range(13))
def test_power_cut_at_every_byte_of_an_answer(kept: int) -> None:
    """An instrument that breaks off in the middle of a frame: nothing of it is a reading, and the next one is."""

    async def main() -> None:
        served = 0

        async def box(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            nonlocal served
            served += 1
            try:
                while question := await reader.readexactly(12):
                    # MBAP header (transaction, protocol 0, length), unit, function 3, byte count, registers.
                    answer = question[:4] + bytes([0, 7, 1, 3, 4]) + (17 if served > 1 else 99).to_bytes(4, "big")
                    writer.write(answer if served > 1 else answer[:kept])
                    await writer.drain()
                    if served == 1:
                        break
            except (OSError, asyncio.IncompleteReadError):
                pass
            writer.close()

        listening = await asyncio.start_server(box, "127.0.0.1", 0)
        port = port_at(listening.sockets[0].getsockname()[1], "p1=holding:100:int32:kg", patience=IMPATIENT)
        got = await take(port, lambda samples: 17.0 in values(samples))
        listening.close()
        await listening.wait_closed()
        await asyncio.sleep(0.02)
        assert values(got) == [17.0]
        assert kinds(got) == ["dropped"]

    run(main())


def crc(frame: bytes) -> bytes:
    """The check of a serial frame, bit by bit (Modbus over Serial Line V1.02, 6.2.2), low byte first."""
    register = 0xFFFF
    for byte in frame:
        register ^= byte
        for _ in range(8):
            register = (register >> 1) ^ 0xA001 if register & 1 else register >> 1
    return register.to_bytes(2, "little")


# Unit 17 asked for registers 107 to 109: the frame that the specification's function 03 takes as its example
# (Application Protocol V1.1b3, 6.3), with unit and check around it.
QUESTION = bytes([17, 3, 0, 107, 0, 2])
ANSWER = bytes([17, 3, 4, 0x02, 0x2B, 0x00, 0x00])


def rtu_port(cable: Cable, patience: Patience = QUICK) -> Port:
    register = parse_register("p1=holding:107:int32:kg:device=17")
    return open_port("line", f"modbus-rtu:{cable.device}@19200,8E1", registers=[register], patience=patience)


async def play(cable: Cable, *answers: bytes) -> list[bytes]:
    """An instrument on the line: it hears a question of eight bytes and gives the next answer."""
    heard: list[bytes] = []
    for answer in answers:
        heard.append(await cable.hear(8))
        for begin in range(0, len(answer), 3):  # in pieces, as a slow line gives it
            cable.say(answer[begin : begin + 3])
            await asyncio.sleep(0.002)
    return heard


def test_registers_over_a_serial_line() -> None:
    async def main() -> None:
        with Cable() as cable:
            whole = ANSWER + crc(ANSWER)
            playing = asyncio.ensure_future(play(cable, whole, whole))
            got = await take(rtu_port(cable), 2)
            assert await playing == [QUESTION + crc(QUESTION)] * 2
        assert values(got) == [float(0x022B0000)] * 2

    run(main())


def test_the_check_is_the_published_one() -> None:
    """The frame 02 07 has the check 41 12 (Modbus over Serial Line V1.02, 6.2.2, figure of the CRC example)."""
    assert crc(bytes([0x02, 0x07])) == bytes([0x41, 0x12])


def test_a_wrong_check_is_no_reading_and_the_line_is_asked_again() -> None:
    """The answer that comes too late is thrown away: it must not be taken for one to the next question."""

    async def main() -> None:
        with Cable() as cable:
            bad = ANSWER + bytes([0, 0])
            good = bytes([17, 3, 4, 0, 0, 0, 9])
            playing = asyncio.ensure_future(play(cable, bad, good + crc(good)))
            got = await take(rtu_port(cable, IMPATIENT), 2)
            await playing
        assert values(got) == [9.0]
        assert kinds(got) == ["silent"]
        assert got[0].trouble is not None
        assert got[0].trouble.words == f"Unit 17 on {cable.device} at 19200 8E1 gives no sound answer to register 107."

    run(main())


def test_a_late_answer_is_not_taken_for_the_next() -> None:
    async def main() -> None:
        with Cable() as cable:
            late, right = bytes([17, 3, 4, 0, 0, 0, 1]), bytes([17, 3, 4, 0, 0, 0, 2])

            async def box() -> None:
                await cable.hear(8)
                await asyncio.sleep(IMPATIENT.silence + 0.01)
                cable.say(late + crc(late))
                await cable.hear(8)
                cable.say(right + crc(right))

            playing = asyncio.ensure_future(box())
            got = await take(rtu_port(cable, IMPATIENT), 2)
            await playing
        assert values(got) == [2.0]

    run(main())


def test_one_dead_instrument_on_a_line_does_not_silence_the_others() -> None:
    async def main() -> None:
        with Cable() as cable:
            good = bytes([2, 3, 2, 0, 5])

            async def box() -> None:
                while True:
                    question = await cable.hear(8)
                    if question[0] == 2:
                        cable.say(good + crc(good))

            playing = asyncio.ensure_future(box())
            registers = [parse_register(f"p{unit}=holding:0:int16:kg:device={unit}") for unit in (1, 2)]
            port = open_port("line", f"modbus-rtu:{cable.device}@9600", registers=registers, patience=IMPATIENT)
            got = await take(port, 8)
            playing.cancel()
            await asyncio.wait({playing})
        assert values(got) == [5.0] * 4
        assert kinds(got) == ["silent"] * 4

    run(main())


def test_an_exception_of_a_serial_instrument_is_said() -> None:
    async def main() -> None:
        with Cable() as cable:
            refusal = bytes([17, 0x83, 2])
            playing = asyncio.ensure_future(play(cable, refusal + crc(refusal)))
            (said,) = await take(rtu_port(cable), 1)
            await playing
        assert said.trouble is not None
        assert said.trouble.words == f"{cable.device} at 19200 8E1 does not have register 107: exception 2."

    run(main())


@pytest.mark.parametrize("kept", range(9))
def test_a_serial_line_pulled_at_every_byte(kept: int) -> None:
    async def main() -> None:
        with Cable() as cable:
            whole = ANSWER + crc(ANSWER)

            async def box() -> None:
                await play(cable, whole[:kept])
                cable.cut()

            playing = asyncio.ensure_future(box())
            async with aclosing(rtu_port(cable).samples()) as samples:
                said = await anext(samples)
            await playing
        assert said.value_kg is None
        assert said.trouble is not None
        assert said.trouble.kind == "dropped"

    run(main())


FAULTS = {
    "p1": "'p1' is not a register; write for example \"p1=holding:100:int32:lb\" or "
    '"p1=input:0:int16:kg:scale=0.5:stable=10.0:overload=10.1"',
    "p1=coil:1:int16:kg": "'p1=coil:1:int16:kg': the table is 'coil'; write holding or input",
    "p1=input:1:int8:kg": (
        "'p1=input:1:int8:kg': the type is 'int8'; write one of int16, uint16, int32, uint32, float32"
    ),
    "p1=input:1:int16:stone": "'p1=input:1:int16:stone': 'stone' is not a unit of mass; write for example lb or kg",
    "p1=input:70000:int16:kg": "'p1=input:70000:int16:kg': '70000' is not a whole number up to 65535",
    "p1=input:1:int16:kg:stable=3": "'p1=input:1:int16:kg:stable=3': '' is not a whole number up to 15",
    "p1=input:1:int16:kg:scale=0": (
        "'p1=input:1:int16:kg:scale=0': 'scale=0' is not an option; write scale=0.5, swapped, device=2 or stable=10.0"
    ),
}


@pytest.mark.parametrize(("text", "message"), FAULTS.items())
def test_a_register_that_is_none_is_refused_with_what_is_right(text: str, message: str) -> None:
    with pytest.raises(RegisterError) as refused:
        parse_register(text)
    assert str(refused.value) == message
