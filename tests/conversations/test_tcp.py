"""Lines over TCP on loopback: asked for or not, cut at every byte, silent, garbled, back again."""

from __future__ import annotations

import asyncio
import time
from contextlib import aclosing
from itertools import pairwise

import pytest

from steelyard.capture import (
    Asking,
    Chars,
    LinePart,
    LinePattern,
    LinePort,
    NumberFormat,
    PartRole,
    Patience,
    Sample,
    TroubleKind,
    open_port,
)
from tests.conversations.dialogue import PATTERN, QUICK, QUIET, Script, kinds, run, take, values
from tests.waiting import PATIENCE

LINES = b"\r\nok 1250.5 kg\r\nno 1251.0 kg\r\nok -12.5 kg\r\n"


def test_lines_become_samples() -> None:
    async def main() -> None:
        async with Script([[(b"", LINES)]], hold=True).listening() as number:
            got = await take(open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK), 3)
        assert values(got) == [1250.5, 1251.0, -12.5]
        assert [sample.stable_mark for sample in got] == [True, False, True]
        assert {sample.channel for sample in got} == {"box"}
        assert got[0].raw == "ok 1250.5 kg"
        assert got[0].at <= got[1].at <= got[2].at <= time.monotonic()

    run(main())


def test_a_box_that_prints_when_asked_is_asked() -> None:
    async def main() -> None:
        script = Script([[(b"?\r", b"ok 10.0 kg\r"), (b"?\r", b"ok 11.0 kg\r"), (b"?\r", b"no 12.0 kg\r")]], hold=True)
        async with script.listening() as number:
            port = open_port(
                "box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK, asking=Asking(b"?\r", every=0.01)
            )
            got = await take(port, 3)
        assert values(got) == [10.0, 11.0, 12.0]

    run(main())


@pytest.mark.parametrize("kept", range(len(LINES) + 1))
def test_power_cut_at_every_byte(kept: int) -> None:
    """Whole lines before the cut are read, the half one is not, the cut is said, and the next connection goes on."""

    async def main() -> None:
        script = Script([[(b"", LINES[:kept])], [(b"", b"\r\nok 7.0 kg\r\n")]], hold=False)
        async with script.listening() as number:
            port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK)
            got = await take(port, lambda samples: values(samples)[-1:] == [7.0])
        whole = [float(line.split()[1]) for line in LINES[:kept].decode().split("\r")[1:-1]]
        assert values(got) == [*whole, 7.0]
        assert "dropped" in kinds(got)
        assert set(kinds(got)) <= {"dropped", "garbled"}

    run(main())


def test_nobody_there_is_said_once() -> None:
    async def main() -> None:
        async with Script([[]]).listening() as number:
            pass
        port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK)
        async with aclosing(port.samples()) as samples:
            said = await anext(samples)
            again = asyncio.ensure_future(anext(samples))
            done, _ = await asyncio.wait({again}, timeout=0.3)
            assert not done
            again.cancel()
            await asyncio.wait({again})
        assert said.value_kg is None
        assert said.trouble is not None
        assert said.trouble.kind is TroubleKind.DROPPED
        assert said.trouble.words.startswith(f"Cannot open 127.0.0.1:{number}: ")
        assert said.trouble.words.endswith("Trying again.")

    run(main())


def test_silence_is_said_and_the_connection_is_made_anew() -> None:
    """A box that lost its power sends no farewell: after three silences the port hangs up and tries again."""

    async def main() -> None:
        script = Script([[(b"", b"\nok 1.0 kg\r\n")], [(b"", b"\nok 2.0 kg\r\n")]], hold=True)
        patience = Patience(connect=PATIENCE, silence=0.5, retry=0.01)
        async with script.listening() as number:
            port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=patience)
            got = await take(port, lambda samples: 2.0 in values(samples))
        assert values(got) == [1.0, 2.0]
        assert kinds(got) == ["silent", "dropped"]
        silent, dropped = (sample.trouble for sample in got if sample.trouble is not None)
        assert silent.words == f"127.0.0.1:{number} has sent no line for 0.5 s."
        assert dropped.words == f"The connection to 127.0.0.1:{number} broke: no answer in time. Trying again."

    run(main())


def test_garbled_lines_are_said_and_are_no_readings() -> None:
    async def main() -> None:
        lines = b"\nok 5.0 kg\r\nok 5,0 kg\r\nok 5.0 lb\r\n\xb5\xff\x11 kg\r\nqq 5.0 kg\r\nok ----- kg\r\nok 6.0 kg\r\n"
        async with Script([[(b"", lines)]], hold=True).listening() as number:
            got = await take(open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK), 7)
        assert values(got) == [5.0, 6.0]
        assert kinds(got) == ["garbled", "unit", "garbled", "garbled", "overload"]
        assert [sample.trouble.words for sample in got if sample.trouble is not None] == [
            "Does not fit the pattern 'plain': 'ok 5,0 kg'",
            "The box shows lb; kg was taught. Set it back, or teach it anew.",
            r"3 of 6 characters are not text; a loose cable, or another speed? '\xb5\xff\x11 kg'",
            "The mark 'qq' was never taught: 'qq 5.0 kg'",
            "The box shows '-----' in place of a number: overload, or no load cell.",
        ]

    run(main())


