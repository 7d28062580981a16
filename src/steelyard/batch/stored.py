"""Days whose texts lie in a Parquet file: columns ``toml``, ``source`` and ``at``, a row for each day."""

from __future__ import annotations

from collections.abc import Generator, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from steelyard.batch.extra import arrow
from steelyard.batch.layout import DayText
from steelyard.dayfile import show_file


class DayTextError(Exception):
    """A file that should hold the texts of days does not; the message names it and says what is wrong."""


@dataclass(frozen=True, slots=True)
class StoredDays:
    """Some rows of a Parquet file of day texts: ``count`` of them from ``first`` on, counted from 0."""

    path: str
    first: int
    count: int


def read_stored(days: StoredDays) -> tuple[DayText, ...]:
    """The texts of the days.

    Raises
    ------
    DayTextError: the file has no such rows any more, or cannot be read.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    try:
        found = list(_rows_of(days))
    except DayTextError as error:
        raise DayTextError(f"{days.path}: {error}") from None
    if len(found) != days.count:
        raise DayTextError(f"{days.path}: was changed while its days were weighed; start again")
    return tuple(found)


def _rows_of(days: StoredDays) -> Iterator[DayText]:
    """The texts that are there of some rows, read from the groups that hold them."""
    at = 0
    with opened(days.path) as file:
        for number in range(file.metadata.num_row_groups):
            rows = file.metadata.row_group(number).num_rows
            if at + rows > days.first and at < days.first + days.count:
                texts = list(texts_of(file, days.path, at, [number]))
                yield from texts[max(days.first - at, 0) : days.first + days.count - at]
            at += rows


@contextmanager
def opened(path: str) -> Generator[Any]:
    """A Parquet file that holds texts of days, as ``pyarrow`` has it.

    Raises
    ------
    DayTextError: it cannot be read, is no Parquet file or has no column ``toml``.
    MissingExtraError: the library that reads Parquet is not installed.
    """
    library, parquet = arrow()
    try:
        file = parquet.ParquetFile(path)
        names = file.schema_arrow.names
        kinds = {str(file.schema_arrow.field(name).type) for name in ("toml", "source", "at") if name in names}
    except (library.ArrowException, OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else "it is damaged or no Parquet file"
        raise DayTextError(f"cannot be read: {reason}") from None
    with file:
        if "toml" not in names:
            raise DayTextError(f"has no column 'toml'; a Parquet file of weigh days has {_COLUMNS}")
        if kinds - _TEXTS:
            raise DayTextError(f"has {min(kinds - _TEXTS)} among its texts; of weigh days {_COLUMNS} are texts")
        try:
            yield file
        except (library.ArrowException, OSError) as error:
            raise DayTextError(f"cannot be read to its end: {_line(error)}") from None


_COLUMNS = "the columns source, at and toml, of which only toml must be there"
_TEXTS = frozenset({"string", "large_string", "string_view", "binary", "large_binary", "dictionary"})


def _line(error: Exception) -> str:
    return " ".join(str(error).split())[:200]


def texts_of(file: Any, path: str, first: int = 0, groups: list[int] | None = None) -> Iterator[DayText]:
    """The days of an opened file in its order, of some of its row groups where ``groups`` is given.

    ``first`` is the number of the first one, from 0: a day without a source is named by the file and its number.
    """
    wanted = [name for name in ("toml", "source", "at") if name in file.schema_arrow.names]
    number = first
    for batch in file.iter_batches(batch_size=_BATCH, row_groups=groups, columns=wanted):
        for row in range(batch.num_rows):
            number += 1
            toml, source, at = (
                _text(batch.column(name)[row]) if name in wanted else None for name in ("toml", "source", "at")
            )
            named = show_file(source or f"{path}#{number}")
            when = at if at is None else show_file(at)
            unread = "has no text in the column 'toml'" if toml is None else None
            yield DayText(named, toml or "", when, unread)


_BATCH = 200  # days at a time, so that a file of a million of them takes no more memory than one of a thousand


def _text(cell: Any) -> str | None:
    """A text of a cell, with a half character for each byte that is no UTF-8; None where there is none."""
    if not cell.is_valid:
        return None
    value: Any = cell.as_buffer().to_pybytes() if hasattr(cell, "as_buffer") else cell.as_py()
    return value.decode("utf-8", "surrogateescape") if isinstance(value, bytes) else str(value)
