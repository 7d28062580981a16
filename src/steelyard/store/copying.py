"""A whole store copied into an empty one, from SQLite to PostgreSQL or back, and every row read again and compared.

The new store is made in the form of the old one, table by table, in one transaction that ends only when what is in it
was found equal: whatever interrupts the copy, nothing of it is there. Rows go through one at a time. Both databases
give the rows of a table in the same order, that of its key by bytes, and each side makes a digest over all of them.
"""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Generator, Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from sqlalchemy import Connection, Table, func, inspect, select, text

from steelyard.store import chain
from steelyard.store.database import Database, file_of
from steelyard.store.fault import Reason, StoreError
from steelyard.store.migrations import STEPS, form_of, take_next
from steelyard.store.rows import RowsDigest, Values, ordered_rows, put_rows, sound_rows
from steelyard.store.schema import DAYS, LINKS, METADATA, MIGRATIONS, SECRETS

_BESIDE = ("-journal", "-wal", "-shm")  # what SQLite lays beside a file
_SHOWN = 5  # days that a note names
_OFTEN = 5000  # rows from one word of the progress to the next


@dataclass(frozen=True, slots=True)
class CopiedTable:
    """A table that was copied: how many rows it has, and the digest over all of them in both stores."""

    name: str
    rows: int
    digest: str


@dataclass(frozen=True, slots=True)
class Copied:
    """A store that was copied: its tables, and what is to be known besides, a sentence each."""

    tables: tuple[CopiedTable, ...]
    notes: tuple[str, ...]


Told = Callable[[str, int, int], None]
"""Told of what is being done (``copying`` or ``comparing``), rows done by now, and rows in all."""


def copy_store(
    source: str | os.PathLike[str], target: str | os.PathLike[str], *, secrets: bool = False, told: Told | None = None
) -> Copied:
    """Copy the store ``source`` into ``target``, which is not there yet or holds nothing, and compare every row.

    The source is only read, at one moment; no other program writes to it meanwhile where it is SQLite.

    Parameters
    ----------
    source, target: path of an SQLite file, or URL of a PostgreSQL database.
    secrets: whether the secrets of the station are copied too.
    told: of the progress, now and then.

    Raises
    ------
    StoreError: a store that cannot be opened, a target that holds something, a row that the target cannot hold, or a
        difference between the two. Nothing of the copy is there then.
    """
    place = file_of(target)
    with contextlib.ExitStack() as undo:
        old = undo.enter_context(contextlib.closing(Database(source, only_read=True, as_it_is=True)))
        if place is None:
            copied = _into(target, old, secrets=secrets, told=told or _silent)
            Database(target).close()  # which brings an older form up
            return copied
        _refuse_taken(place)
        half = undo.enter_context(_half_of(place, file_of(source)))
        copied = _into(half, old, secrets=secrets, told=told or _silent)
        Database(half).close()
        _refuse_taken(place)
        _rename(half, place)
    return copied


def _silent(_what: str, _done: int, _all: int) -> None:
    pass


def _refuse_taken(place: Path) -> None:
    """Refuse the name of a file that is there, or of one whose leftovers SQLite would take for its own."""
    for name in (place, *(place.with_name(place.name + end) for end in ("-journal", "-wal"))):
        if os.path.lexists(name):
            message = f"the store {place}: {name} is there already; a copy goes to a new name, so that nothing is lost"
            raise StoreError(Reason.REFUSED, message)
    if not place.parent.is_dir():
        raise StoreError(Reason.UNREACHABLE, f"the store {place}: there is no folder {place.parent}")


@contextlib.contextmanager
def _half_of(place: Path, source: Path | None) -> Generator[Path, None, None]:
    """An empty file beside ``place`` to copy into, which goes away where the block does not give it that name.

    What a killed copy left there is emptied. It is held until the block ends, so that a second copy to the same name
    neither empties it nor takes it for its own.

    Raises
    ------
    StoreError: it cannot be made, it is the store ``source`` itself, or another copy holds it.
    """
    half = place.with_name(f".{place.name}.half-copied")
    try:
        handle = os.open(half, os.O_CREAT | os.O_RDWR, 0o600)
    except OSError as error:
        message = f"the store {place}: cannot be made: {error.strerror or 'no reason given'}"
        raise StoreError(Reason.UNREACHABLE, message) from error
    try:
        if source is not None and half.samefile(source):
            message = (
                f"the store {place}: a copy to it is first written to {half}, which is the store to copy; rename that"
            )
            raise StoreError(Reason.REFUSED, message)
        _hold(handle, half, place)
        os.ftruncate(handle, 0)
        _remove_beside(half)
        if os.name == "nt":  # where an open file gets no other name
            os.close(handle)
            handle = -1
        try:
            yield half
        finally:
            half.unlink(missing_ok=True)
            _remove_beside(half)
    finally:
        if handle >= 0:
            os.close(handle)


