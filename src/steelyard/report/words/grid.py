"""Columns in monospace: figures aligned on their decimal points, headings over them, texts broken to the width."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import field

from steelyard.classes import dataclass

WIDTH = 80
_NARROWEST = 24  # characters that a label takes at least, however wide the figures beside it are
GAP = "  "

# A figure and what belongs to it, its doubt or its unit, stay on one line.
_HELD = "\N{NO-BREAK SPACE}"
_TIED = re.compile(r"(?<=[\d±<>=]) (?=\S)| (?=[±=] )")


@dataclass(frozen=True, slots=True)
class Figures:
    """A cell of one or more figures joined by a word or sign, such as ``2,961 ± 12`` or ``2,936 to 2,986``."""

    parts: tuple[str, ...]
    joiner: str = " ± "


Cell = Figures | str


@dataclass(frozen=True, slots=True)
class GridRow:
    """One line of cells under the headings; a missing last cell is empty."""

    cells: tuple[Cell, ...]


@dataclass(slots=True)
class Grid:
    """A small table. Lines that are plain text run across all columns.

    Attributes
    ----------
    headings: one per column; the first column stands left, the others right.
    left: numbers of further columns that stand left.
    indent: spaces before every row of cells and the headings.
    """

    headings: tuple[str, ...]
    left: frozenset[int] = frozenset()
    indent: int = 0
    lines: list[GridRow | str] = field(default_factory=list[GridRow | str])

    def add(self, *cells: Cell) -> None:
        """One more row."""
        self.lines.append(GridRow(cells))

    def add_below(self, label: Sequence[str], *cells: Cell) -> None:
        """One more row with a label of several lines; the cells stand in its last."""
        *before, last = label
        self.lines += before
        self.add(last, *cells)

    def add_fitted(self, rows: Sequence[tuple[str, Sequence[Cell]]], *, first: str = "", rest: str = "  ") -> None:
        """The rows of an empty table; each label is broken to the width that the cells of all rows leave."""
        for _, cells in rows:
            self.add("", *cells)
        taken = max(map(len, self.render())) - len(self.headings[0])
        self.lines.clear()
        for label, cells in rows:
            self.add_below(wrapped(label, first=first, rest=rest, width=max(WIDTH - taken, _NARROWEST)), *cells)

    def say(self, text: str = "") -> None:
        """One line of text across the columns, empty for a pause."""
        self.lines.append(text)

    def trim(self) -> None:
        """Drop the pauses at the end."""
        while self.lines and self.lines[-1] == "":
            self.lines.pop()

    def render(self, width: int = WIDTH, droppable: int | None = None) -> list[str]:
        """The lines of the table.

        ``droppable`` is a column that is left out where it is empty or the whole would be wider than ``width``.
        """
        lines = self._render()
        if droppable is not None and all(not _cell(row, droppable) for row in self.lines if isinstance(row, GridRow)):
            return self.without(droppable).render(width)
        if droppable is None or max(map(len, lines), default=0) <= width:
            return lines
        return self.without(droppable).render(width)

    def without(self, column: int) -> Grid:
        """The same table with one column less."""
        kept: list[GridRow | str] = [
            GridRow(line.cells[:column] + line.cells[column + 1 :]) if isinstance(line, GridRow) else line
            for line in self.lines
        ]
        left = frozenset(number - (number > column) for number in self.left if number != column)
        return Grid(self.headings[:column] + self.headings[column + 1 :], left, self.indent, kept)

    def _render(self) -> list[str]:
        rows = [line for line in self.lines if isinstance(line, GridRow)]
        columns = [_column([_cell(row, number) for row in rows]) for number in range(len(self.headings))]
        widths = [
            max([len(self.headings[number]), *map(len, cells)], default=0) for number, cells in enumerate(columns)
        ]
        texts = iter(zip(*columns, strict=True))
        lines = [self._line(self.headings, widths)] if any(self.headings) else []
        return lines + [line if isinstance(line, str) else self._line(next(texts), widths) for line in self.lines]

    def _line(self, cells: Sequence[str], widths: Sequence[int]) -> str:
        placed = [
            text.ljust(width) if number == 0 or number in self.left else text.rjust(width)
            for number, (text, width) in enumerate(zip(cells, widths, strict=True))
        ]
        return (" " * self.indent + GAP.join(placed)).rstrip()


def _cell(row: GridRow, number: int) -> Cell:
    return row.cells[number] if number < len(row.cells) else ""


def _column(cells: Sequence[Cell]) -> list[str]:
    """The cells of one column as texts, every figure's decimal point under the one above it."""
    depth = max((len(cell.parts) for cell in cells if isinstance(cell, Figures)), default=0)
    sizes: list[tuple[int, int]] = []
    for place in range(depth):
        halves = [_halves(cell.parts[place]) for cell in cells if isinstance(cell, Figures) and place < len(cell.parts)]
        sizes.append((max(len(whole) for whole, _ in halves), max(len(part) for _, part in halves)))
    return [cell if isinstance(cell, str) else _aligned(cell, sizes) for cell in cells]


def _aligned(cell: Figures, sizes: Sequence[tuple[int, int]]) -> str:
    parts: list[str] = []
    for place, text in enumerate(cell.parts):
        whole, fraction = _halves(text)
        parts.append(whole.rjust(sizes[place][0]) + fraction.ljust(sizes[place][1]))
    return cell.joiner.join(parts).ljust(_full(cell, sizes))


def _full(cell: Figures, sizes: Sequence[tuple[int, int]]) -> int:
    return sum(map(sum, sizes)) + len(cell.joiner) * (len(sizes) - 1)


def _halves(text: str) -> tuple[str, str]:
    whole, point, fraction = text.partition(".")
    return whole, point + fraction


def rule(title: str, note: str = "", width: int = WIDTH) -> str:
    """A heading with a line that runs out to a note on the right."""
    lead = f"\N{BOX DRAWINGS LIGHT HORIZONTAL}\N{BOX DRAWINGS LIGHT HORIZONTAL} {title} "
    tail = f" {note}" if note else ""
    line = "\N{BOX DRAWINGS LIGHT HORIZONTAL}" * max(2, width - len(lead) - len(tail))
    return lead + line + tail


def wrapped(text: str, *, first: str = "", rest: str | None = None, width: int = WIDTH) -> list[str]:
    """A text broken at spaces; ``first`` and ``rest`` begin its first and its later lines."""
    later = " " * len(first) if rest is None else rest
    lines = textwrap.wrap(
        _TIED.sub(_HELD, text),
        width,
        initial_indent=first,
        subsequent_indent=later,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return [line.replace(_HELD, " ") for line in lines] or [first.rstrip()]


def cautioned(texts: Iterable[str]) -> list[str]:
    """Cautions under their heading, one by one."""
    return [rule("cautions"), "", *(line for text in texts for line in wrapped(text, first="- "))]


def listed(names: Iterable[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    items = list(names)
    return " and ".join([", ".join(items[:-1]), items[-1]]) if len(items) > 1 else "".join(items)
