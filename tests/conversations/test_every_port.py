"""One test over all drivers: whatever class says that it is a port is found, and must behave like one."""

from __future__ import annotations

import asyncio
import importlib
import inspect
import pkgutil
import time
from contextlib import aclosing
from pathlib import Path

import pytest

import steelyard.capture
from steelyard.capture import (
    ADDRESSES,
    AddressError,
    Patience,
    Port,
    SimulatedPort,
    SimulatedRig,
    SimulatedStance,
    TroubleKind,
    open_port,
    parse_register,
)
from tests.conversations.dialogue import PATTERN, run
from tests.waiting import PATIENCE

NOWHERE = Patience(connect=0.2, silence=0.1, retry=0.01)


def drivers() -> list[type[Port]]:
    """Every concrete port in the package, found by looking into each of its files."""
    for module in pkgutil.iter_modules(steelyard.capture.__path__):
        importlib.import_module(f"steelyard.capture.{module.name}")
    found: list[type[Port]] = []
    waiting = [Port]
    while waiting:
        each = waiting.pop()
        waiting += each.__subclasses__()
        if not inspect.isabstract(each) and each.__module__.startswith("steelyard."):
            found.append(each)
    return sorted(found, key=lambda driver: driver.kind)


def at_nothing(kind: str, folder: Path) -> Port:
    """A port of each kind with nothing at its other end."""
    dead = {
        "file": f"file:{folder}/missing",
        "modbus-rtu": f"modbus-rtu:{folder}/missing@9600",
        "modbus-tcp": "modbus-tcp:127.0.0.1:1",
        "serial": f"serial:{folder}/missing@9600",
        "tcp": "tcp:127.0.0.1:1",
        "udp": "udp:192.0.2.1:4001",
    }
    if kind == SimulatedPort.kind:
        port = SimulatedPort("pad", SimulatedRig([SimulatedStance({"pad": 100.0})], {"pad": 10.0}))
        port.unplug()
        return port
    registers = [parse_register("pad=holding:0:int16:kg")]
    return open_port("pad", dead[kind], pattern=PATTERN, registers=registers, patience=NOWHERE)


def test_every_driver_has_an_address_and_a_kind_of_its_own() -> None:
    kinds = [driver.kind for driver in drivers()]
    assert len(set(kinds)) == len(kinds)
    assert set(kinds) - {SimulatedPort.kind} == set(ADDRESSES)
    assert all(form.startswith(f"{kind}:") for kind, form in ADDRESSES.items())


@pytest.mark.parametrize("driver", drivers(), ids=lambda driver: driver.kind)
def test_a_port_with_nothing_behind_it_says_so_and_lets_go(driver: type[Port], tmp_path: Path) -> None:
    """No exception, no value, one sentence; and closing it, or cancelling its reader, leaves no task behind."""

    async def main() -> None:
        port = at_nothing(driver.kind, tmp_path)
        assert type(port) is driver
        assert port.name == "pad"
        async with asyncio.timeout(PATIENCE), aclosing(port.samples()) as samples:
            said = await anext(samples)
        assert said.channel == "pad"
        assert said.value_kg is None
        assert said.trouble is not None
        assert said.trouble.kind is TroubleKind.DROPPED
        assert said.trouble.words[0].isupper()
        assert said.trouble.words.endswith(("Trying again.", "trying again."))
        assert said.at <= time.monotonic()

        async def forever() -> None:
            async with aclosing(port.samples()) as samples:
                async for _ in samples:
                    pass

        reading = asyncio.ensure_future(forever())
        await asyncio.sleep(0.05)
        reading.cancel()
        await asyncio.wait({reading})
        assert reading.cancelled()

    run(main())


@pytest.mark.parametrize("driver", drivers(), ids=lambda driver: driver.kind)
def test_a_driver_says_what_it_is(driver: type[Port]) -> None:
    words = (inspect.getdoc(driver) or "").split()
    assert words
    assert words[0] in {"Lines", "Registers", "A"}
    assert inspect.isasyncgenfunction(driver.samples)


FAULTS = {
    "tcp": "'tcp' is not an address of an instrument; write ",
    "usb:1": "'usb:1' is not an address of an instrument; write serial:/dev/ttyUSB0@9600 (or @9600,7E1), tcp:host:",
    "tcp:4001": "'tcp:4001' names no host; write tcp:host:port",
    "tcp:box:0": "'tcp:box:0' has no port from 1 to 65535; write for example tcp:host:port",
    "tcp:box:99999": "'tcp:box:99999' has no port from 1 to 65535; write for example tcp:host:port",
    "udp:x": "'udp:x' has no port from 1 to 65535; ",
    "serial:/dev/x@fast": "'serial:/dev/x@fast' is not a serial port; write for example serial:/dev/ttyUSB0@9600",
    "modbus-tcp:box:502": "'modbus-tcp:box:502': say which registers to read",
}


@pytest.mark.parametrize(("address", "message"), FAULTS.items())
def test_an_address_that_is_none_is_refused_with_what_is_right(address: str, message: str) -> None:
    with pytest.raises(AddressError) as refused:
        open_port("pad", address)
    assert str(refused.value).startswith(message)


def test_addresses_are_read_as_written() -> None:
    assert repr(open_port("a", "serial:/dev/ttyS1@2400,7E2").__dict__["settings"]) == (
        "SerialSettings(device='/dev/ttyS1', speed=2400, bits=7, parity='E', stop=2)"
    )
    six = open_port("a", "tcp:[fe80::1]:4001").__dict__
    assert (six["host"], six["port"]) == ("fe80::1", 4001)
    anyone = open_port("a", "udp:4001").__dict__
    assert (anyone["host"], anyone["port"]) == ("", 4001)
