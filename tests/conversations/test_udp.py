"""Lines in datagrams on loopback: with and without an end, garbled, from nobody."""

from __future__ import annotations

import asyncio
import socket
from contextlib import aclosing

from steelyard.capture import Patience, Sample, open_port
from tests.conversations.dialogue import PATTERN, QUICK, kinds, opened, run, values
from tests.waiting import PATIENCE


def free_port() -> int:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def test_datagrams_become_samples_whether_they_end_with_a_line_end_or_not() -> None:
    async def main() -> None:
        number = free_port()
        port = open_port("radio", f"udp:127.0.0.1:{number}", pattern=PATTERN, patience=Patience(PATIENCE, 2, 0.01))
        ready, got = opened(port), list[Sample]()
        async with aclosing(port.samples()) as samples:
            first = asyncio.ensure_future(anext(samples))
            await ready.wait()
            with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as box:
                for data in (b"ok 1.0 kg", b"ok 2.0 kg\r\nok 3.0 kg\r\n", b"", b"\x00\xff\xfe", b"ok 4.0 kg\n"):
                    box.sendto(data, ("127.0.0.1", number))
            got.append(await first)
            got += [await anext(samples) for _ in range(5)]
        assert values(got) == [1.0, 2.0, 3.0, 4.0]
        assert kinds(got) == ["garbled", "silent"]

    run(main())


def test_a_port_that_is_taken_is_said() -> None:
    async def main() -> None:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as taken:
            taken.bind(("127.0.0.1", 0))
            number = taken.getsockname()[1]
            port = open_port("radio", f"udp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK)
            async with aclosing(port.samples()) as samples:
                said = await anext(samples)
        assert said.trouble is not None
        assert said.trouble.words.startswith(f"Cannot open UDP port {number} of 127.0.0.1: ")

    run(main())
