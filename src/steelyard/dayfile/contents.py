"""The bytes of a file that somebody named: never more than a limit, and without waiting for what may never come."""

from __future__ import annotations

import os
import stat
from typing import BinaryIO

from steelyard.classes import dataclass
from steelyard.dayfile.fault import DayFileError, Fault, quoted

_PIECE = 1 << 20  # bytes


@dataclass(frozen=True, slots=True)
class Limit:
    """The kind of a file, with its article, and the most bytes that it may have."""

    kind: str
    most: int

    @property
    def shown(self) -> str:
        """``8 MB``."""
        return f"{self.most / 1e6:g} MB"


def contents(path: str | os.PathLike[str], limit: Limit) -> bytes:
    """The bytes of a file, or of a pipe that somebody writes to.

    Raises
    ------
    DayFileError: it cannot be opened, is a device, is a pipe that nobody writes to, or is too large (known before it is
        read, where the system knows).
    """
    name = os.fspath(path)
    if not name:
        raise _refusal(quoted(name), "is an empty name; give the name of a file")
    try:
        _refuse_kind(os.stat(path).st_mode, name)  # noqa: PTH116 - a path may be bytes of any kind
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb", buffering=0) as stream:
            status = os.fstat(handle)
            if stat.S_ISREG(status.st_mode):
                refuse_large(status.st_size, name, limit)
            data = _read(stream, limit.most + 1, name)
    except (OSError, ValueError) as error:
        if isinstance(error, DayFileError):
            raise
        reason = (error.strerror or "no reason given") if isinstance(error, OSError) else "its name is not usable"
        raise _refusal(name, f"cannot be read: {reason}") from None
    if len(data) > limit.most:
        raise _refusal(name, f"goes on beyond {limit.shown}; {limit.kind} has at most that and is not read further")
    return data


def _refuse_kind(mode: int, name: str) -> None:
    """Raise a ``DayFileError`` for what has no end, or would do something when it is opened, and for a folder."""
    if stat.S_ISDIR(mode):
        raise _refusal(name, "cannot be read: Is a directory")
    if stat.S_ISCHR(mode) or stat.S_ISBLK(mode):
        raise _refusal(name, "is a device; give the name of a file")
    if stat.S_ISSOCK(mode):
        raise _refusal(name, "is a socket; give the name of a file")


def _read(stream: BinaryIO, most: int, name: str) -> bytes:
    """At most so many bytes; of a pipe all that is written to it, where anybody has it open for writing."""
    pieces: list[bytes] = []
    left = most
    while left > 0:
        piece = stream.read(min(left, _PIECE))
        if piece is None:  # pyright: ignore[reportUnnecessaryComparison] - a pipe whose writer takes its time
            os.set_blocking(stream.fileno(), True)
            continue
        if not piece:
            break
        pieces.append(piece)
        left -= len(piece)
    if not pieces and stat.S_ISFIFO(os.fstat(stream.fileno()).st_mode):
        raise _refusal(name, "is a pipe that nobody writes to; give the name of a file, or write to it first")
    return b"".join(pieces)


def refuse_large(size: int, file: str, limit: Limit) -> None:
    """Raise a ``DayFileError`` for a size [bytes] over the limit."""
    if size > limit.most:
        much = f"is {size / 1e6:.1f} MB" if size > 1.1 * limit.most else f"is over {limit.shown}"
        message = f"{much}; {limit.kind} has at most {limit.shown} and is not read beyond that"
        raise _refusal(file, message)


def _refusal(file: str, message: str) -> DayFileError:
    return DayFileError(file if file.isprintable() else quoted(file), (Fault(None, "", "", message),))