def _hold(handle: int, half: Path, place: Path) -> None:
    """Hold the file; one that got its name meanwhile is a whole store and no longer this one."""
    if os.name == "nt":
        return
    import fcntl

    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        same = os.path.samestat(os.stat(handle), half.stat())
    except OSError:
        same = False
    if not same:
        message = f"the store {place}: another program is copying to it now; give another name, or wait for that one"
        raise StoreError(Reason.BUSY, message)


def _remove_beside(half: Path) -> None:
    for end in _BESIDE:
        half.with_name(half.name + end).unlink(missing_ok=True)


def _rename(half: Path, place: Path) -> None:
    """Give a file that is whole and on disk its name, on disk too."""
    try:
        half.rename(place)
        folder = os.open(place.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
    except OSError as error:
        message = f"the store {place}: cannot be named so: {error.strerror or 'no reason given'}; nothing was copied"
        raise StoreError(Reason.UNREACHABLE, message) from error


def _into(target: str | os.PathLike[str], old: Database, *, secrets: bool, told: Told) -> Copied:
    """Copy all of a store into an empty one, in one transaction of each."""
    with (
        contextlib.closing(Database(target, as_it_is=True)) as new,
        old.reading(steady=True) as there,
        new.making() as here,
    ):
        form = form_of(there, old.where)
        _refuse_newer(there, form, old.where)
        tables = _make_empty(here, new.where, form)
        columns = {table: _columns(there, here, table, old.where) for table in tables}
        wanted = [table for table in tables if secrets or table is not SECRETS]
        total = sum(there.execute(select(func.count()).select_from(table)).scalar_one() for table in wanted)
        steps = CopyProgress(total, told)
        found = [_copy(there, here, table, columns[table], (old.where, new.where), steps) for table in wanted]
        copied = tuple(
            _compare(here, table, columns[table], new.where, one, steps)
            for table, one in zip(wanted, found, strict=True)
        )
        if here.dialect.name == "postgresql":
            _set_numbers(here, wanted)
        notes = (*_strangers(there), *_form_note(there, form, old.where), *_chains(here, tables, old.where))
        return Copied(copied, notes)


def _refuse_newer(there: Connection, form: int, where: str) -> None:
    """Refuse a store that this program may use, though a newer one gave it a form with more in it.

    Raises
    ------
    StoreError: it is such a store.
    """
    newest = _taken(there)
    if newest > form:
        program = there.execute(select(MIGRATIONS.c.program).where(MIGRATIONS.c.number == newest)).scalar_one()
        message = (
            f"the store {where}: was written by version {program}, which is newer than this one: copy it with that"
        )
        raise StoreError(Reason.NEWER, message)


class CopyProgress:
    """Counts rows that were copied and then compared, and tells of them now and then."""

    def __init__(self, total: int, told: Told) -> None:
        self._total, self._told, self._done, self._what = total, told, 0, ""

    def passing(self, what: str, rows: Iterator[Values]) -> Iterator[Values]:
        """The same rows, counted as they pass."""
        if what != self._what:
            self._what, self._done = what, 0
        for row in rows:
            self._done += 1
            if self._done % _OFTEN == 0 or self._done == self._total:
                self._told(what, self._done, self._total)
            yield row


def _make_empty(here: Connection, where: str, form: int) -> list[Table]:
    """Give an empty database the form of the other store; its tables, each after those that it refers to.

    Raises
    ------
    StoreError: it holds something.
    """
    names = set(inspect(here).get_table_names())
    held = [table for table in METADATA.sorted_tables if table.name in names and table is not MIGRATIONS]
    for table in held:
        if here.execute(select(1).select_from(table).limit(1)).first() is not None:
            rows = here.execute(select(func.count()).select_from(table)).scalar_one()
            message = (
                f"the store {where}: holds {rows} row{'' if rows == 1 else 's'} in its table {table.name}; a copy goes "
                "to an empty database, so that nothing is lost"
            )
            raise StoreError(Reason.REFUSED, message)
    while _taken(here) < form and take_next(here, where):
        pass
    if _taken(here) != form:
        message = (
            f"the store {where}: is empty, but has the form {_taken(here)} already and the other {form}; give a "
            "database without tables"
        )
        raise StoreError(Reason.REFUSED, message)
    names = set(inspect(here).get_table_names())
    return [table for table in METADATA.sorted_tables if table.name in names]


def _taken(here: Connection) -> int:
    """The form of a database; 0 where it has none."""
    if MIGRATIONS.name not in inspect(here).get_table_names():
        return 0
    return here.execute(select(func.coalesce(func.max(MIGRATIONS.c.number), 0))).scalar_one()


def _columns(there: Connection, here: Connection, table: Table, where: str) -> list[str]:
    """The columns of a table, in the order of the program.

    Raises
    ------
    StoreError: the stores have not the same.
    """
    names = set(inspect(there).get_table_names())
    old, new = (
        {column["name"] for column in inspect(one).get_columns(table.name)}
        if one is here or table.name in names
        else set[str]()
        for one in (there, here)
    )
    if old != new:
        strange = ", ".join(sorted(old ^ new))
        message = f"the store {where}: its table {table.name} is not that of its form: {strange}; nothing was copied"
        raise StoreError(Reason.BROKEN, message)
    return [column.name for column in table.columns if column.name in old]


def _copy(
    there: Connection, here: Connection, table: Table, columns: list[str], where: tuple[str, str], steps: CopyProgress
) -> RowsDigest:
    """Copy a table; the digest over its rows as they were read."""
    if table is MIGRATIONS:  # its own rows say when the copy took each step, those of the other when it was taken there
        here.execute(MIGRATIONS.delete())
    digest = RowsDigest()
    # closed at once, not by and by: a cursor must not outlive its transaction
    with contextlib.closing(ordered_rows(there, table, columns, where[0])) as rows:
        sound = sound_rows(rows, table, columns, where=where[0], zeros=here.dialect.name == "sqlite")
        put_rows(here, table, columns, digest.passing(steps.passing("copying", sound)), where[1])
    return digest


def _compare(
    here: Connection, table: Table, columns: list[str], where: str, copied: RowsDigest, steps: CopyProgress
) -> CopiedTable:
    """Read a table again, and see that it is what was copied.

    Raises
    ------
    StoreError: it is not.
    """
    again = RowsDigest()
    with contextlib.closing(ordered_rows(here, table, columns, where)) as rows:
        for _ in again.passing(steps.passing("comparing", rows)):
            pass
    if (again.count, again.digest) != (copied.count, copied.digest):
        message = (
            f"the store {where}: its table {table.name} is not as it was copied: {again.count} of {copied.count} rows, "
            f"digest {again.digest[:16]} and not {copied.digest[:16]}; nothing was copied"
        )
        raise StoreError(Reason.BROKEN, message)
    return CopiedTable(table.name, again.count, again.digest)


def _set_numbers(here: Connection, tables: list[Table]) -> None:
    """Let the numbers of new rows follow the largest that was copied."""
    for table in tables:
        column = next((column for column in table.columns if column.identity is not None), None)
        if column is not None:
            largest = f"(SELECT max({column.name}) FROM {table.name})"  # noqa: S608 - names of our own tables
            sequence = f"pg_get_serial_sequence('{table.name}', '{column.name}')"
            here.execute(text(f"SELECT setval({sequence}, coalesce({largest}, 1), {largest} IS NOT NULL)"))


def _strangers(there: Connection) -> Iterator[str]:
    strange = sorted(set(inspect(there).get_table_names()) - set(METADATA.tables))
    if strange:
        yield f"Not copied, for no part of a store: the table{'' if len(strange) == 1 else 's'} {', '.join(strange)}."


def _form_note(there: Connection, form: int, where: str) -> Iterator[str]:
    if form < len(STEPS):
        program = there.execute(select(MIGRATIONS.c.program).where(MIGRATIONS.c.number == form)).scalar_one()
        yield (
            f"The store {where} has form {form}, of version {program}. The copy was compared in that form, and then "
            f"brought to form {len(STEPS)} of this version; the other was left as it is."
        )


def _chains(here: Connection, tables: list[Table], where: str) -> Iterator[str]:
    """A sentence about the days whose digests do not follow each other, if any: copied as they are."""
    if LINKS not in tables:
        return
    columns = ("day", "link", "digest", "made", *chain.COLUMNS)
    with (
        contextlib.closing(ordered_rows(here, DAYS, ("number", "head"), where)) as heads,
        contextlib.closing(ordered_rows(here, LINKS, columns, where)) as links,
    ):
        broken = [*chain.unfollowed(links, cast("Iterable[tuple[int, str]]", heads))]
    if broken:
        named = here.execute(select(DAYS.c.id).where(DAYS.c.number.in_(broken[:_SHOWN]))).scalars().all()
        more = f" and {len(broken) - _SHOWN} more" if len(broken) > _SHOWN else ""
        yield (
            f"The record of {', '.join(sorted(named))}{more} does not follow its digests, in the store {where} as in "
            "the copy; 'history' says what was changed there."
        )
