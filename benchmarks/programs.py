"""Whole processes: the start of the program, the ticket, the drawings; each beside the least that could do it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from benchmarks.days import BUNDLED
from benchmarks.measure import Row, Run, processes, program, python

NOTHING = "python -c pass"
EMPTY_PDF = "typst, an empty page as PDF"
EMPTY_PNG = "typst, an empty page as PNG"
SEALED = "steelyard ticket --seal"

_DAY = str(BUNDLED)
_SEAL = ("--seal", "--key-folder")
_DRAW = ("draw", _DAY, "--state", "hitched", "-o")


def rows(folder: Path) -> Iterator[Row]:
    """The comparisons; pages and drawings are written to ``folder``."""
    yield from _start()
    yield from _pages(folder)


def starting() -> dict[str, list[str]]:
    """The commands that show what a start costs, by name."""
    return {
        NOTHING: python("pass"),
        "steelyard --help": program("--help"),
        "import numpy": python("import numpy"),
        "import numpy, click": python("import numpy, click"),
        "steelyard findings, one day": program("findings", _DAY),
        "steelyard findings --json, one day": program("findings", "--json", _DAY),
    }


def making(folder: Path) -> dict[str, list[str]]:
    """The commands that write pages and drawings to a folder, by name."""
    return {
        NOTHING: python("pass"),
        EMPTY_PDF: python("import typst; typst.compile(b'', format='pdf', ignore_system_fonts=True)"),
        EMPTY_PNG: python("import typst; typst.compile(b'', format='png', ignore_system_fonts=True)"),
        "steelyard ticket": program("ticket", _DAY, "-o", str(folder / "ticket.pdf")),
        SEALED: program(
            "ticket", _DAY, "--seal", "--key-folder", str(folder / "keys"), "-o", str(folder / "sealed.pdf")
        ),
        "steelyard draw, SVG": program(*_DRAW, str(folder / "view.svg")),
        "steelyard draw, PNG 1600 wide": program(*_DRAW, str(folder / "view.png")),
    }


def _start() -> Iterator[Row]:
    runs = processes(starting(), turns=10)
    yield _row("start", "steelyard --help", runs, NOTHING, aim="under 4.5x")
    yield _wall("start", "steelyard --help", runs, NOTHING)
    yield _row("start", "steelyard findings, one day", runs, "import numpy")
    yield _row("start", "steelyard findings --json, one day", runs, "import numpy", aim="1.6x")
    yield _row("start", "import numpy, click", runs, "import numpy")
    sizes = [runs[name].largest / 1e6 for name in ("steelyard --help", NOTHING)]
    yield Row("start", "steelyard --help, memory", sizes[0], NOTHING, sizes[1], "MB")


def _pages(folder: Path) -> Iterator[Row]:
    runs = processes(making(folder), turns=5)
    yield _wall("pages", "steelyard ticket", runs, EMPTY_PDF, aim="under 500 ms")
    yield _row("pages", "steelyard ticket", runs, EMPTY_PDF)
    yield _row("pages", SEALED, runs, "steelyard ticket", aim="50 ms more")
    yield _wall("pages", "steelyard draw, SVG", runs, NOTHING)
    yield _wall("pages", "steelyard draw, PNG 1600 wide", runs, EMPTY_PNG)
    yield _row("pages", "steelyard draw, PNG 1600 wide", runs, EMPTY_PNG)


def _row(group: str, name: str, runs: dict[str, Run], beside: str, aim: str = "") -> Row:
    return Row(group, name, 1e3 * runs[name].cpu, beside, 1e3 * runs[beside].cpu, aim=aim)


def _wall(group: str, name: str, runs: dict[str, Run], beside: str, aim: str = "") -> Row:
    return Row(group, f"{name}, wall", 1e3 * runs[name].wall, beside, 1e3 * runs[beside].wall, aim=aim)
