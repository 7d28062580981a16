"""Reaching a scheduler: its address, the connection to it, and one message where it cannot be had.

Source of the interface: the documentation of Dask's library distributed, 2026.8, page Client
"""

from __future__ import annotations

import asyncio
import logging
import re
import socket
import warnings
from collections.abc import Generator
from contextlib import contextmanager, suppress
from importlib import import_module
from typing import Any

from steelyard.batch.engine import NoWorkersError
from steelyard.batch.extra import MissingExtraError

PATIENCE = 10.0
"""s in which a scheduler that is there answers, however busy."""

_ADDRESS = re.compile(r"(?:(tcp|tls)://)?(\[[0-9A-Fa-f:.]+\]|[^\s/:\[\]@]+):(\d{1,5})/?", re.ASCII)


def scheduler_address(text: str) -> str:
    """The address of a scheduler as Dask writes it; without a protocol it is ``tcp``.

    Raises
    ------
    NoWorkersError: it is none.
    """
    match = _ADDRESS.fullmatch(text.strip())
    if match is None or not 1 <= int(match[3]) <= 65535:
        raise NoWorkersError(f"'{text}' is no address of a scheduler; write tcp:// or tls:// and HOST:PORT")
    return f"{match[1] or 'tcp'}://{match[2]}:{int(match[3])}"


def dask() -> Any:
    """The library ``distributed``, loaded where it is used.

    Raises
    ------
    MissingExtraError: it is not installed.
    """
    try:
        import distributed
    except ImportError:
        raise MissingExtraError("several machines need the extra 'cluster': pip install 'steelyard[cluster]'") from None
    return distributed


@contextmanager
def connected(address: str) -> Generator[Any]:
    """A client of the scheduler, ``distributed.Client``. It says nothing by itself: we say what happened.

    Raises
    ------
    MissingExtraError: the library is not installed.
    NoWorkersError: there is no scheduler at the address, or it cannot be talked to.
    """
    library = dask()
    log = logging.getLogger("distributed")
    level = log.level
    log.setLevel(logging.CRITICAL + 1)
    try:
        _reach(address)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of parts that it thinks large, and of versions, which are compared here
            try:
                client = library.Client(address, timeout=PATIENCE, set_as_default=False, name="steelyard")
            except (OSError, ValueError, TypeError) as error:
                raise NoWorkersError(f"{address}: no scheduler can be talked to there: {_line(error)}") from None
            try:
                yield client
            finally:
                with suppress(TimeoutError, OSError):  # of a scheduler that is gone
                    client.close(timeout=PATIENCE)
    finally:
        log.setLevel(level)


def _reach(address: str) -> None:
    """Ask the scheduler who it is, for the client would wait for ever for one that takes a call and says nothing.

    Raises
    ------
    NoWorkersError: nobody answers, or nobody that is a scheduler.
    """
    _knock(address)
    try:
        told = asyncio.run(_identity(address))
    except TimeoutError:
        message = f"{address}: what listens there does not answer as a scheduler of Dask does"
        raise NoWorkersError(message) from None
    except (OSError, ValueError, TypeError) as error:
        if address.startswith("tls:") and isinstance(error, TypeError):
            raise NoWorkersError(f"{address}: TLS needs certificates; name them in {_TLS}") from None
        root = _root(error)
        silent = isinstance(root, (TimeoutError, asyncio.CancelledError)) or root is error
        reason = "it does not answer" if silent else _line(root)
        raise NoWorkersError(f"{address}: no scheduler is there: {reason}. Start one with 'dask scheduler'") from None
    if told.get("type") != "Scheduler":
        raise NoWorkersError(f"{address}: is a {str(told.get('type')).lower()} of Dask, not its scheduler")


def _knock(address: str) -> None:
    """See that something listens there: the library tries again for seconds, and then may not say why it failed.

    Raises
    ------
    NoWorkersError: nothing does.
    """
    host, _, port = address.partition("://")[2].rpartition(":")
    try:
        socket.create_connection((host.strip("[]"), int(port)), timeout=PATIENCE).close()
    except OSError as error:
        reason = "it does not answer" if isinstance(error, TimeoutError) else _line(error)
        raise NoWorkersError(f"{address}: no scheduler is there: {reason}. Start one with 'dask scheduler'") from None


_TLS = "DASK_DISTRIBUTED__COMM__TLS__CA_FILE, ..__CLIENT__CERT and ..__CLIENT__KEY"


async def _identity(address: str) -> dict[str, Any]:
    core, security = import_module("distributed.core"), import_module("distributed.security")
    secured: dict[str, Any] = security.Security().get_connection_args("client")
    async with asyncio.timeout(PATIENCE):
        comm = await core.connect(address, timeout=0.6 * PATIENCE, **secured)
        try:
            return await core.send_recv(comm, op="identity", reply=True)
        finally:
            comm.abort()


def _root(error: BaseException) -> BaseException:
    while error.__cause__ is not None or error.__context__ is not None:
        error = error.__cause__ or error.__context__  # pyright: ignore[reportAssignmentType] - one of them is there
    return error


def _line(error: BaseException) -> str:
    if isinstance(error, OSError) and error.strerror:
        return error.strerror
    return " ".join(str(error).split())[:200] or type(error).__name__
