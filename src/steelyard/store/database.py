"""The door to the database: SQLite by a path, PostgreSQL by an address; transactions, and errors in words."""

from __future__ import annotations

import os
import sqlite3
import threading
from collections.abc import Generator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, NullPool, create_engine, event, exc, func, make_url, select
from sqlalchemy.pool import StaticPool

from steelyard.store.fault import Reason, StoreError, in_words
from steelyard.store.migrations import hold_form, known_form, pending, refuse_older, take_next, unusable
from steelyard.store.news import Hearer, News
from steelyard.store.roles import act_as_owner, settle_rights
from steelyard.store.schema import MIGRATIONS

_BUSY_SECONDS = 10.0
_CONNECT_SECONDS = 4  # less than a phone waits for an answer
_LINE = {"keepalives_idle": 10, "keepalives_interval": 5, "keepalives_count": 3, "tcp_user_timeout": 15_000}
"""A server that vanished without a word is noticed after a quarter of a minute (libpq, parameter key words)."""
_RIGHT = "write one as in postgresql://anna@yard.example/yard"
_STORES = "a store is the file that 'serve' keeps, or an address as postgresql://anna@yard.example/yard"
_OLDEST_SQLITE = (3, 37)  # strict tables
_IMMEDIATE = "steelyard_immediate"

# SQLite up to 3.51.2 can lose data in its write-ahead mode when two connections meet, so the rollback journal is used;
# EXTRA also syncs the journal's folder, and an acknowledged draft outlives a power cut.
_PRAGMAS = (
    f"PRAGMA busy_timeout = {int(_BUSY_SECONDS * 1000)}",
    "PRAGMA journal_mode = TRUNCATE",
    "PRAGMA synchronous = EXTRA",
    "PRAGMA foreign_keys = ON",
    "PRAGMA trusted_schema = OFF",
)


