"""Killed at any moment, the store has every draft that it said it had, whole, and none by halves."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Generator
from contextlib import contextmanager
from typing import IO

from steelyard.dayfile import Part, parse_day
from steelyard.store import open_store
from tests.store.samples import DAY, ROOT, draft
from tests.studies import days
from tests.waiting import PATIENCE

KILLS = days(25, 200)
"""Where one death in ten loses something, one of twenty-five shows it with 93 % (1 - 0.9^25), and the test of a station
that is killed under load looks at forty more."""
KILLS_OF_A_CLIENT = days(10, 60)  # where the database is a server, it is not the database that dies


class Keeper:
    """The program that is killed again and again."""

    def __init__(self, process: subprocess.Popen[str]) -> None:
        assert process.stdin is not None
        assert process.stdout is not None
        self._in: IO[str] = process.stdin
        self._out: IO[str] = process.stdout

    def killed_after(self, round_: int, *, acknowledged: int, pause: float) -> list[str]:
        """The keys that one process acknowledged before it was killed, some time [s] after a number of them."""
        self._in.write(f"{round_}\n")
        self._in.flush()
        pid, kept = 0, list[str]()
        for line in self._out:
            word, _, rest = line.strip().partition(" ")
            if word == "pid":
                pid = int(rest)
            elif word == "kept":
                kept.append(rest)
            else:
                assert word == "dead", line
                return kept
            if pid and len(kept) == acknowledged:
                time.sleep(pause)
                os.kill(pid, signal.SIGKILL)
        raise AssertionError("the keeper ended by itself")


@contextmanager
def keeper(address: str, day_id: str) -> Generator[Keeper, None, None]:
    """The program, ended with the block."""
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.store.keeper", address, day_id],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": f"{ROOT / 'src'}{os.pathsep}{ROOT}"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
    )
    with process:
        yield Keeper(process)
        assert process.stdin is not None
        process.stdin.close()
        assert process.wait(PATIENCE) == 0


def test_nothing_acknowledged_is_lost_and_nothing_is_half(where: str) -> None:
    chance = random.Random(20260514)
    with open_store(where) as store:
        day_id = store.add_day(DAY)
    acknowledged: list[str] = []
    kills = KILLS_OF_A_CLIENT if "://" in where else KILLS
    with keeper(where, day_id) as program:
        for round_ in range(kills):
            count = chance.choice((0, 1, 2, 5, 9))
            acknowledged += program.killed_after(round_, acknowledged=count, pause=chance.uniform(0.0, 0.012))
    assert len(acknowledged) > kills
    with open_store(where) as store:
        kept = store.entries(day_id)
        keys = [entry.key for entry in kept]
        assert set(acknowledged) <= set(keys)
        assert len(keys) - len(acknowledged) <= kills, "at most the one draft under way in each round is kept unsaid"
        assert [entry.seq for entry in kept] == list(range(1, len(kept) + 1))
        assert [entry.number for entry in kept] == list(range(2, len(kept) + 2))
        for entry in kept:
            number = int(entry.key.partition("-")[2])
            assert entry.text == draft(entry.key, 20 * (number % 500)).text
            found = store.find(day_id, Part.DRAFT, entry.key)
            assert found is not None
            assert found.seq == entry.seq
        day = parse_day(store.day_text(day_id), "out")
        assert [item.key for item in day.drafts] == ["first", *keys]
        assert store.day(day_id).drafts == len(day.drafts)
        with store.database.reading() as connection:
            if connection.dialect.name == "sqlite":
                assert connection.exec_driver_sql("PRAGMA integrity_check").scalar() == "ok"
                assert connection.exec_driver_sql("PRAGMA foreign_key_check").all() == []
