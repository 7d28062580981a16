"""The manifest of a folder of answers: a line of JSON for each part that is whole, and what holds for all of them."""

from __future__ import annotations

import errno
import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from steelyard.batch.layout import MANIFEST, AnswersFolderError
from steelyard.batch.parquet import WrittenFile, write_whole
from steelyard.batch.part import TABLES, PartDone, table_path


def add_line(folder: Path, done: PartDone) -> None:
    """Write the line of a part that is whole behind the others; it is on the disk on return.

    Raises
    ------
    OSError: it cannot be written.
    """
    line = json.dumps(asdict(done), separators=(",", ":")) + "\n"
    handle = os.open(folder / MANIFEST, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
    try:
        if os.write(handle, line.encode()) < len(line.encode()):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        os.fsync(handle)
    finally:
        os.close(handle)


def rewrite(folder: Path, lines: Iterable[PartDone]) -> None:
    """Write the manifest anew with these lines, all of it or nothing.

    Raises
    ------
    OSError: it cannot be written.
    """
    text = "".join(json.dumps(asdict(done), separators=(",", ":")) + "\n" for done in lines)
    write_whole(folder / MANIFEST, text.encode())


def mend(folder: Path) -> None:
    """Take away a line that was cut off as it was written, so that the next one does not begin within it.

    Raises
    ------
    AnswersFolderError: the manifest cannot be read, or is none.
    OSError: it cannot be written.
    """
    path = folder / MANIFEST
    if path.exists() and not path.read_bytes().endswith(b"\n"):
        rewrite(folder, lines_of(folder))


def lines_of(folder: Path) -> list[PartDone]:
    """The lines of the manifest in order, the last of each part; one that was cut off as it was written is none.

    Raises
    ------
    AnswersFolderError: the manifest cannot be read, or is none.
    """
    path = folder / MANIFEST
    try:
        text = path.read_bytes()
    except FileNotFoundError:
        return []
    except OSError as error:
        raise AnswersFolderError(f"{path}: cannot be read: {error.strerror or error}") from None
    found: dict[tuple[str, str], PartDone] = {}
    *whole, cut_off = text.split(b"\n")
    for number, line in enumerate(whole, 1):
        done = _line(line)
        if done is None:
            raise AnswersFolderError(
                f"{path}:{number}: is no line of a manifest; take the folder from a copy, or name a new one"
            )
        found[done.program, done.name] = done
    del cut_off
    return list(found.values())


def _line(line: bytes) -> PartDone | None:
    try:
        data: dict[str, Any] = json.loads(line)
        tables = {name: WrittenFile(**told) for name, told in data.pop("tables").items()}
        return PartDone(**data, tables=tables)
    except (ValueError, TypeError, KeyError, AttributeError):
        return None


def is_whole(folder: Path, done: PartDone, *, to_the_byte: bool = False) -> bool:
    """Whether all tables of a part lie there in their size, and where asked for in their very bytes."""
    if not set(TABLES) <= set(done.tables):
        return False
    for table, told in done.tables.items():
        path = table_path(folder, table, done.name, done.program)
        try:
            if path.stat().st_size != told.size:
                return False
            if to_the_byte and hashlib.sha256(path.read_bytes()).hexdigest() != told.sha256:
                return False
        except OSError:
            return False
    return True