class Database:
    """One database, brought to its present form, with transactions to read and to write.

    SQLite gets one connection, which threads take in turn: a commit takes about a millisecond, and no reader can then
    stand in the way of the writer. PostgreSQL gets a pool. A store that is only read is
    neither made nor brought up, and the database itself refuses to write. Nothing is asked of one that is taken as it
    is, whatever its form.
    """

    def __init__(self, where: str | os.PathLike[str], *, only_read: bool = False, as_it_is: bool = False) -> None:
        self._url = url = _url(where)
        self.where = _shown(url)
        self._turn = threading.Lock() if url.get_backend_name() == "sqlite" else None
        made = _postgresql if self._turn is None else _sqlite
        self._engine = made(url, self.where, only_read=only_read)
        self._form = self._seen = known_form()
        try:
            if as_it_is:
                return
            if only_read:
                with self.reading() as connection:
                    refuse_older(connection, self.where)
            else:
                self._migrate()
        except BaseException:
            self.close()
            raise

    @property
    def engine(self) -> Engine:
        """The engine below, to look at; all work goes through ``reading`` and ``writing``."""
        return self._engine

    @property
    def in_server(self) -> bool:
        """Whether the database is a server, which tells of what others add."""
        return self._turn is None

    @contextmanager
    def reading(self, *, steady: bool = False) -> Generator[Connection, None, None]:
        """A transaction that changes nothing.

        ``steady``: all that is read in it is of one moment; and a text that somebody else wrote, which is no UTF-8, is
        read too, with a half character for each byte.

        Raises
        ------
        StoreError: the database would not.
        """
        try:
            with self._turn_of_mine(), in_words(self.where), self._engine.connect() as connection:
                if not steady:
                    yield connection
                elif self._turn is None:
                    yield connection.execution_options(isolation_level="REPEATABLE READ")
                else:  # SQLite keeps writers out from the first look to the last, and knows no other way
                    with _any_text(connection):
                        yield connection
        except StoreError as error:
            newer = self._newer_form() if error.reason is Reason.BROKEN else ""
            if newer:  # the question was not understood because of that
                raise StoreError(Reason.NEWER, newer) from error
            raise

    @contextmanager
    def writing(self) -> Generator[Connection, None, None]:
        """A transaction that is durable once the block ends, or as if it had not been where an error leaves it.

        Raises
        ------
        StoreError: the database would not, or a newer program has given it a form that this one does not know.
        """
        with self._transaction() as connection:
            self._seen = hold_form(connection, self.where, known=self._form, seen=self._seen)
            yield connection

    @contextmanager
    def _transaction(self) -> Generator[Connection, None, None]:
        with self._turn_of_mine(), in_words(self.where), self._engine.connect() as plain:
            connection = plain.execution_options(**{_IMMEDIATE: True})
            with connection.begin():
                yield connection

    @contextmanager
    def making(self) -> Generator[Connection, None, None]:
        """As ``writing``, whatever the form of the database, which the block itself may make.

        Raises
        ------
        StoreError: the database would not.
        """
        with self._transaction() as connection:
            act_as_owner(connection)
            yield connection

    def _newer_form(self) -> str:
        """A message that a newer program gave the store a form which this one may not use; empty if none did."""
        with suppress(StoreError), self._turn_of_mine(), in_words(self.where), self._engine.connect() as connection:
            form = connection.execute(select(func.max(MIGRATIONS.c.number))).scalar() or 0
            newer = unusable(connection, self._form, form) if form > self._form else None
            if newer is not None:
                return f"the store {self.where}: was brought to form {form} by {newer}; start the newer version here"
        return ""

    def news(self, hearer: Hearer) -> News | None:
        """Have ``hearer`` told of every addition by whichever program; None of SQLite, which tells nobody."""
        if not self.in_server:
            return None
        return News(_postgresql(self._url, self.where, only_read=False, listening=True), self.where, hearer)

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    @contextmanager
    def _turn_of_mine(self) -> Generator[None, None, None]:
        if self._turn is None:
            yield
        else:
            with self._turn:
                yield

    def _migrate(self) -> None:
        with self.reading() as connection:
            left = pending(connection, self.where)
        try:
            while left:
                with self._transaction() as connection:
                    act_as_owner(connection)
                    if not take_next(connection, self.where):
                        break
        except StoreError as error:
            if error.reason is Reason.NOT_ALLOWED:
                steps = "step" if left == 1 else "steps"
                message = f"{error}. This version needs {left} more {steps} of its form: start it once as the owner"
                raise StoreError(Reason.NOT_ALLOWED, message) from error
            raise
        if self.in_server:
            with self._transaction() as connection:
                settle_rights(connection, anew=bool(left))


@contextmanager
def _any_text(connection: Connection) -> Generator[None, None, None]:
    """Let SQLite give texts that are no UTF-8; PostgreSQL has none."""
    plain = connection.connection.driver_connection
    if not isinstance(plain, sqlite3.Connection):
        raise TypeError("this is no connection to SQLite")
    before, plain.text_factory = plain.text_factory, _with_halves
    try:
        yield
    finally:
        plain.text_factory = before


def _with_halves(data: bytes) -> str:
    return data.decode("utf-8", "surrogateescape")


def _url(where: str | os.PathLike[str]) -> URL:
    """The address of a database by its path or its URL.

    A text with ``://`` is an address; anything else is the path of a file.
    """
    text = os.fspath(where)
    if not text.strip():
        raise StoreError(Reason.NOT_A_STORE, "the name of the store is empty; give the path of a file, or an address")
    if "://" not in text and text.startswith(("postgresql:", "postgres:")):  # of a file nobody means
        raise StoreError(Reason.NOT_A_STORE, f"the address of the store cannot be read; {_RIGHT}")
    if "://" not in text:
        return URL.create("sqlite", database=str(Path(text).expanduser()))
    try:
        url = make_url(text)
    except (exc.ArgumentError, ValueError):
        raise StoreError(Reason.NOT_A_STORE, f"the address of the store cannot be read; {_RIGHT}") from None
    if "@" in (url.host or ""):  # what stands before it is the end of a password, which no message shows
        message = f"the address of the store has an @ in its user or password, which has to be %40 there; {_RIGHT}"
        raise StoreError(Reason.NOT_A_STORE, message)
    backend = url.drivername.partition("+")[0].lower()
    if backend in ("postgresql", "postgres"):
        return url.set(drivername="postgresql+psycopg")
    if backend == "sqlite" and url.database:
        return URL.create("sqlite", database=url.database)
    message = f"the address of a store begins with postgresql, or is the path of a file; {backend} is not known"
    raise StoreError(Reason.NOT_A_STORE, message)


