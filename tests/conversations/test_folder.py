"""Lines from a file that grows, from a directory of files, from a named pipe."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable
from contextlib import aclosing
from pathlib import Path

from steelyard.capture import Port, Sample, open_port
from tests.conversations.dialogue import PATTERN, QUICK, kinds, run, values


async def while_listening(port: Port, count: int, *steps: Callable[[], object]) -> list[Sample]:
    """The samples that a port gives while steps are taken one after another, a moment apart."""
    got: list[Sample] = []

    async def act() -> None:
        for step in steps:
            await asyncio.sleep(0.15)
            step()

    acting = asyncio.ensure_future(act())
    async with asyncio.timeout(10), aclosing(port.samples()) as samples:
        async for sample in samples:
            if sample.trouble is None or sample.trouble.kind != "silent":
                got.append(sample)
            if len(got) == count:
                break
    await acting
    return got


def added(path: Path, text: bytes) -> Callable[[], object]:
    def write() -> None:
        with path.open("ab") as file:
            file.write(text)

    return write


def test_what_is_added_to_a_file_is_read_and_what_was_there_is_old(tmp_path: Path) -> None:
    log = tmp_path / "log.txt"
    log.write_bytes(b"ok 1.0 kg\n")

    async def main() -> None:
        port = open_port("log", f"file:{log}", pattern=PATTERN, patience=QUICK)
        got = await while_listening(
            port, 3, added(log, b"ok 2.0 kg\nok 3"), added(log, b".0 kg\n"), lambda: log.write_bytes(b"ok 4.0 kg\n")
        )
        assert values(got) == [2.0, 3.0, 4.0]

    run(main())


def test_a_directory_is_followed_file_by_file(tmp_path: Path) -> None:
    """Two programs write at once; the halves of their lines are not mixed."""
    old = tmp_path / "a.txt"
    old.write_bytes(b"ok 1.0 kg\n")

    async def main() -> None:
        port = open_port("drop", f"file:{tmp_path}", pattern=PATTERN, patience=QUICK)
        got = await while_listening(
            port,
            4,
            added(old, b"ok 2."),
            added(tmp_path / "b.txt", b"ok 5.0 kg\nno 6."),
            added(old, b"0 kg\n"),
            added(tmp_path / "b.txt", b"0 kg\n"),
            added(tmp_path / "c.txt", b"ok 7.0 kg\n"),
        )
        assert values(got) == [5.0, 2.0, 6.0, 7.0]

    run(main())


def test_a_pipe_outlives_its_writers(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)

    def write(text: bytes) -> Callable[[], object]:
        return lambda: pipe.write_bytes(text)

    async def main() -> None:
        port = open_port("pipe", f"file:{pipe}", pattern=PATTERN, patience=QUICK)
        got = await while_listening(port, 3, write(b"\nok 1.0 kg\n"), write(b"ok 2.0 kg\nok 3"), write(b".0 kg\n"))
        assert values(got) == [1.0, 2.0, 3.0]

    run(main())


def test_a_file_that_goes_and_comes_back(tmp_path: Path) -> None:
    log = tmp_path / "log.txt"
    log.write_bytes(b"")

    async def main() -> None:
        port = open_port("log", f"file:{log}", pattern=PATTERN, patience=QUICK)
        got = await while_listening(
            port,
            4,
            added(log, b"ok 1.0 kg\n"),
            log.unlink,
            lambda: log.write_bytes(b""),
            added(log, b"ok 2.0 kg\n"),
        )
        assert values(got) == [1.0, 2.0]
        assert kinds(got) == ["dropped", "dropped"]
        words = [sample.trouble.words for sample in got if sample.trouble is not None]
        assert words == [
            f"The connection to {log} broke: No such file or directory. Trying again.",
            f"Cannot open {log}: No such file or directory. Trying again.",
        ]

    run(main())
