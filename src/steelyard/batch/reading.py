"""A folder of answers as those read it who count and draw: its whole parts, and their rows part by part."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from steelyard import __version__
from steelyard.batch.extra import arrow
from steelyard.batch.folder import about
from steelyard.batch.layout import COLUMNS, MANIFEST, AnswersFolderError
from steelyard.batch.manifest import is_whole, read_manifest
from steelyard.batch.part import PartDone, table_path


class AnswersFolder:
    """The answers in a folder that ``steelyard batch`` wrote.

    Parameters
    ----------
    program: the version of the program whose answers are meant; the one that runs where None.

    Attributes
    ----------
    finished: whether the last run that filled it came to its end; until then a day may stand in an old part and a new.
    None where nothing says so.
    unread: lines of the manifest that name no part, in words; empty where there are none.

    Raises
    ------
    AnswersFolderError: there is no such folder, it holds no answers, none of that version, or its notes are spoiled.
    """

    def __init__(self, path: str | os.PathLike[str], *, program: str | None = None) -> None:
        self.path = Path(path)
        self.program = __version__ if program is None else program
        if not (self.path / MANIFEST).is_file():
            raise AnswersFolderError(f"{self.path}: holds no answers; name a folder that 'steelyard batch' wrote")
        manifest = read_manifest(self.path)
        self._lines = manifest.parts
        self.unread = manifest.unread_words(self.path)
        told = about(self.path)
        self.finished = None if told is None else bool(told["finished"])
        if not self.whole:
            others = ", ".join(sorted({line.program for line in self._lines} - {self.program}))
            more = f"; there are those of version {others}: do them again with 'steelyard batch'" if others else ""
            more += f"; {self.unread} names no part, for it was cut off or spoiled" if self.unread else ""
            raise AnswersFolderError(f"{self.path}: holds no answers of version {self.program}{more}")

    @cached_property
    def whole(self) -> tuple[PartDone, ...]:
        """The parts of this version whose tables lie there, by name."""
        mine = (line for line in self._lines if line.program == self.program)
        return tuple(sorted((line for line in mine if is_whole(self.path, line)), key=lambda line: line.name))

    @property
    def damaged(self) -> tuple[PartDone, ...]:
        """The parts of this version of which a table is missing or not in its size, by name."""
        mine = {line.name: line for line in self._lines if line.program == self.program}
        return tuple(mine[name] for name in sorted(mine.keys() - {line.name for line in self.whole}))

    @property
    def days(self) -> int:
        """How many days were looked at, those with faults included."""
        return sum(line.days for line in self.whole)

    @property
    def faulty(self) -> int:
        """How many of the days have faults in place of answers."""
        return sum(line.faulty for line in self.whole)

    def parts(self, table: str) -> tuple[Path, ...]:
        """The files of a table, one for each whole part."""
        return tuple(table_path(self.path, table, line.name, line.program) for line in self.whole)

    def batches(self, table: str, columns: Sequence[str] | None = None, where: Any = None) -> Iterator[Any]:
        """The rows of a table, a ``pyarrow.Table`` for each part; for the parameters see ``rows``.

        Raises
        ------
        AnswersFolderError: a part cannot be read.
        MissingExtraError: the library that reads Parquet is not installed.
        """
        library, parquet = arrow()
        wanted = [column.name for column in COLUMNS[table]] if columns is None else list(columns)
        for path in self.parts(table):
            try:
                yield parquet.ParquetFile(path).read(wanted) if where is None else _some(path, wanted, where)
            except (library.ArrowException, OSError) as error:
                message = (
                    f"{path}: cannot be read: {' '.join(str(error).split())[:200]}; 'steelyard batch' makes it anew"
                )
                raise AnswersFolderError(message) from None

    def rows(self, table: str, columns: Sequence[str] | None = None, where: Any = None) -> Any:
        """The rows of a table in all parts, as one ``pyarrow.Table``.

        Parameters
        ----------
        columns: which ones; all where None. where: a condition as ``pyarrow.compute`` writes it, as in
        ``field("quantity") == "gross"``; it is asked of each part, so that memory holds only the rows that meet it.

        Raises
        ------
        AnswersFolderError: a part cannot be read.
        MissingExtraError: the library that reads Parquet is not installed.
        """
        library, _ = arrow()
        return library.concat_tables(list(self.batches(table, columns, where)))


def _some(path: Path, columns: Sequence[str], where: Any) -> Any:
    """The rows of one file that meet a condition."""
    _, parquet = arrow()
    return parquet.read_table(path, columns=list(columns), filters=where, partitioning=None)