def file_of(where: str | os.PathLike[str]) -> Path | None:
    """The file of a store in SQLite; None of one in PostgreSQL.

    Raises
    ------
    StoreError: the name is none of a store.
    """
    url = _url(where)
    return Path(str(url.database)) if url.get_backend_name() == "sqlite" else None


def _shown(url: URL) -> str:
    """Name of the store in messages, never with its password."""
    if url.get_backend_name() == "sqlite":
        return str(url.database)
    port = "" if url.port is None else f":{url.port}"
    return f"{url.database or 'of this user'} at {url.host or 'this machine'}{port}"


def _sqlite(url: URL, where: str, *, only_read: bool) -> Engine:
    path = Path(str(url.database))
    if sqlite3.sqlite_version_info < _OLDEST_SQLITE:
        oldest = ".".join(map(str, _OLDEST_SQLITE))
        message = f"the store {where}: needs SQLite {oldest} or newer, this Python has {sqlite3.sqlite_version}"
        raise StoreError(Reason.UNREACHABLE, message)
    if path.is_dir():
        raise StoreError(Reason.NOT_A_STORE, f"{where} is a folder and no store; {_STORES}")
    if not only_read:
        _make_private(path, where)
    elif not path.is_file():
        raise StoreError(Reason.UNREACHABLE, f"there is no store {where}; {_STORES}")
    engine = create_engine(
        url,
        poolclass=StaticPool,
        connect_args={"check_same_thread": False, "isolation_level": None, "timeout": _BUSY_SECONDS},
    )

    @event.listens_for(engine, "connect")
    def on_connect(connection: sqlite3.Connection, _record: Any) -> None:
        for pragma in _PRAGMAS:
            connection.execute(pragma)
        if only_read:
            connection.execute("PRAGMA query_only = ON")

    @event.listens_for(engine, "begin")
    def on_begin(connection: Connection) -> None:
        immediate = connection.get_execution_options().get(_IMMEDIATE, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if immediate else "BEGIN")

    del on_connect, on_begin  # held by the engine
    return engine


def _make_private(path: Path, where: str) -> None:
    """Make the file, where there is none, so that only its owner reads the secrets in it."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    except FileExistsError:
        return
    except OSError as error:
        message = f"the store {where}: cannot be made: {error.strerror or 'no reason given'}"
        raise StoreError(Reason.UNREACHABLE, message) from error


def _postgresql(url: URL, _where: str, *, only_read: bool, listening: bool = False) -> Engine:
    """The engine of all work; or that of the one connection that listens."""
    usual: dict[str, Any] = {"pool_pre_ping": True, "pool_size": 5, "max_overflow": 15, "pool_timeout": _BUSY_SECONDS}
    alone: dict[str, Any] = {"poolclass": NullPool, "isolation_level": "AUTOCOMMIT"}
    name = "steelyard news" if listening else "steelyard"
    try:
        engine = create_engine(
            url,
            connect_args={"connect_timeout": _CONNECT_SECONDS, "application_name": name, **_LINE},
            **(alone if listening else usual),
        )
    except ImportError:
        message = "a store in PostgreSQL needs the extra of that name: pip install 'steelyard[postgres]'"
        raise StoreError(Reason.UNREACHABLE, message) from None

    @event.listens_for(engine, "connect")
    def on_connect(connection: Any, _record: Any) -> None:
        # a commit that returns is on disk, whatever the server's own default says
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT set_config('synchronous_commit', 'on', false) "
                "WHERE current_setting('synchronous_commit') = 'off'"
            )
            if only_read:
                cursor.execute("SELECT set_config('default_transaction_read_only', 'on', false)")
        with suppress(AttributeError):
            connection.commit()

    del on_connect
    return engine
