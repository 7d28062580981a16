"""Lines over a serial port: a real pair of pseudo-terminals, asked for or not, pulled out at every step."""

from __future__ import annotations

import asyncio
from contextlib import aclosing
from pathlib import Path

import pytest
import serialx

from steelyard.capture import Asking, Port, Sample, open_port
from tests.conversations.dialogue import PATTERN, QUICK, Cable, kinds, opened, run, take, values
from tests.waiting import comes_about


def port_of(cable: Cable, asking: Asking | None = None) -> Port:
    return open_port("pad", f"serial:{cable.device}@19200,7E1", pattern=PATTERN, patience=QUICK, asking=asking)


def test_lines_become_samples() -> None:
    async def main() -> None:
        with Cable() as cable:
            port = port_of(cable)
            ready = opened(port)
            async with aclosing(port.samples()) as samples:
                first = asyncio.ensure_future(anext(samples))
                await ready.wait()
                cable.say(b"7.5 kg\r\nok 10.0 kg\r\nno 1")
                assert (await first).value_kg == 10.0
                cable.say(b"1.0 kg\r\n")
                second = await anext(samples)
        assert second.value_kg == 11.0
        assert second.stable_mark is False

    run(main())


def test_the_box_is_asked_and_answers() -> None:
    async def main() -> None:
        with Cable() as cable:

            async def box() -> list[bytes]:
                heard: list[bytes] = []
                for answer in (b"ok 1.0 kg\r", b"ok 2.0 kg\r", b"ok 3.0 kg\r"):
                    heard.append(await cable.hear(3))
                    cable.say(answer)
                return heard

            playing = asyncio.ensure_future(box())
            got = await take(port_of(cable, Asking(b"RD\r", every=0.01)), 3)
            assert await playing == [b"RD\r"] * 3
        assert values(got) == [1.0, 2.0, 3.0]

    run(main())


def test_the_library_is_there() -> None:
    """Loaded before the conversations begin, so that none of them waits for it."""
    assert serialx.Parity("E") is serialx.Parity.EVEN


STEPS = (b"\r\n", b"ok 1.0 kg\r\n", b"ok 2", b".0 kg\r\n", b"ok 3.0 kg\r\n")


@pytest.mark.parametrize("step", range(len(STEPS) + 1))
def test_the_cable_is_pulled_at_every_step(step: int, tmp_path: Path) -> None:
    """What was whole is read, the break is said once, and a cable put back is found again."""
    whole = [float(line.split()[1]) for line in b"".join(STEPS[:step]).decode().split("\r")[1:-1]]

    async def main() -> None:
        link = tmp_path / "cable"  # a name that outlives the cable, as an adapter's does
        with Cable() as cable, Cable() as other:
            link.symlink_to(cable.device)
            port = open_port("pad", f"serial:{link}@9600", pattern=PATTERN, patience=QUICK)
            ready, got = opened(port), list[Sample]()

            async def box() -> None:
                await ready.wait()
                for said in STEPS[:step]:
                    cable.say(said)
                    await asyncio.sleep(0.01)
                await comes_about(lambda: len(values(got)) == len(whole), "every whole line")
                cable.cut()
                await comes_about(lambda: "dropped" in kinds(got), "the break")
                link.unlink()
                link.symlink_to(other.device)
                while True:
                    await asyncio.sleep(0.02)
                    other.say(b"ok 9.0 kg\r\n")

            playing = asyncio.ensure_future(box())
            await take(port, lambda samples: values(samples)[-1:] == [9.0], got)
            playing.cancel()
            await asyncio.wait({playing})
            link.unlink()
        assert values(got) == [*whole, 9.0]
        assert "dropped" in kinds(got)
        assert set(kinds(got)) == {"dropped"}

    run(main())


def test_what_is_no_serial_port_is_said() -> None:
    async def main() -> None:
        (said,) = await take(open_port("pad", "serial:/dev/null@9600", pattern=PATTERN, patience=QUICK), 1)
        assert said.trouble is not None
        assert said.trouble.words == (
            "Cannot open /dev/null at 9600 8N1: Inappropriate ioctl for device. Trying again."
        )

    run(main())


def test_the_wrong_speed_looks_like_noise_and_is_called_so() -> None:
    async def main() -> None:
        with Cable() as cable:
            port = port_of(cable)
            ready = opened(port)
            async with aclosing(port.samples()) as samples:
                first = asyncio.ensure_future(anext(samples))
                await ready.wait()
                cable.say(b"\r\n\xf8\x80\xfe\xe0\x1c\xff\r\n")
                said = await first
        assert said.value_kg is None
        assert said.trouble is not None
        assert "characters are not text; a loose cable, or another speed?" in said.trouble.words

    run(main())
