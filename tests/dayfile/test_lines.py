"""Where keys stand in a text, and that no text harms the parser that says so."""

from __future__ import annotations

import random
import sys
import tomllib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from steelyard.dayfile import DayFileError, parse_day, write_day
from steelyard.dayfile.fault import KeyPath
from steelyard.dayfile.source import KeyLines, parse
from steelyard.dayfile.syntax import key_lines, statement_line
from steelyard.model import WeighDay
from tests.dayfile.days import weigh_days

TESTS = Path(__file__).parent.parent
FILES = [*sorted(TESTS.glob("released/*.toml")), TESTS / "dayfile" / "example.toml", TESTS / "broken" / "sound.toml"]
SOUND = (TESTS / "broken" / "sound.toml").read_text(encoding="utf-8")


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.name)
def test_each_key_is_found_on_a_line_that_holds_it(file: Path) -> None:
    assert held(file.read_text(encoding="utf-8")) > 100


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(weigh_days())
def test_each_key_that_is_written_is_found_on_a_line_that_holds_it(day: WeighDay) -> None:
    text = write_day(day)
    assert key_lines(text) is not None
    held(text)


def held(text: str) -> int:
    """How many keys were looked for; each must be found."""
    lines, rows = KeyLines(text), text.split("\n")
    found = paths(tomllib.loads(text))
    for path in found:
        line = lines.of(path)
        assert line is not None, path
        name = next(step for step in reversed(path) if isinstance(step, str))
        assert name in rows[line - 1] or not name.isalnum(), (path, line)
    return len(found)


def paths(node: Any, path: KeyPath = ()) -> list[KeyPath]:
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
[k.l]
[k]
m.n = { o = 1, p.q = [ # [[d]]
  2, 3,
  { r = 4,   s = 5 },
] }
"t\\u0041" = \"\"\"
u = 6
\"\"\"
v = [[1, 2], [3,
  4], {w = 5}]
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
        (("k", "l"), 11),
        (("k", "missing"), 12),
        (("k", "m", "n", "o"), 13),
        (("k", "m", "n", "p", "q"), 13),
        (("k", "m", "n", "p", "q", 1), 14),
        (("k", "m", "n", "p", "q", 2, "s"), 15),
        (("k", "m", "n", "p", "q", 2, "missing"), 15),
        (("k", "m", "n", "p", "q", 3), 13),
        (("k", "tA"), 17),
        (("k", "u"), 12),
        (("k", "v", 0, 1), 20),
        (("k", "v", 1, 0), 20),
        (("k", "v", 1, 1), 21),
        (("k", "v", 2, "w"), 21),
    ],
)
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_a_value_stands_at_its_key(path: KeyPath, line: int | None, ending: str) -> None:
    assert KeyLines(TEXT.replace("\n", ending)).of(path) == line


@pytest.mark.parametrize(
    ("path", "line"),
    [(("a", "b.c", "x"), 2), (("d", 1, "f", 1, "y"), 8), (("g", "h"), 10), (("k", "m"), 12), (("nowhere",), None)],
)
def test_without_the_parser_a_value_stands_at_its_table(
    path: KeyPath, line: int | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "tree_sitter", None)
    assert key_lines(TEXT) is None
    assert statement_line(TEXT, 5) is None
    assert KeyLines(TEXT.replace("[k.l]\n", "\n")).of(path) == line


@dataclass
class Written:
    """A text under construction, with the line of each path in it."""

    text: str = ""
    lines: dict[KeyPath, int] = field(default_factory=dict[KeyPath, int])
    names: int = 0

    def name(self, draw: st.DrawFn) -> tuple[str, str]:
        """A key not used before: what it is, and one way to write it."""
        self.names += 1
        plain = f"k{self.names}"
        odd = f"k {self.names}.#=]"
        ways = [(plain, plain), (plain, f"'{plain}'"), (plain, f'"\\u006b{self.names}"'), (odd, f'"{odd}"')]
        return draw(st.sampled_from(ways))

    def mark(self, path: KeyPath) -> None:
        self.lines.setdefault(path, self.text.count("\n") + 1)


