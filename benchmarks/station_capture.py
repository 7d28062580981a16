"""Live capture: what a reading costs on its way from bytes to a steady sign, against bare parsing and against a core.

``python -m benchmarks.station_capture`` prints both. Eight boxes print 6.25 lines a second each, fifty in all.
"""

from __future__ import annotations

import asyncio
import time
from contextlib import aclosing
from dataclasses import dataclass

from steelyard.capture import Example, LinePattern, Pads, Patience, Shown, open_port, teach
from steelyard.capture.reading_lines import LineSamples
from steelyard.capture.stream import LineCollector

CHANNELS = 8
RATE = 50.0  # readings a second over all channels
DIVISION = 10.0  # kg
MOST = 0.10  # of a core


@dataclass(frozen=True)
class Figures:
    """What was measured.

    Attributes
    ----------
    reading, bare: processor time for one reading [s], all the way and with nothing but a split and a float.
    share: of one core, for fifty readings a second over eight sockets, the boxes that print them included.
    """

    reading: float
    bare: float
    share: float

    @property
    def ratio(self) -> float:
        """How many times the bare parsing a reading costs."""
        return self.reading / self.bare


def pattern() -> LinePattern:
    """A pattern as a person teaches it: mark, sign, number, unit."""
    lines = [("QT,+  1250.5,kg", 1250.5, True), ("MV,+   980.0,kg", 980.0, False), ("QT,-    10.0,kg", -10.0, True)]
    examples = [Example(line, (Shown(value, steady=steady),)) for line, value, steady in lines]
    return teach(examples, name="bench").proposals[0].pattern


def printed(number: int) -> bytes:
    """A line of a box: a load that stands, with a little noise."""
    return b"QT,+%8.1f,kg\r\n" % (1250 + number * 7 % 3 * 10)


def cost_of_a_reading(count: int = 20_000) -> float:
    """Processor time for one reading, from bytes to the word on steadiness [s]; 19 readings are in the window."""
    pads = Pads({f"p{channel}": DIVISION for channel in range(CHANNELS)})
    now = 0.0
    boxes = [
        (LineCollector(), LineSamples(f"p{channel}", pattern(), {}, lambda: now), f"p{channel}")
        for channel in range(CHANNELS)
    ]
    begun = time.process_time()
    for number in range(count):
        now = number / RATE
        lines, samples, _ = boxes[number % CHANNELS]
        for line in lines.feed(printed(number)):
            for sample in samples.read(line):
                pads.see(sample)
    return (time.process_time() - begun) / count


def cost_of_parsing(count: int = 200_000) -> float:
    """Processor time to take the number out of a line and nothing else [s]."""
    total = 0.0
    begun = time.process_time()
    for number in range(count):
        total += float(printed(number).split(b",")[1].replace(b" ", b""))
    assert total > 0
    return (time.process_time() - begun) / count


async def share_of_a_core(seconds: float = 5.0) -> float:
    """Processor time for fifty readings a second, measured while eight ports listen to eight boxes on loopback."""
    pads = Pads({f"p{channel}": DIVISION for channel in range(CHANNELS)})
    heard = 0

    stop = asyncio.Event()

    async def box(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        number = 0
        while not stop.is_set() and not writer.is_closing():
            writer.write(printed(number))
            number += 1
            await asyncio.sleep(CHANNELS / RATE)
        writer.close()

    async def listen(channel: int, address: str) -> None:
        nonlocal heard
        port = open_port(f"p{channel}", address, pattern=pattern(), patience=Patience(1, 3, 1))
        async with aclosing(port.samples()) as samples:
            async for sample in samples:
                pads.see(sample)
                heard += 1

    server = await asyncio.start_server(box, "127.0.0.1", 0)
    address = f"tcp:127.0.0.1:{server.sockets[0].getsockname()[1]}"
    listeners = [asyncio.ensure_future(listen(channel, address)) for channel in range(CHANNELS)]
    await asyncio.sleep(0.5)
    begun, before = time.process_time(), heard
    await asyncio.sleep(seconds)
    used, count = time.process_time() - begun, heard - before
    for listener in listeners:
        listener.cancel()
    await asyncio.wait(listeners)
    stop.set()
    server.close()
    await server.wait_closed()
    await asyncio.sleep(2 * CHANNELS / RATE)  # each box sees it when it wakes
    return used / count * RATE


def measure(seconds: float = 5.0) -> Figures:
    """All figures."""
    return Figures(cost_of_a_reading(), cost_of_parsing(), asyncio.run(share_of_a_core(seconds)))


def main() -> None:
    """Print the figures; fail where the share is too large."""
    figures = measure()
    print(f"one reading, bytes to steady sign: {figures.reading * 1e6:6.1f} us")
    print(f"bare parsing of its line:          {figures.bare * 1e6:6.1f} us   ratio {figures.ratio:.0f}")
    print(f"50 readings a second, 8 sockets:   {figures.share:6.1%} of a core (at most {MOST:.0%})")
    if figures.share > MOST:
        raise SystemExit(1)


if __name__ == "__main__":
    main()
