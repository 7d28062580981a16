"""Faults of a store, in the same words for every database."""

from __future__ import annotations

import sqlite3
from collections.abc import Generator
from contextlib import contextmanager
from enum import StrEnum

from sqlalchemy import exc


class Reason(StrEnum):
    """Why the store would not."""

    NO_SUCH_DAY = "no such day"
    NO_SUCH_DRAFT = "no such draft"
    NOT_IN_THE_YARD = "not in the yard"
    CONFLICT = "conflict"
    MOVED_ON = "moved on"
    DAY_FULL = "day full"
    REFUSED = "refused"
    FULL_DISK = "full disk"
    READ_ONLY = "read-only"
    NOT_ALLOWED = "not allowed"
    BUSY = "busy"
    UNREACHABLE = "unreachable"
    NEWER = "newer"
    OLDER = "older"
    NOT_A_STORE = "not a store"
    BROKEN = "broken"


class StoreError(Exception):
    """The store would not, and nothing was changed; the message is for people, the reason for programs."""

    def __init__(self, reason: Reason, message: str) -> None:
        self.reason = reason
        super().__init__(message)


_SQLITE = {
    "FULL": (Reason.FULL_DISK, "the disk is full; nothing was kept of this, make room and try again"),
    "IOERR": (
        Reason.FULL_DISK,
        "the disk does not take it: it is full, at a limit or failing; nothing was kept of this",
    ),
    "READONLY": (Reason.READ_ONLY, "is read-only; what is in it can be read, nothing can be kept"),
    "BUSY": (Reason.BUSY, "is held by another program; try again"),
    "LOCKED": (Reason.BUSY, "is held by another program; try again"),
    "NOTADB": (Reason.NOT_A_STORE, "is not a store of weigh days but a file of another kind"),
    "CORRUPT": (Reason.BROKEN, "is damaged; take a copy of the file first, then try to recover it"),
    "CANTOPEN": (Reason.UNREACHABLE, "cannot be opened; check that the folder exists and that the file is yours"),
    "PERM": (Reason.UNREACHABLE, "cannot be opened; check that the file is yours"),
    "AUTH": (Reason.UNREACHABLE, "cannot be opened; check that the file is yours"),
}
"""By the family of SQLite's result code: what stands between ``SQLITE_`` and the next underscore."""

_SQLITE_ALONE = {
    "SQLITE_READONLY_DBMOVED": (
        Reason.UNREACHABLE,
        "its file was moved or deleted while it was open, and nothing more is kept; put it back, or start again",
    ),
}
"""Result codes that say more than their family. Source: sqlite.org/rescode.html."""

_POSTGRESQL = {
    "53100": (Reason.FULL_DISK, "the disk of the database is full; nothing was kept of this"),
    "25006": (Reason.READ_ONLY, "is read-only; what is in it can be read, nothing can be kept"),
    "40001": (Reason.BUSY, "was changed by another program at the same moment; try again"),
    "40P01": (Reason.BUSY, "was changed by another program at the same moment; try again"),
    "55P03": (Reason.BUSY, "is held by another program; try again"),
    "57014": (Reason.BUSY, "took too long; try again"),
}
"""By SQLSTATE, PostgreSQL documentation, appendix A."""


@contextmanager
def in_words(where: str) -> Generator[None, None, None]:
    """Turn what the database raises inside into a ``StoreError`` that names the store ``where``."""
    try:
        yield
    except exc.DBAPIError as error:
        reason, message = translated(error.orig)
        raise StoreError(reason, f"the store {where}: {message}") from error
    except exc.TimeoutError as error:
        raise StoreError(Reason.BUSY, f"the store {where}: too much at once; try again") from error


@contextmanager
def driver_in_words(where: str) -> Generator[None, None, None]:
    """As ``in_words``, for work that asks the driver itself, without the layer above it.

    Raises
    ------
    StoreError: the database would not.
    """
    try:
        yield
    except Exception as error:
        if not isinstance(error, sqlite3.Error) and not hasattr(error, "sqlstate"):
            raise
        reason, message = translated(error)
        raise StoreError(reason, f"the store {where}: {message}") from error


def translated(original: BaseException | None) -> tuple[Reason, str]:
    """The reason behind an error of a database's own driver, and a message to follow the name of the store."""
    if isinstance(original, sqlite3.OperationalError) and str(original).startswith("Could not decode to UTF-8"):
        return Reason.BROKEN, "holds a text that is no UTF-8, which this program never writes; 'history' says where"
    name = getattr(original, "sqlite_errorname", None)
    if isinstance(name, str):
        if name in _SQLITE_ALONE:
            return _SQLITE_ALONE[name]
        family = name.removeprefix("SQLITE_").partition("_")[0]
        return _SQLITE.get(family, (Reason.BROKEN, f"the database gives up: {original}"))
    state = getattr(original, "sqlstate", None)
    if isinstance(state, str):
        known = _POSTGRESQL.get(state)
        if known is not None:
            return known
        if state == "42501":
            said = f"the role that the station has in this database may not do that ({_first_line(original)})"
            return Reason.NOT_ALLOWED, f"{said}; nothing was kept of this, and who owns the database can allow it"
        if state.startswith(("08", "57P", "28", "3D")):
            return Reason.UNREACHABLE, f"the database does not let us in: {_first_line(original)}"
        return Reason.BROKEN, f"the database gives up: {_first_line(original)}"
    said = _first_line(original)
    _, answered, why = said.partition("FATAL:  ")  # a server that is there, and says why not; psycopg has no code of it
    if answered:
        return Reason.UNREACHABLE, f"the database does not let us in: {why}"
    return Reason.UNREACHABLE, f"the database cannot be reached: {said.rpartition(' failed: ')[2]}"


def _first_line(error: BaseException | None) -> str:
    text = str(error).strip()
    return text.splitlines()[0] if text else "no reason given"