SCALARS = [
    "1",
    "-1.5e3",
    '"#"',
    "'\\'",
    '"é漢\\" ]"',
    "1979-05-27 07:32:00",
    '"""\na = "1"\n\\"""\n"""',
    "'''\n[b]\n'''",
    "[]",
]


def write_value(draw: st.DrawFn, out: Written, path: KeyPath, depth: int) -> None:
    kind = draw(st.integers(0, 5)) if depth < 3 else 0
    if kind < 4:
        out.text += draw(st.sampled_from(SCALARS))
    elif kind == 4:
        out.text += "["
        for number in range(draw(st.integers(0, 3))):
            out.text += draw(st.sampled_from(["", " ", "\n", " # [x]\n\n"]))
            out.mark((*path, number))
            write_value(draw, out, (*path, number), depth + 1)
            out.text += draw(st.sampled_from([",", " ,\n"]))
        out.text += "]"
    else:
        out.text += "{"
        for number in range(draw(st.integers(0, 3))):
            out.text += ", " if number else " "
            write_pair(draw, out, path, depth + 1)
        out.text += " }"


def write_pair(draw: st.DrawFn, out: Written, path: KeyPath, depth: int) -> None:
    for number in range(draw(st.integers(1, 3))):
        plain, written = out.name(draw)
        out.text += (draw(st.sampled_from([".", " . "])) if number else "") + written
        path = (*path, plain)
        out.mark(path)
    out.text += draw(st.sampled_from([" = ", "="]))
    write_value(draw, out, path, depth)


@st.composite
def texts(draw: st.DrawFn) -> Written:
    """TOML of every form that a key may have, with the line of each key, table and member of a list."""
    out, tables, lists = Written(), list[tuple[KeyPath, str]](), list[tuple[KeyPath, str, int]]()
    table: KeyPath = ()
    for _ in range(draw(st.integers(1, 12))):
        kind = draw(st.integers(0, 5))
        if kind < 3:
            write_pair(draw, out, table, 0)
        elif kind == 3:
            around, written = draw(st.sampled_from([((), ""), *tables]))
            plain, name = out.name(draw)
            table, written = (*around, plain), f"{written}.{name}" if written else name
            tables.append((table, written))
            out.mark(table)
            out.text += f"[{written}]"
        elif kind == 4:
            plain, name = out.name(draw)
            lists.append(((plain,), name, 0))
            table = (plain, 0)
            out.mark((plain,))
            out.mark(table)
            out.text += f"[[ {name} ]]"
        elif lists:
            path, name, count = lists[-1]
            lists[-1] = (path, name, count + 1)
            table = (*path, count + 1)
            out.mark(table)
            out.text += f"[[{name}]]"
        out.text += draw(st.sampled_from(["\n", " # [a]\n", "\n\n"]))
    return out


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(texts(), st.sampled_from(["\n", "\r\n"]))
def test_every_path_of_any_text_stands_on_its_line(written: Written, ending: str) -> None:
    text = written.text.replace("\n", ending)
    tree = tomllib.loads(text)
    assert key_lines(text) is not None
    lines = KeyLines(text)
    for path, line in written.lines.items():
        node: Any = tree
        for step in path:
            node = node[step]
        assert lines.of(path) == line, path


@st.composite
def doubled(draw: st.DrawFn) -> tuple[str, int]:
    """A text whose key ``twice`` stands twice, with whatever behind it, and the line of the second."""
    out, line = draw(texts()), 0
    for _ in range(2):
        line = out.text.count("\n") + 1
        out.text += draw(st.sampled_from(["twice = ", " twice=", '"twice" = ']))
        write_value(draw, out, ("twice",), 0)
        out.text += "\n"
    return out.text + draw(st.sampled_from(["", "\n", "x = [ {", '\ny = """\n', "]"])), line


