"""Without the extra ``capture``: a port that needs it says so, like any trouble."""

from __future__ import annotations

import sys

import pytest

from steelyard.capture import Patience, open_port, parse_register
from tests.conversations.dialogue import Cable, run, take

QUICK = Patience(connect=1.0, silence=1.0, retry=0.01)
REGISTERS = [parse_register("p1=holding:0:int16:kg")]


@pytest.mark.parametrize(
    ("kind", "missing", "words"),
    [
        ("serial", "serialx", "serial ports need the extra 'capture' of this program"),
        ("modbus-rtu", "serialx", "serial ports need the extra 'capture' of this program"),
        ("modbus-rtu", "pymodbus.framer.rtu", "Modbus needs the extra 'capture' of this program"),
    ],
)
def test_a_serial_port_without_its_library(
    kind: str, missing: str, words: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, missing, None)

    async def main() -> None:
        with Cable() as cable:
            port = open_port("p1", f"{kind}:{cable.device}@9600", registers=REGISTERS, patience=QUICK)
            (said,) = await take(port, 1)
        assert said.trouble is not None
        assert said.trouble.words == f"Cannot open {cable.device} at 9600 8N1: {words}. Trying again."

    run(main())


def test_modbus_over_the_network_without_its_library(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pymodbus.client", None)

    async def main() -> None:
        port = open_port("p1", "modbus-tcp:127.0.0.1:502", registers=REGISTERS, patience=QUICK)
        (said,) = await take(port, 1)
        assert said.trouble is not None
        assert said.trouble.words == (
            "Cannot open 127.0.0.1:502: Modbus needs the extra 'capture' of this program. Trying again."
        )

    run(main())
