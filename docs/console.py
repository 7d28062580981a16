"""Commands shown in the documents: found in their text, run for real, and compared with what is shown.

A document's blocks belong together and run in order in one folder, beside a copy of ``examples/``:

    ```toml file=hives.toml      the block is written to that file
    ```toml more=hives.toml      the block is added at its end
    ```console                   lines after ``$ steelyard ...`` are what it prints; ``…`` alone stands for some lines
    ```sql                       a query for DuckDB; the lines at its end that begin with ``-- `` are its rows

``$ cp FROM TO`` is the one other command: a page that goes on from an example copies it first. A command that
ends in ``> FILE`` prints into a file.
"""

from __future__ import annotations

import contextlib
import difflib
import itertools
import re
import shlex
import shutil
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from steelyard.cli import cli

ROOT = Path(__file__).resolve().parents[1]
ELISION = "…"
_ROW = "-- "

_FENCE = re.compile(r"^(?P<indent> *)```(?P<info>[^\n`]*)\n(?P<body>.*?)^ *```$", re.MULTILINE | re.DOTALL)
_FINGERPRINT = re.compile(r"\b[0-9a-f]{8}(?: [0-9a-f]{8}){3}\b")
_FIGURE = re.compile(r"\d[\d,]*\.\d+|\d[\d,]{2,}")
_SURROUNDINGS = {"COLUMNS": "80", "STEELYARD_KEYS": "keys", "SOURCE_DATE_EPOCH": "1796040000"}
"""Of every command: its keys lie in the page's folder, and it is 2026-11-30, 12:00 UTC."""

_SOME_LINES = r"[^\n]*(?:\n[^\n]*)*?"


@dataclass(frozen=True)
class Block:
    """A fenced block: what follows its fence, its text without indentation, and where the text stands."""

    info: str
    text: str
    indent: str
    start: int
    end: int

    @property
    def file(self) -> str | None:
        """The file that the block is, if it names one."""
        match = re.search(r"\bfile=(\S+)", self.info)
        return None if match is None else match[1]

    @property
    def more(self) -> str | None:
        """The file that the block is added to, if it names one."""
        match = re.search(r"\bmore=(\S+)", self.info)
        return None if match is None else match[1]


@dataclass(frozen=True)
class Shown:
    """A command and the output that a document shows for it."""

    command: str
    output: str


def blocks(markdown: str) -> Iterator[Block]:
    """The fenced blocks of a document in order."""
    for match in _FENCE.finditer(markdown):
        indent = match["indent"]
        text = "".join(line.removeprefix(indent) for line in match["body"].splitlines(keepends=True))
        yield Block(match["info"].strip(), text, indent, match.start("body"), match.end("body"))


def shown(block: Block) -> Iterator[Shown]:
    """The commands of a console block, each with the output under it."""
    parts = re.split(r"^\$ (.*)\n", block.text, flags=re.MULTILINE)
    for command, output in zip(parts[1::2], parts[2::2], strict=True):
        yield Shown(command, output)


def asked(block: Block) -> Shown:
    """The query of an SQL block, and the rows under it."""
    lines = block.text.splitlines(keepends=True)
    rows = [line for line in lines if line.startswith(_ROW)]
    return Shown("".join(line for line in lines if not line.startswith(_ROW)), "".join(rows))