@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(doubled(), st.sampled_from(["\n", "\r\n"]))
def test_a_key_that_stands_twice_is_found_where_its_second_begins(written: tuple[str, int], ending: str) -> None:
    text, line = written
    with pytest.raises(DayFileError) as caught:
        parse(text.replace("\n", ending), "day.toml")
    fault = caught.value.faults[0]
    assert (fault.line, fault.message) == (line, "the key twice stands twice; keep one of the two")


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("a = 1\na = 2\n", 2, "the key a"),
        ("a = 1\na = 2", 2, "the key a"),
        ("[a]\nb = 1\n[c]\n[a]\n", 4, "the table a"),
        ("[a]\n[c]\n[ a ] # again\nx = [", 3, "the table a"),
        ("a = 1\n[[a]]\n", 2, "the key a"),
        ("a = 1\n\n[a.b]\nc = 2\n", 3, "the key a.b"),
        ('a = 1\n"\\u0061" = [\n 2,\n 3]\n', 2, "the key a"),
        ("a = { b = 1, b = 2 }\n", 1, "the key b"),
        ("z = [\n { a = 1,  a = [3,\n 4] },\n]\n", 2, "the key a"),
        ("z = [\n [ { a = 1 } ],\n { b = { c = 1, c = 2 } },\n]\nd = [", 3, "the key c"),
        ("a.b = 1\na.b.c = 2\n", 2, "the key a.b.c"),
    ],
)
def test_what_stands_twice_is_named_and_placed(text: str, line: int, message: str) -> None:
    with pytest.raises(DayFileError) as caught:
        parse(text, "day.toml")
    fault = caught.value.faults[0]
    assert (fault.line, fault.message) == (line, f"{message} stands twice; keep one of the two")


HOSTILE = {
    "open lists": "x = " + "[" * 100_000,
    "closed lists": "x = " + "[" * 100_000 + "]" * 100_000,
    "inline tables": "x = " + "{ a = " * 100_000 + "1" + " }" * 100_000,
    "a dotted key": "a." * 100_000 + "a = 1",
    "a dotted header": "[" + "a." * 100_000 + "a]",
    "headers": "[[a]]\n" * 100_000,
    "an open text": 'x = """' + "a" * 1_000_000,
    "quotes": '"' * 100_001,
    "half a character": 'x = "\\ud800"\ny = "\udcff"',
    "nothing": "",
    "a mark of the order of bytes": "\ufeffx = 1\n",
    "a zero byte": "x = 1\n\0\n",
    "bare returns": "x = 1\ry = 2\r",
}


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_no_text_ends_the_program(text: str) -> None:
    """On a thread of its own, whose stack is short."""
    text = text.encode(errors="replace").decode()
    with ThreadPoolExecutor(1) as pool:
        lines = pool.submit(key_lines, text).result()
        pool.submit(statement_line, text, len(text)).result()
    last = text.count("\n") + 1
    assert lines is None or all(0 < line <= last for line in lines.values())


def test_texts_broken_anyhow_are_answered_on_many_threads() -> None:
    def answer(seed: int) -> int:
        choose = random.Random(seed)
        refused = 0
        for _ in range(250):
            text = broken(choose)
            key_lines(text)
            statement_line(text, choose.randrange(len(text) + 1))
            try:
                parse_day(text, "day.toml")
            except DayFileError as error:
                refused += bool(error.lines())
        return refused

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(answer, range(4))) == 1000


SCRAPS = [*"[]{}=\"'\\\n\r.,#\ufeff\0é", '"""', "'''", "a.", "[[", "{a=", "\r\n", "\\uD800", "[" * 500, "{a=" * 200]


def broken(choose: random.Random) -> str:
    """A piece of a sound day with a few letters changed, left out, put in or moved."""
    start = choose.randrange(len(SOUND))
    letters = list(SOUND[start : start + choose.randrange(10, 2000)])
    for _ in range(choose.randrange(1, 8)):
        place = choose.randrange(len(letters) + 1)
        letters[place : place + choose.choice([0, 0, 1, 9])] = choose.choice([*SCRAPS, SOUND[start : start + 40]])
    return "".join(letters)
