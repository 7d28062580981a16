"""Sources of a batch: files, folders, Parquet files of day texts and stores, mixed, their days in a fixed order.

Nothing is held but the names of a part of a folder at a time, so that a million days take no more memory than a
thousand. A day that cannot be read is still a day: it says why.
"""

from __future__ import annotations

import heapq
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Literal

from steelyard.batch.layout import DayText
from steelyard.batch.stored import DayTextError, opened, texts_of
from steelyard.dayfile import DayFileError, day_bytes, show_file
from steelyard.store import read_store

_AT_ONCE = 50_000
"""Names of one folder that are held and sorted at a time."""

_LARGE_GROUP = 20_000
"""Rows in a group of a Parquet file, beyond which a worker would read too much to find those of its part."""

_PARQUET, _SQLITE = b"PAR1", b"SQLite format 3\0"
"""First bytes of a file. Sources: Apache Parquet, file format 2.6; SQLite, database file format, 1.3."""


class NoDaysError(Exception):
    """Something that was named holds no weigh days, or is not there; the message says what would be right."""


@dataclass(frozen=True, slots=True)
class Holder:
    """Something that holds days: a file with one, a Parquet file of their texts, or a store."""

    kind: Literal["file", "parquet", "store"]
    where: str


@dataclass(frozen=True, slots=True)
class Bunch:
    """Days that may be cut into parts together; ``stored`` is the Parquet file where workers can read them."""

    days: Iterator[DayText]
    stored: str | None = None


class Sources:
    """The days of everything that was named, in the order in which it was named; folders in order of names.

    Parameters
    ----------
    names: files, folders and addresses of stores. folder: of the answers; what lies in it is never looked at.

    Raises
    ------
    NoDaysError: one of them is not there, is named twice, is or lies in another, or is the folder of the answers.
    """

    def __init__(self, names: Sequence[str], folder: Path) -> None:
        self._own = folder.resolve()
        self._names = [name if "://" in name else os.path.normpath(name) for name in names]
        _refuse_missing(names)
        _refuse_twice(self._names)
        for name in self._names:
            if "://" not in name and Path(name).resolve() == self._own:
                raise NoDaysError(f"{name}: is the folder of the answers too; give another name with -o")

    def count(self) -> int:
        """How many days there are now; reads no text.

        Raises
        ------
        NoDaysError: there are none.
        StoreError: a store cannot be read.
        MissingExtraError: there is a Parquet file, and the library that reads it is not installed.
        """
        found = sum(_count(holder) for holder in self._holders())
        if not found:
            what = "no weigh day in it; a folder holds *.toml or *.parquet, here or in folders below"
            names = ", ".join(show_file(name) for name in self._names[:3]) + (", ..." if len(self._names) > 3 else "")
            raise NoDaysError(f"{names}: {what}")
        return found

    def bunches(self) -> Iterator[Bunch]:
        """The days, bunch by bunch; each must be used up before the next is asked for.

        Raises
        ------
        StoreError: a store cannot be read, or no longer.
        MissingExtraError: there is a Parquet file, and the library that reads it is not installed.
        """
        for (kind, where), holders in groupby(self._holders(), _together):
            if kind == "file":
                yield Bunch(map(_read, holders))
            elif kind == "store":
                yield Bunch(_of_store(where))
            else:
                yield Bunch(_of_parquet(where), where if _small_groups(where) else None)

    def _holders(self) -> Iterator[Holder]:
        for name in self._names:
            if "://" not in name and Path(name).is_dir():
                yield from self._of_folder(name)
            else:
                yield Holder(_kind(name), name)

    def _of_folder(self, folder: str) -> Iterator[Holder]:
        for name in _in_order(folder):
            path = os.path.join(folder, name)  # noqa: PTH118 - keeps './' away, and is quick for a million names
            if os.path.isdir(path):  # noqa: PTH112
                if not os.path.islink(path) and Path(path).resolve() != self._own:  # noqa: PTH114 - a link may lead round
                    yield from self._of_folder(path)
            elif name.endswith(".parquet"):
                yield Holder("parquet", path)
            else:
                yield Holder("file", path)


