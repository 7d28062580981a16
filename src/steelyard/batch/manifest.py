"""The manifest of a folder of answers: a line of JSON for each part that is whole, and what holds for all of them."""

from __future__ import annotations

import errno
import hashlib
import json
import math
import os
import re
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from steelyard.batch.layout import MANIFEST, AnswersFolderError
from steelyard.batch.parquet import WrittenFile, write_whole
from steelyard.batch.part import TABLES, PartDone, table_path

_NAME, _PROGRAM = re.compile(r"[0-9a-f]{16}"), re.compile(r"[0-9A-Za-z.+_-]+")
_MOST_NAMED = 5


@dataclass(frozen=True, slots=True)
class Manifest:
    """The manifest of a folder as it was read.

    Attributes
    ----------
    parts: in order, each as its last line has it. unread: numbers of the lines, from 1, that name no part because they
    were cut off or spoiled.
    """

    parts: tuple[PartDone, ...] = ()
    unread: tuple[int, ...] = ()

    def unread_words(self, folder: Path) -> str:
        """The lines that name no part, as in ``out/_manifest.jsonl:2``; empty where there are none."""
        path, shown = folder / MANIFEST, self.unread[:_MOST_NAMED]
        places = ", ".join([f"{path}:{shown[0]}", *(f"line {number}" for number in shown[1:])]) if shown else ""
        more = len(self.unread) - len(shown)
        return f"{places} and {more:,} more" if more else places


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
    """End a line that was cut off as it was written, so that the next one does not begin within it.

    Raises
    ------
    OSError: it cannot be written.
    """
    path = folder / MANIFEST
    if path.exists() and not path.read_bytes().endswith(b"\n"):
        with path.open("ab") as stream:
            stream.write(b"\n")


def read_manifest(folder: Path) -> Manifest:
    """The parts that the manifest names, and its lines that name none.

    Raises
    ------
    AnswersFolderError: the manifest cannot be read.
    """
    path = folder / MANIFEST
    try:
        text = path.read_bytes()
    except FileNotFoundError:
        return Manifest()
    except OSError as error:
        raise AnswersFolderError(f"{path}: cannot be read: {error.strerror or error}") from None
    found: dict[tuple[str, str], PartDone] = {}
    unread: list[int] = []
    for number, line in enumerate(text.split(b"\n"), 1):
        if not line.strip():
            continue
        done = _line(line)
        if done is None:
            unread.append(number)
        else:
            found[done.program, done.name] = done
    return Manifest(tuple(found.values()), tuple(unread))


def lines_of(folder: Path) -> list[PartDone]:
    """The parts that the manifest names, as ``read_manifest`` gives them.

    Raises
    ------
    AnswersFolderError: the manifest cannot be read.
    """
    return list(read_manifest(folder).parts)


def _line(line: bytes) -> PartDone | None:
    try:
        data: dict[str, Any] = json.loads(line)
        tables = {name: WrittenFile(**told) for name, told in data.pop("tables").items()}
        done = PartDone(**data, tables=tables)
        return done if _is_sound(done) else None
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        return None


def _is_sound(done: PartDone) -> bool:
    """Whether a line says what a part can be: spoiled digits must not become counts, nor a name another folder's."""
    counts = [done.days, done.faulty, done.broken]
    counts += [count for told in done.tables.values() for count in (told.rows, told.size)]
    return (
        _NAME.fullmatch(done.name) is not None
        and _PROGRAM.fullmatch(done.program) is not None
        and set(done.tables) <= set(TABLES)
        and all(type(count) is int and count >= 0 for count in counts)
        and done.broken <= done.faulty <= done.days
        and math.isfinite(done.seconds)
    )


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
