"""Writing the folder: all of it or nothing, and never over anything; or as one ZIP file."""

from __future__ import annotations

import io
import secrets
import shutil
import zipfile
from collections.abc import Iterable
from pathlib import Path

_EPOCH = (1980, 1, 1, 0, 0, 0)
"""The earliest time that a ZIP file can hold stands at every file, so that the same files give the same bytes."""


class UnwrittenError(Exception):
    """The folder cannot be written; the message says why and names it."""


def refuse_taken(folder: Path) -> None:
    """See that ``folder`` is a name that nothing has, or an empty folder.

    Raises
    ------
    UnwrittenError: it is a file, holds something, is the folder one is in, or has nothing to lie in.
    """
    try:
        if folder.is_dir():
            if any(folder.iterdir()):
                raise UnwrittenError(f"{folder}: is not empty, and nothing is written over; name a new folder with -o")
            if folder.samefile(Path.cwd()):
                raise UnwrittenError(f"{folder}: is the folder you are in; name a new folder with -o")
        elif folder.exists() or folder.is_symlink():
            raise UnwrittenError(f"{folder}: is not a folder; name a new folder with -o")
        elif not folder.resolve().parent.is_dir():
            raise UnwrittenError(f"{folder}: cannot be written: there is no folder {folder.resolve().parent}")
    except OSError as error:
        raise _unwritable(folder, error) from None


def write_folder(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write ``files``, each a path within ``folder`` and its content.

    They are written into a folder of another name beside it, which gets its name when all of them lie in it; whatever
    ends the writing earlier leaves nothing behind.

    Raises
    ------
    UnwrittenError: the folder is taken, or cannot be written. Errors of ``files`` itself pass through.
    """
    refuse_taken(folder)
    target = folder.resolve()
    beside = target.parent / f".{target.name[:60]}.{secrets.token_hex(4)}.part"
    try:
        beside.mkdir()
    except OSError as error:
        raise _unwritable(folder, error) from None
    try:
        for path, content in files:
            _write(folder, beside / path, content)
        _name(folder, beside, target)
    except BaseException:
        shutil.rmtree(beside, ignore_errors=True)
        raise


def _write(folder: Path, path: Path, content: bytes) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    except OSError as error:
        raise _unwritable(folder, error) from None


def _name(folder: Path, beside: Path, target: Path) -> None:
    """Give the written folder its name; an empty folder of that name makes room for it."""
    refuse_taken(folder)
    try:
        if target.is_dir():
            target.rmdir()
        beside.rename(target)
    except OSError as error:
        raise _unwritable(folder, error) from None


def _unwritable(folder: Path, error: OSError) -> UnwrittenError:
    return UnwrittenError(f"{folder}: cannot be written: {error.strerror or error}")


def zipped(files: Iterable[tuple[str, bytes]], *, within: str = "weigh-day") -> bytes:
    """The files as one ZIP file; the same files give the same bytes. ``within``: the folder that they unpack into."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        for path, content in files:
            entry = zipfile.ZipInfo(f"{within}/{path}", _EPOCH)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3  # the mode below is that of Unix, on every system that writes it
            entry.external_attr = 0o100644 << 16
            archive.writestr(entry, content)
    return packed.getvalue()
