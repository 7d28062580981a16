"""Tables as Parquet: the same rows give the same bytes, and a file is whole as soon as it has its name.

Source of the format: Apache Parquet, file format 2.6. The bytes are those of one version of the library.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import secrets
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from steelyard.batch.extra import arrow
from steelyard.batch.layout import BatchColumn

UNFINISHED = ".tmp"
"""How the name of a file ends that is still being written."""

_LEVEL = 3
_GROUP = 50_000  # rows that a reader can skip together


@dataclass(frozen=True, slots=True)
class WrittenFile:
    """A file that is whole: its rows, its bytes and their SHA-256 in hexadecimal."""

    rows: int
    size: int
    sha256: str


def write_table(path: Path, columns: Sequence[BatchColumn], rows: Iterable[Sequence[Any]]) -> WrittenFile:
    """Write rows, each with a value for every column in order, None where there is none.

    Raises
    ------
    MissingExtraError: the library that writes Parquet is not installed.
    OSError: the file cannot be written; nothing is left of it.
    """
    cells = list(zip(*rows, strict=True)) or [()] * len(columns)
    named = {column.name: values for column, values in zip(columns, cells, strict=True)}
    return write_arrow(path, arrow_table(columns, named))


def arrow_schema(columns: Sequence[BatchColumn]) -> Any:
    """The schema of a table, as ``pyarrow`` has it; only an ``absent`` column may lack values.

    Raises
    ------
    MissingExtraError: the library is not installed.
    """
    library, _ = arrow()
    kinds = {"text": library.string(), "number": library.float64(), "count": library.int64(), "flag": library.bool_()}
    return library.schema([library.field(item.name, kinds[item.kind], nullable=item.absent) for item in columns])


def arrow_table(columns: Sequence[BatchColumn], cells: Mapping[str, Sequence[Any]]) -> Any:
    """A ``pyarrow.Table`` of some rows, from the values of each column by its name.

    Raises
    ------
    MissingExtraError: the library is not installed.
    """
    library, _ = arrow()
    schema = arrow_schema(columns)
    return library.table([library.array(cells[field.name], type=field.type) for field in schema], schema=schema)


def write_arrow(path: Path, table: Any) -> WrittenFile:
    """Write a ``pyarrow.Table``; for the errors see ``write_table``.

    Raises
    ------
    MissingExtraError: the library that writes Parquet is not installed.
    OSError: the file cannot be written; nothing is left of it.
    """
    library, writer = arrow()
    texts = [field.name for field in table.schema if field.type == library.string()]
    sink = library.BufferOutputStream()
    writer.write_table(
        table,
        sink,
        row_group_size=_GROUP,
        version="2.6",
        compression="zstd",
        compression_level=_LEVEL,
        use_dictionary=texts,
        write_statistics=True,
        store_schema=False,
    )
    data = sink.getvalue()
    write_whole(path, data)
    return WrittenFile(table.num_rows, len(data), hashlib.sha256(data).hexdigest())


def write_whole(path: Path, data: bytes) -> None:
    """Write a file under another name beside it, on the disk to its last byte, then give it its name.

    Raises
    ------
    OSError: it cannot be written; nothing is left of it, and what had the name before is as it was.
    """
    beside = path.with_name(f"{path.name}.{os.getpid()}-{secrets.token_hex(4)}{UNFINISHED}")
    try:
        with beside.open("xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)
        raise
