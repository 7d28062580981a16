"""Lines from a file that grows, from a directory of files, from a named pipe."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path
from unittest import mock

from steelyard.capture import Port, Sample, open_port
from steelyard.capture.folder import FilePort, FollowWire
from steelyard.capture.line_port import Wire
from tests.conversations.dialogue import PATTERN, QUICK, kinds, opened, run, take, values
from tests.waiting import comes_about


class Turns:
    """How often a port looked at what it follows, or tried to open it."""

    def __init__(self, port: Port) -> None:
        assert isinstance(port, FilePort)
        self.count = 0
        self._connect, port.connect = port.connect, self._connecting

    async def _connecting(self) -> Wire:
        self.count += 1
        return await self._connect()

    @contextmanager
    def counted(self) -> Generator[None, None, None]:
        """While the block runs looks count too."""
        look = FollowWire._sizes

        def looking(wire: FollowWire) -> dict[Path, int]:
            self.count += 1
            return look(wire)

        with mock.patch.object(FollowWire, "_sizes", looking):
            yield

    async def some(self) -> None:
        """Until what was done before is seen: the look that was under way, one after it, and one more try."""
        enough = self.count + 3
        await comes_about(lambda: self.count >= enough, "a look")


async def while_listening(port: Port, count: int, *steps: Callable[[], object]) -> list[Sample]:
    """The samples that a port gives while steps are taken one after another, each once the one before was seen."""
    got: list[Sample] = []
    turns = Turns(port)

    async def act() -> None:
        for step in steps:
            await turns.some()
            step()

    with turns.counted():
        acting = asyncio.ensure_future(act())
        await take(port, count, got)
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

    async def main() -> None:
        port = open_port("pipe", f"file:{pipe}", pattern=PATTERN, patience=QUICK)
        ready, got = opened(port), list[Sample]()
        taking = asyncio.ensure_future(take(port, 3, got))
        await ready.wait()
        for number, said in enumerate((b"\nok 1.0 kg\n", b"ok 2.0 kg\nok 3", b".0 kg\n"), 1):
            pipe.write_bytes(said)
            await comes_about(lambda number=number: len(got) >= number, f"line {number}")
        await taking
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
