"""Thousands of files of which some are broken in every way: each is a row somewhere, and none stops another."""

from __future__ import annotations

import os
import random
from collections.abc import Callable
from pathlib import Path

from steelyard.batch.layout import DAYS, FAULTS
from steelyard.batch.reading import AnswersFolder
from tests.cli.days import NURSERY, run
from tests.studies import days, figures

# At 60 days one of each kind of broken file is among them; a study looks at 100,000 of which 1,000 are broken.
COUNT, BROKEN = days(60, 100_000), days(9, 1_000)

Breaker = Callable[[Path, random.Random], None]


def _bytes(data: bytes) -> Breaker:
    def write(path: Path, chance: random.Random) -> None:
        del chance
        path.write_bytes(data)

    return write


def _too_large(path: Path, chance: random.Random) -> None:
    del chance
    path.touch()
    os.truncate(path, 9_000_000)


def _cut(path: Path, chance: random.Random) -> None:
    """Within a line: cut off between two lines it may still be a sound day, in which nothing is weighed yet."""
    whole = NURSERY.encode()
    path.write_bytes(whole[: whole.rindex(b"=", 0, chance.randrange(60, len(whole) - 400)) + 1])


def _damaged(path: Path, chance: random.Random) -> None:
    data = bytearray(NURSERY.encode())
    data[chance.randrange(len(data))] = 0xFF
    path.write_bytes(bytes(data))


WAYS: dict[str, tuple[str, Breaker]] = {
    "empty": ("faulty", _bytes(b"")),
    "cut off": ("faulty", _cut),
    "a byte that is no UTF-8": ("unreadable", _damaged),
    "binary": ("unreadable", _bytes(bytes(2000))),
    "UTF-16": ("unreadable", _bytes(NURSERY.encode("utf-16"))),
    "a wrong unit": ("faulty", _bytes(NURSERY.replace("1800 mm", "1800 lb").encode())),
    "a vehicle that is none": ("faulty", _bytes(NURSERY.replace("van/1L", "bus/1L").encode())),
    "a link to nothing": ("unreadable", lambda path, _: path.symlink_to("nothing")),
    "too large": ("unreadable", _too_large),
}


def test_every_broken_file_is_a_row_among_the_faults_and_every_other_is_answered(tmp_path: Path) -> None:
    chance = random.Random(20261130)
    names = [f"{number // 1000:03}/{number:06}.toml" for number in range(COUNT)]
    kinds = list(WAYS)
    expected: dict[str, str] = {}
    for number, name in enumerate(chance.sample(names, BROKEN)):
        expected[name] = kinds[number % len(kinds)]
    for name in names:
        path = tmp_path / "in" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        if name in expected:
            WAYS[expected[name]][1](path, chance)
        else:
            path.write_text(NURSERY.replace("720]", f"{705 + 5 * chance.randrange(6)}]"), encoding="utf-8")
    result = run("batch", str(tmp_path / "in"), "-o", str(tmp_path / "out"), "--quiet")
    assert (result.exit_code, result.stderr) == (2, "")
    answers = AnswersFolder(tmp_path / "out")
    answered = answers.rows(DAYS, ["source"])["source"].to_pylist()
    assert sorted(answered) == sorted(str(tmp_path / "in" / name) for name in names if name not in expected)
    found = {os.path.relpath(row["source"], tmp_path / "in"): row["kind"] for row in answers.rows(FAULTS).to_pylist()}
    assert found == {name: WAYS[way][0] for name, way in expected.items()}
    figures("broken files", days=answers.days, faulty=answers.faulty, parts=len(answers.whole))
