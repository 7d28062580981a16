"""Whatever the text, the answer is a weigh day or its faults, never anything else."""

from __future__ import annotations

import datetime
import math
import tomllib
from pathlib import Path
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from steelyard.dayfile import DayFileError, parse_day, write_day

SOUND = Path(__file__).parent.parent / "broken" / "sound.toml"
TEXT = SOUND.read_bytes()
TREE = tomllib.loads(TEXT.decode())

VALUES = st.recursive(
    st.one_of(
        st.none().map(lambda _: ""),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=10),
        st.sampled_from(["tow", "stock", "ball", "p1", "solo", "1 lb", "-1 in", "nan lb", "5 %", "9 lb*in", "tow/1L"]),
        st.just(10**400),
        st.dates(),
        st.times(),
        st.datetimes(),
    ),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


def check(text: str | bytes) -> None:
    """Read the text; an error must be fit to print, a weigh day must read back equal."""
    try:
        day = parse_day(text, "fuzzed.toml")
    except DayFileError as error:
        fit_to_print(error, text.encode("utf-8", "replace") if isinstance(text, str) else text)
    else:
        assert parse_day(write_day(day), "written.toml") == day


def fit_to_print(error: DayFileError, content: bytes) -> None:
    """Each fault says something, on one line that any screen takes, at a line that the text has."""
    assert error.faults
    for fault, line in zip(error.faults, error.lines(), strict=True):
        assert fault.message
        assert line.startswith("fuzzed.toml:")
        assert line.isprintable(), line
        assert len(line) < 1200
        assert fault.line is None or 1 <= fault.line <= content.count(b"\n") + 1


@settings(max_examples=400, deadline=None)
@given(st.lists(st.tuples(st.integers(0, len(TEXT) - 1), st.integers(0, 255)), min_size=1, max_size=8))
def test_bytes_flipped(flips: list[tuple[int, int]]) -> None:
    data = bytearray(TEXT)
    for position, value in flips:
        data[position] = value
    check(bytes(data))


@settings(max_examples=200, deadline=None)
@given(st.integers(0, len(TEXT)), st.integers(0, len(TEXT)), st.binary(max_size=6))
def test_pieces_cut_out(start: int, length: int, instead: bytes) -> None:
    check(TEXT[:start] + instead + TEXT[start + length :])


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=60) | st.text(max_size=60).map(str.encode))
def test_anything_at_all(data: bytes) -> None:
    check(data)


@settings(max_examples=100, deadline=None)
@given(st.text(st.characters(codec=None), max_size=40))
def test_any_text_even_what_no_file_can_hold(text: str) -> None:
    check(text)
    check(f"format = 1\ntitle = '{text}'")


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_structure_changed(data: st.DataObject) -> None:
    tree = _copy(TREE)
    for _ in range(data.draw(st.integers(1, 4))):
        _damage(tree, data)
    check(_document(tree))


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(st.sampled_from(sorted(TREE)), VALUES))
def test_sections_of_anything(tree: dict[str, Any]) -> None:
    check(_document({"format": 1} | tree))


def _copy(node: Any) -> Any:
    if isinstance(node, dict):
        return {key: _copy(value) for key, value in node.items()}
    return [_copy(item) for item in node] if isinstance(node, list) else node


def _damage(tree: Any, data: st.DataObject) -> None:
    """Put something else in one place of the tree, take it away, or give it another key."""
    node, depth = tree, data.draw(st.integers(0, 5))
    while True:
        if not node:
            return
        keys = list(node) if isinstance(node, dict) else list(range(len(node)))
        key = data.draw(st.sampled_from(keys))
        if depth > 0 and isinstance(node[key], dict | list):
            node, depth = node[key], depth - 1
            continue
        break
    match data.draw(st.sampled_from(["change", "remove", "rename"])):
        case "change":
            node[key] = data.draw(VALUES)
        case "remove":
            del node[key]
        case _:
            if isinstance(node, dict):
                node[data.draw(st.sampled_from(["x", "mass", "tow", "stock", "tow/1L", ""]))] = node.pop(key)
            else:
                node.append(node[key])


def _document(tree: dict[str, Any]) -> str:
    """A tree as TOML, one line for each of its keys."""
    return "\n".join(f"{_quoted(key)} = {_value(value)}" for key, value in tree.items())


def _value(node: Any) -> str:
    match node:
        case bool():
            return "true" if node else "false"
        case int():
            return hex(node) if abs(node) > 10**18 and node > 0 else str(node)
        case float():
            return repr(node) if math.isfinite(node) else str(node)
        case str():
            return _quoted(node)
        case datetime.date() | datetime.time():
            return node.isoformat()
        case list():
            return "[" + ", ".join(_value(item) for item in node) + "]"
        case _:
            return "{" + ", ".join(f"{_quoted(key)} = {_value(value)}" for key, value in node.items()) + "}"


def _quoted(text: str) -> str:
    return '"' + "".join(f"\\U{ord(letter):08X}" if not letter.isalnum() else letter for letter in text) + '"'
