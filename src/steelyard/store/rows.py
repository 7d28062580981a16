"""Rows of a whole table, read in the order of its key and written in bulk, one at a time; and a digest over them all.

The drivers are asked directly: a store of 100,000 days has millions of rows. Both databases give texts in the order of
their bytes when they are asked to, and both give the same values for them.
"""

from __future__ import annotations

import hashlib
import sqlite3
from collections.abc import Generator, Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import Connection, Integer, LargeBinary, Table

from steelyard.store.fault import Reason, StoreError, driver_in_words
from steelyard.store.words import MOST

Values = tuple[Any, ...]

LARGEST_VALUE = 1_000_000_000
"""The most bytes of a value: of SQLite as it is usually built; PostgreSQL takes somewhat more."""

_AT_ONCE = 500  # rows that the server of PostgreSQL sends together
_LONG = frozenset({"day_texts", "logs", "pictures", "photos", "seals"})  # tables of long values: a few together


class RowsDigest:
    """A digest over rows in order, each with all its values and their kinds."""

    def __init__(self) -> None:
        self.count = 0
        self._hash = hashlib.sha256()

    def passing(self, rows: Iterable[Values]) -> Iterator[Values]:
        """The same rows, taken into the digest as they pass."""
        for row in rows:
            self.count += 1
            plain = tuple(hashlib.sha256(value).digest() if isinstance(value, bytes) else value for value in row)
            self._hash.update(repr(plain).encode())
            yield row

    @property
    def digest(self) -> str:
        """The digest so far, in hexadecimal."""
        return self._hash.hexdigest()


def ordered_rows(
    connection: Connection, table: Table, columns: Sequence[str], where: str
) -> Generator[Values, None, None]:
    """Every row of a table, in the order of its key by bytes.

    Raises
    ------
    StoreError: the database, named ``where``, would not.
    """
    plain: Any = connection.connection.driver_connection
    of_server = connection.dialect.name == "postgresql"
    order = ", ".join(_ordering(column.name, table, of_server=of_server) for column in table.primary_key.columns)
    asked = f"SELECT {', '.join(columns)} FROM {table.name} ORDER BY {order}"  # noqa: S608 - names of our own tables
    with driver_in_words(where):
        if not of_server:
            yield from plain.execute(asked)
            return
        with plain.cursor(name=f"rows_of_{table.name}") as cursor:
            cursor.itersize = 5 if table.name in _LONG else _AT_ONCE
            cursor.execute(asked)
            yield from cursor


def _ordering(column: str, table: Table, *, of_server: bool) -> str:
    number = isinstance(table.c[column].type, Integer)
    return column if number or not of_server else f'{column} COLLATE "C"'


def put_rows(connection: Connection, table: Table, columns: Sequence[str], rows: Iterable[Values], where: str) -> None:
    """Write rows into a table.

    Raises
    ------
    StoreError: the database, named ``where``, would not.
    """
    plain: Any = connection.connection.driver_connection
    names = ", ".join(columns)
    with driver_in_words(where):
        if isinstance(plain, sqlite3.Connection):
            marks = ", ".join("?" * len(columns))
            plain.executemany(f"INSERT INTO {table.name} ({names}) VALUES ({marks})", rows)  # noqa: S608 - likewise
            return
        with (
            plain.cursor() as cursor,
            cursor.copy(f"COPY {table.name} ({names}) FROM STDIN (FORMAT BINARY)") as copying,
        ):
            copying.set_types([_binary_type(table.c[column].type) for column in columns])
            for row in rows:
                copying.write_row(row)


def _binary_type(kind: object) -> str:
    return "int4" if isinstance(kind, Integer) else "bytea" if isinstance(kind, LargeBinary) else "text"


def sound_rows(
    rows: Iterable[Values], table: Table, columns: Sequence[str], *, where: str, zeros: bool
) -> Iterator[Values]:
    """The same rows, each seen to be one that the other database can hold; ``zeros``: whether it holds zero bytes.

    Raises
    ------
    StoreError: a row that it cannot hold; table, row and column are named.
    """
    for row in rows:
        for column, value in zip(columns, row, strict=True):
            fault = _fault(value, zeros=zeros)
            if fault:
                keys = ", ".join(
                    f"{key.name} {_shown(row[columns.index(key.name)])}" for key in table.primary_key.columns
                )
                message = (
                    f"the store {where}: table {table.name}, row of {keys}: its {column} {fault}; nothing was copied"
                )
                raise StoreError(Reason.REFUSED, message)
        yield row


def _fault(value: object, *, zeros: bool) -> str:
    """The reason why a value cannot be copied; empty where it can."""
    if isinstance(value, int):
        return "" if -MOST - 1 <= value <= MOST else f"is {value}, and a whole number of PostgreSQL ends at {MOST}"
    if isinstance(value, bytes):
        size = len(value)
    elif isinstance(value, str):
        if "\0" in value and not zeros:
            return f"has a zero byte as letter {value.index(chr(0)) + 1}, which no text of PostgreSQL can hold"
        if not value.isascii():
            try:
                size = len(value.encode())
            except UnicodeEncodeError as error:
                return f"is no UTF-8 from letter {error.start + 1} on, which this program never writes"
        else:
            size = len(value)
    else:
        return ""
    return (
        "" if size <= LARGEST_VALUE else f"has {size / 1e9:.1f} GB, and a value has at most {LARGEST_VALUE / 1e9:g} GB"
    )


def _shown(value: object) -> str:
    text = str(value)
    return repr(text if len(text) <= 40 else f"{text[:40]}...") if isinstance(value, str) else text