def _together(holder: Holder) -> tuple[str, str]:
    """Files are cut into parts together, of anything else each by itself."""
    return holder.kind, "" if holder.kind == "file" else holder.where


def _in_order(folder: str) -> Iterator[str]:
    """The names of a folder's days and folders in order, never more than some of them held.

    Raises
    ------
    NoDaysError: the folder cannot be read.
    """
    last = ""
    while True:
        try:
            with os.scandir(folder) as entries:
                later = (entry.name for entry in entries if entry.name > last and _wanted(entry))
                names = heapq.nsmallest(_AT_ONCE, later)
        except OSError as error:
            raise NoDaysError(f"{show_file(folder)}: cannot be read: {error.strerror or error}") from None
        yield from names
        if len(names) < _AT_ONCE:
            return
        last = names[-1]


def _wanted(entry: os.DirEntry[str]) -> bool:
    return entry.name.endswith((".toml", ".parquet")) or entry.is_dir(follow_symlinks=False)


def _refuse_missing(names: Sequence[str]) -> None:
    for name in names:
        if "://" not in name and not os.path.lexists(name):
            raise NoDaysError(f"{show_file(name)}: there is no such file or folder")


def _refuse_twice(names: Sequence[str]) -> None:
    """See that no day is named twice: its answers would stand in the tables twice."""
    seen: dict[str, str] = {}
    for name in names:
        whole = name if "://" in name else os.path.realpath(name)
        if whole in seen:
            raise NoDaysError(f"{show_file(name)}: is named twice, as {show_file(seen[whole])} too; name it once")
        seen[whole] = name
    for whole, name in seen.items():
        for above in Path(whole).parents if "://" not in name else ():
            outer = seen.get(str(above))
            if outer is not None:
                message = f"lies in {show_file(outer)}, which is named too; name one of the two"
                raise NoDaysError(f"{show_file(name)}: {message}")


def _kind(name: str) -> Literal["file", "parquet", "store"]:
    """The kind of what has this name, by its address or its first bytes; whatever is no other is the file of a day."""
    if "://" in name:
        return "store"
    if not Path(name).is_file():
        return "file"  # a device, a pipe or a folder that is gone: whoever reads it says so
    try:
        with Path(name).open("rb") as stream:
            head = stream.read(len(_SQLITE))
    except OSError:
        return "file"
    if head.startswith(_PARQUET):
        return "parquet"
    return "store" if head == _SQLITE else "file"


def _count(holder: Holder) -> int:
    if holder.kind == "file":
        return 1
    if holder.kind == "store":
        with read_store(holder.where) as store:
            return store.count_days()
    try:
        with opened(holder.where) as file:
            return file.metadata.num_rows
    except DayTextError:
        return 1  # its one row among the faults


def _small_groups(path: str) -> bool:
    """Whether a worker finds a few rows of a Parquet file without reading most of it."""
    try:
        with opened(path) as file:
            groups = range(file.metadata.num_row_groups)
            return all(file.metadata.row_group(number).num_rows <= _LARGE_GROUP for number in groups)
    except DayTextError:
        return False


def _read(holder: Holder) -> DayText:
    """The day of a file, in whatever state it is."""
    source = show_file(holder.where)
    try:
        data = day_bytes(holder.where)
    except DayFileError as error:
        return DayText(source, "", unread="; ".join(fault.message for fault in error.faults))
    return DayText(source, data.decode("utf-8", "surrogateescape"))


def _of_parquet(path: str) -> Iterator[DayText]:
    try:
        with opened(path) as file:
            yield from texts_of(file, path)
    except DayTextError as error:
        yield DayText(show_file(path), "", unread=str(error))


def _of_store(where: str) -> Iterator[DayText]:
    with read_store(where) as store:
        for day in store.texts():
            yield DayText(day.id, day.text)
