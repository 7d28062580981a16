"""A PostgreSQL of the tests' own: Debian's package, in a folder for the time of a run, on a free port of loopback."""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Callable, Generator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from sqlalchemy import URL

DUMP, RESTORE = ("pg_dump", "--format=custom"), ("pg_restore", "--exit-on-error")
"""How a dump is made and brought back; ``docs/how-to/many/shared-yard.md`` says the same."""
_NUMBERS = itertools.count(1)
_SETTINGS = ("fsync=off", "full_page_writes=off", "listen_addresses=127.0.0.1", "max_connections=60")


class Cluster:
    """A running server, on which each test gets a database of its own."""

    def __init__(self, port: int, control: Callable[[str], None]) -> None:
        self.port = port
        self._control = control
        self._shared: str | None = None

    def address(self, database: str, user: str = "keeper") -> str:
        """The URL of a database, as a person gives it to the program."""
        url = URL.create("postgresql", username=user, host="127.0.0.1", port=self.port, database=database)
        return url.render_as_string(hide_password=False)

    def stop(self) -> None:
        """Go away, as a server does that is shut down: whoever is connected is sent off."""
        self._control("stop")

    def start(self) -> None:
        """Come back on the same port."""
        self._control("start")

    def new_database(self) -> str:
        """The URL of an empty database."""
        name = f"store_{os.getpid()}_{next(_NUMBERS)}"
        self.run(f"CREATE DATABASE {name}")
        return self.address(name)

    def empty_database(self) -> str:
        """The URL of the one database that is emptied for each test, which is quicker than to make one."""
        if self._shared is None:
            self._shared = self.new_database()
        else:
            name = self._shared.rpartition("/")[2]
            self.run("DROP SCHEMA public CASCADE; CREATE SCHEMA public", name)
        return self._shared

    def run(self, statement: str, database: str = "postgres", user: str = "keeper") -> list[tuple[object, ...]]:
        """Run one statement outside every transaction, and give its rows."""
        with psycopg.connect(
            host="127.0.0.1", port=self.port, user=user, dbname=database, autocommit=True
        ) as connection:
            cursor = connection.execute(statement.encode())
            return cursor.fetchall() if cursor.description is not None else []


@contextmanager
def cluster() -> Generator[Cluster, None, None]:
    """A server for as long as the block runs; as user postgres where the tests run as root, which it refuses."""
    folder = Path(tempfile.mkdtemp(prefix="steelyard-pg-"))
    owner = "postgres" if os.getuid() == 0 else None
    if owner is not None:
        os.chown(folder, pwd.getpwnam(owner).pw_uid, -1)
    data, port = folder / "data", _free_port()
    try:
        _run(owner, "initdb", "-D", data, "-U", "keeper", "--auth=trust", "--no-sync", "--encoding=UTF8", "--locale=C")
        settings = " ".join(f"-c {setting}" for setting in (*_SETTINGS, f"port={port}"))
        options = f"{settings} -c unix_socket_directories={folder}"

        def control(what: str) -> None:
            how = ("-m", "fast") if what == "stop" else ("-l", folder / "log", "-o", options)
            _run(owner, "pg_ctl", "-D", data, "-w", "-t", "60", *how, what)

        control("start")
        try:
            yield Cluster(port, control)
        finally:
            _run(owner, "pg_ctl", "-D", data, "-w", "-m", "immediate", "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def dump(address: str, file: Path) -> None:
    """Write a dump of a database in the custom format, as the documents say."""
    _run(None, *DUMP, f"--file={file}", f"--dbname={address}")


def restore(file: Path, address: str, *more: str) -> None:
    """Bring a dump into an empty database, as the documents say."""
    _run(None, *RESTORE, *more, f"--dbname={address}", file)


def _run(owner: str | None, program: str, *arguments: str | Path) -> None:
    done = subprocess.run(
        [_found(program), *map(str, arguments)],
        user=owner,
        cwd="/",
        env={"PATH": os.environ["PATH"], "LC_ALL": "C"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, f"{program}: {done.stderr}"


def _found(program: str) -> str:
    """The newest of the programs that Debian lays beside each other, else the one on the path."""
    found = sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{program}"), key=lambda path: int(path.parts[-3]))
    path = str(found[-1]) if found else shutil.which(program)
    assert path is not None, f"{program} is missing; install it with: apt-get install -y postgresql"
    return path


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port: int = server.getsockname()[1]
        return port
