"""Parts of earlier runs whose days were answered again: what of them stays, so that no day stands in a folder twice."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

from steelyard import __version__
from steelyard.batch.extra import arrow
from steelyard.batch.layout import DAY_DIGITS, DAYS, FAULTS
from steelyard.batch.manifest import is_whole
from steelyard.batch.parquet import WrittenFile, write_arrow
from steelyard.batch.part import TABLES, PartDone, table_path

_AT_ONCE = 40
"""Earlier parts whose sources are held at a time."""


class EarlierParts(NamedTuple):
    """The earlier parts that stay, and the number of days that were lost with damaged ones."""

    kept: list[PartDone]
    lost: int


def kept_of(folder: Path, earlier: Sequence[PartDone], now: Sequence[PartDone]) -> EarlierParts:
    """The earlier parts without the days that are among those of now; those with none left are left out.

    A part that is damaged is left out, and its days that are not among those of now are counted: all of them where its
    sources cannot be read either.

    Raises
    ------
    OSError: a part that loses some of its days cannot be written anew.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    kept: list[PartDone] = []
    whole = [line for line in earlier if is_whole(folder, line, to_the_byte=True)]
    damaged = [line for line in earlier if line not in whole]
    for start in range(0, len(whole), _AT_ONCE):
        some = [(line, set(_sources(folder, [line]))) for line in whole[start : start + _AT_ONCE]]
        asked = {source for _, sources in some for source in sources}
        again = {source for source in _sources(folder, now) if source in asked}
        for line, sources in some:
            if not sources & again:
                kept.append(line)
            elif sources - again:
                kept.append(_without(folder, line, again))
    return EarlierParts(kept, _lost(folder, damaged, now))


def unnamed(folder: Path, named: Collection[str]) -> list[PartDone]:
    """Parts of this version whose tables lie there although no line names them; they count as damaged."""
    found = {
        path.stem.removeprefix("part-")
        for table in TABLES
        for path in (folder / table / f"program={__version__}").glob("part-*.parquet")
    }
    return [PartDone(name, __version__, 0, 0) for name in sorted(found - set(named))]


def _lost(folder: Path, damaged: Sequence[PartDone], now: Sequence[PartDone]) -> int:
    """How many days of the damaged parts are not among those of now."""
    if not damaged:
        return 0
    library, _ = arrow()
    answered, lost = set(_sources(folder, now)), 0
    for line in damaged:
        try:
            lost += len(set(_sources(folder, [line])) - answered)
        except (library.ArrowException, OSError):
            lost += line.days
    return lost


def _sources(folder: Path, lines: Iterable[PartDone]) -> Iterator[str]:
    """The source of each day of some parts."""
    _, parquet = arrow()
    for line in lines:
        for table in (DAYS, FAULTS):
            read = parquet.ParquetFile(table_path(folder, table, line.name, line.program)).read(["source"])
            yield from read["source"].unique().to_pylist()


def _without(folder: Path, line: PartDone, again: set[str]) -> PartDone:
    """The part without the days of some sources, written under a name of its own."""
    library, parquet = arrow()
    gone = library.array(sorted(again), type=library.string())
    tables: dict[str, Any] = {}
    for table in TABLES:
        read = parquet.ParquetFile(table_path(folder, table, line.name, line.program)).read()
        tables[table] = read.filter(library.compute.invert(library.compute.is_in(read["source"], value_set=gone)))
    answered = tables[DAYS].num_rows
    faults = tables[FAULTS].select(["source", "kind"]).to_pylist()
    faulty = {row["source"] for row in faults}
    broken = {row["source"] for row in faults if row["kind"] in ("broken", "quarantined")}
    left = sorted({*tables[DAYS]["source"].to_pylist(), *faulty})
    name = hashlib.sha256("\n".join([line.name, *left]).encode()).hexdigest()[:DAY_DIGITS]
    written: dict[str, WrittenFile] = {
        table: write_arrow(table_path(folder, table, name, line.program), made) for table, made in tables.items()
    }
    counts = {"days": answered + len(faulty), "faulty": len(faulty), "broken": len(broken)}
    return replace(line, name=name, tables=written, **counts)
