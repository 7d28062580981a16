"""Files that only their owner reads, that are written whole or not at all, and that one process at a time changes."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import time
from collections.abc import Generator
from pathlib import Path

PRIVATE_FILE, PRIVATE_FOLDER = 0o600, 0o700
_OTHERS = 0o077
_BINARY: int = getattr(os, "O_BINARY", 0)
_NO_WAIT: int = getattr(os, "O_NONBLOCK", 0)
_PAUSE = 0.05  # s between two tries where the system does not wait for a lock


class KeyFileError(ValueError):
    """A key, or the folder of keys, that cannot be used. The message names the file and says what mends it."""


def unusable(path: Path, doing: str, error: OSError) -> KeyFileError:
    """The error for a file or folder that the system refuses. ``doing``: ``read``, ``written``, ``made``."""
    return KeyFileError(f"{path}: cannot be {doing}: {error.strerror or error}")


def make_folder(path: Path) -> None:
    """Make a folder that only its owner enters, and those above it; one that is there stays as it is.

    Raises
    ------
    KeyFileError: it cannot be made, or the name is that of a file.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.mkdir(mode=PRIVATE_FOLDER, exist_ok=True)
    except OSError as error:
        raise unusable(path, "made", error) from None


def read_file(path: Path, most: int) -> bytes:
    """The bytes of a file.

    Raises
    ------
    KeyFileError: it cannot be read, is not a file, or has more than ``most`` bytes. FileNotFoundError: there is none.
    """
    data, _ = _read(path, most)
    return data


def read_private(path: Path, most: int) -> bytes:
    """The bytes of a file that nobody but its owner may read.

    Raises
    ------
    KeyFileError: as ``read_file``, or others may read it. FileNotFoundError: there is none.
    """
    data, mode = _read(path, most)
    if os.name == "posix" and mode & _OTHERS:
        raise KeyFileError(
            f"{path}: others can read or change this private key (mode {mode & 0o777:04o}). If nobody has, mend it "
            f"with: chmod 600 '{path}'. Otherwise revoke the key as stolen and make a new one"
        )
    return data


def _read(path: Path, most: int) -> tuple[bytes, int]:
    try:
        descriptor = os.open(path, os.O_RDONLY | _BINARY | _NO_WAIT)
        try:
            mode = os.fstat(descriptor).st_mode
            if not stat.S_ISREG(mode):
                raise KeyFileError(f"{path}: is not a file")
            with os.fdopen(descriptor, "rb", closefd=False) as stream:
                data = stream.read(most + 1)
        finally:
            os.close(descriptor)
    except FileNotFoundError:
        raise
    except OSError as error:
        raise unusable(path, "read", error) from None
    if len(data) > most:
        raise KeyFileError(f"{path}: has more than the {most} bytes that such a file has at most")
    return data, mode


def write_new(path: Path, data: bytes) -> None:
    """Write a file that is not there yet and that only its owner reads from the first byte on, and wait for the disk.

    Raises
    ------
    KeyFileError: it cannot be written, or is there already.
    """
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, PRIVATE_FILE), "wb") as stream:
            try:
                _out(stream.fileno(), data)
            except OSError:
                path.unlink(missing_ok=True)
                raise
        sync_folder(path.parent)
    except OSError as error:
        raise unusable(path, "written", error) from None


def write_whole(path: Path, data: bytes) -> None:
    """Write a file in place of the one of that name, which stays until the new one is whole and on the disk.

    Raises
    ------
    KeyFileError: it cannot be written; the old one is as it was.
    """
    part = path.with_name(f".{path.name}.part")
    try:
        part.unlink(missing_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | _BINARY, PRIVATE_FILE), "wb") as stream:
            _out(stream.fileno(), data)
        part.replace(path)
        sync_folder(path.parent)
    except OSError as error:
        with contextlib.suppress(OSError):
            part.unlink(missing_ok=True)
        raise unusable(path, "written", error) from None


def append(path: Path, data: bytes, *, after: int) -> None:
    """Write ``data`` behind the first ``after`` bytes of a file, in place of what follows them; wait for the disk.

    Raises
    ------
    KeyFileError: it cannot be written; the file then ends after those bytes.
    """
    try:
        with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | _BINARY, PRIVATE_FILE), "wb") as stream:
            if os.fstat(stream.fileno()).st_size > after:
                os.ftruncate(stream.fileno(), after)
            os.lseek(stream.fileno(), after, os.SEEK_SET)
            try:
                _out(stream.fileno(), data)
            except OSError:
                os.ftruncate(stream.fileno(), after)
                raise
    except OSError as error:
        raise unusable(path, "written", error) from None


def _out(descriptor: int, data: bytes) -> None:
    left = memoryview(data)
    while left:
        left = left[os.write(descriptor, left) :]
    os.fsync(descriptor)


def sync_folder(folder: Path) -> None:
    """Wait until the names in a folder are on the disk, where the system can be asked for that."""
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


@contextlib.contextmanager
def locked(path: Path) -> Generator[None]:
    """Hold the lock of a file, which is made for it; whoever comes second waits.

    Raises
    ------
    KeyFileError: the file cannot be opened or locked.
    """
    try:
        descriptor = os.open(path, os.O_RDWR | os.O_CREAT | _BINARY, PRIVATE_FILE)
    except OSError as error:
        raise unusable(path, "opened", error) from None
    try:
        try:
            _lock(descriptor)
        except OSError as error:
            raise unusable(path, "locked", error) from None
        yield
    finally:
        os.close(descriptor)  # which gives the lock back


if sys.platform == "win32":

    def _lock(descriptor: int) -> None:
        import msvcrt

        while True:
            try:
                return msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
            except PermissionError:
                time.sleep(_PAUSE)

else:

    def _lock(descriptor: int) -> None:
        import fcntl

        fcntl.flock(descriptor, fcntl.LOCK_EX)