NUMBER = LinePattern("number", (LinePart(PartRole.VALUE, gap="*", number=NumberFormat()),), "kg")


@pytest.mark.parametrize("kept", range(6))
def test_half_a_line_is_no_reading_even_where_it_looks_like_one(kept: int) -> None:
    """A bare number cut in two is two numbers: where a stream is joined, and where it breaks, nothing is read."""

    async def main() -> None:
        script = Script([[(b"", b"12345\n777\n12345"[kept:])], [(b"", b"\n888\n")]])
        async with script.listening() as number:
            port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=NUMBER, patience=QUICK)
            got = await take(port, lambda samples: 888.0 in values(samples))
        assert values(got) == [777.0, 888.0]

    run(main())


def test_a_line_after_a_quiet_while_is_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    """A box that prints at the press of a button: its first line counts."""
    monkeypatch.setattr("steelyard.capture.line_port._QUIET", QUIET)

    async def main() -> None:
        async def press(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            await asyncio.sleep(1.0)
            writer.write(b"4321\r\n")
            await writer.drain()
            writer.close()

        server = await asyncio.start_server(press, "127.0.0.1", 0)
        address = f"tcp:127.0.0.1:{server.sockets[0].getsockname()[1]}"
        got = await take(open_port("box", address, pattern=NUMBER, patience=QUICK), 1)
        server.close()
        await server.wait_closed()
        assert values(got) == [4321.0]

    run(main())


def test_without_a_pattern_lines_are_shown_so_that_they_can_be_taught() -> None:
    async def main() -> None:
        async with Script([[(b"", LINES)]], hold=True).listening() as number:
            got = await take(open_port("box", f"tcp:127.0.0.1:{number}", patience=QUICK), 3)
        assert [sample.raw for sample in got] == ["ok 1250.5 kg", "no 1251.0 kg", "ok -12.5 kg"]
        assert values(got) == []

    run(main())


def test_a_trouble_of_the_port_concerns_every_channel_that_was_heard() -> None:
    pattern = LinePattern(
        "two",
        (
            LinePart(PartRole.CHANNEL, chars=Chars.LETTERS, words=("A", "B")),
            LinePart(PartRole.VALUE, gap=" ", number=NumberFormat()),
        ),
        "lb",
        channels={"A": "p1"},
    )

    async def main() -> None:
        script = Script([[(b"", b"\nA 10\nB 20\nA 30\n")], []], hold=False)
        async with script.listening() as number:
            port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=pattern, channels={"B": "p2"}, patience=QUICK)
            got = await take(port, 5)
        assert [sample.channel for sample in got] == ["p1", "p2", "p1", "p1", "p2"]
        assert kinds(got) == ["dropped", "dropped"]

    run(main())


def test_a_backlog_is_skipped_and_said_and_keeps_nobody_waiting() -> None:
    """Thirty thousand good lines at once: the newest are read, it is said how many were not, and others get turns."""
    flood = (
        b"\r\n" + b"".join(b"ok %d.5 kg\r\n" % (1000 + number % 500) for number in range(30_000)) + b"ok 77.0 kg\r\n"
    )

    async def main() -> None:
        turns: list[int] = []
        got: list[Sample] = []

        async def others() -> None:
            while True:
                turns.append(len(got))
                await asyncio.sleep(0)

        async with Script([[(b"", flood)]], hold=True).listening() as number:
            port = open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK)
            assert isinstance(port, LinePort)
            waiting = asyncio.ensure_future(others())
            await take(port, lambda samples: samples[-1].value_kg == 77.0, got)
            waiting.cancel()
            await asyncio.gather(waiting, return_exceptions=True)
        said = [sample.trouble for sample in got if sample.trouble is not None]
        assert {trouble.kind for trouble in said} == {TroubleKind.BEHIND}
        assert "lines at once; the" in said[0].words
        read = len(got) - len(said)
        assert read + port.skipped in (30_001, 30_000)  # the first may have come before the connection was quiet
        assert port.skipped > 0
        assert max(after - before for before, after in pairwise(turns)) <= 501

    run(main())


def test_bytes_without_an_end_keep_nobody_waiting_either() -> None:
    async def main() -> None:
        turns = 0

        async def others() -> None:
            nonlocal turns
            while True:
                turns += 1
                await asyncio.sleep(0)

        async with Script([[(b"", b"x" * 3_000_000 + LINES)]], hold=True).listening() as number:
            waiting = asyncio.ensure_future(others())
            got = await take(
                open_port("box", f"tcp:127.0.0.1:{number}", pattern=PATTERN, patience=QUICK),
                lambda samples: samples[-1].value_kg == -12.5,
            )
            waiting.cancel()
            await asyncio.gather(waiting, return_exceptions=True)
        assert values(got)[-1] == -12.5
        assert turns > 3_000_000 // 65536

    run(main())
