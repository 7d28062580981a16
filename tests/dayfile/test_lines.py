"""Where keys stand, and that both parsers of TOML read alike."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
import toml_rs
from hypothesis import HealthCheck, given, settings

from steelyard.dayfile import write_day
from steelyard.dayfile.source import Lines
from steelyard.model import WeighDay
from tests.dayfile.days import weigh_days

TESTS = Path(__file__).parent.parent
FILES = [*sorted(TESTS.glob("released/*.toml")), TESTS / "dayfile" / "example.toml", TESTS / "broken" / "sound.toml"]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_both_parsers_read_a_file_alike(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    assert toml_rs.loads(text) == tomllib.loads(text)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(weigh_days())
def test_both_parsers_read_what_is_written_alike(day: WeighDay) -> None:
    text = write_day(day)
    assert toml_rs.loads(text) == tomllib.loads(text)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_each_key_is_found_on_a_line_that_holds_it(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    lines, rows = Lines(text), text.split("\n")
    found = 0
    for path in paths(tomllib.loads(text)):
        line = lines.of(path)
        assert line is not None, path
        names = [step for step in path if isinstance(step, str)]
        assert names[-1] in rows[line - 1], (path, line)
        found += 1
    assert found > 100


def paths(node: Any, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """The paths of all keys that hold a single value."""
    if isinstance(node, dict):
        return [inner for key, value in node.items() for inner in paths(value, (*path, key))]
    if isinstance(node, list) and any(isinstance(item, dict) for item in node):
        return [inner for index, item in enumerate(node) for inner in paths(item, (*path, index))]
    return [path]


TEXT = """
[a."b.c"]
x = 1
[[d]]
[[d]]
[d.e]
[[d.f]]
[[d.f]]
y = 2
[g.h]
"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("a",), 2),
        (("a", "b.c"), 2),
        (("a", "b.c", "x"), 3),
        (("d",), 4),
        (("d", 0), 4),
        (("d", 1), 5),
        (("d", 1, "e"), 6),
        (("d", 1, "f", 1), 8),
        (("d", 1, "f", 1, "y"), 9),
        (("d", 1, "f", 1, "missing"), 8),
        (("g", "h", "missing"), 10),
        (("nowhere",), None),
    ],
)
def test_tables_stand_where_their_headers_are(path: tuple[str | int, ...], line: int | None) -> None:
    assert Lines(TEXT).of(path) == line