def answered(query: str, folder: Path) -> str:
    """The rows of a query that is run in ``folder``, in columns, each line with the mark of a row."""
    import duckdb  # a second to load, for one page

    with contextlib.chdir(folder), duckdb.connect() as database:
        found = database.execute(query)
        names = [column[0] for column in found.description or ()]
        rows = [names, *([_cell(value) for value in row] for row in found.fetchall())]
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = ("  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True)) for row in rows)
    return "".join(f"{_ROW}{line.rstrip()}\n" for line in lines)


def _cell(value: object) -> str:
    return "" if value is None else f"{value:.2f}" if isinstance(value, float) else str(value)


def run(command: str, folder: Path) -> str:
    """What a command prints, standard output and errors together, in ``folder``.

    It runs in this process: a page shows a dozen commands, and half a second goes by before each new Python has the
    arithmetic loaded.

    Raises
    ------
    ValueError: it is neither one of this program's commands nor a copy.
    """
    words = shlex.split(command)
    if words[:1] == ["cp"] and len(words) == 3:
        shutil.copyfile(folder / words[1], folder / words[2])
        return ""
    if words[:1] != ["steelyard"]:
        raise ValueError(f"documents show this program's commands only, not {command!r}")
    file = words[-1] if words[-2:-1] == [">"] else None
    with contextlib.chdir(folder):
        given = words[1:] if file is None else words[1:-2]
        done = CliRunner(env=_SURROUNDINGS).invoke(cli, given, prog_name="steelyard")
    if file is None:
        return done.output
    (folder / file).write_text(done.stdout, encoding="utf-8")
    return done.stderr


def agrees(expected: str, printed: str) -> bool:
    """Whether an output is as shown; an elision stands for one line or more. Blank lines at the ends do not count.

    Figures of three digits or more, or with decimals, may differ by one in their last place: what lies halfway between
    two is rounded up on one machine and down on another. A key that a page makes is another each time, and so is its
    fingerprint.
    """
    expected, printed = (_FINGERPRINT.sub("fingerprint", text) for text in (expected, printed))
    parts = expected.strip("\n").split("\n")
    pattern = "\n".join(_SOME_LINES if part.strip() == ELISION else _pattern(part.rstrip()) for part in parts)
    lines = "\n".join(line.rstrip() for line in printed.strip("\n").split("\n"))
    match = re.fullmatch(pattern, lines)
    figures = [figure for part in parts for figure in _FIGURE.findall(part)]
    return match is not None and all(map(_alike, figures, match.groups()))


def _pattern(line: str) -> str:
    """The line itself, with any figure of as many decimals in place of each of its figures."""
    words = (re.escape(word) for word in _FIGURE.split(line))
    figures = [
        rf"(\d[\d,]*\.\d{{{_decimals(each)}}})" if "." in each else r"(\d[\d,]*)" for each in _FIGURE.findall(line)
    ]
    return "".join(word + figure for word, figure in itertools.zip_longest(words, figures, fillvalue=""))


def _decimals(figure: str) -> int:
    return len(figure.partition(".")[2])


def _alike(shown_figure: str, printed_figure: str) -> bool:
    places = _decimals(shown_figure)
    steps = [round(float(figure.replace(",", "")) * 10**places) for figure in (shown_figure, printed_figure)]
    return abs(steps[0] - steps[1]) <= 1


def prepare(folder: Path) -> None:
    """Lay the bundled weigh days beside what a document writes."""
    shutil.copytree(ROOT / "examples", folder / "examples")


def play(markdown: str, folder: Path) -> Iterator[tuple[Shown, str]]:
    """Run a document's blocks in order: each command shown, with what it prints."""
    prepare(folder)
    for block in blocks(markdown):
        if block.file is not None:
            (folder / block.file).write_text(block.text, encoding="utf-8")
        elif block.more is not None:
            with (folder / block.more).open("a", encoding="utf-8") as file:
                file.write(f"\n{block.text}")
        elif block.info == "console":
            for item in shown(block):
                yield item, run(item.command, folder)
        elif block.info == "sql":
            item = asked(block)
            yield item, answered(item.command, folder)


def renew(markdown: str, folder: Path) -> str:
    """The document with the outputs printed anew."""
    prepare(folder)
    parts: list[str] = []
    position = 0
    for block in blocks(markdown):
        if block.file is not None:
            (folder / block.file).write_text(block.text, encoding="utf-8")
        elif block.more is not None:
            with (folder / block.more).open("a", encoding="utf-8") as file:
                file.write(f"\n{block.text}")
        elif block.info in ("console", "sql"):
            renewed = _renewed(block, folder)
            indented = "".join(
                block.indent + line if line.strip() else line for line in renewed.splitlines(keepends=True)
            )
            parts += [markdown[position : block.start], indented]
            position = block.end
    return "".join([*parts, markdown[position:]])


def _renewed(block: Block, folder: Path) -> str:
    """The text of a block that is run, with what it prints now."""
    if block.info == "sql":
        query = asked(block).command
        return query + answered(query, folder)
    printed = [(item, run(item.command, folder)) for item in shown(block)]
    return "".join(f"$ {item.command}\n{fresh(item.output, output)}" for item, output in printed)


def fresh(expected: str, printed: str) -> str:
    """The output as it should be shown: where lines were left out, the same passages of the new output, figures aside.

    A passage runs from the line most like its first line to the next line most like its last.
    """
    lines = [line.rstrip() for line in printed.strip("\n").split("\n")]
    passages = re.split(rf"^ *{ELISION} *$", expected, flags=re.MULTILINE)
    if len(passages) == 1:
        return "\n".join(lines) + "\n" if printed.strip() else ""
    found: list[str] = []
    position = 0
    for passage in passages:
        shown_before = passage.strip("\n").split("\n")
        if shown_before == [""]:
            found.append("")
            continue
        start = _nearest(shown_before[0], lines, position)
        position = _nearest(shown_before[-1], lines, start) + 1
        found.append("\n".join(lines[start:position]))
    return f"\n{ELISION}\n".join(found).strip("\n") + "\n"


def _nearest(line: str, lines: list[str], start: int) -> int:
    """The first line from ``start`` on that is most like ``line`` when figures are left out of account."""
    words = re.sub(r"[\d.,\s]+", " ", line)
    ratios = [difflib.SequenceMatcher(None, words, re.sub(r"[\d.,\s]+", " ", each)).ratio() for each in lines[start:]]
    return start + ratios.index(max(ratios))
